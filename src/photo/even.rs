//! Uneven light, taken out: a smooth surface of light over the table from patches that are
//! known to be alike, such as white sheets at the cloth's edges, or the bare table.

use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::space::{Bounds, Point, Table};
use nalgebra::{DMatrix, DVector};

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
/// What is believed of the logarithm of light before any patch: standard deviations of its
/// terms of first, second and third order over half the patches' extent. Lamps and windows
/// over a table do so; steeper light is found all the same where patches show it.
/// *Estimate.*
const BELIEVED: [f64; 3] = [0.5, 0.25, 0.06];
/// What patches that are alike may differ by, and parts of one, relative. *Estimate.*
const ALIKE: f64 = 0.01;
const PART: f64 = 0.005;

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

fn order(term: usize) -> usize {
    match term {
        0..2 => 0,
        2..5 => 1,
        _ => 2,
    }
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
                Fault::ours("the light could not be fitted", "give other patches")
            })?;
            channels.push(found);
        }
        let [red, green, blue] = <[Solved; 3]>::try_from(channels)
            .map_err(|_| Fault::ours("the light could not be fitted", "give other patches"))?;
        let left = |k: usize| {
            green.patches[k].map(|g| {
                let (r, b) = (red.patches[k].unwrap_or(g), blue.patches[k].unwrap_or(g));
                0.2126 * r + 0.7152 * g + 0.0722 * b
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
        for row in 0..height {
            for column in 0..width {
                let p = raster.centre(column, row);
                let by = match self.white(p) {
                    Some(white) => white.map(|w| SHEET / w),
                    None => self.relative(p).map(|l| 1.0 / l),
                };
                if let Some(v) = raster.get_mut(column, row) {
                    *v = std::array::from_fn(|k| (f64::from(v[k]) * by[k]) as f32);
                }
            }
        }
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

fn median(all: &mut [f64]) -> f64 {
    let middle = all.len() / 2;
    *all.select_nth_unstable_by(middle, f64::total_cmp).1
}

struct System<'a> {
    grounds: &'a [Ground],
    patches: &'a [Patch],
    parts: &'a [Part],
    frame: ([f64; 2], [f64; 2]),
}

struct Solved {
    unknowns: DVector<f64>,
    covariance: DMatrix<f64>,
    residual: f64,
    patches: Vec<Option<f64>>,
}

impl System<'_> {
    /// Unknowns: the grounds' light, the surface, the patches' own differences.
    fn solve(&self, channel: usize) -> Option<Solved> {
        let (grounds, own) = (self.grounds.len(), self.grounds.len() + TERMS);
        let all = own + self.patches.len();
        let rows: Vec<DVector<f64>> = self
            .parts
            .iter()
            .map(|part| {
                let ground = self.patches[part.patch].ground;
                let mut row = DVector::zeros(all);
                for (k, g) in self.grounds.iter().enumerate() {
                    row[k] = f64::from(u8::from(*g == ground));
                }
                for (k, t) in terms(place(part.at, self.frame)).into_iter().enumerate() {
                    row[grounds + k] = t;
                }
                row[own + part.patch] = 1.0;
                row
            })
            .collect();
        let mut believed = DVector::zeros(all);
        for k in 0..TERMS {
            believed[grounds + k] = 1.0 / BELIEVED[order(k)].powi(2);
        }
        // A sheet that lies in a shadow is no sister of the others: its own pull is held,
        // too, as the parts' is.
        let mut trust = vec![1.0; self.patches.len()];
        let mut weights = vec![1.0; self.parts.len()];
        let mut found = None;
        for _ in 0..12 {
            for (k, t) in trust.iter().enumerate() {
                believed[own + k] = t / (ALIKE * ALIKE);
            }
            let mut n = DMatrix::from_diagonal(&believed);
            let mut r = DVector::zeros(all);
            for ((part, row), w) in self.parts.iter().zip(&rows).zip(&weights) {
                let weight = w / (part.error[channel].powi(2) + PART * PART);
                n.ger(weight, row, row, 1.0);
                r.axpy(weight * part.light[channel], row, 1.0);
            }
            let inverse = n.cholesky()?.inverse();
            let x = &inverse * r;
            for ((part, row), w) in self.parts.iter().zip(&rows).zip(&mut weights) {
                let sigma = part.error[channel].hypot(PART);
                *w = huber((part.light[channel] - row.dot(&x)) / sigma);
            }
            for (k, t) in trust.iter_mut().enumerate() {
                *t = huber(x[own + k] / ALIKE);
            }
            found = Some((x, inverse));
        }
        let (unknowns, covariance) = found?;
        // What is left once only grounds and surface are taken out.
        let left = |part: &Part, row: &DVector<f64>| {
            let smooth: f64 = row
                .iter()
                .zip(unknowns.iter())
                .take(own)
                .map(|(a, b)| a * b)
                .sum();
            part.light[channel] - smooth
        };
        let each: Vec<f64> = self
            .parts
            .iter()
            .zip(&rows)
            .map(|(p, r)| left(p, r))
            .collect();
        let residual = (each.iter().map(|v| v * v).sum::<f64>() / each.len() as f64).sqrt();
        let patches = (0..self.patches.len())
            .map(|k| {
                let own = self.parts.iter().zip(&each).filter(|(p, _)| p.patch == k);
                let mut own: Vec<f64> = own.map(|(_, v)| *v).collect();
                (!own.is_empty()).then(|| median(&mut own).exp_m1())
            })
            .collect();
        Some(Solved {
            unknowns,
            covariance,
            residual,
            patches,
        })
    }
}

/// The weight of what stands out by so many standard deviations.
fn huber(sigmas: f64) -> f64 {
    (1.5 / sigmas.abs().max(1.5)).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Bounds<Table> {
        Bounds::new(Point::zero(), Point::new(600.0, 400.0))
    }

    fn patch(x: f64, y: f64, ground: Ground) -> Patch {
        let bounds = Bounds::new(Point::new(x, y), Point::new(x + 60.0, y + 85.0));
        Patch { bounds, ground }
    }

    fn sheets() -> Vec<Patch> {
        [
            [5.0, 5.0],
            [530.0, 5.0],
            [5.0, 310.0],
            [530.0, 310.0],
            [270.0, 312.0],
            [265.0, 3.0],
        ]
        .map(|[x, y]| patch(x, y, Ground::White))
        .to_vec()
    }

    /// Light over the table as a lamp and a window give it, not of the surface's form.
    fn lit(p: Point<Table>) -> [f64; 3] {
        let far = |x: f64, y: f64, h: f64| {
            let d2 = (p.x - x).powi(2) + (p.y - y).powi(2) + h * h;
            h * h * h * h / (d2 * d2)
        };
        let (lamp, window) = (far(150.0, 320.0, 900.0), far(900.0, 100.0, 700.0));
        [
            0.75 * lamp + 0.25 * window,
            0.6 * lamp + 0.35 * window,
            0.4 * lamp + 0.5 * window,
        ]
    }

    /// What is really there: sheets, cloth, table.
    fn there(p: Point<Table>, patches: &[Patch]) -> [f64; 3] {
        let on = patches
            .iter()
            .find(|s| s.bounds.contains(p))
            .map(|s| s.ground);
        match on {
            Some(Ground::White) => [SHEET; 3],
            Some(Ground::Other(_)) => [0.3, 0.25, 0.2],
            None => [0.35, 0.2, 0.1 + p.x / 3000.0],
        }
    }

    fn photo(patches: &[Patch], of: impl Fn(Point<Table>) -> [f64; 3]) -> Raster<[f32; 3], Table> {
        let mut seed = 1u32;
        Raster::over(table(), 4.0, |_, _, p| {
            let there = there(p, patches);
            let lit = of(p);
            std::array::from_fn(|k| {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let noise = f64::from(seed >> 8) / f64::from(1u32 << 24) - 0.5;
                (there[k] * lit[k] * (1.0 + 0.02 * noise)) as f32
            })
        })
    }

    #[test]
    fn evened_light_gives_what_is_there() {
        let sheets = sheets();
        let mut raster = photo(&sheets, lit);
        let light = Light::fit(&raster, &sheets).unwrap();
        assert!(light.knows_white());
        assert!(
            light.residual.iter().all(|r| *r < 0.01),
            "{:?}",
            light.residual
        );
        let before = raster.clone();
        light.even(&mut raster);
        let (mut squares, mut stated, mut count, mut uneven) = (0.0, 0.0, 0.0, 0.0f64);
        for row in 0..raster.height() {
            for column in 0..raster.width() {
                let p = raster.centre(column, row);
                let truth = there(p, &sheets);
                let own = raster.get(column, row).unwrap();
                let was = before.get(column, row).unwrap();
                for k in 0..3 {
                    squares += (f64::from(own[k]) / truth[k] - 1.0).powi(2);
                    stated += light.error(p)[k].powi(2);
                    uneven = uneven.max((f64::from(was[k]) / truth[k] - 1.0).abs());
                    count += 1.0;
                }
            }
        }
        let (off, stated) = (f64::sqrt(squares / count), f64::sqrt(stated / count));
        println!(
            "evened to {:.2} %, stated {:.2} %, before {:.0} %",
            100.0 * off,
            100.0 * stated,
            100.0 * uneven
        );
        assert!(
            uneven > 0.3 && off < 0.02 && off < 2.0 * stated,
            "{off} {stated}"
        );
    }

    #[test]
    fn without_white_the_colour_stays() {
        let bare: Vec<Patch> = sheets()
            .iter()
            .map(|s| Patch {
                ground: Ground::Other(0),
                ..*s
            })
            .collect();
        let mut raster = photo(&bare, lit);
        let light = Light::fit(&raster, &bare).unwrap();
        assert!(light.white(Point::zero()).is_none() && !light.knows_white());
        light.even(&mut raster);
        let each = bare.iter().map(|b| *raster.at(b.bounds.center()).unwrap());
        let each: Vec<[f32; 3]> = each.collect();
        for v in &each {
            for k in 0..3 {
                assert!((v[k] / each[0][k] - 1.0).abs() < 0.03, "{each:?}");
            }
        }
        // Redder than blue, as the lamp is: not white.
        assert!(each[0][0] > 1.5 * each[0][2]);
    }

    #[test]
    fn grounds_of_two_kinds_share_one_light() {
        let mut patches = sheets();
        for k in [1, 2, 4] {
            patches[k].ground = Ground::Other(3);
        }
        let raster = photo(&patches, lit);
        let light = Light::fit(&raster, &patches).unwrap();
        for at in [[300.0, 200.0], [100.0, 100.0], [500.0, 300.0]] {
            let p = Point::from(at);
            let (white, truth) = (light.white(p).unwrap(), lit(p));
            for k in 0..3 {
                let off = white[k] / (SHEET * truth[k]) - 1.0;
                assert!(
                    off.abs() < 3.0 * light.error(p)[k].max(0.01),
                    "{off} {:?}",
                    light.error(p)
                );
            }
        }
    }

    #[test]
    fn far_from_the_patches_it_is_less_sure() {
        let two = [
            patch(5.0, 5.0, Ground::White),
            patch(80.0, 5.0, Ground::White),
        ];
        let light = Light::fit(&photo(&two, lit), &two).unwrap();
        let near = light.error(Point::new(75.0, 40.0))[1];
        let far = light.error(Point::new(500.0, 350.0))[1];
        assert!(near < 0.02 && far > 0.2, "{near} {far}");
    }

    #[test]
    fn a_patch_in_shadow_is_told_and_does_not_pull() {
        let sheets = sheets();
        let shadow = sheets[4].bounds;
        let raster = photo(&sheets, |p| {
            let dim = if shadow.contains(p) { 0.85 } else { 1.0 };
            lit(p).map(|v| v * dim)
        });
        let light = Light::fit(&raster, &sheets).unwrap();
        let off = light.patches[4].unwrap();
        assert!((off + 0.15).abs() < 0.06, "{:?}", light.patches);
        let others = [0, 1, 2, 3, 5].map(|k| light.patches[k].unwrap().abs());
        assert!(others.iter().all(|o| *o < 0.05), "{:?}", light.patches);
    }

    #[test]
    fn what_can_t_be_read_is_said() {
        let sheets = sheets();
        let said = |raster: &Raster<[f32; 3], Table>, patches: &[Patch]| {
            Light::fit(raster, patches).unwrap_err().to_string()
        };
        let sound = photo(&sheets, lit);
        assert!(said(&sound, &[]).contains("no white sheet or bare table"));
        let blown = sound.map(|_| [1.0; 3]);
        assert!(said(&blown, &sheets).contains("blown out"));
        let none = sound.map(|_| [f32::NAN; 3]);
        assert!(said(&none, &sheets).contains("not in the photo"));
        let many = vec![sheets[0]; 101];
        assert!(said(&sound, &many).contains("100 at most"));
        let outside = [patch(5000.0, 0.0, Ground::White)];
        assert!(said(&sound, &outside).contains("not in the photo"));
    }
}
