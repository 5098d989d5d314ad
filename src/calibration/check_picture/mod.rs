//! The check on the table: a square of light of known size and its diagonals,
//! for a tape to be laid on, and what the tape's readings mean.
//!
//! The square is chosen inside the marks, where the calibration is to be
//! trusted, as large as whole steps allow: a long line shows an error best.

mod causes;
mod judge;
#[cfg(test)]
mod tests;

pub use causes::Cause;
pub use judge::{Finding, Judged};

use super::Profile;
use super::table_marks::Span;
use crate::fault::{Fault, Outcome, counted};
use crate::measure::{MM_PER_INCH, Unit};
use crate::projection::Mapping;
use crate::space::{Point, Projector, Table, Vector, mean};

/// A square of light upon the table, edges along the table's axes.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckSquare {
    /// Front left, front right, back right, back left: ends of [`Span`]s.
    pub corners: [Point<Table>; 4],
    /// Length of an edge, mm.
    pub side: f64,
    /// The unit in which it is a round number, and the tape is read.
    pub unit: Unit,
    /// The finest line of light at its corners, mm: the coarsest pixel there,
    /// or a longer one of a projector that rescales ([`Profile::finest`]).
    pub pixel: f64,
    /// The marks as they were typed: places where the mapping was set.
    pub marks: [Point<Table>; 4],
}

/// The step in which the square grows: 50 mm, or 2 in.
fn step(unit: Unit) -> f64 {
    match unit {
        Unit::Inch => 2.0 * MM_PER_INCH,
        _ => 50.0,
    }
}

/// The largest square of whole steps of 50 mm (2 in for inches) that lies
/// inside the profile's marks and inside its picture, as near the middle as
/// there is room.
///
/// # Errors
/// If the profile holds not just four marks, its numbers are no mapping, or
/// not even a square of one step fits.
pub fn check_square(profile: &Profile, unit: Unit) -> Outcome<CheckSquare> {
    let corners = profile.marks.iter().take(4);
    let places: Vec<Point<Table>> = corners.map(|m| m.table_mm.into()).collect();
    let marks: [Point<Table>; 4] = places.try_into().map_err(|_| {
        Fault::input(
            format!(
                "the profile holds {}, and the check needs its four",
                counted(profile.marks.len(), "mark", "marks")
            ),
            "set the table anew",
        )
    })?;
    let mapping = profile.mapping()?;
    let hull = hull(marks);
    let step = step(unit);
    let reach = marks
        .iter()
        .flat_map(|a| marks.iter().map(move |b| (*a - *b).length()));
    let most = (reach.fold(0.0, f64::max) / step).floor().min(10_000.0) as u32;
    for count in (1..=most).rev() {
        let side = step * f64::from(count);
        let Some(corner) = room_for(&hull, side) else {
            continue;
        };
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
            .map(|(x, y)| corner + Vector::new(x, y));
        if let Some(pixel) = lit(&mapping, profile.projector_px, &corners) {
            return Ok(CheckSquare {
                corners,
                side,
                unit,
                pixel: pixel * profile.finest(),
                marks,
            });
        }
    }
    Err(Fault::input(
        format!("no square of {} fits between the marks", unit.show(step)),
        "set the marks further apart, near the corners of the table",
    ))
}

/// The marks in counter-clockwise order round their middle: four marks that
/// fix a mapping enclose each other's middle or one lies inside; then its
/// place is in the other three's triangle, which is the hull.
fn hull(marks: [Point<Table>; 4]) -> Vec<Point<Table>> {
    let inside = |k: usize| {
        let others: Vec<Point<Table>> = (0..4).filter(|j| *j != k).map(|j| marks[j]).collect();
        let turns = [0, 1, 2].map(|j| {
            let (a, b) = (others[j], others[(j + 1) % 3]);
            (b - a).cross(marks[k] - a) > 0.0
        });
        turns == [true; 3] || turns == [false; 3]
    };
    let mut out: Vec<Point<Table>> = (0..4).filter(|k| !inside(*k)).map(|k| marks[k]).collect();
    let middle = mean(out.iter().copied()).unwrap_or_default();
    out.sort_by(|a, b| {
        let angle = |p: &Point<Table>| (p.y - middle.y).atan2(p.x - middle.x);
        angle(a).total_cmp(&angle(b))
    });
    out
}

/// A place for the front left corner of a square of `side` inside the hull,
/// in the middle of all such places. `None` if there is none.
///
/// The square lies on the inner side of an edge of the hull where its corner
/// does that is nearest to the edge; so the places are the hull's half-planes,
/// each moved inwards by that corner, cut out of the plane one by one.
fn room_for(hull: &[Point<Table>], side: f64) -> Option<Point<Table>> {
    let far = 1e6;
    let mut room: Vec<Point<Table>> = [(-far, -far), (far, -far), (far, far), (-far, far)]
        .map(|(x, y)| Point::new(x, y))
        .to_vec();
    for (k, a) in hull.iter().enumerate() {
        let along = (hull[(k + 1) % hull.len()] - *a).normalize();
        let inward = Vector::new(-along.y, along.x);
        let nearest = side * (inward.x.min(0.0) + inward.y.min(0.0));
        let height = |p: Point<Table>| inward.dot(p - *a) + nearest;
        let mut kept = Vec::new();
        for (j, p) in room.iter().enumerate() {
            let q = room[(j + 1) % room.len()];
            let (hp, hq) = (height(*p), height(q));
            if hp >= -1e-9 {
                kept.push(*p);
            }
            if (hp > 0.0 && hq < 0.0) || (hp < 0.0 && hq > 0.0) {
                kept.push(p.lerp(q, hp / (hp - hq)));
            }
        }
        room = kept;
    }
    mean(room)
}

