//! What the table looks like, and what the cloth: how likely a cell's light is of either.
//!
//! Light is taken in logarithms: of green, of red by green and of blue by green. A shadow makes
//! the first less and leaves the others, wherever the table lies in it.

use crate::raster::Raster;
use crate::space::{Bounds, Point, Table};
use nalgebra::{Matrix2, SMatrix, SVector};

/// Logarithms of a cell's light.
pub(super) type Logs = [f32; 3];

/// Light that is added before a logarithm is taken: of black there is none.
const FLOOR: f32 = 0.001;

/// The least spread that is believed of a table, in logarithms of lightness and of colour: what a
/// camera's noise and the fit leave. *Estimate.*
const SPREAD: [f64; 2] = [0.04, 0.02];

/// The deepest shadow beside a cloth, in logarithms of light: 40 % is left. *Estimate.*
const SHADOW: f64 = 0.9;

/// A shadow is lit by what else there is in the room, so its hue may differ: by so much of its
/// depth, both in logarithms. *Estimate.*
const TINT: f64 = 0.12;

/// Share of the table near the cloth that lies in shadow. *Estimate.*
const SHADED: f64 = 0.15;

/// Density of a colour that nothing is known of: one over the space of colours that cloths come
/// in, about 3 by 1.5 by 1.5 in logarithms. *Estimate.*
pub(super) const ANY: f64 = 0.15;

/// Share of the table that looks otherwise: lines, crumbs, marks. *Estimate.*
const OTHERWISE: f64 = 0.02;

/// Terms of the table's lightness over the table.
const TERMS: usize = 6;

pub(super) fn logs(light: [f32; 3]) -> Logs {
    if !light.iter().all(|v| v.is_finite()) {
        return [f32::NAN; 3];
    }
    let [r, g, b] = light.map(|v| (v.max(0.0) + FLOOR).ln());
    [g, r - g, b - g]
}

/// A table of one colour.
#[derive(Debug, Clone)]
pub(super) struct Ground {
    frame: ([f64; 2], f64),
    lightness: SVector<f64, TERMS>,
    colour: [f64; 2],
    spread: f64,
    /// Covariance of its colour.
    shape: Matrix2<f64>,
    /// Share of the samples that are of it.
    pub(super) share: f64,
}

impl Ground {
    /// From cells that are table for the most part: the commonest colour among them, what is near
    /// it, and a surface of second order for its lightness. `None` of too few.
    pub(super) fn fit(field: &Raster<Logs, Table>, samples: &[usize]) -> Option<Self> {
        let bounds: Bounds<Table> = field.bounds();
        let middle = bounds.center().to_array();
        let frame = (middle, bounds.width().max(bounds.height()) / 2.0);
        let known: Vec<usize> = samples
            .iter()
            .copied()
            .filter(|k| field.values()[*k][0].is_finite())
            .collect();
        if known.len() < 100 {
            return None;
        }
        let common = commonest(field, &known);
        let near = |v: Logs, reach: [f64; 3]| {
            (0..3).all(|k| (f64::from(v[k]) - common[k]).abs() < reach[k])
        };
        let mut own: Vec<usize> = known.clone();
        own.retain(|k| near(field.values()[*k], [0.45, 0.2, 0.2]));
        let share = own.len() as f64 / known.len() as f64;
        let mut fitted = None;
        for _ in 0..4 {
            let ground = Self::of(field, &own, frame, share)?;
            own = known.clone();
            own.retain(|k| {
                let off = ground.off(field, *k);
                off[0].abs() < 3.0 * ground.spread && ground.colour_off(&off, 0.0).0 < 12.0
            });
            fitted = Some(ground);
        }
        fitted
    }

    fn of(
        field: &Raster<Logs, Table>,
        own: &[usize],
        frame: ([f64; 2], f64),
        share: f64,
    ) -> Option<Self> {
        if own.len() < 50 {
            return None;
        }
        let mut normal = SMatrix::<f64, TERMS, TERMS>::identity() * 1e-3;
        let mut right = SVector::<f64, TERMS>::zeros();
        let mut mean = [0.0; 2];
        for k in own {
            let row = terms(frame, place(field, *k));
            let v = field.values()[*k];
            normal += row * row.transpose();
            right += row * f64::from(v[0]);
            mean = [mean[0] + f64::from(v[1]), mean[1] + f64::from(v[2])];
        }
        let n = own.len() as f64;
        let mut ground = Self {
            frame,
            lightness: normal.cholesky()?.solve(&right),
            colour: mean.map(|v| v / n),
            spread: 0.0,
            shape: Matrix2::identity(),
            share,
        };
        let (mut square, mut cov) = (0.0, Matrix2::zeros());
        for k in own {
            let off = ground.off(field, *k);
            square += off[0] * off[0];
            let c = nalgebra::Vector2::new(off[1], off[2]);
            cov += c * c.transpose();
        }
        ground.spread = (square / n).sqrt().max(SPREAD[0]);
        let cov = cov / n + Matrix2::identity() * SPREAD[1].powi(2);
        ground.shape = cov;
        Some(ground)
    }

    /// What a cell is off the table's own lightness and colour there.
    pub(super) fn off(&self, field: &Raster<Logs, Table>, k: usize) -> [f64; 3] {
        let v = field.values()[k].map(f64::from);
        let own = self.lightness.dot(&terms(self.frame, place(field, k)));
        [v[0] - own, v[1] - self.colour[0], v[2] - self.colour[1]]
    }

