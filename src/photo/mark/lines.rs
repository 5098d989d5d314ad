//! Two lines that cross, followed along their arms, fitted, and intersected.

use super::grey::Grey;
use super::ring::{Crossing, between};
use crate::adjust::median;
use nalgebra::{Matrix2, Vector2};

/// Blur and interpolation make neighbours along a line alike over so far, px. *Estimate.*
const ALIKE: f64 = 2.0;
/// Readings along an arm lie so far apart, px.
const STEP: f64 = 0.5;

/// A line through points: where it is across `normal`, and how that is known.
struct Line {
    normal: Vector2<f64>,
    offset: f64,
    /// Variance of the offset where the lines cross.
    variance: f64,
}

/// Where the lines cross, and its standard error, px on each axis. `None` if they can't be
/// followed.
pub(super) fn cross(grey: &Grey, centre: [f64; 2], seen: &Crossing) -> Option<([f64; 2], f64)> {
    let mut at = Vector2::from(centre);
    let mut arms = seen.arms;
    let mut error = f64::INFINITY;
    for _ in 0..4 {
        let one = line(
            grey,
            at,
            [arms[0], arms[2]],
            between(arms[0], arms[1]),
            seen,
        )?;
        let two = line(
            grey,
            at,
            [arms[1], arms[3]],
            between(arms[0], arms[1]),
            seen,
        )?;
        let normals = Matrix2::from_rows(&[one.normal.transpose(), two.normal.transpose()]);
        let back = normals.try_inverse()?;
        let next = at + back * Vector2::new(one.offset, two.offset);
        let spread = back
            * Matrix2::from_diagonal(&Vector2::new(one.variance, two.variance))
            * back.transpose();
        error = (spread.trace() / 2.0).sqrt();
        let moved = (next - at).norm();
        if moved > 0.5 * seen.to {
            return None;
        }
        at = next;
        for (pair, line) in [(0, &one), (1, &two)] {
            // The line's direction, turned the way its first arm points.
            let along = Vector2::new(-line.normal.y, line.normal.x);
            let (sin, cos) = arms[pair].sin_cos();
            let along = if along.dot(&Vector2::new(cos, sin)) < 0.0 {
                -along
            } else {
                along
            };
            arms[pair] = along.y.atan2(along.x);
            arms[pair + 2] = (-along.y).atan2(-along.x);
        }
        if moved < 1e-3 {
            break;
        }
    }
    Some(([at.x, at.y], error))
}

/// The line along two opposite arms, relative to `at`.
fn line(grey: &Grey, at: Vector2<f64>, arms: [f64; 2], turn: f64, seen: &Crossing) -> Option<Line> {
    // One frame for both arms: along the first.
    let (sin, cos) = arms[0].sin_cos();
    let (along, normal) = (Vector2::new(cos, sin), Vector2::new(-sin, cos));
    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut lengths = [0.0; 2];
    for (k, arm) in arms.iter().enumerate() {
        let (sin, cos) = arm.sin_cos();
        let (way, across) = (Vector2::new(cos, sin), Vector2::new(-sin, cos));
        // Not where the other line's stroke is.
        let mut s = seen.from.max((0.5 * seen.width + 1.5) / turn.sin() * 1.5);
        let begun = s;
        while s <= seen.to {
            let base = at + way * s;
            // Not as far aside as the other line.
            let room = 0.7 * s * turn.tan().min(s * 4.0);
            let found = if seen.strokes {
                stroke(grey, base, across, (seen.width + 2.0).min(room), seen.light)
            } else {
                edge(grey, base, across, room.min(4.0))
            };
            if let Some(off) = found {
                let p = way * s + across * off;
                points.push((p.dot(&along), p.dot(&normal)));
            }
            s += STEP;
        }
        lengths[k] = seen.to - begun;
    }
    if points.len() < 8 || lengths.iter().any(|l| *l < 1.0) {
        return None;
    }
    fit(&points, along, normal)
}

