//! Places that stand out of the cloth: stains, hardware, ridges. Candidates for keep-outs.
//!
//! A wrong one costs the person a look and a key; many wrong ones cost all trust. So what stands
//! out little is left out, and what comes again and again is print.

use super::ground::Logs;
use super::mask::{Mask, mean_about};
use super::ridges::ridges;
use super::ring::{simpler, zero_lines};
use super::window::Window;
use crate::adjust::median;
use crate::raster::Raster;
use crate::shape::{Ring, signed_area};
use crate::space::{Point, Table, Vector, mean};

/// Standing out begins here, in logarithms of light, and at so many times what is usual.
pub(super) const LEAST: f32 = 0.10;
const USUAL: f32 = 4.5;
/// A candidate reaches to this share of where standing out begins.
const REACHES: f32 = 0.6;
/// Smaller ones are crumbs, mm².
const AREA: f64 = 45.0;
/// Larger ones are no spot but a fade or another cloth: share of the cloth.
const SHARE: f64 = 0.12;
/// Hardware is no larger, mm across; from its darkest to its brightest, the cloth counted, its
/// light spans so much; and so much of that lies between places 2 mm apart. *Estimate*: dirt is
/// seldom darker than 40 % of the cloth.
const HARDWARE: f64 = 40.0;
const SPANS: f32 = 0.8;
const HARD: f32 = 0.4;
/// What is thinner by its length is a thread, a fold's shadow, the wandering edge of a stripe.
const THIN: f64 = 0.35;
/// So many alike are a print.
const PRINT: usize = 4;

/// What a candidate seems to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Stain,
    /// An eyelet, a button, a buckle: small, hard-edged, metal-bright or dark.
    Hardware,
    /// A seam left in, a crease: a bright line beside a dark one.
    Ridge,
}

/// A place that may have to be kept out of.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    pub kind: Kind,
    /// Counter-clockwise.
    pub outline: Ring<Table>,
    /// How clearly it stands out, 0 to 1; no probability.
    pub sure: f64,
}

struct Spot {
    number: u32,
    area: f64,
    /// Mean of what stands out, and the size that a tenth of its cells exceed.
    colour: [f64; 3],
    peak: f32,
    hardware: bool,
    length: f64,
    width: f64,
    middle: Point<Table>,
    at_edge: bool,
}

pub(super) fn spots(field: &Raster<Logs, Table>, good: &Mask, out: &[Logs]) -> Vec<Candidate> {
    let (w, h) = (good.width, good.height);
    let size: Vec<f32> = out
        .iter()
        .map(|v| v.iter().map(|v| v * v).sum::<f32>().sqrt())
        .collect();
    let smooth = {
        let planes: Vec<Vec<f32>> = (0..3)
            .map(|c| {
                let own: Vec<f32> = out.iter().map(|v| v[c]).collect();
                mean_about(&mean_about(&own, w, 1), w, 1)
            })
            .collect();
        (0..w * h)
            .map(|k| {
                if good.on[k] {
                    [planes[0][k], planes[1][k], planes[2][k]]
                } else {
                    [f32::NAN; 3]
                }
            })
            .collect::<Vec<Logs>>()
    };
    let level: Vec<f32> = smooth
        .iter()
        .map(|v| v.iter().map(|v| v * v).sum::<f32>().sqrt())
        .collect();
    let mut known: Vec<f32> = level.iter().copied().filter(|v| v.is_finite()).collect();
    if known.len() < 500 {
        return Vec::new();
    }
    let usual = median(&mut known);
    let limit = LEAST.max(USUAL * usual);
    let reach = REACHES * limit;
    let mut taken = ridges(field, good, out);
    let in_ridge = |p: Point<Table>| {
        taken
            .iter()
            .any(|c: &Candidate| crate::shape::Region::ring(c.outline.clone()).contains(p))
    };
    let wide = Mask::new(w, h, |k| level[k] > reach);
    let (number, counts) = wide.parts();
    let mut peak = vec![0.0f32; counts.len()];
    for (k, n) in number.iter().enumerate() {
        peak[*n as usize] = peak[*n as usize].max(if *n > 0 { level[k] } else { 0.0 });
    }
    let mut parts: Vec<Vec<usize>> = vec![Vec::new(); counts.len()];
    for (k, n) in number.iter().enumerate().filter(|(_, n)| **n > 0) {
        parts[*n as usize].push(k);
    }
    let cell2 = field.cell().powi(2);
    let cloth = good.on.iter().filter(|on| **on).count() as f64 * cell2;
    let depth = good.depth();
    let mut all: Vec<Spot> = Vec::new();
    for n in 1..counts.len() {
        let area = counts[n] as f64 * cell2;
        if peak[n] > limit && area >= AREA && area < SHARE * cloth {
            all.push(spot(
                field,
                &parts[n],
                n as u32,
                (out, &smooth, &size),
                &depth,
            ));
        }
    }
    let prints: Vec<bool> = all
        .iter()
        .map(|s| all.iter().filter(|o| alike(s, o, true)).count() >= PRINT)
        .collect();
    let mut found = Vec::new();
    for (k, s) in all.iter().enumerate() {
        // Motifs that the edge or a hole cuts are of the print too.
        let part = all
            .iter()
            .zip(&prints)
            .any(|(o, print)| *print && alike(s, o, false) && s.area < 1.4 * o.area);
        if prints[k] || part || s.at_edge || in_ridge(s.middle) {
            continue;
        }
        let kind = if s.hardware {
            Kind::Hardware
        } else {
            Kind::Stain
        };
        if kind == Kind::Stain && s.width < THIN * s.length {
            continue;
        }
        let window = Window::about(&parts[s.number as usize], [w, h], 4);
        let own = window.raster(field, |_, k| {
            let v = level[k];
            let near = number[k] == s.number || (v <= reach && v.is_finite());
            if near { v - reach } else { -1.0 }
        });
        let lines = zero_lines(&own)
            .into_iter()
            .filter(|r| crate::shape::Region::ring(r.clone()).contains(s.middle));
        let Some(line) = lines.max_by(|a, b| signed_area(a).total_cmp(&signed_area(b))) else {
            continue;
        };
        let clear = f64::from(s.peak / limit);
        found.push(Candidate {
            kind,
            outline: simpler(&line, 0.5),
            sure: (1.0 - 0.6 / clear).clamp(0.1, 0.98),
        });
    }
    taken.extend(found);
    taken.sort_by(|a, b| b.sure.total_cmp(&a.sure));
    taken
}

