//! Four corners from a convex outline, if it is a four-sided figure.

use super::blobs::cross;

/// What of the outline's area its four corners must hold: a disc has 0.64, a regular hexagon
/// 0.67, a square whose corners are rounded to an eighth of its side 0.98.
const HELD: f64 = 0.87;
/// Shortest side, px of the level: cells under 2.5 px are not told.
const SHORTEST: f64 = 20.0;
/// Sine of the most acute corner: a square seen at 35° has none under 70°, leave for lenses.
const ACUTE: f64 = 0.5;
/// Opposite sides' most unequal lengths.
const UNEQUAL: f64 = 2.0;

/// The four corners of `hull` (clockwise to the eye, y down), in its order; `None` if it has
/// more or fewer, or is too small or too slanted to be a tag.
pub(super) fn corners(hull: &[[f64; 2]]) -> Option<[[f64; 2]; 4]> {
    let quad = largest(hull);
    let area =
        |ring: &[[f64; 2]]| -> f64 { ring.windows(2).map(|w| cross(ring[0], w[0], w[1])).sum() };
    if area(&quad) < HELD * area(hull) {
        return None;
    }
    let side = |k: usize| {
        let (a, b) = (quad[k % 4], quad[(k + 1) % 4]);
        (b[0] - a[0]).hypot(b[1] - a[1])
    };
    let sound = (0..4).all(|k| {
        let (before, after, far) = (side(k + 3), side(k), side(k + 2));
        let turn = cross(quad[(k + 3) % 4], quad[k], quad[(k + 1) % 4]);
        after >= SHORTEST && turn >= ACUTE * before * after && after <= UNEQUAL * far
    });
    sound.then_some(quad)
}

/// The four corners that hold the largest area: from two far ones and the farthest on either
/// side of their line, each is moved along the outline while the area grows.
fn largest(hull: &[[f64; 2]]) -> [[f64; 2]; 4] {
    let n = hull.len();
    let farthest = |from: [f64; 2]| {
        let far = |k: &usize| (hull[*k][0] - from[0]).hypot(hull[*k][1] - from[1]);
        (0..n).max_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
    };
    let a = farthest(hull[0]);
    let c = farthest(hull[a]);
    // Of the corners from one up to another, the one farthest outside the line between two.
    let outermost = |from: usize, to: usize, line: [usize; 2]| {
        let out = |k: &usize| cross(hull[line[0]], hull[k % n], hull[line[1]]);
        let to = if to <= from { to + n } else { to };
        let found = (from + 1..to).max_by(|a, b| out(a).total_cmp(&out(b)));
        found.map(|k| k % n)
    };
    let mut at = [
        a,
        outermost(a, c, [a, c]).unwrap_or(a),
        c,
        outermost(c, a, [c, a]).unwrap_or(c),
    ];
    // Each round adds area, and there are few corners: what turns in circles is no tag.
    for _ in 0..8 {
        let before = at;
        for k in 0..4 {
            let (from, to) = (at[(k + 3) % 4], at[(k + 1) % 4]);
            at[k] = outermost(from, to, [from, to]).unwrap_or(at[k]);
        }
        if at == before {
            break;
        }
    }
    at.map(|k| hull[k])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A figure's outline, points on its sides.
    fn outline(corners: &[[f64; 2]], cut: f64) -> Vec<[f64; 2]> {
        let n = corners.len();
        let mut all = Vec::new();
        for (k, p) in corners.iter().enumerate() {
            for (q, share) in [(corners[(k + n - 1) % n], cut), (corners[(k + 1) % n], cut)] {
                all.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
            }
        }
        all
    }

    #[test]
    fn a_square_with_blunt_corners_has_four() {
        let square = [[10.0, 10.0], [70.0, 14.0], [66.0, 72.0], [8.0, 70.0]];
        let found = corners(&outline(&square, 0.03)).unwrap();
        for p in square {
            let near = |q: &[f64; 2]| (q[0] - p[0]).hypot(q[1] - p[1]) < 2.6;
            assert!(found.iter().any(near), "{p:?} {found:?}");
        }
    }

    #[test]
    fn other_figures_have_not() {
        let regular = |n: u32| -> Vec<[f64; 2]> {
            let turn = |k| f64::from(k) * std::f64::consts::TAU / f64::from(n);
            (0..n)
                .map(|k| [50.0 + 40.0 * turn(k).cos(), 50.0 + 40.0 * turn(k).sin()])
                .collect()
        };
        for n in [3, 5, 6, 8, 40] {
            assert_eq!(corners(&regular(n)), None, "{n}");
        }
        assert!(corners(&regular(4)).is_some());
        let slant = [[0.0, 0.0], [60.0, 0.0], [120.0, 20.0], [60.0, 20.0]];
        assert_eq!(corners(&slant), None);
        let small = [[0.0, 0.0], [19.0, 0.0], [19.0, 19.0], [0.0, 19.0]];
        assert_eq!(corners(&small), None);
        let wedge = [[0.0, 0.0], [90.0, 0.0], [90.0, 60.0], [0.0, 25.0]];
        assert_eq!(corners(&wedge), None);
    }
}
