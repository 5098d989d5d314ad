//! Curves of DXF as paths: bulges, arcs, ellipses, splines.

use kurbo::{Arc, BezPath, Point, Vec2};

use crate::fault::{Fault, Outcome};

/// How near a path is to the curve, as a part of the curve's size: 1e-6 of a metre is
/// a thousandth of a millimetre.
const NEAR: f64 = 1e-6;
/// Highest degree of a spline.
const MAX_DEGREE: usize = 15;
/// Most steps that one span of a spline is parted into.
const MAX_STEPS: usize = 1 << 12;

/// Goes on from the path's end along an arc. `radii`, `turn` and angles in radians as
/// `kurbo` has them; `end` is where it ends exactly.
pub fn arc_to(path: &mut BezPath, arc: Arc, end: Point) {
    let within = (arc.radii.x.abs().max(arc.radii.y.abs()) * NEAR).max(f64::MIN_POSITIVE);
    let mut curves: Vec<[Point; 3]> = Vec::new();
    arc.to_cubic_beziers(within, |a, b, c| curves.push([a, b, c]));
    if let Some(last) = curves.last_mut() {
        last[2] = end;
    }
    for [a, b, c] in curves {
        path.curve_to(a, b, c);
    }
}

/// Goes on from `from`, the path's end, to `to`. A bulge is the tangent of a quarter
/// of the arc's angle, > 0 counter-clockwise (DXF reference, group 42).
pub fn bulge_to(path: &mut BezPath, from: Point, to: Point, bulge: f64) {
    let chord = to - from;
    let length = chord.hypot();
    if bulge.abs() < 1e-9 || length == 0.0 {
        path.line_to(to);
        return;
    }
    let left = Vec2::new(-chord.y, chord.x);
    let centre = from.midpoint(to) + left * ((1.0 - bulge * bulge) / (4.0 * bulge));
    let radius = (from - centre).hypot();
    if !radius.is_finite() || radius > 1e4 * length {
        path.line_to(to);
        return;
    }
    let arc = Arc::new(
        centre,
        (radius, radius),
        (from - centre).atan2(),
        4.0 * bulge.atan(),
        0.0,
    );
    arc_to(path, arc, to);
}

/// An arc of an ellipse from parameter `start` over `sweep` (radians): centre + major ·
/// cos + minor · sin.
pub fn ellipse(centre: Point, major: Vec2, ratio: f64, start: f64, sweep: f64) -> BezPath {
    let radii = Vec2::new(major.hypot(), major.hypot() * ratio);
    let at = |t: f64| {
        let minor = Vec2::new(-major.y, major.x) * ratio;
        centre + major * t.cos() + minor * t.sin()
    };
    let mut path = BezPath::new();
    path.move_to(at(start));
    let arc = Arc::new(centre, radii, start, sweep, major.atan2());
    arc_to(&mut path, arc, at(start + sweep));
    path
}

/// A B-spline, rational if its weights differ.
pub struct Spline {
    pub degree: usize,
    pub knots: Vec<f64>,
    pub points: Vec<Point>,
    /// As many as points.
    pub weights: Vec<f64>,
}

impl Spline {
    /// # Errors
    ///
    /// When its knots, points and degree do not fit together.
    pub fn check(&self) -> Outcome<()> {
        let fits = (1..=MAX_DEGREE).contains(&self.degree)
            && self.points.len() > self.degree
            && self.knots.len() == self.points.len() + self.degree + 1
            && self.knots.windows(2).all(|k| k[0] <= k[1])
            && self.weights.len() == self.points.len()
            && self.weights.iter().all(|w| (1e-6..=1e6).contains(w))
            && self.knots[self.degree] < self.knots[self.points.len()];
        if fits {
            Ok(())
        } else {
            Err(Fault::input(
                "the curve (a spline) is damaged: its numbers do not fit together",
                "draw it anew, or export it as many short lines",
            ))
        }
    }

    /// The point at parameter `t` in the span that begins at knot `k`, by de Boor's
    /// algorithm on (wx, wy, w).
    fn at(&self, k: usize, t: f64) -> Point {
        let p = self.degree;
        let mut d = [[0.0; 3]; MAX_DEGREE + 1];
        for (own, i) in d.iter_mut().zip(k - p..=k) {
            let (q, w) = (self.points[i], self.weights[i]);
            *own = [q.x * w, q.y * w, w];
        }
        for r in 1..=p {
            for j in (r..=p).rev() {
                let (low, high) = (self.knots[j + k - p], self.knots[j + 1 + k - r]);
                let a = if high > low {
                    (t - low) / (high - low)
                } else {
                    0.0
                };
                let before = d[j - 1];
                for (to, from) in d[j].iter_mut().zip(before) {
                    *to = (1.0 - a) * from + a * *to;
                }
            }
        }
        Point::new(d[p][0] / d[p][2], d[p][1] / d[p][2])
    }

    /// As straight edges within `within` (drawing units) of the curve. `spend` is asked
    /// before points are made.
    ///
    /// # Errors
    ///
    /// Those of `spend`.
    pub fn flat(
        &self,
        within: f64,
        mut spend: impl FnMut(usize) -> Outcome<()>,
    ) -> Outcome<BezPath> {
        let mut path = BezPath::new();
        for k in self.degree..self.points.len() {
            let (from, to) = (self.knots[k], self.knots[k + 1]);
            if to <= from {
                continue;
            }
            let at = |part: f64| self.at(k, from + (to - from) * part);
            let mut steps = 2;
            spend(steps)?;
            // A span is smooth: halving the steps' length quarters what chords leave out.
            while steps < MAX_STEPS {
                let off = |n: usize| {
                    let (a, b) = (n as f64 / steps as f64, (n + 1) as f64 / steps as f64);
                    (at((a + b) / 2.0) - at(a).midpoint(at(b))).hypot()
                };
                if (0..steps).map(off).fold(0.0, f64::max) <= within {
                    break;
                }
                // Looking costs as much as making, so it is paid first.
                spend(steps)?;
                steps *= 2;
            }
            if path.elements().is_empty() {
                path.move_to(at(0.0));
            }
            for n in 1..=steps {
                path.line_to(at(n as f64 / steps as f64));
            }
        }
        Ok(path)
    }
}
