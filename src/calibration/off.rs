//! How far light may be off between the marks, when each mark was set to within
//! so many pixels.

use super::MarkRow;
use crate::projection::{Homography, Mapping};
use crate::space::{Point, Projector, Table, Vector};

/// Places that are looked at along each side of the marks' quadrangle.
const ACROSS: u32 = 12;

/// The step of the derivative, px: the map is smooth on a scale of hundreds.
const STEP: f64 = 1e-3;

/// The furthest that light may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Off {
    pub px: f64,
    pub mm: f64,
}

/// The furthest that light between the marks may be off if every mark's pixel
/// is wrong by up to `by` px across and `by` px down, whichever way: an error
/// of place, to first order in `by`, from the marks alone (no tape, no lens).
///
/// It is the sum, over the marks' eight numbers, of what each moves a place by
/// at most. For marks at the corners of a rectangle a wide and b high in the
/// picture that is `by·(1 + a/b·(1 − x²))` across and `by·(1 + b/a·(1 − y²))` down,
/// x and y from −1 to 1: `by` each way at the marks, and most in the middle,
/// 2√2·`by` for a square. (A wrong mark moves the picture by a projective field,
/// v = s + M·q + q·(c·q); four corners of which three stay fix it.)
///
/// `None` if the marks fix no mapping.
pub fn most_off(rows: &[MarkRow; 4], by: f64) -> Option<Off> {
    let (table, pixels) = (rows.map(|r| r.table), rows.map(|r| r.projector));
    let map = Homography::through(table, pixels)?;
    let mapping = Mapping::plane(map);
    let moved: Vec<Homography<Table, Projector>> = (0..8)
        .map(|k| {
            let mut q = pixels;
            q[k / 2] += match k % 2 {
                0 => Vector::new(STEP, 0.0),
                _ => Vector::new(0.0, STEP),
            };
            Homography::through(table, q)
        })
        .collect::<Option<_>>()?;
    let mut worst = Off { px: 0.0, mm: 0.0 };
    for i in 0..=ACROSS {
        for j in 0..=ACROSS {
            let [u, v] = [i, j].map(|k| f64::from(k) / f64::from(ACROSS));
            let p: Point<Table> = table[0]
                .lerp(table[1], u)
                .lerp(table[3].lerp(table[2], u), v);
            let at = map.point(p)?;
            let mut sum: Vector<Projector> = Vector::zero();
            for one in &moved {
                sum += (one.point(p)? - at).abs() / STEP;
            }
            let px = by * sum.length();
            let mm = px * mapping.pixel_size(p, 0.0)?;
            worst = Off {
                px: worst.px.max(px),
                mm: worst.mm.max(mm),
            };
        }
    }
    Some(worst)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(px: [[f64; 2]; 4]) -> [MarkRow; 4] {
        let table = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
        std::array::from_fn(|k| MarkRow {
            table: Point::from(table[k]),
            projector: Point::from(px[k]),
        })
    }

    #[test]
    fn a_rectangle_seen_straight_has_its_closed_form() {
        // 1.5 px to the millimetre.
        let straight = rows([
            [60.0, 1260.0],
            [1860.0, 1260.0],
            [1860.0, 60.0],
            [60.0, 60.0],
        ]);
        let off = most_off(&straight, 0.2).unwrap();
        // 1800 × 1200 px, in the middle.
        let want = 0.2 * (1.0 + 1.5_f64).hypot(1.0 + 1.0 / 1.5);
        assert!((off.px - want).abs() < 1e-5, "{off:?}");
        assert!((off.mm - off.px / 1.5).abs() < 1e-5, "{off:?}");
    }

    #[test]
    fn no_wrong_marks_move_light_further() {
        let px = [
            [64.0, 1031.0],
            [1850.0, 1002.0],
            [1710.0, 95.0],
            [180.0, 70.0],
        ];
        let exact = rows(px);
        let map = Homography::through(exact.map(|r| r.table), exact.map(|r| r.projector)).unwrap();
        let most = most_off(&exact, 0.2).unwrap();
        let mut reached = 0.0_f64;
        // Every mark wrong by all of it: all 256 ways.
        for way in 0..256_u32 {
            let sign = |k: u32| if way >> k & 1 == 1 { 0.2 } else { -0.2 };
            let mut q = px;
            for (k, v) in q.iter_mut().flatten().enumerate() {
                *v += sign(k as u32);
            }
            let wrong = rows(q);
            let other =
                Homography::through(wrong.map(|r| r.table), wrong.map(|r| r.projector)).unwrap();
            for i in 0..=24 {
                for j in 0..=16 {
                    let p = Point::new(50.0 * f64::from(i), 50.0 * f64::from(j));
                    let by = other.point(p).unwrap() - map.point(p).unwrap();
                    reached = reached.max(by.length());
                }
            }
        }
        assert!(reached <= most.px * 1.01, "{reached} {most:?}");
        assert!(reached > 0.9 * most.px, "{reached} {most:?}");
    }
}
