//! Uneven light, taken out: a smooth surface of light over the table from patches that are
//! known to be alike, such as white sheets at the cloth's edges, or the bare table.

mod system;

use crate::adjust::median;
use crate::colour::luminance;
use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::space::{Bounds, Point, Table};
use nalgebra::{DMatrix, DVector};
use system::{Solved, System};

/// Share of light that a white sheet of office paper gives back (*common practice*: 0.85 to
/// 0.92).
pub const SHEET: f64 = 0.88;

/// Most patches.
const MOST: usize = 100;
/// A patch is read in so many by so many parts at most, of so many cells a side at least.
const PARTS: usize = 6;
const CELLS: usize = 3;
/// Darker than this, noise and stray light decide; brighter, the photo is blown out.
const DARK: f32 = 0.004;
pub(super) const BLOWN: f32 = 0.97;

/// Cells between which light runs in a straight line, a share of a hundred thousandth off.
const STRIDE: usize = 8;

/// What lies at a patch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// A white sheet.
    White,
    /// Some ground, by number: all patches of one number are alike.
    Other(u8),
}

/// A rectangle of even colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    pub bounds: Bounds<Table>,
    pub ground: Ground,
}

/// How light falls on the table, red, green and blue, and how well that is known.
#[derive(Debug, Clone)]
pub struct Light {
    middle: [f64; 2],
    half: [f64; 2],
    /// Of each channel: logarithms of the grounds' own light, then the surface's terms.
    channels: [DVector<f64>; 3],
    covariance: [DMatrix<f64>; 3],
    grounds: Vec<Ground>,
    /// Root mean square of what is left of the patches' parts after all, relative, by
    /// channel: 0.01 is 1 %.
    pub residual: [f64; 3],
    /// What is left of each patch, relative, in luminance: 0.03 is a patch 3 % brighter
    /// than its sisters and a smooth light say; `None` where nothing of it could be read.
    pub patches: Vec<Option<f64>>,
}

/// Terms of the surface, without the constant.
const TERMS: usize = 9;

fn terms([u, v]: [f64; 2]) -> [f64; TERMS] {
    [
        u,
        v,
        u * u - 0.5,
        u * v,
        v * v - 0.5,
        u * u * u,
        u * u * v,
        u * v * v,
        v * v * v,
    ]
}

/// Part of a patch: where, and the logarithm of its median light.
struct Part {
    at: Point<Table>,
    patch: usize,
    light: [f64; 3],
    error: [f64; 3],
}

impl Light {
    /// Fits the light to patches of a photo laid out from above ([`super::ortho()`]).
    ///
    /// Least squares in the logarithm of light; unknown are a smooth surface of third order
    /// with what is believed of it beforehand, each ground's own light, and each patch's own
    /// small difference; parts that stand out weigh less (P. J. Huber, *Robust Estimation of
    /// a Location Parameter*, 1964).
    ///
    /// # Errors
    /// If no patch can be read: none given, too dark, blown out, or outside the photo.
    pub fn fit(raster: &Raster<[f32; 3], Table>, patches: &[Patch]) -> Outcome<Self> {
        if patches.len() > MOST {
            return Err(Fault::input(
                format!("there are {} patches of even colour", patches.len()),
                "give 100 at most",
            ));
        }
        let parts: Vec<Part> = patches
            .iter()
            .enumerate()
            .flat_map(|(k, p)| read(raster, p, k))
            .collect();
        if parts.is_empty() {
            return Err(Fault::input(
                "no white sheet or bare table can be read: it is not in the photo, blown out, or too dark",
                "mark a part of a sheet or of the bare table that is lit and not blown out",
            ));
        }
        let mut grounds: Vec<Ground> = Vec::new();
        for part in &parts {
            let ground = patches[part.patch].ground;
            if !grounds.contains(&ground) {
                grounds.push(ground);
            }
        }
        let bounds = Bounds::from_points(parts.iter().map(|p| p.at));
        let middle = bounds.center().to_array();
        // Of a single small patch, too, a slope over the table is believed in.
        let size = raster.bounds();
        let half = [
            (bounds.width() / 2.0).max(size.width() / 8.0),
            (bounds.height() / 2.0).max(size.height() / 8.0),
        ];
        let system = System {
            grounds: &grounds,
            patches,
            parts: &parts,
            frame: (middle, half),
        };
        let mut channels = Vec::new();
        for k in 0..3 {
            let found = system.solve(k).ok_or_else(|| {
                Fault::ours(
                    "how light falls on the table could not be worked out from these patches",
                    "mark other patches, of even colour and well apart",
                )
            })?;
            channels.push(found);
        }
        let [red, green, blue] = <[Solved; 3]>::try_from(channels).map_err(|_| {
            Fault::ours(
                "how light falls on the table could not be worked out from these patches",
                "mark other patches, of even colour and well apart",
            )
        })?;
        let left = |k: usize| {
            green.patches[k].map(|g| {
                let (r, b) = (red.patches[k].unwrap_or(g), blue.patches[k].unwrap_or(g));
                luminance([r, g, b])
            })
        };
        let patches = (0..patches.len()).map(left).collect();
        let surface = grounds.len() + TERMS;
        let cut = |c: DMatrix<f64>| c.view((0, 0), (surface, surface)).into_owned();
        Ok(Self {
            middle,
            half,
            grounds,
            residual: [red.residual, green.residual, blue.residual],
            patches,
            channels: [red.unknowns, green.unknowns, blue.unknowns],
            covariance: [
                cut(red.covariance),
                cut(green.covariance),
                cut(blue.covariance),
            ],
        })
    }

