//! What the cloth has of contrast of its own, at the size of a guide.

use super::Seeing;
use crate::raster::{Raster, Sums};
use crate::space::{Bounds, Point, Table};

/// A place's surroundings reach so many times the guide's width to each side.
const AROUND: f64 = 4.0;

/// Spread of the cloth's light at one size, place by place.
#[derive(Debug)]
pub struct Texture {
    coarse: Raster<[f64; 2], Table>,
    /// Of what both photos have in common, and its square; of what they do not: noise.
    sums: [Sums; 4],
}

impl Texture {
    /// At `size` mm: the light of both photos averaged over squares of that side, half a
    /// side apart, in logarithms. What the projector adds is divided out of the white one,
    /// so that the two differ by the camera's noise alone, which is taken off.
    pub fn of(seeing: &Seeing, size: f64) -> Self {
        let fine = &seeing.dark;
        let reach = ((size / fine.cell() - 1.0) / 2.0).round().max(0.0) as usize;
        let bounds: Bounds<Table> = fine.bounds();
        let step = (size / 2.0).max(fine.cell());
        let nothing = [f64::NAN; 2];
        let coarse = Raster::over(bounds, step, |_, _, p| {
            let Some((c, r)) = fine.cell_at(p) else {
                return nothing;
            };
            let mean = |k: usize| seeing.sums[k].mean_about(c, r, reach);
            match (mean(0), mean(1), seeing.ratio_about(c, r)) {
                (Some(d), Some(w), Some(k)) => {
                    let (d, w) = (d.ln(), (w / (1.0 + k)).ln());
                    [0.5 * (d + w), w - d]
                }
                _ => nothing,
            }
        });
        let sum = |of: fn(&[f64; 2]) -> f64| Sums::of(&coarse, |v| Some(of(v)));
        let sums = [
            sum(|v| v[0]),
            sum(|v| v[0] * v[0]),
            sum(|v| v[1]),
            sum(|v| v[1] * v[1]),
        ];
        Self { coarse, sums }
    }

    /// Standard deviation of the light's logarithm about a place; 0 where nothing measures.
    pub fn spread(&self, at: Point<Table>) -> f64 {
        let Some((c, r)) = self.coarse.cell_at(at) else {
            return 0.0;
        };
        let reach = (AROUND * 2.0) as usize;
        let mean = |k: usize| self.sums[k].mean_about(c, r, reach).unwrap_or(0.0);
        let variance = |k: usize| (mean(k + 1) - mean(k) * mean(k)).max(0.0);
        // The mean of two has half their noise, and so a quarter of their difference's variance.
        (variance(0) - variance(2) / 4.0).max(0.0).sqrt()
    }
}
