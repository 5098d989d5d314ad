//! The weave: which ways its threads run, by what repeats in a finely seen patch of cloth.
//!
//! A set of threads is a peak in the light's spectrum, square to the threads. Two sets that are
//! square to each other are warp and weft; a twill's diagonal is one more peak, square to
//! nothing, and says nothing of the warp. A plain weave's chequer is two, alike and at the
//! threads' half sum and half difference: where those sums are there, they are the threads.

use super::mask::Mask;
use crate::adjust::median;
use crate::raster::Raster;
use crate::space::{Point, Table, Vector};
use rustfft::{FftPlanner, num_complex::Complex};

/// Patches are so many cells wide, and so many are looked at.
const SIDE: usize = 128;
const PATCHES: usize = 9;
/// A peak stands so far above what is usual at its fineness.
const CLEAR: f32 = 14.0;
/// Coarser is no weave, mm from thread to thread.
const COARSEST: f64 = 5.0;
/// A period is told from so many cells on: of threads as fine as a camera's pixels, pixels make
/// coarser ones that run elsewhere.
const FINEST: f64 = 3.2;
/// Warp and weft are square to within this, degrees: cloth that is worn is skewed. *Estimate.*
const SQUARE: f64 = 5.0;
/// Threads are as far apart both ways to within this share: which is the warp is not told.
const ALIKE: f64 = 0.1;
/// From patch to patch a set of threads differs by no more than this share. What a camera's pixels
/// make of threads too fine for them differs more, for a photo is nowhere of one scale.
const SAME: f64 = 0.03;
/// Standard error that is believed at least, degrees. *Estimate.*
const ERROR: f64 = 0.1;

/// A set of threads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threads {
    /// The way they run, degrees, 0 to 180, and its standard error.
    pub runs_deg: f64,
    pub error_deg: f64,
    /// From thread to thread, mm.
    pub apart: f64,
}

/// What is seen of the weave.
#[derive(Debug, Clone, PartialEq)]
pub enum Weave {
    /// Two sets; the first has its threads closer together.
    Two(Threads, Threads),
    /// One set, or one diagonal.
    One(Threads),
    Unseen,
}

impl Weave {
    /// Whether one of the two sets is clearly closer than the other: *common practice* has more
    /// ends than picks to the cm.
    pub fn tells_warp(&self) -> bool {
        matches!(self, Self::Two(a, b) if b.apart > (1.0 + ALIKE) * a.apart)
    }
}

/// A peak: its place in the spectrum, 1/mm, and how clear.
type Peak = (Vector<Table>, f32);

pub(super) fn weave(close: &Raster<[f32; 3], Table>, good: impl Fn(Point<Table>) -> bool) -> Weave {
    let places = patches(close, good);
    if places.len() < 2 {
        return Weave::Unseen;
    }
    let spectra: Vec<Vec<f32>> = places.iter().map(|p| spectrum(close, *p)).collect();
    let mut mean = vec![0.0f32; SIDE * SIDE];
    for s in &spectra {
        let all: f32 = s.iter().sum::<f32>().max(1e-20);
        for (m, v) in mean.iter_mut().zip(s) {
            *m += v / all;
        }
    }
    let per = 1.0 / (SIDE as f64 * close.cell());
    let peaks = peaks(&mean, per, close.cell());
    let sets: Vec<(Threads, Vector<Table>)> = peaks
        .iter()
        .filter_map(|p| threads(&spectra, p.0, per).map(|t| (t, p.0)))
        .collect();
    chosen(&sets)
}

fn chosen(sets: &[(Threads, Vector<Table>)]) -> Weave {
    let square = |a: &Threads, b: &Threads| (apart(a.runs_deg, b.runs_deg) - 90.0).abs() < SQUARE;
    let near = |k: Vector<Table>| {
        sets.iter()
            .position(|(_, own)| (*own - k).length().min((*own + k).length()) < 0.04 * k.length())
    };
    let order = |a: Threads, b: Threads| {
        if a.apart <= b.apart {
            Weave::Two(a, b)
        } else {
            Weave::Two(b, a)
        }
    };
    for (i, (_, ka)) in sets.iter().enumerate() {
        for (_, kb) in &sets[i + 1..] {
            // A chequer is as good a witness as the threads, if both are there.
            if let (Some(s), Some(d)) = (near(*ka + *kb), near(*ka - *kb))
                && square(&sets[s].0, &sets[d].0)
            {
                return order(sets[s].0, sets[d].0);
            }
        }
    }
    for (i, (a, _)) in sets.iter().enumerate() {
        for (b, _) in &sets[i + 1..] {
            if square(a, b) {
                return order(*a, *b);
            }
        }
    }
    sets.first().map_or(Weave::Unseen, |s| Weave::One(s.0))
}