    /// Whether a white sheet tells white.
    pub fn knows_white(&self) -> bool {
        self.grounds.contains(&Ground::White)
    }

    /// What a white sheet gives in this photo at a place: red, green and blue. `None` if
    /// there was none.
    pub fn white(&self, p: Point<Table>) -> Option<[f64; 3]> {
        let ground = self.grounds.iter().position(|g| *g == Ground::White)?;
        let row = terms(place(p, self.frame()));
        Some(std::array::from_fn(|k| {
            let x = &self.channels[k];
            (x[ground] + self.surface(k, &row)).exp()
        }))
    }

    /// How much light falls at a place, by that at the patches' middle.
    pub fn relative(&self, p: Point<Table>) -> [f64; 3] {
        let (row, middle) = (terms(place(p, self.frame())), terms([0.0; 2]));
        std::array::from_fn(|k| (self.surface(k, &row) - self.surface(k, &middle)).exp())
    }

    /// Standard error of the evened light at a place, relative, by channel: 0.02 is 2 %.
    /// Grows where patches are far.
    pub fn error(&self, p: Point<Table>) -> [f64; 3] {
        let row = terms(place(p, self.frame()));
        let grounds = self.grounds.len();
        let white = self.grounds.iter().position(|g| *g == Ground::White);
        let middle = terms([0.0; 2]);
        let by = DVector::from_fn(grounds + TERMS, |k, _| {
            match (k.checked_sub(grounds), white) {
                (None, Some(white)) => f64::from(u8::from(k == white)),
                (None, None) => 0.0,
                (Some(t), Some(_)) => row[t],
                (Some(t), None) => row[t] - middle[t],
            }
        });
        std::array::from_fn(|k| {
            let variance = (by.transpose() * &self.covariance[k] * &by)[(0, 0)];
            variance.max(0.0).sqrt()
        })
    }

    /// The light taken out: a white sheet becomes [`SHEET`] in all channels, wherever it
    /// lies; without a white sheet, all keeps the colour it has at the patches' middle.
    pub fn even(&self, raster: &mut Raster<[f32; 3], Table>) {
        let (width, height) = (raster.width(), raster.height());
        let gain = |column: usize, row: usize, raster: &Raster<[f32; 3], Table>| {
            let p = raster.centre(column, row);
            match self.white(p) {
                Some(white) => white.map(|w| SHEET / w),
                None => self.relative(p).map(|l| 1.0 / l),
            }
        };
        for row in 0..height {
            let mut before = gain(0, row, raster);
            for first in (0..width).step_by(STRIDE) {
                let after = gain(first + STRIDE, row, raster);
                for column in first..(first + STRIDE).min(width) {
                    let t = (column - first) as f64 / STRIDE as f64;
                    if let Some(v) = raster.get_mut(column, row) {
                        for k in 0..3 {
                            v[k] *= (before[k] + t * (after[k] - before[k])) as f32;
                        }
                    }
                }
                before = after;
            }
        }
    }

