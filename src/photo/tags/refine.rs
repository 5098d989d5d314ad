//! A tag's corners at full resolution: where its sides meet.

use super::edge::{Lost, Side};
use super::family::CELLS;
use crate::photo::Picture;
use crate::space::{Photo, Point};

/// What no repeated look takes away, px: uneven pixels, ink and paper. Measured by
/// `benches/src/tags.rs`.
const FLOOR: f64 = 0.02;
/// Share of the blur by which an edge beside white that the camera could not write may lie off.
const CLIPPED: f64 = 0.3;

/// Corners in the order given, clockwise to the eye.
#[derive(Debug, Clone, Copy)]
pub(super) struct Refined {
    pub corners: [Point<Photo>; 4],
    /// Standard error of each along each of x and y, px.
    pub sigma: [f64; 4],
    /// Root mean square of what places on the sides differ by, px.
    pub scatter: f64,
    /// Median standard deviation of the light's fall, px.
    pub blur: f64,
}

/// From corners that are right to about `rough` px.
pub(super) fn refined(
    picture: &Picture,
    corners: [Point<Photo>; 4],
    rough: f64,
) -> Result<Refined, Lost> {
    let mut corners = corners;
    let mut reach = rough + 2.0;
    let mut last = Err(Lost::Blurred);
    for _ in 0..4 {
        let side = |k: usize| {
            let ends = [corners[k], corners[(k + 1) % 4]];
            let length = (ends[1] - ends[0]).length();
            // The smaller way across a cell counts: the two beside this side.
            let beside = [(k + 1, k + 2), (k + 3, k)]
                .map(|(a, b)| (corners[a % 4] - corners[b % 4]).length());
            let cell = beside[0].min(beside[1]).min(length) / CELLS as f64;
            Side::near(picture, ends, reach.clamp(2.0, (0.6 * cell).max(2.0)), cell)
                .map(|side| (side, cell))
        };
        let found = [side(0)?, side(1)?, side(2)?, side(3)?];
        let sides = found.map(|(side, _)| side);
        let mut met = [(Point::zero(), 0.0); 4];
        for (k, met) in met.iter_mut().enumerate() {
            *met = sides[(k + 3) % 4].meets(&sides[k]).ok_or(Lost::Crumpled)?;
        }
        let blur = sides.map(|s| s.blur);
        let widest = blur.iter().copied().fold(0.0, f64::max);
        let least = found.iter().map(|f| f.1).fold(f64::INFINITY, f64::min);
        if widest > 0.3 * least {
            return Err(Lost::Blurred);
        }
        corners = met.map(|m| m.0);
        let clipped = |k: usize| {
            if sides[k].clipped {
                CLIPPED * blur[k]
            } else {
                0.0
            }
        };
        let sigma = |k: usize| {
            let more = clipped(k).max(clipped((k + 3) % 4));
            (met[k].1.powi(2) + FLOOR.powi(2) + more.powi(2)).sqrt()
        };
        last = Ok(Refined {
            corners,
            sigma: std::array::from_fn(sigma),
            scatter: (sides.iter().map(|s| s.scatter.powi(2)).sum::<f64>() / 4.0).sqrt(),
            blur: blur.iter().sum::<f64>() / 4.0,
        });
        // Far enough to reach black and white past the blur.
        reach = 3.2 * widest + 1.5;
    }
    last
}
