//! A smooth line through points: a cubic spline.
//!
//! Between tangents that are given the line is the cubic spline with continuous second
//! derivative (de Boor, *A Practical Guide to Splines*, ch. IV), each step as long in its
//! parameter as the 0.8th power of the chord: between chord length (1) and Lee's
//! centripetal ½ (E. T. Y. Lee, *Choosing nodes in parametric curve interpolation*, CAD
//! 21(6), 1989); 0.8 keeps pattern curves even (common practice of this draft, chosen
//! when the demo was drawn). A tangent's handle is a third of the chord unless it is
//! given; with both tangents given, one step is the cubic Hermite curve.

use kurbo::{CubicBez, Point, Vec2};
use nalgebra::{DMatrix, Matrix};

use super::curve::Curve;

/// The power of the chord that is a step's share of the parameter.
const KNOT_POWER: f64 = 0.8;

/// A direction that the line must have at a point.
#[derive(Debug, Clone, Copy)]
pub struct Tangent {
    /// Unit vector, along the direction of travel.
    pub along: Vec2,
    /// Length of the Bézier handles there, mm: before the point and after it; `None`: a
    /// third of the chord.
    pub pull: Option<f64>,
}

/// The line through `points`, with the tangents that are given (one place a point).
/// Closed: it runs on from the last point to the first, smoothly.
///
/// `None` if two neighbouring points are one, or fewer than two (closed: three) are given.
pub fn through(points: &[Point], tangents: &[Option<Tangent>], closed: bool) -> Option<Curve> {
    let n = points.len();
    if n < if closed { 3 } else { 2 } || tangents.len() != n {
        return None;
    }
    if !closed {
        return Curve::new(run_by_run(points, tangents)?);
    }
    match tangents.iter().position(Option::is_some) {
        // From a tangent round to itself; then the start is put back where it was said.
        Some(first) => {
            let turn = |k: usize| (first + k) % n;
            let ring: Vec<Point> = (0..=n).map(|k| points[turn(k)]).collect();
            let given: Vec<_> = (0..=n).map(|k| tangents[turn(k)]).collect();
            let mut segs = run_by_run(&ring, &given)?;
            segs.rotate_left((n - first) % n);
            Curve::new(segs)
        }
        None => {
            let ring: Vec<Point> = points.iter().chain(points.first()).copied().collect();
            Curve::new(solve(&ring, None, None, true)?)
        }
    }
}

fn run_by_run(points: &[Point], tangents: &[Option<Tangent>]) -> Option<Vec<CubicBez>> {
    let last = points.len() - 1;
    let (mut out, mut from) = (Vec::new(), 0);
    for to in 1..=last {
        if to == last || tangents[to].is_some() {
            out.extend(solve(
                &points[from..=to],
                tangents[from],
                tangents[to],
                false,
            )?);
            from = to;
        }
    }
    Some(out)
}

/// One run: derivatives at its points from continuity of the second derivative. Ends
/// without a tangent are natural (no bend there); periodic if `round`.
fn solve(
    points: &[Point],
    start: Option<Tangent>,
    end: Option<Tangent>,
    round: bool,
) -> Option<Vec<CubicBez>> {
    let steps = points.len() - 1;
    let chords: Vec<Vec2> = points.windows(2).map(|w| w[1] - w[0]).collect();
    if chords.iter().any(|c| c.hypot() < 1e-6) {
        return None;
    }
    let h: Vec<f64> = chords.iter().map(|c| c.hypot().powf(KNOT_POWER)).collect();
    let n = if round { steps } else { steps + 1 };
    let mut a = DMatrix::<f64>::zeros(n, n);
    let mut b = Matrix::<f64, _, nalgebra::U2, _>::zeros_generic(nalgebra::Dyn(n), nalgebra::U2);
    let mut put = |row: usize, v: Vec2| {
        b[(row, 0)] = v.x;
        b[(row, 1)] = v.y;
    };
    let speed = |t: &Tangent, k: usize| {
        let handle = t.pull.unwrap_or(chords[k].hypot() / 3.0);
        t.along * (3.0 * handle / h[k])
    };
    for i in 0..n {
        let inner = round || (i > 0 && i < steps);
        if inner {
            let (p, q) = ((i + steps - 1) % steps, i % steps);
            a[(i, (i + n - 1) % n)] += 1.0 / h[p];
            a[(i, i)] += 2.0 / h[p] + 2.0 / h[q];
            a[(i, (i + 1) % n)] += 1.0 / h[q];
            put(
                i,
                3.0 * (chords[p] / (h[p] * h[p]) + chords[q] / (h[q] * h[q])),
            );
            continue;
        }
        let (given, k, other) = if i == 0 {
            (start, 0, 1)
        } else {
            (end, steps - 1, i - 1)
        };
        if let Some(t) = given {
            a[(i, i)] = 1.0;
            put(i, speed(&t, k));
        } else {
            a[(i, i)] = 2.0;
            a[(i, other)] = 1.0;
            put(i, 3.0 * chords[k] / h[k]);
        }
    }
    let m = a.lu().solve(&b)?;
    let slope = |i: usize| Vec2::new(m[(i % n, 0)], m[(i % n, 1)]);
    let cubic = |k: usize| {
        let (p, q) = (points[k], points[k + 1]);
        CubicBez::new(
            p,
            p + slope(k) * (h[k] / 3.0),
            q - slope(k + 1) * (h[k] / 3.0),
            q,
        )
    };
    Some((0..steps).map(cubic).collect())
}
