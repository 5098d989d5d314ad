//! Where exactly an edge lies, by the light across it.
//!
//! A cell that the edge crosses has the light of both sides by area, so along a line across the
//! edge the light's half way from the one to the other is the edge, whatever the blur, as long
//! as both sides are even over a few mm.

use super::ring::{evenly, simpler};
use crate::adjust::median;
use crate::raster::Raster;
use crate::shape::Ring;
use crate::space::{Point, Table, Vector};

/// Between places at which the edge is looked for, mm.
const STEP: f64 = 1.0;

/// Light is read so often, mm, and so far to both sides.
const READ: f64 = 0.25;
const REACH: f64 = 2.5;

/// Each side's own light is read from here to there, mm from the edge.
const SIDE: [f64; 2] = [0.9, 2.4];

/// The outline keeps within so much of what was measured when corners are left out, mm.
const SIMPLER: f64 = 0.2;

/// Fewer parts of the difference between the two sides than this are noise, in light.
const NOISE: f64 = 0.015;

/// A ring moved to where the light says the edge is, with as few corners as it needs. `inward`
/// is on its left.
pub(super) fn refined(light: &Raster<[f32; 3], Table>, ring: &[Point<Table>]) -> Ring<Table> {
    let mut ring = evenly(ring, STEP);
    for _ in 0..2 {
        ring = moved(light, &ring);
    }
    simpler(&ring, SIMPLER)
}

fn moved(light: &Raster<[f32; 3], Table>, ring: &[Point<Table>]) -> Ring<Table> {
    let n = ring.len();
    let normals: Vec<Vector<Table>> = (0..n)
        .map(|k| {
            let along = ring[(k + 2) % n] - ring[(k + n - 2) % n];
            // To the right of a ring with the cloth on its left: outward.
            let out: Vector<Table> = Vector::new(along.y, -along.x);
            let length = out.length();
            if length > 1e-9 {
                out / length
            } else {
                Vector::zero()
            }
        })
        .collect();
    let offs: Vec<Option<f64>> = (0..n)
        .map(|k| crossing(light, ring[k], normals[k]))
        .collect();
    (0..n)
        .map(|k| {
            // The middle of neighbours': a thread or a crumb is no edge.
            let mut near: Vec<f64> = (0..5).filter_map(|j| offs[(k + n + j - 2) % n]).collect();
            if near.is_empty() {
                return ring[k];
            }
            ring[k] + normals[k] * median(&mut near)
        })
        .collect()
}

/// How far outward the edge lies.
fn crossing(light: &Raster<[f32; 3], Table>, p: Point<Table>, out: Vector<Table>) -> Option<f64> {
    let steps = ((REACH + SIDE[1]) / READ) as i64;
    let read: Vec<(f64, [f64; 3])> = (-steps..=steps)
        .filter_map(|k| {
            let s = k as f64 * READ;
            between(light, p + out * s).map(|v| (s, v))
        })
        .collect();
    let mut at = 0.0;
    for _ in 0..3 {
        let side = |sign: f64| {
            let own = read
                .iter()
                .filter(|(s, _)| (SIDE[0]..=SIDE[1]).contains(&((s - at) * sign)));
            let (mut sum, mut n) = ([0.0; 3], 0.0);
            for (_, v) in own {
                sum = std::array::from_fn(|k| sum[k] + v[k]);
                n += 1.0;
            }
            (n >= 3.0).then(|| sum.map(|v| v / n))
        };
        let (inner, outer) = (side(-1.0)?, side(1.0)?);
        let across: [f64; 3] = std::array::from_fn(|k| outer[k] - inner[k]);
        let size = across.iter().map(|v| v * v).sum::<f64>();
        if size.sqrt() < NOISE {
            return None;
        }
        let share =
            |v: &[f64; 3]| (0..3).map(|k| (v[k] - inner[k]) * across[k]).sum::<f64>() / size;
        let mut best: Option<f64> = None;
        for w in read.windows(2) {
            let (a, b) = (share(&w[0].1), share(&w[1].1));
            if a < 0.5 && b >= 0.5 {
                let s = w[0].0 + (0.5 - a) / (b - a) * (w[1].0 - w[0].0);
                if best.is_none_or(|best| (s - at).abs() < (best - at).abs()) {
                    best = Some(s);
                }
            }
        }
        at = best?;
        if at.abs() > REACH {
            return None;
        }
    }
    Some(at)
}

fn between(light: &Raster<[f32; 3], Table>, p: Point<Table>) -> Option<[f64; 3]> {
    let at = (p - light.centre(0, 0)) / light.cell();
    let (c, r) = (at.x.floor(), at.y.floor());
    if c < 0.0 || r < 0.0 {
        return None;
    }
    let (s, t) = ((at.x - c) as f32, (at.y - r) as f32);
    let (c, r) = (c as usize, r as usize);
    let [a, b, d, e] = [
        light.get(c, r)?,
        light.get(c + 1, r)?,
        light.get(c, r + 1)?,
        light.get(c + 1, r + 1)?,
    ];
    let v: [f64; 3] = std::array::from_fn(|k| {
        f64::from((a[k] * (1.0 - s) + b[k] * s) * (1.0 - t) + (d[k] * (1.0 - s) + e[k] * s) * t)
    });
    v[0].is_finite().then_some(v)
}
