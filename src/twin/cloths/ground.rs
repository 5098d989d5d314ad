//! The table: wood, a cutting mat, or something plain.

use super::speckle::noise;
use crate::space::{Point, Table};

#[derive(Debug, Clone)]
pub(super) struct Ground {
    pub(super) colour: [f64; 3],
    pub(super) look: Look,
    pub(super) seed: u64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Look {
    /// Streaks along x.
    Wood,
    /// Fine lines every 10 mm.
    Mat,
    /// Soft mottles.
    Plain,
}

impl Ground {
    pub(super) fn at(&self, p: Point<Table>) -> [f64; 3] {
        let fine = noise(p.x / 3.0, p.y / 3.0, self.seed);
        match self.look {
            Look::Wood => {
                let bent = p.y + 6.0 * noise(p.x / 160.0, p.y / 60.0, self.seed + 1);
                let streak = noise(p.x / 140.0, bent / 2.2, self.seed + 2)
                    + 0.6 * noise(p.x / 300.0, bent / 9.0, self.seed + 3);
                let by = 1.0 + 0.07 * streak + 0.01 * fine;
                // What is darker in wood is redder.
                let k = self.colour;
                [k[0] * by, k[1] * by.powf(1.15), k[2] * by.powf(1.35)]
            }
            Look::Mat => {
                let line = |v: f64| (v / 10.0 - (v / 10.0).round()).abs() * 10.0 < 0.2;
                let by = 1.0 + 0.02 * fine;
                let k = self.colour.map(|v| v * by);
                if line(p.x) || line(p.y) {
                    return k.map(|v| v * 0.7 + 0.3 * 0.55);
                }
                k
            }
            Look::Plain => {
                let by = 1.0 + 0.03 * noise(p.x / 25.0, p.y / 25.0, self.seed + 4) + 0.015 * fine;
                self.colour.map(|v| v * by)
            }
        }
    }
}