/// Offset = a + b · along, robustly: Huber's weights at 1.5 of the scatter by the median.
fn fit(points: &[(f64, f64)], along: Vector2<f64>, normal: Vector2<f64>) -> Option<Line> {
    let mut weights = vec![1.0; points.len()];
    let mut line = (0.0, 0.0, Matrix2::zeros());
    let mut scatter = 0.0;
    for _ in 0..6 {
        let (mut n, mut r) = (Matrix2::zeros(), Vector2::zeros());
        for ((s, v), w) in points.iter().zip(&weights) {
            let row = Vector2::new(1.0, *s);
            n += row * row.transpose() * *w;
            r += row * (*w * v);
        }
        let inverse = n.try_inverse()?;
        let found = inverse * r;
        line = (found.x, found.y, inverse);
        let left = |(s, v): &(f64, f64)| (v - found.x - found.y * s).abs();
        let mut all: Vec<f64> = points.iter().map(left).collect();
        scatter = median(&mut all) / 0.6745;
        let knee = 1.5 * scatter.max(1e-4);
        for (p, w) in points.iter().zip(&mut weights) {
            *w = (knee / left(p).max(knee)).powi(2);
        }
    }
    let (a, b, inverse) = line;
    // Only so many readings are of their own.
    let variance = inverse[(0, 0)] * scatter * scatter * (ALIKE / STEP);
    // The normal of the tilted line, and its offset along it.
    let long = (1.0 + b * b).sqrt();
    Some(Line {
        normal: (normal - along * b) / long,
        offset: a / long,
        variance,
    })
}

/// How far aside a stroke's middle lies: the centroid of what it takes from (or adds to)
/// the ground on both sides.
fn stroke(
    grey: &Grey,
    base: Vector2<f64>,
    across: Vector2<f64>,
    reach: f64,
    light: bool,
) -> Option<f64> {
    let at = |t: f64| {
        let p = base + across * t;
        grey.at(p.x, p.y)
    };
    let reach = reach.max(2.0);
    let sign = if light { 1.0 } else { -1.0 };
    let side = |s: f64| (at(s * reach) + at(s * (reach - 0.5))) / 2.0;
    let (one, two) = (side(-1.0), side(1.0));
    let count = (reach / 0.25) as i32;
    let (mut sum, mut moment, mut most) = (0.0, 0.0, 0.0f64);
    for k in -count..=count {
        let t = reach * f64::from(k) / f64::from(count);
        let ground = one + (two - one) * (t / reach + 1.0) / 2.0;
        let depth = (sign * (at(t) - ground)).max(0.0);
        sum += depth;
        moment += depth * t;
        most = most.max(depth);
    }
    let found = sum > 0.0 && most > 4.0 * grey.noise;
    // An arm's end has little of it, and nothing beside it.
    (found && (moment / sum).abs() < 0.6 * reach).then_some(moment / sum)
}

/// How far aside an edge lies: where a step between the levels of both sides would give the
/// mean over all; blur does not move it.
fn edge(grey: &Grey, base: Vector2<f64>, across: Vector2<f64>, reach: f64) -> Option<f64> {
    if reach < 1.5 {
        return None;
    }
    let at = |t: f64| {
        let p = base + across * t;
        grey.at(p.x, p.y)
    };
    let side = |s: f64| (at(s * reach) + at(s * (reach - 0.4))) / 2.0;
    let (one, two) = (side(-1.0), side(1.0));
    if (one - two).abs() < 4.0 * grey.noise.max(1e-6) {
        return None;
    }
    let count = (reach / 0.2).ceil() as i32;
    let mut mean = 0.0;
    for k in -count..count {
        mean += at(reach * (f64::from(k) + 0.5) / f64::from(count));
    }
    mean /= f64::from(2 * count);
    let off = reach * (2.0 * mean - one - two) / (one - two);
    (off.abs() < 0.8 * reach).then_some(off)
}