fn spot(
    field: &Raster<Logs, Table>,
    cells: &[usize],
    number: u32,
    (out, smooth, size): (&[Logs], &[Logs], &[f32]),
    depth: &[f32],
) -> Spot {
    let w = field.width();
    let n = cells.len() as f64;
    let mut colour = [0.0; 3];
    for k in cells {
        for c in 0..3 {
            colour[c] += f64::from(smooth[*k][c]) / n;
        }
    }
    let mut sizes: Vec<f32> = cells
        .iter()
        .map(|k| size[*k])
        .filter(|v| v.is_finite())
        .collect();
    let ninth = sizes.len() * 9 / 10;
    let peak = *sizes.select_nth_unstable_by(ninth, f32::total_cmp).1;
    let raw = |k: usize| out.get(k).map_or(f32::NAN, |v| v[0]);
    let mut light: Vec<f32> = cells
        .iter()
        .map(|k| smooth[*k][0])
        .filter(|v| v.is_finite())
        .collect();
    light.sort_by(f32::total_cmp);
    // Crumbs have the ends.
    let part = |share: f64| {
        light
            .get((light.len() as f64 * share) as usize)
            .copied()
            .unwrap_or(0.0)
    };
    let spans = part(0.95).max(0.0) - part(0.05).min(0.0);
    let steps = cells.iter().flat_map(|k| {
        [
            raw(k + 1) - raw(k.wrapping_sub(1)),
            raw(k + w) - raw(k.wrapping_sub(w)),
        ]
    });
    let steepest = steps
        .filter(|v| v.is_finite())
        .fold(0.0, |a: f32, v| a.max(v.abs()));
    let (middle, _, length, width) = axes(field, cells);
    Spot {
        number,
        area: n * field.cell().powi(2),
        colour,
        peak,
        hardware: length < HARDWARE
            && width > 0.5 * length
            && spans > SPANS
            && steepest > HARD * spans,
        length,
        width,
        middle,
        at_edge: cells.iter().any(|k| depth[*k] < 1.5),
    }
}

/// Middle, direction, and the sides of a rectangle with the same second moments, mm.
pub(super) fn axes(
    field: &Raster<Logs, Table>,
    cells: &[usize],
) -> (Point<Table>, Vector<Table>, f64, f64) {
    let w = field.width();
    let n = cells.len() as f64;
    let place = |k: usize| field.centre(k % w, k / w);
    let middle = mean(cells.iter().map(|k| place(*k))).unwrap_or_default();
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for k in cells {
        let by: Vector<Table> = place(*k) - middle;
        xx += by.x * by.x / n;
        xy += by.x * by.y / n;
        yy += by.y * by.y / n;
    }
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let (half, root) = ((xx + yy) / 2.0, ((xx - yy) / 2.0).hypot(xy));
    let side = |v: f64| (12.0 * v.max(0.0)).sqrt().max(field.cell());
    (
        middle,
        Vector::new(turn.cos(), turn.sin()),
        side(half + root),
        side(half - root),
    )
}

fn alike(a: &Spot, b: &Spot, sized: bool) -> bool {
    let ratio = a.area / b.area;
    if sized && !(0.6..1.67).contains(&ratio) {
        return false;
    }
    let length = |v: &[f64; 3]| v.iter().map(|v| v * v).sum::<f64>().sqrt();
    let (la, lb) = (length(&a.colour), length(&b.colour));
    let dot: f64 = (0..3).map(|k| a.colour[k] * b.colour[k]).sum();
    // A print fades as its ground does.
    dot > 0.9 * la * lb && (0.45..2.2).contains(&(la / lb.max(1e-9)))
}
