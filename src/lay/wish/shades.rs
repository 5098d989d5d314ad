//! The cloth's shade at a piece's points, and what it comes to.

use super::Amount;
use crate::raster::Raster;
use crate::space::{Cloth, Point};

/// The colour of cloth: CIE L\*, a\*, b\*, and 1 if it is known there, else 0 (and three
/// zeroes).
pub type Shade = [f32; 4];

/// Of the points of a part, so many must be on cloth of known shade.
const KNOWN: f32 = 0.5;

/// A shade as it is kept in a raster: NaN where it is not known.
fn shade_of(lab: Option<&[f32; 3]>) -> Shade {
    match lab {
        Some(&[l, a, b]) if (l + a + b).is_finite() => [l, a, b, 1.0],
        _ => [0.0; 4],
    }
}

/// The mean of what is known in a square about a place.
pub(super) fn mean_about(shade: &Raster<[f32; 3], Cloth>, p: Point<Cloth>, side: f64) -> Shade {
    let reach = (side / shade.cell() / 2.0).min(200.0) as i64;
    let Some((column, row)) = shade.cell_at(p) else {
        return [0.0; 4];
    };
    let mut sum = [0.0f32; 4];
    for dy in -reach..=reach {
        for dx in -reach..=reach {
            let at = |k: usize, d: i64| usize::try_from(k as i64 + d).unwrap_or(usize::MAX);
            let one = shade_of(shade.get(at(column, dx), at(row, dy)));
            (0..4).for_each(|k| sum[k] += one[k]);
        }
    }
    match sum[3] {
        0.0 => [0.0; 4],
        n => [sum[0] / n, sum[1] / n, sum[2] / n, 1.0],
    }
}

/// Difference of two colours: Euclidean in L\*, a\*, b\* (CIE 1976). It is fast, and
/// within one cloth, where colours lie near each other, it ranks as finer formulas do.
pub fn difference_1976(p: &Shade, q: &Shade) -> f32 {
    let d = [p[0] - q[0], p[1] - q[1], p[2] - q[2]];
    (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
}

pub(super) fn lighter(counts: &[[f32; 2]], shade: &[Shade]) -> Amount {
    // Lightness and how much is known, in the lighter and in the darker part.
    let (mut l, mut n, mut of) = ([0.0f32; 2], [0.0f32; 2], [0.0f32; 2]);
    for (c, s) in counts.iter().zip(shade) {
        for k in 0..2 {
            l[k] += c[k] * s[0];
            n[k] += c[k] * s[3];
            of[k] += c[k];
        }
    }
    if shade.is_empty() || (0..2).any(|k| n[k] < KNOWN * of[k] || n[k] == 0.0) {
        return Amount::ShadeUnknown;
    }
    Amount::Lighter {
        by: f64::from(l[0] / n[0] - l[1] / n[1]),
    }
}

pub(super) fn uneven(shade: &[Shade]) -> Amount {
    let mut sum = [0.0f32; 4];
    for s in shade {
        (0..4).for_each(|k| sum[k] += s[k]);
    }
    let n = sum[3];
    if n < 1.0 || n < KNOWN * shade.len() as f32 {
        return Amount::ShadeUnknown;
    }
    let mean = [sum[0] / n, sum[1] / n, sum[2] / n];
    let mut square = 0.0f32;
    for s in shade {
        let d = [s[0] - mean[0], s[1] - mean[1], s[2] - mean[2]];
        square += s[3] * (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]);
    }
    Amount::Uneven {
        spread: f64::from((square / n).sqrt()),
    }
}

/// How far two shades of the same points are from each other: [`Amount::Unlike`], or
/// [`Amount::ShadeUnknown`] if too little of them is known.
pub fn unlike(partner: &[Shade], shade: &[Shade], points: usize) -> Amount {
    let (mut sum, mut n, mut most) = (0.0f32, 0.0f32, 0.0f32);
    for (p, s) in partner.iter().zip(shade) {
        let known = p[3] * s[3];
        let d = known * difference_1976(p, s);
        sum += d;
        n += known;
        most = most.max(d);
    }
    if n < 1.0 || n < KNOWN * points as f32 {
        return Amount::ShadeUnknown;
    }
    Amount::Unlike {
        mean: f64::from(sum / n),
        most: f64::from(most),
    }
}