    /// What the person should know, one sentence each.
    pub fn notes(&self) -> Vec<String> {
        let worst = self.residual.iter().copied().fold(0.0, f64::max);
        let mut notes = vec![format!(
            "Sheets and bare table agree to {:.1} % once the light's unevenness is taken out.",
            100.0 * worst
        )];
        if !self.knows_white() {
            notes.push(
                "No white sheet is in the photo, so its colours keep the colour of the light; lay one beside the cloth to have it taken out."
                    .into(),
            );
        }
        notes
    }

    fn frame(&self) -> ([f64; 2], [f64; 2]) {
        (self.middle, self.half)
    }

    fn surface(&self, channel: usize, row: &[f64; TERMS]) -> f64 {
        let own = self.channels[channel].iter().skip(self.grounds.len());
        own.zip(row).map(|(x, r)| x * r).sum()
    }
}

/// A place in the patches' own frame, held to a little beyond them: a cubic runs wild.
fn place(p: Point<Table>, (middle, half): ([f64; 2], [f64; 2])) -> [f64; 2] {
    let own = [(p.x - middle[0]) / half[0], (p.y - middle[1]) / half[1]];
    own.map(|v| v.clamp(-2.0, 2.0))
}

/// The medians of a patch's parts.
fn read(raster: &Raster<[f32; 3], Table>, patch: &Patch, number: usize) -> Vec<Part> {
    let b = patch.bounds;
    let (low, cell) = (raster.bounds().min, raster.cell());
    // Cells that lie in it whole.
    let range = |from: f64, to: f64, n: usize| {
        let first = (from / cell - 1e-9).ceil().clamp(0.0, n as f64) as usize;
        let last = (to / cell + 1e-9).floor().clamp(0.0, n as f64) as usize;
        (first, last.max(first))
    };
    let (c0, c1) = range(b.min.x - low.x, b.max.x - low.x, raster.width());
    let (r0, r1) = range(b.min.y - low.y, b.max.y - low.y, raster.height());
    let split = |n: usize| (n / CELLS).clamp(1, PARTS);
    let (across, up) = (split(c1 - c0), split(r1 - r0));
    let mut parts = Vec::new();
    for j in 0..up {
        for i in 0..across {
            let within = |k: usize, n: usize, from: usize, to: usize| from + (to - from) * k / n;
            let columns = within(i, across, c0, c1)..within(i + 1, across, c0, c1);
            let rows = within(j, up, r0, r1)..within(j + 1, up, r0, r1);
            let cells: Vec<[f32; 3]> = rows
                .clone()
                .flat_map(|r| columns.clone().map(move |c| (c, r)))
                .filter_map(|(c, r)| raster.get(c, r).copied())
                .collect();
            let at = raster.centre(columns.start, rows.start).lerp(
                raster.centre(columns.end.saturating_sub(1), rows.end.saturating_sub(1)),
                0.5,
            );
            if let Some((light, error)) = medians(&cells) {
                parts.push(Part {
                    at,
                    patch: number,
                    light,
                    error,
                });
            }
        }
    }
    parts
}

/// Logarithms of the medians by channel and their standard errors. `None` if many of the
/// cells say nothing.
fn medians(cells: &[[f32; 3]]) -> Option<([f64; 3], [f64; 3])> {
    let useful = |v: &&[f32; 3]| v.iter().all(|v| (DARK..=BLOWN).contains(v));
    let own: Vec<&[f32; 3]> = cells.iter().filter(useful).collect();
    // What is left of a part that is blown out in places is too dark.
    if own.len() < 4 || own.len() * 20 < cells.len() * 19 {
        return None;
    }
    let n = own.len() as f64;
    let (mut light, mut error) = ([0.0; 3], [0.0; 3]);
    for k in 0..3 {
        let mut all: Vec<f64> = own.iter().map(|v| f64::from(v[k]).ln()).collect();
        light[k] = median(&mut all);
        let mut off: Vec<f64> = all.iter().map(|v| (v - light[k]).abs()).collect();
        // Neighbouring cells share pixels: a quarter of them count. 1.25: of a median.
        error[k] = 1.25 * median(&mut off) / 0.6745 / (n / 4.0).max(1.0).sqrt();
    }
    Some((light, error))
}

#[cfg(test)]
mod tests;