    /// How far a colour is off, squared, in its spread, and the spread's area; `tint` is more
    /// spread all round.
    fn colour_off(&self, off: &[f64; 3], tint: f64) -> (f64, f64) {
        let c = self.shape;
        let (a, b, d) = (c[(0, 0)] + tint * tint, c[(0, 1)], c[(1, 1)] + tint * tint);
        let area = a * d - b * b;
        let (x, y) = (off[1], off[2]);
        (
            (d * x * x - 2.0 * b * x * y + a * y * y) / area,
            area.sqrt(),
        )
    }

    /// Whether it is the table's colour, but clearly darker.
    pub(super) fn is_shade(&self, off: &[f64; 3]) -> bool {
        self.colour_off(off, TINT * off[0]).0 < 14.0
            && off[0] < -3.0 * self.spread
            && off[0] > -SHADOW - 0.3
    }

    /// Density of light that is so far off, lit or in shadow.
    pub(super) fn density(&self, off: &[f64; 3]) -> f64 {
        let tau = std::f64::consts::TAU;
        let colour = |tint: f64| {
            let (far, area) = self.colour_off(off, tint);
            (-0.5 * far).exp() / (tau * area)
        };
        let t = off[0] / self.spread;
        let lit = (-0.5 * t * t).exp() / (self.spread * tau.sqrt());
        // A shadow of any depth, its ends as soft as the table is uneven.
        let soft = |t: f64| 1.0 / (1.0 + (-1.7 * t).exp());
        let dark = soft(-t) * soft((off[0] + SHADOW) / self.spread) / SHADOW;
        let own =
            (1.0 - SHADED) * colour(0.0) * lit + SHADED * colour(TINT * off[0].min(0.0)) * dark;
        (1.0 - OTHERWISE) * own + OTHERWISE * ANY
    }
}

fn place(field: &Raster<Logs, Table>, k: usize) -> Point<Table> {
    field.centre(k % field.width(), k / field.width())
}

fn terms((middle, half): ([f64; 2], f64), p: Point<Table>) -> SVector<f64, TERMS> {
    let (u, v) = ((p.x - middle[0]) / half, (p.y - middle[1]) / half);
    SVector::from([1.0, u, v, u * u, u * v, v * v])
}

/// The middle of the fullest of wide bins.
fn commonest(field: &Raster<Logs, Table>, known: &[usize]) -> [f64; 3] {
    let mut dye = Dyes::new();
    for k in known {
        dye.add(field.values()[*k], 1.0);
    }
    dye.fullest()
}

/// Lightness from so much, in bins of so much; colours likewise.
const LOW: [f64; 3] = [-7.0, -2.6, -2.6];
const STEP: [f64; 3] = [0.12, 0.08, 0.08];
const BINS: [usize; 3] = [64, 65, 65];

/// How often which colour was met.
#[derive(Debug, Clone)]
pub(super) struct Dyes {
    bins: Vec<f32>,
    all: f64,
}

impl Dyes {
    pub(super) fn new() -> Self {
        Self {
            bins: vec![0.0; BINS[0] * BINS[1] * BINS[2]],
            all: 0.0,
        }
    }

    fn bin(v: Logs) -> Option<usize> {
        let mut at = 0;
        for k in 0..3 {
            let own = ((f64::from(v[k]) - LOW[k]) / STEP[k]).floor();
            if !(0.0..BINS[k] as f64).contains(&own) {
                return None;
            }
            at = at * BINS[k] + own as usize;
        }
        Some(at)
    }

    pub(super) fn add(&mut self, v: Logs, weight: f32) {
        if let Some(at) = Self::bin(v) {
            self.bins[at] += weight;
            self.all += f64::from(weight);
        }
    }

    /// Each bin's share spread over its neighbours, twice 1, 2, 1 along each axis.
    pub(super) fn smooth(mut self) -> Self {
        let strides = [BINS[1] * BINS[2], BINS[2], 1];
        for _ in 0..2 {
            for axis in 0..3 {
                let old = self.bins.clone();
                for (at, bin) in self.bins.iter_mut().enumerate() {
                    let along = at / strides[axis] % BINS[axis];
                    let low = if along > 0 {
                        old[at - strides[axis]]
                    } else {
                        0.0
                    };
                    let high = if along + 1 < BINS[axis] {
                        old[at + strides[axis]]
                    } else {
                        0.0
                    };
                    *bin = 0.25 * (low + 2.0 * old[at] + high);
                }
            }
        }
        self
    }

    fn fullest(self) -> [f64; 3] {
        let smooth = self.smooth();
        let bins = smooth.bins.iter().enumerate();
        let at = bins.max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |b| b.0);
        let at = [
            at / (BINS[1] * BINS[2]),
            at / BINS[2] % BINS[1],
            at % BINS[2],
        ];
        std::array::from_fn(|k| LOW[k] + (at[k] as f64 + 0.5) * STEP[k])
    }

    /// Density, with a little for any colour.
    pub(super) fn density(&self, v: Logs) -> f64 {
        let volume = STEP[0] * STEP[1] * STEP[2];
        let share = match Self::bin(v) {
            Some(at) if self.all > 0.0 => f64::from(self.bins[at]) / self.all / volume,
            _ => 0.0,
        };
        0.9 * share + 0.1 * ANY
    }
}
