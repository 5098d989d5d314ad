//! Outlines that are seen whole from their middle: a radius for every direction.

use crate::space::{Point, Table, Vector};
use std::f64::consts::TAU;

#[derive(Debug, Clone)]
pub(super) struct Blob {
    centre: Point<Table>,
    radii: Vec<f64>,
    furthest: f64,
}

impl Blob {
    /// From `n` directions.
    pub(super) fn new(centre: Point<Table>, n: usize, radius: impl Fn(f64) -> f64) -> Self {
        let radii: Vec<f64> = (0..n).map(|k| radius(TAU * k as f64 / n as f64)).collect();
        let furthest = radii.iter().copied().fold(0.0, f64::max);
        Self {
            centre,
            radii,
            furthest,
        }
    }

    fn radius(&self, v: Vector<Table>) -> f64 {
        let n = self.radii.len();
        let at = (v.y.atan2(v.x) / TAU).rem_euclid(1.0) * n as f64;
        let (k, t) = (at as usize % n, at.fract());
        self.radii[k] * (1.0 - t) + self.radii[(k + 1) % n] * t
    }

    pub(super) fn near(&self, p: Point<Table>) -> bool {
        (p - self.centre).length() < 2.0 * self.furthest + 8.0
    }

    pub(super) fn holds(&self, p: Point<Table>) -> bool {
        let v = p - self.centre;
        let off = v.length();
        off < self.furthest && off < self.radius(v)
    }

    /// About how far inside a place lies, mm; outside it is negative.
    pub(super) fn depth(&self, p: Point<Table>) -> f64 {
        let v = p - self.centre;
        let off = v.length();
        if off > 2.0 * self.furthest + 20.0 {
            return -off;
        }
        let r = self.radius(v);
        let n = self.radii.len();
        let step = 0.5 + n as f64 * 0.002;
        let turn = step / n as f64 * TAU;
        let (sin, cos) = turn.sin_cos();
        let ahead = self.radius(Vector::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos));
        let slope = (ahead - r) / turn / r.max(0.1);
        (r - off) / slope.hypot(1.0)
    }

    /// Counter-clockwise.
    pub(super) fn ring(&self) -> Vec<Point<Table>> {
        let n = self.radii.len();
        let at = |(k, r): (usize, &f64)| {
            let (sin, cos) = (TAU * k as f64 / n as f64).sin_cos();
            self.centre + Vector::new(cos, sin) * *r
        };
        self.radii.iter().enumerate().map(at).collect()
    }
}
