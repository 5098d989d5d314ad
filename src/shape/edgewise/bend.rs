//! One corner of an outline whose edges are moved.

use super::{ARC, CORNER, MITRE_LIMIT};
use crate::space::{Point, Vector};

/// The sine of a turn that is none: on an allowance of 20 mm it makes 2 µm.
const STRAIGHT: f64 = 1e-4;

/// A corner as the moved lines see it: out is the way they are moved.
pub struct Bend<S> {
    pub at: Point<S>,
    /// Unit directions of travel before and after.
    pub e: [Vector<S>; 2],
    /// Unit vectors outwards.
    pub m: [Vector<S>; 2],
    pub by: [f64; 2],
    /// Of the turn: positive where the moved lines gape, negative where they cross.
    pub sin: f64,
    pub cos: f64,
}

impl<S> Bend<S> {
    pub fn new(at: Point<S>, e: [Vector<S>; 2], by: [f64; 2], out: f64) -> Self {
        let m = e.map(|e| Vector::new(e.y, -e.x) * out);
        Self {
            at,
            m,
            by,
            sin: out * e[0].cross(e[1]),
            cos: e[0].dot(e[1]),
            e,
        }
    }

    /// Where the moved line before it ends, square to the corner.
    pub fn a(&self) -> Point<S> {
        self.at + self.m[0] * self.by[0]
    }

    /// Where the moved line after it begins.
    pub fn b(&self) -> Point<S> {
        self.at + self.m[1] * self.by[1]
    }

    /// How far the moved lines run on, from `a` and from `b`, until they meet.
    pub fn meet(&self) -> (f64, f64) {
        let [a, b] = self.by;
        // For equal distances the same, without the difference of like numbers.
        if a == b && self.cos > 0.0 {
            let t = a * self.sin / (1.0 + self.cos);
            return (t, -t);
        }
        ((b - a * self.cos) / self.sin, (b * self.cos - a) / self.sin)
    }

    pub fn gapes(&self) -> bool {
        self.sin > 0.0 || (self.sin == 0.0 && self.cos < 0.0)
    }

    /// Whether it turns by more than a curve's chords do.
    pub fn is_corner(&self) -> bool {
        self.cos < CORNER.to_radians().cos()
    }

    pub fn limit(&self) -> f64 {
        MITRE_LIMIT * self.by[0].max(self.by[1])
    }

    /// Where the lines cross: the place itself if both edges reach it, else the way past
    /// the corner, which winds rightly round all.
    pub fn crossed(&self, lengths: [f64; 2], out: f64) -> Vec<Point<S>> {
        // As good as straight: a step, or nothing.
        if self.sin.abs() < STRAIGHT {
            return vec![self.a(), self.b()];
        }
        let (s, u) = self.meet();
        let near = |t: f64, length: f64| (0.0..=length / 2.0).contains(&t);
        if near(-s, lengths[0]) && near(u, lengths[1]) {
            return vec![self.a() + self.e[0] * s];
        }
        let x = self.a() + self.e[0] * s;
        // Shrunk, the strip that ends short of the other's line runs on to it: else a
        // thorn of the corner would stay.
        let short = out < 0.0 && (s > 0.0 || u < 0.0) && self.is_corner();
        if short && (x - self.at).length() <= self.limit() {
            return vec![self.a(), x, self.b()];
        }
        vec![self.a(), self.at, self.b()]
    }

    /// Both lines on until they meet. True if the mitre had to be cut off.
    pub fn mitre(&self) -> (Vec<Point<S>>, bool) {
        let (s, u) = self.meet();
        if self.sin.abs() < 1e-9 && self.cos > 0.0 {
            return (vec![self.a(), self.b()], false);
        }
        // One strip ends before the other's line is met: a step, square to it.
        if s < 0.0 {
            let foot = self.at + self.m[0] * (self.by[1] / self.cos);
            return (vec![self.a(), foot], false);
        }
        if u > 0.0 {
            let foot = self.at + self.m[1] * (self.by[0] / self.cos);
            return (vec![foot, self.b()], false);
        }
        let x = self.a() + self.e[0] * s;
        if (x - self.at).length() <= self.limit() {
            return (vec![x], false);
        }
        let far = if s.is_finite() {
            x - self.at
        } else {
            self.e[0] - self.e[1]
        };
        let u = far.try_normalize().unwrap_or(self.e[0]);
        let on = |from: Point<S>, e: Vector<S>| {
            from + e * ((self.limit() - (from - self.at).dot(u)) / e.dot(u))
        };
        (vec![on(self.a(), self.e[0]), on(self.b(), self.e[1])], true)
    }

    /// An arc round the corner, for equal distances.
    pub fn arc(&self) -> Vec<Point<S>> {
        let by = self.by[0];
        let turn = self.sin.atan2(self.cos);
        if by * (1.0 / (turn / 2.0).cos() - 1.0) <= ARC {
            return vec![self.a() + self.e[0] * self.meet().0];
        }
        let step = 2.0 * (1.0 - ARC / by).clamp(-1.0, 1.0).acos();
        let n = (turn / step).ceil().max(1.0);
        let on = |k: usize| {
            let (sin, cos) = (turn * k as f64 / n).sin_cos();
            self.at + (self.m[0] * cos + self.e[0] * sin) * by
        };
        let mut points = vec![self.a()];
        points.extend((1..n as usize).map(on));
        points.push(self.b());
        points
    }
}
