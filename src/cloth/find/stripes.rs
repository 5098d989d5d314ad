//! Stripes: which way they run, how far it is from one to the next like it.
//!
//! Along stripes the colour stays, so the way they run is the one along which lines of cells
//! differ most from each other and least within: the share of the colours' variance that lies
//! between lines. How the profile across shifts from slab to slab along them then says the way
//! to a few hundredths of a degree, and by its scatter how sure that is.

use super::ground::Logs;
use super::mask::Mask;
use super::profile::{BIN, Profile};
use crate::cloth::Stripes;
use crate::raster::Raster;
use crate::space::{Cloth, Point, Rigid, Table, Vector, mean};
use nalgebra::{SMatrix, SVector};

/// Share of the variance that must lie between lines. *Estimate*: rows of a print have up to 0.4.
const BETWEEN: f64 = 0.55;
/// Turns are tried so far apart, degrees, on so many cells, no further from the middle than so
/// many mm.
const TURN: f64 = 0.5;
const CELLS: usize = 16_000;
const NEAR: f64 = 170.0;
/// Slabs along the stripes.
const SLABS: usize = 9;
/// Shifts between slabs are looked for so far, mm.
const SHIFT: f64 = 4.0;
/// Standard error that is believed at least, degrees: a photo's marks, a cloth's lie. *Estimate.*
const ERROR: f64 = 0.05;

/// Stripes as they lie on the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Striped {
    /// The way they run, degrees, 0 to 180, and its standard error.
    pub runs_deg: f64,
    pub error_deg: f64,
    /// How they repeat; none if they don't.
    pub repeat: Option<Repeat>,
    /// Stripes run the other way too: a check.
    pub checked: bool,
}

/// How stripes repeat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeat {
    /// From a stripe to the next like it, mm.
    pub period: f64,
    /// A place in the middle of the darkest stripe; of stripes that read the same both ways, the
    /// middle of their symmetry that is darker.
    pub at: Point<Table>,
    pub same_both_ways: bool,
}

impl Striped {
    /// On the cloth, if they repeat.
    pub fn on(&self, to_cloth: &Rigid<Table, Cloth>) -> Option<Stripes> {
        let repeat = self.repeat?;
        let turn = self.runs_deg.to_radians();
        let way = to_cloth.vector(Vector::new(turn.cos(), turn.sin()));
        Some(Stripes {
            period_mm: repeat.period,
            runs_deg: way.y.atan2(way.x).to_degrees().rem_euclid(180.0),
            at_mm: to_cloth.point(repeat.at).to_array(),
            same_both_ways: repeat.same_both_ways,
        })
    }
}

/// A cell: its place by the middle, and its colour less what changes slowly.
pub(super) type Spot = (Vector<Table>, [f64; 3]);

pub(super) fn stripes(field: &Raster<Logs, Table>, good: &Mask) -> Option<Striped> {
    let (middle, spots) = spots(field, good)?;
    let mut close: Vec<&Spot> = spots.iter().filter(|s| s.0.length() < NEAR).collect();
    let skip = close.len().div_ceil(CELLS).max(1);
    // Every so-manieth along a path that is no row.
    close = close
        .into_iter()
        .enumerate()
        .filter(|(k, _)| (k * 7919) % skip.max(1) == 0)
        .map(|s| s.1)
        .collect();
    let share = |deg: f64| between(&close, deg);
    let turns: Vec<(f64, f64)> = (0..(180.0 / TURN) as usize)
        .map(|k| k as f64 * TURN)
        .map(|deg| (deg, share(deg)))
        .collect();
    let best = turns.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if best.1 < BETWEEN {
        return None;
    }
    let square = |deg: f64| {
        let off = (deg - best.0 - 90.0 + 90.0).rem_euclid(180.0) - 90.0;
        off.abs() < 4.0
    };
    let other = turns
        .iter()
        .filter(|t| square(t.0))
        .map(|t| t.1)
        .fold(0.0, f64::max);
    let mut deg = best.0;
    let mut error = f64::MAX;
    for _ in 0..3 {
        let (lean, sure) = lean(&spots, deg)?;
        deg += lean;
        error = sure;
    }
    if (deg - best.0).abs() > 2.0 * TURN {
        return None;
    }
    let profile = Profile::of(spots.iter(), deg);
    if !profile.is_stripes() {
        return None;
    }
    let repeat = profile.repeat().map(|(period, at, same_both_ways)| {
        let turn = deg.to_radians();
        Repeat {
            period,
            at: middle + Vector::new(-turn.sin(), turn.cos()) * at,
            same_both_ways,
        }
    });
    Some(Striped {
        runs_deg: deg.rem_euclid(180.0),
        error_deg: error.hypot(ERROR),
        repeat,
        checked: other > 0.25,
    })
}