/// How far two ways are apart, degrees, 0 to 90.
pub(super) fn apart(a: f64, b: f64) -> f64 {
    let off = (a - b).rem_euclid(180.0);
    off.min(180.0 - off)
}

/// By how much a way is turned from another, degrees, -90 to 90: a thread has no head.
pub(super) fn turned(from: f64, to: f64) -> f64 {
    (to - from + 90.0).rem_euclid(180.0) - 90.0
}

/// Lower left cells of patches that are good all over, spread out.
fn patches(
    close: &Raster<[f32; 3], Table>,
    good: impl Fn(Point<Table>) -> bool,
) -> Vec<[usize; 2]> {
    let mask = Mask::new(close.width(), close.height(), |k| {
        let (c, r) = (k % close.width(), k / close.width());
        close.values()[k][0].is_finite() && good(close.centre(c, r))
    });
    let mut sums = vec![0u32; (mask.width + 1) * (mask.height + 1)];
    let stride = mask.width + 1;
    for r in 0..mask.height {
        let mut line = 0;
        for c in 0..mask.width {
            line += u32::from(mask.on[r * mask.width + c]);
            sums[(r + 1) * stride + c + 1] = sums[r * stride + c + 1] + line;
        }
    }
    let full = |c: usize, r: usize| {
        let at = |c: usize, r: usize| i64::from(sums[r * stride + c]);
        let on = at(c + SIDE, r + SIDE) - at(c, r + SIDE) - at(c + SIDE, r) + at(c, r);
        on == (SIDE * SIDE) as i64
    };
    let mut found: Vec<[usize; 2]> = Vec::new();
    for r in (0..mask.height.saturating_sub(SIDE)).step_by(16) {
        for c in (0..mask.width.saturating_sub(SIDE)).step_by(16) {
            let clear = |p: &[usize; 2]| {
                p[0].abs_diff(c) >= SIDE * 3 / 4 || p[1].abs_diff(r) >= SIDE * 3 / 4
            };
            if full(c, r) && found.iter().all(clear) {
                found.push([c, r]);
            }
        }
    }
    let skip = found.len().div_ceil(PATCHES).max(1);
    found.into_iter().step_by(skip).collect()
}

/// Power of a patch's light, less a plane and faded out towards its rim.
fn spectrum(close: &Raster<[f32; 3], Table>, [c0, r0]: [usize; 2]) -> Vec<f32> {
    let mut cells: Vec<f64> = Vec::with_capacity(SIDE * SIDE);
    for r in 0..SIDE {
        for c in 0..SIDE {
            let v = close
                .get(c0 + c, r0 + r)
                .map_or(0.0, |v| v.iter().sum::<f32>());
            cells.push(f64::from(v.max(1e-4)).ln());
        }
    }
    let mid = (SIDE as f64 - 1.0) / 2.0;
    let n = (SIDE * SIDE) as f64;
    let xx = n * (SIDE as f64 * SIDE as f64 - 1.0) / 12.0;
    let by = |k: usize| ((k % SIDE) as f64 - mid, (k / SIDE) as f64 - mid);
    let mean = cells.iter().sum::<f64>() / n;
    let slope_x = cells
        .iter()
        .enumerate()
        .map(|(k, v)| by(k).0 * v)
        .sum::<f64>()
        / xx;
    let slope_y = cells
        .iter()
        .enumerate()
        .map(|(k, v)| by(k).1 * v)
        .sum::<f64>()
        / xx;
    // Hann's window.
    let hann =
        |k: usize| 0.5 - 0.5 * (std::f64::consts::TAU * (k as f64 + 0.5) / SIDE as f64).cos();
    let mut values: Vec<Complex<f32>> = cells
        .iter()
        .enumerate()
        .map(|(k, v)| {
            let (x, y) = by(k);
            let v = (v - mean - slope_x * x - slope_y * y) * hann(k % SIDE) * hann(k / SIDE);
            Complex::new(v as f32, 0.0)
        })
        .collect();
    let fft = FftPlanner::new().plan_fft_forward(SIDE);
    fft.process(&mut values);
    let mut turned: Vec<Complex<f32>> = (0..SIDE * SIDE)
        .map(|k| values[k % SIDE * SIDE + k / SIDE])
        .collect();
    fft.process(&mut turned);
    (0..SIDE * SIDE)
        .map(|k| turned[k % SIDE * SIDE + k / SIDE].norm_sqr())
        .collect()
}

