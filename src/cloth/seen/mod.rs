//! Whether the guide is seen on this cloth, in this room.
//!
//! Light adds, so on plain cloth the contrast of the guide is
//! (guide + room) ÷ (work light + room), whatever the cloth's own darkness. Two photos at
//! one locked exposure, the projector dark and white, give projector ÷ room place by
//! place; what the cloth itself has of contrast at the guide's size is what the eye may
//! take for a guide, or lose it in.

mod advise;
mod judge;
mod texture;

pub use advise::{Advice, Guide, Remedy, Tried, advise};
pub use judge::{Sight, Sighted};

use crate::colour::Xyz;
use crate::fault::{Fault, Outcome};
use crate::raster::{Raster, Sums};
use crate::space::{Point, Table};
use texture::Texture;

/// What is asked of the guide at least on plain cloth, as a ratio of light. Ours, from no
/// source: an edge at 1.2 : 1 is still seen when one looks for it, at 1.5 : 1 while one cuts.
pub const PLAIN: f64 = 1.5;

/// The guide stands out from what the cloth has of contrast at its size by so many standard
/// deviations, in logarithms. Ours, from no source.
pub const TIMES: f64 = 2.0;

/// Side of the square over which projector ÷ room is told, mm: both change slowly.
const WINDOW: f64 = 20.0;

/// Least and most linear light of a photo that measures: under it is noise, over it nothing
/// is told apart.
const LEAST: f32 = 0.002;
const MOST: f32 = 0.98;

/// Share of cells that must measure.
const ENOUGH: f64 = 0.5;

/// What two photos say of seeing light on this cloth.
#[derive(Debug, Clone)]
pub struct Seeing {
    dark: Raster<[f32; 3], Table>,
    white: Raster<[f32; 3], Table>,
    /// Luminance of cells that measure in both, dark and white.
    sums: [Sums; 2],
    /// Reach of [`WINDOW`], cells.
    reach: usize,
}

impl Seeing {
    /// From the same cells of two photos at one exposure, in linear light: the projector
    /// dark (showing black), and white.
    ///
    /// # Errors
    ///
    /// When the cells are not the same, the photos are changed over, or half of the cells
    /// are too dark or blown. Cells that are NaN in either are no cloth, and don't count.
    pub fn of(dark: Raster<[f32; 3], Table>, white: Raster<[f32; 3], Table>) -> Outcome<Self> {
        let alike = dark.bounds() == white.bounds() && dark.cell() == white.cell();
        if !alike {
            return Err(Fault::input(
                "the two photos do not show the same part of the table",
                "take both from one place, with the same marks in sight",
            ));
        }
        let both = Raster::over(dark.bounds(), dark.cell(), |c, r, _| {
            let measures = |l: &[f32; 3]| {
                if l.iter().any(|v| v.is_nan()) {
                    return None;
                }
                let least = l.iter().copied().fold(f32::MAX, f32::min);
                let most = l.iter().copied().fold(f32::MIN, f32::max);
                (least >= LEAST && most <= MOST).then(|| Xyz::from_linear_srgb(l.map(f64::from)).y)
            };
            let (d, w) = (dark.get(c, r)?, white.get(c, r)?);
            Some([measures(d)?, measures(w)?])
        });
        let is_cloth = |(d, w): (&[f32; 3], &[f32; 3])| !(d[0].is_nan() || w[0].is_nan());
        let pairs = || dark.values().iter().zip(white.values());
        let all = pairs().filter(|p| is_cloth(*p)).count() as f64;
        if all == 0.0 {
            return Err(Fault::input(
                "the two photos show nothing of this cloth",
                "check the marks, or take both from where all of the cloth is in sight",
            ));
        }
        let good = both.values().iter().flatten().count() as f64;
        if good < ENOUGH * all {
            let blown = pairs().filter(|p| is_cloth(*p) && p.1.iter().any(|&v| v > MOST));
            let blown = blown.count() as f64 > 0.5 * (all - good);
            return Err(Fault::input(
                format!(
                    "{:.0} % of the cloth is too {} in the two photos to be measured",
                    100.0 * (1.0 - good / all),
                    if blown { "bright" } else { "dark" }
                ),
                if blown {
                    "lock a shorter exposure, with the projector white, and take both again"
                } else {
                    "lock a longer exposure, with the projector white, and take both again"
                },
            ));
        }
        let sums = [0, 1].map(|k| Sums::of(&both, |v: &Option<[f64; 2]>| v.map(|v| v[k])));
        let whole = [both.width(), both.height()];
        let [d, w] = [&sums[0], &sums[1]].map(|s| s.over([0, 0], whole).0);
        if w <= d {
            return Err(Fault::input(
                "the photo with the projector white is no brighter than the one with it dark",
                "give the dark one first; lock the exposure, so that the camera does not even them out",
            ));
        }
        let reach = ((WINDOW / dark.cell() / 2.0).round() as usize).max(1);
        Ok(Self {
            dark,
            white,
            sums,
            reach,
        })
    }

    /// The projector's full white ÷ the room's light at a place, both as they come back from
    /// the cloth; `None` where the photos don't measure, or the projector does not reach.
    pub fn projector_to_room(&self, at: Point<Table>) -> Option<f64> {
        let (c, r) = self.dark.cell_at(at)?;
        self.ratio_about(c, r)
    }

    fn ratio_about(&self, column: usize, row: usize) -> Option<f64> {
        let [d, w] = [&self.sums[0], &self.sums[1]].map(|s| s.mean_about(column, row, self.reach));
        let ratio = w? / d? - 1.0;
        (ratio > 0.0).then_some(ratio)
    }

    /// Contrast of a guide at a place: (guide + room) ÷ (work light + room); both of the
    /// projector's, 0 to 1 of its full white.
    pub fn contrast(&self, at: Point<Table>, guide: f64, work_light: f64) -> Option<f64> {
        let k = self.projector_to_room(at)?;
        Some((1.0 + guide * k) / (1.0 + work_light * k))
    }

    /// Mean linear light about a place, dark and white.
    fn light_about(&self, at: Point<Table>, reach: f64) -> Option<[[f64; 3]; 2]> {
        let (c, r) = self.dark.cell_at(at)?;
        let n = ((reach / self.dark.cell()).round() as usize).max(1);
        let mean = |raster: &Raster<[f32; 3], Table>| {
            let mut sum = [0.0; 3];
            let mut count = 0.0;
            for row in r.saturating_sub(n)..=r + n {
                for column in c.saturating_sub(n)..=c + n {
                    let Some(l) = raster.get(column, row) else {
                        continue;
                    };
                    if l.iter().all(|v| v.is_finite() && *v <= MOST) {
                        sum = std::array::from_fn(|k| sum[k] + f64::from(l[k]));
                        count += 1.0;
                    }
                }
            }
            (count > 0.0).then(|| sum.map(|v| v / count))
        };
        Some([mean(&self.dark)?, mean(&self.white)?])
    }

    fn texture(&self, size: f64) -> Texture {
        Texture::of(self, size)
    }
}

#[cfg(test)]
mod tests;