/// The good cells, less a surface of second order; and their middle.
fn spots(field: &Raster<Logs, Table>, good: &Mask) -> Option<(Point<Table>, Vec<Spot>)> {
    let w = field.width();
    let own: Vec<usize> = (0..good.on.len())
        .filter(|k| good.on[*k] && field.values()[*k][0].is_finite())
        .collect();
    if own.len() < 500 {
        return None;
    }
    let place = |k: usize| field.centre(k % w, k / w);
    let middle = mean(own.iter().map(|k| place(*k)))?;
    let row = |v: Vector<Table>| {
        let (x, y) = (v.x / 200.0, v.y / 200.0);
        SVector::<f64, 6>::from([1.0, x, y, x * x, x * y, y * y])
    };
    let mut normal = SMatrix::<f64, 6, 6>::identity() * 1e-6;
    let mut right = SMatrix::<f64, 6, 3>::zeros();
    for k in &own {
        let r = row(place(*k) - middle);
        let v = field.values()[*k].map(f64::from);
        normal += r * r.transpose();
        right += r * SVector::<f64, 3>::from(v).transpose();
    }
    let slow = normal.cholesky()?.solve(&right);
    let spots = own.iter().map(|k| {
        let by = place(*k) - middle;
        let even = slow.transpose() * row(by);
        let v = field.values()[*k];
        (by, std::array::from_fn(|c| f64::from(v[c]) - even[c]))
    });
    Some((middle, spots.collect()))
}

/// Share of the variance between lines that run so.
fn between(spots: &[&Spot], deg: f64) -> f64 {
    let (sin, cos) = deg.to_radians().sin_cos();
    let bin = 1.5;
    let low = NEAR + 2.0;
    let count = (2.0 * low / bin) as usize + 1;
    let mut bins = vec![([0.0; 3], 0.0); count];
    let mut all = 0.0;
    for (p, v) in spots {
        let at = ((cos * p.y - sin * p.x + low) / bin) as usize;
        let b = &mut bins[at.min(count - 1)];
        for (sum, v) in b.0.iter_mut().zip(v) {
            *sum += v;
            all += v * v;
        }
        b.1 += 1.0;
    }
    let lines = bins.iter().filter(|b| b.1 > 0.0);
    let own: f64 = lines
        .clone()
        .map(|b| b.0.iter().map(|s| s * s).sum::<f64>() / b.1)
        .sum();
    // Lines of nothing but noise have their own number's share.
    let chance = lines.count() as f64 / spots.len() as f64;
    (own / all.max(1e-12) - chance) / (1.0 - chance).max(0.1)
}

/// How much the stripes run otherwise than so, degrees, and the standard error of that.
fn lean(spots: &[Spot], deg: f64) -> Option<(f64, f64)> {
    let (sin, cos) = deg.to_radians().sin_cos();
    let across = |p: &Vector<Table>| cos * p.y - sin * p.x;
    let along = |p: &Vector<Table>| cos * p.x + sin * p.y;
    let range = |of: &dyn Fn(&Vector<Table>) -> f64| {
        let all = spots.iter().map(|s| of(&s.0));
        (
            all.clone().fold(f64::MAX, f64::min),
            all.fold(f64::MIN, f64::max),
        )
    };
    let ((low, high), (first, last)) = (range(&across), range(&along));
    let count = ((high - low) / BIN) as usize + 2;
    let whole = Profile::between(spots.iter().map(|s| (across(&s.0), s.1)), low, count);
    let mut seen: Vec<(f64, f64, f64)> = Vec::new();
    for k in 0..SLABS {
        let edge = |k: usize| first + (last - first) * k as f64 / SLABS as f64;
        let own = spots
            .iter()
            .filter(|s| (edge(k)..edge(k + 1)).contains(&along(&s.0)));
        let cells = own.clone().count();
        if cells < spots.len() / SLABS / 6 {
            continue;
        }
        let slab = Profile::between(own.map(|s| (across(&s.0), s.1)), low, count);
        let most = (SHIFT / BIN) as i64;
        let corr: Vec<f64> = (-most..=most)
            .map(|by| whole.with(&slab, by).unwrap_or(-1.0))
            .collect();
        let best = (1..corr.len() - 1).max_by(|a, b| corr[*a].total_cmp(&corr[*b]))?;
        let (a, b, c) = (corr[best - 1], corr[best], corr[best + 1]);
        if b < 0.6 || a > b || c > b {
            continue;
        }
        let fine = best as f64 + 0.5 * (a - c) / (a - 2.0 * b + c).min(-1e-9);
        seen.push((
            0.5 * (edge(k) + edge(k + 1)),
            (fine - most as f64) * BIN,
            cells as f64,
        ));
    }
    if seen.len() < 4 {
        return None;
    }
    let all: f64 = seen.iter().map(|s| s.2).sum();
    let mean =
        |of: &dyn Fn(&(f64, f64, f64)) -> f64| seen.iter().map(|s| s.2 * of(s)).sum::<f64>() / all;
    let (x, y) = (mean(&|s| s.0), mean(&|s| s.1));
    let xx = mean(&|s| (s.0 - x).powi(2));
    let slope = mean(&|s| (s.0 - x) * (s.1 - y)) / xx.max(1e-9);
    let left = mean(&|s| (s.1 - y - slope * (s.0 - x)).powi(2));
    let error = (left / xx / (seen.len() as f64 - 2.0)).sqrt();
    Some((slope.atan().to_degrees(), error.to_degrees()))
}