fn signed(k: usize) -> i64 {
    if k < SIDE / 2 {
        k as i64
    } else {
        k as i64 - SIDE as i64
    }
}

/// The clearest first; of each and its opposite, one.
fn peaks(power: &[f32], per: f64, cell: f64) -> Vec<Peak> {
    let mut rings: Vec<Vec<f32>> = vec![Vec::new(); SIDE];
    let ring = |x: i64, y: i64| ((x * x + y * y) as f64).sqrt() as usize;
    for (k, v) in power.iter().enumerate() {
        rings[ring(signed(k % SIDE), signed(k / SIDE)).min(SIDE - 1)].push(*v);
    }
    let usual: Vec<f32> = rings
        .into_iter()
        .map(|mut all| {
            if all.is_empty() {
                return f32::MAX;
            }
            median(&mut all)
        })
        .collect();
    let at = |x: i64, y: i64| {
        let n = SIDE as i64;
        power[(y.rem_euclid(n) * n + x.rem_euclid(n)) as usize]
    };
    let mut found = Vec::new();
    for y in 0..(SIDE / 2) as i64 {
        for x in -(SIDE as i64) / 2..(SIDE / 2) as i64 {
            if y == 0 && x <= 0 {
                continue;
            }
            let length = ((x * x + y * y) as f64).sqrt() * per;
            if length < 1.0 / COARSEST || length > 1.0 / (FINEST * cell) {
                continue;
            }
            let own = at(x, y);
            let top = (-1..=1).all(|b| (-1..=1).all(|a| at(x + a, y + b) <= own));
            let clear = own / usual[ring(x, y).min(SIDE - 1)].max(1e-20);
            if top && clear > CLEAR {
                found.push((fine(&at, x, y, per), clear));
            }
        }
    }
    found.sort_by(|a: &Peak, b: &Peak| b.1.total_cmp(&a.1));
    found.truncate(8);
    found
}

/// A peak's place between bins: of a Hann window's peak the logarithms are nearly a parabola.
fn fine(at: &impl Fn(i64, i64) -> f32, x: i64, y: i64, per: f64) -> Vector<Table> {
    let log = |a: i64, b: i64| f64::from(at(x + a, y + b).max(1e-30)).ln();
    let off =
        |a: f64, b: f64, c: f64| (0.5 * (a - c) / (a - 2.0 * b + c).min(-1e-9)).clamp(-0.6, 0.6);
    let dx = off(log(-1, 0), log(0, 0), log(1, 0));
    let dy = off(log(0, -1), log(0, 0), log(0, 1));
    Vector::new(x as f64 + dx, y as f64 + dy) * per
}

/// The threads of a peak, patch by patch. `None` if the patches don't agree on it.
fn threads(spectra: &[Vec<f32>], peak: Vector<Table>, per: f64) -> Option<Threads> {
    let n = SIDE as i64;
    let about = peak / per;
    let (x0, y0) = (about.x.round() as i64, about.y.round() as i64);
    let seen: Vec<Vector<Table>> = spectra
        .iter()
        .filter_map(|s| {
            let at = |x: i64, y: i64| s[(y.rem_euclid(n) * n + x.rem_euclid(n)) as usize];
            let near = (-2..=2).flat_map(|b| (-2..=2).map(move |a| (x0 + a, y0 + b)));
            let (x, y) = near.max_by(|a, b| at(a.0, a.1).total_cmp(&at(b.0, b.1)))?;
            let inside = (x - x0).abs() < 2 && (y - y0).abs() < 2;
            inside.then(|| fine(&at, x, y, per))
        })
        .collect();
    if seen.len() * 3 < spectra.len() * 2 || seen.len() < 2 {
        return None;
    }
    let count = seen.len() as f64;
    let mean: Vector<Table> = seen.iter().fold(Vector::zero(), |a, v| a + *v) / count;
    let scatter = (seen
        .iter()
        .map(|v| (*v - mean).square_length())
        .sum::<f64>()
        / (count - 1.0))
        .sqrt();
    if scatter > SAME * mean.length() {
        return None;
    }
    let turned: f64 = seen
        .iter()
        .map(|v| (mean.cross(*v) / mean.square_length()).powi(2))
        .sum();
    let error = (turned / (count - 1.0) / count).sqrt().to_degrees();
    Some(Threads {
        runs_deg: (mean.y.atan2(mean.x).to_degrees() + 90.0).rem_euclid(180.0),
        error_deg: error.hypot(ERROR),
        apart: 1.0 / mean.length(),
    })
}