/// The coarsest pixel at the corners, mm, if they and the edges between them
/// lie in the picture.
fn lit(mapping: &Mapping, [w, h]: [u32; 2], corners: &[Point<Table>; 4]) -> Option<f64> {
    let mut coarsest = 0.0_f64;
    for (k, corner) in corners.iter().enumerate() {
        // A lens may bow an edge out of the picture.
        for part in 0..8 {
            let p = corner.lerp(corners[(k + 1) % 4], f64::from(part) / 8.0);
            let q: Point<Projector> = mapping.pixel(p, 0.0)?;
            let inside = (0.0..=f64::from(w)).contains(&q.x) && (0.0..=f64::from(h)).contains(&q.y);
            inside.then_some(())?;
        }
        coarsest = coarsest.max(mapping.pixel_size(*corner, 0.0)?);
    }
    Some(coarsest)
}

impl CheckSquare {
    /// How long `span` is meant to be, mm.
    pub fn expected(&self, span: Span) -> f64 {
        match span {
            Span::Diagonal13 | Span::Diagonal24 => self.side * std::f64::consts::SQRT_2,
            _ => self.side,
        }
    }

    /// How much a reading of `span` may differ and still be right, mm: half a
    /// millimetre of tape, one and a half pixels (one of the line's own, half
    /// for the hand that set the marks), or 1 mm in 500, whichever is more.
    /// Common practice: what differs by less does not change the fit of work
    /// of this size.
    pub fn tolerance(&self, span: Span) -> f64 {
        (0.5 + 1.5 * self.pixel).max(self.expected(span) / 500.0)
    }
}

#[cfg(test)]
mod squares {
    use super::*;
    use crate::calibration::MarkRow;
    use proptest::prelude::*;

    fn profile(marks: [[f64; 2]; 4]) -> Profile {
        // 1.6 px to the millimetre, y down.
        let rows = marks.map(|[x, y]| MarkRow {
            table: Point::new(x, y),
            projector: Point::new(1.6 * x, 1080.0 - 1.6 * y - 0.02 * x),
        });
        Profile::of_four(&rows, [1920, 1080], false).unwrap()
    }

    #[test]
    fn the_square_is_round_and_in_the_middle() {
        let p = profile([
            [100.0, 40.0],
            [1100.0, 40.0],
            [1100.0, 600.0],
            [100.0, 600.0],
        ]);
        let square = check_square(&p, Unit::Mm).unwrap();
        assert_eq!(square.side, 550.0);
        assert!((square.corners[0] - Point::new(325.0, 45.0)).length() < 1e-6);
        assert!((square.pixel - 0.625).abs() < 0.01);
        let inches = check_square(&p, Unit::Inch).unwrap();
        assert!((inches.side - 22.0 * 25.4).abs() < 1e-9);
        // 550: half a millimetre and one and a half pixels are more than 1.1.
        assert!((square.tolerance(Span::Front) - 0.5 - 1.5 * square.pixel).abs() < 1e-12);
        assert!((square.expected(Span::Diagonal24) - 777.817_459_3).abs() < 1e-6);
    }

    #[test]
    fn marks_beyond_the_picture_or_too_near_are_minded() {
        // The marks' back edge lies beyond the picture's top.
        let p = profile([
            [100.0, 40.0],
            [1100.0, 40.0],
            [1100.0, 900.0],
            [100.0, 900.0],
        ]);
        let square = check_square(&p, Unit::Mm).unwrap();
        assert!(square.side < 650.0, "{}", square.side);
        let p = profile([[100.0, 40.0], [1100.0, 40.0], [1100.0, 85.0], [100.0, 85.0]]);
        let said = check_square(&p, Unit::Mm).unwrap_err().to_string();
        assert!(said.contains("no square of 50.0 mm"), "{said}");
        let mut none = p;
        none.marks.pop();
        assert!(
            check_square(&none, Unit::Mm)
                .unwrap_err()
                .to_string()
                .contains("3 marks")
        );
    }

    proptest! {
        #[test]
        fn the_square_lies_inside_the_marks_and_no_larger_one_would(
            off in prop::array::uniform8(-120.0..120.0f64), turn in -0.7..0.7f64,
        ) {
            let at = [[0.0, 0.0], [900.0, 0.0], [900.0, 600.0], [0.0, 600.0]];
            let (sin, cos) = turn.sin_cos();
            let marks: [Point<Table>; 4] = std::array::from_fn(|k| {
                let (x, y) = (at[k][0] + off[2 * k], at[k][1] + off[2 * k + 1]);
                Point::new(cos * x - sin * y, sin * x + cos * y)
            });
            let hull = hull(marks);
            let inside = |p: Point<Table>| (0..hull.len()).all(|k| {
                let (a, b) = (hull[k], hull[(k + 1) % hull.len()]);
                (b - a).cross(p - a) >= -1e-3
            });
            let fits = |corner: Point<Table>, side: f64| {
                [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
                    .into_iter()
                    .all(|(x, y)| inside(corner + Vector::new(x, y)))
            };
            let largest = (1..30).rev().map(|k| 50.0 * f64::from(k)).find(|s| room_for(&hull, *s).is_some());
            let side = largest.unwrap();
            prop_assert!(fits(room_for(&hull, side).unwrap(), side));
            // By trial over a raster, a square a step larger finds no place.
            for i in -40..80 {
                for j in -40..80 {
                    let corner = Point::new(20.0 * f64::from(i), 20.0 * f64::from(j));
                    prop_assert!(!fits(corner, side + 50.0));
                }
            }
        }
    }
}
