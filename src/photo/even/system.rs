//! The least squares behind [`Light`](super::Light).

use super::{Ground, Part, Patch, TERMS, place, terms};
use crate::adjust::median;
use nalgebra::{DMatrix, DVector};

/// What is believed of the logarithm of light before any patch: standard deviations of its
/// terms of first, second and third order over half the patches' extent. Lamps and windows
/// over a table do so; steeper light is found all the same where patches show it.
/// *Estimate.*
const BELIEVED: [f64; 3] = [0.5, 0.25, 0.06];
/// What patches that are alike may differ by, and parts of one, relative. *Estimate.*
const ALIKE: f64 = 0.01;
const PART: f64 = 0.005;

fn order(term: usize) -> usize {
    match term {
        0..2 => 0,
        2..5 => 1,
        _ => 2,
    }
}

pub(super) struct System<'a> {
    pub grounds: &'a [Ground],
    pub patches: &'a [Patch],
    pub parts: &'a [Part],
    pub frame: ([f64; 2], [f64; 2]),
}

pub(super) struct Solved {
    pub unknowns: DVector<f64>,
    pub covariance: DMatrix<f64>,
    pub residual: f64,
    pub patches: Vec<Option<f64>>,
}

impl System<'_> {
    /// Unknowns: the grounds' light, the surface, the patches' own differences.
    pub fn solve(&self, channel: usize) -> Option<Solved> {
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
