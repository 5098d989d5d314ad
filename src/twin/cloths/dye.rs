//! What a cloth looks like: its weave, its stripes or its print, and how it has faded.

use super::speckle::noise;
use crate::space::{Point, Table, Vector};
use std::f64::consts::TAU;

#[derive(Debug, Clone)]
pub(super) struct Dye {
    pub(super) origin: Point<Table>,
    /// Along the warp.
    pub(super) warp: Vector<Table>,
    pub(super) base: [f64; 3],
    pub(super) pattern: Pattern,
    pub(super) weave: Weave,
    /// Towards where it has faded, per mm, and how much lighter it can get.
    pub(super) fade: (Vector<Table>, f64),
    pub(super) seed: u64,
}

#[derive(Debug, Clone)]
pub(super) enum Pattern {
    None,
    /// Colours and widths, mm, over and over, across the warp.
    Stripes(Vec<([f64; 3], f64)>),
    /// Dots or leaves every so many mm along and across, every other row shifted by half.
    Print {
        every: [f64; 2],
        size: f64,
        colour: [f64; 3],
        leaf: bool,
    },
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Weave {
    /// From warp thread to warp thread, from weft thread to weft thread, mm.
    pub(super) pitch: [f64; 2],
    pub(super) depth: f64,
    /// A twill's diagonal repeats over so many threads; 0 for plain weave.
    pub(super) twill: f64,
    /// The weft leans by so many radians.
    pub(super) skew: f64,
}

impl Dye {
    pub(super) fn repeat(&self) -> Option<f64> {
        match &self.pattern {
            Pattern::Stripes(all) => Some(all.iter().map(|s| s.1).sum()),
            _ => None,
        }
    }

    pub(super) fn at(&self, p: Point<Table>) -> [f64; 3] {
        let by = p - self.origin;
        let across = Vector::new(self.warp.y, -self.warp.x);
        // Threads are not ruled lines.
        let wander = 0.12 * noise(by.x / 40.0, by.y / 40.0, self.seed + 9);
        let (u, v) = (by.dot(self.warp), by.dot(across) + wander);
        let mut colour = self.base;
        match &self.pattern {
            Pattern::None => {}
            Pattern::Stripes(all) => {
                let repeat: f64 = all.iter().map(|s| s.1).sum();
                let mut at = v.rem_euclid(repeat);
                for (c, wide) in all {
                    if at < *wide {
                        colour = *c;
                        break;
                    }
                    at -= wide;
                }
            }
            Pattern::Print {
                every,
                size,
                colour: ink,
                leaf,
            } => {
                let row = (u / every[0]).round();
                let shift = if row.rem_euclid(2.0) < 0.5 { 0.0 } else { 0.5 };
                let x = v / every[1] + shift;
                let (du, dv) = (u - row * every[0], (x - x.round()) * every[1]);
                let inside = match leaf {
                    true => {
                        (du / size).powi(2) + (dv / (0.45 * size)).powi(2) * (1.3 + du / size) < 1.0
                    }
                    false => du.hypot(dv) < *size,
                };
                if inside {
                    colour = *ink;
                }
            }
        }
        // Faded colour goes towards a pale, yellowish grey.
        let (towards, most) = self.fade;
        let share =
            most * (0.5 + by.dot(towards) + 0.12 * noise(by.x / 90.0, by.y / 90.0, self.seed));
        let share = share.clamp(0.0, 0.9);
        let pale = [0.62, 0.59, 0.50];
        let colour: [f64; 3] = std::array::from_fn(|k| colour[k] + share * (pale[k] - colour[k]));
        let lit = self.weave.at(u, v) * (1.0 + 0.02 * noise(by.x / 1.3, by.y / 1.3, self.seed + 5));
        colour.map(|c| c * lit)
    }
}

impl Weave {
    fn at(&self, u: f64, v: f64) -> f64 {
        let u = u + self.skew * v;
        let (a, b) = (v / self.pitch[0], u / self.pitch[1]);
        let wave = |t: f64| (TAU * t).cos();
        if self.twill > 0.0 {
            let diagonal = wave((a + b) / self.twill);
            return 1.0 + self.depth * (0.9 * diagonal + 0.15 * wave(a));
        }
        let over = (TAU * a / 2.0).sin() * (TAU * b / 2.0).sin();
        1.0 + self.depth * (0.45 * wave(a) + 0.4 * wave(b) + 0.3 * over)
    }
}
