//! The four sides of the sheet, to a small part of a pixel.

use crate::adjust::median;
use crate::fault::{Fault, Outcome};
use crate::photo::Picture;
use crate::space::{Photo, Point, Vector};

/// px from one place along a side to the next; light is averaged over as much.
const STEP: f64 = 3.0;
/// px between the looks across a side.
const ACROSS: f64 = 0.5;
/// Most looks along a side: enough for 0.01 px.
const MOST: usize = 600;
/// The sheet must be so many times as bright as what lies beside it.
const BRIGHTER: f64 = 1.12;
/// Share of a side that has to be seen.
const SEEN: f64 = 0.6;
/// Share of a side at either end that may not be hidden: there the corners are fixed.
const ENDS: f64 = 0.12;

/// Places on each side of the sheet: lower, right, upper, left in the photo.
pub struct Sides {
    pub places: [Vec<Point<Photo>>; 4],
    /// Standard deviation of the light's fall across the sides, px: how sharp the
    /// picture is.
    pub blur: f64,
}

/// Measures the sides of a sheet whose corners lie within `reach` px of `corners`.
///
/// # Errors
/// If a side is not seen as a step from light to dark, or is hidden at a corner.
pub fn sides(picture: &Picture, corners: &[Point<Photo>; 4], reach: f64) -> Outcome<Sides> {
    let mut found: [Vec<Point<Photo>>; 4] = Default::default();
    let mut blurs = Vec::new();
    for (k, places) in found.iter_mut().enumerate() {
        let (from, to) = (corners[k], corners[(k + 1) % 4]);
        // A wide look first, then a close one about what it found.
        let wide = Look::along(picture, from, to, reach, [0.0; 3]);
        let rough = wide.curve().ok_or_else(|| unseen(k))?;
        let close = Look::along(picture, from, to, 10.0, rough.bend);
        let fine = close.curve().ok_or_else(|| unseen(k))?;
        let kept = fine.kept.iter().filter(|&&k| k).count();
        if (kept as f64) < SEEN * fine.kept.len() as f64 {
            return Err(unseen(k));
        }
        let count = fine.kept.len();
        let end = (ENDS * count as f64).ceil() as usize;
        for (corner, range) in [(k, 0..end), ((k + 1) % 4, count - end..count)] {
            let seen = fine.kept[range].iter().filter(|&&k| k).count();
            if 2 * seen < end {
                return Err(hidden(corner));
            }
        }
        for (step, kept) in close.steps.iter().zip(&fine.kept) {
            if let (Some(step), true) = (step, kept) {
                places.push(step.at);
                blurs.push(step.blur);
            }
        }
    }
    Ok(Sides {
        places: found,
        blur: median(&mut blurs),
    })
}

/// A step from light to dark, outwards.
struct Step {
    at: Point<Photo>,
    /// Along the side from its middle, −1 to 1; off the straight line, px outwards.
    along: f64,
    off: f64,
    blur: f64,
}

struct Look {
    steps: Vec<Option<Step>>,
}

/// A side as off = a + b·along + c·along², and which steps lie on it.
struct Curve {
    bend: [f64; 3],
    kept: Vec<bool>,
}

impl Look {
    /// Looks across the line between two corners, moved by `bend`, at places along it.
    fn along(
        picture: &Picture,
        from: Point<Photo>,
        to: Point<Photo>,
        reach: f64,
        bend: [f64; 3],
    ) -> Self {
        let length = (to - from).length();
        let dir = (to - from) / length;
        // Counter-clockwise to the eye with y down: outwards is on the right hand.
        let out = Vector::new(-dir.y, dir.x);
        let count = ((length * 0.96 / STEP) as usize).clamp(20, MOST);
        let steps = (0..count).map(|k| {
            let share = 0.02 + 0.96 * (k as f64 + 0.5) / count as f64;
            let along = 2.0 * share - 1.0;
            let base = bend[0] + along * (bend[1] + along * bend[2]);
            let middle = from + dir * (share * length) + out * base;
            let profile = profile(picture, middle, dir, out, reach);
            let (off, blur) = fall(&profile, reach)?;
            Some(Step {
                at: middle + out * off,
                along,
                off: base + off,
                blur,
            })
        });
        Self {
            steps: steps.collect(),
        }
    }

    /// The curve that most of the steps lie on: least squares, what lies off left out, until
    /// that settles. Begun at the median, so that a thing on the sheet's side does not draw
    /// it away.
    fn curve(&self) -> Option<Curve> {
        let all: Vec<&Step> = self.steps.iter().flatten().collect();
        if all.len() < 12 {
            return None;
        }
        let mut offs: Vec<f64> = all.iter().map(|s| s.off).collect();
        let mut bend = [median(&mut offs), 0.0, 0.0];
        let at =
            |bend: &[f64; 3], s: &Step| s.off - (bend[0] + s.along * (bend[1] + s.along * bend[2]));
        let mut within = f64::INFINITY;
        for round in 0..8 {
            let mut off: Vec<f64> = all.iter().map(|s| at(&bend, s).abs()).collect();
            // 1.4826 of the median deviation is σ of what is normal.
            within = (3.0 * 1.4826 * median(&mut off)).max(0.25);
            let used: Vec<&&Step> = all
                .iter()
                .filter(|s| at(&bend, s).abs() <= within)
                .collect();
            // Straight first: a bend could follow what does not belong.
            let terms = if round < 2 { 2 } else { 3 };
            bend = fitted(&used, terms)?;
        }
        let on = |s: &Option<Step>| s.as_ref().is_some_and(|s| at(&bend, s).abs() <= within);
        Some(Curve {
            bend,
            kept: self.steps.iter().map(on).collect(),
        })
    }
}

fn fitted(steps: &[&&Step], terms: usize) -> Option<[f64; 3]> {
    if steps.len() < 6 {
        return None;
    }
    let lhs = nalgebra::DMatrix::from_fn(steps.len(), terms, |r, c| steps[r].along.powi(c as i32));
    let rhs = nalgebra::DVector::from_fn(steps.len(), |r, _| steps[r].off);
    let found = lhs.qr();
    let right = found.q().tr_mul(&rhs);
    let found = found.r().solve_upper_triangular(&right)?;
    Some(std::array::from_fn(
        |k| {
            if k < terms { found[k] } else { 0.0 }
        },
    ))
}

/// Luminance across a side, averaged along it.
fn profile(
    picture: &Picture,
    middle: Point<Photo>,
    dir: Vector<Photo>,
    out: Vector<Photo>,
    reach: f64,
) -> Vec<f64> {
    let count = (2.0 * reach / ACROSS) as usize + 1;
    let look = |k: usize| {
        let at = middle + out * (k as f64 * ACROSS - reach);
        let light = |along: f64| {
            let p = at + dir * along;
            picture.luminance(p.x, p.y)
        };
        (light(-1.0) + light(0.0) + light(1.0)) / 3.0
    };
    (0..count).map(look).collect()
}

/// Where light falls to half between its levels on either side, from −reach to reach; the
/// fall's standard deviation, px.
fn fall(profile: &[f64], reach: f64) -> Option<(f64, f64)> {
    // The steepest fall over 2 px.
    let span = (2.0 / ACROSS) as usize;
    let drop = |k: usize| profile[k] - profile[k + span];
    let last = profile.len().checked_sub(span)?;
    let steepest = (0..last).max_by(|&a, &b| drop(a).total_cmp(&drop(b)))? + span / 2;
    // The levels: from 2.5 to 6 px off it.
    let (near, far) = ((2.5 / ACROSS) as usize, (6.0 / ACROSS) as usize);
    let inner = profile.get(steepest.saturating_sub(far)..steepest.saturating_sub(near))?;
    let outer = profile.get(steepest + near..(steepest + far).min(profile.len()))?;
    if inner.is_empty() || outer.is_empty() {
        return None;
    }
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let (inside, outside) = (mean(inner), mean(outer));
    if inside < BRIGHTER * outside {
        return None;
    }
    let half = (inside + outside) / 2.0;
    let crossing = |k: &usize| profile[*k] >= half && profile[*k + 1] < half;
    let from = steepest.saturating_sub(near);
    let to = (steepest + near).min(profile.len() - 1);
    let k = (from..to)
        .filter(crossing)
        .min_by_key(|k| k.abs_diff(steepest))?;
    let part = (profile[k] - half) / (profile[k] - profile[k + 1]);
    let slope = (profile[k] - profile[k + 1]) / ACROSS;
    // A normal fall of height H has slope H / (σ √(2π)) in its middle.
    let blur = (inside - outside) / (slope * std::f64::consts::TAU.sqrt());
    Some(((k as f64 + part) * ACROSS - reach, blur))
}

const NAMES: [&str; 4] = ["lower", "right", "upper", "left"];

fn unseen(side: usize) -> Fault {
    Fault::input(
        format!("the sheet's {} side can't be followed", NAMES[side]),
        "lay the sheet flat on a darker, plain table with nothing over its sides",
    )
}

fn hidden(corner: usize) -> Fault {
    let name = ["lower left", "lower right", "upper right", "upper left"][corner];
    Fault::input(
        format!("the sheet's {name} corner is hidden or turned up"),
        "lay the sheet flat with its four corners free, and take the photo again",
    )
}
