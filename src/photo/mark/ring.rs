//! What lies round a place: the four arms of a cross, the four fields of a checker, or
//! neither.

use super::grey::Grey;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Radii grow by this from one to the next.
const GROWTH: f64 = 1.15;
const INNERMOST: f64 = 3.0;
/// So many radii in turn must agree.
const AGREE: usize = 4;
/// Opposite arms lie opposite so far, radians; more is allowed close by, where the place is
/// not yet known well.
const OPPOSITE: f64 = 0.12;
/// Lines that cross more sharply than this fix no place, radians.
const SHARP: f64 = 0.5;
/// Less contrast, (light − dark) / (light + dark), is no mark.
const CONTRAST: f64 = 0.08;
/// And less than so many times the noise.
const CLEAR: f64 = 5.0;

/// Two lines that cross, as seen on rings round the crossing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Crossing {
    /// Strokes on a ground, or edges between fields.
    pub strokes: bool,
    /// Light strokes.
    pub light: bool,
    /// Where the four arms leave, radians; the third opposite to the first, the fourth to
    /// the second.
    pub arms: [f64; 4],
    /// Radii over which they are seen, px.
    pub from: f64,
    pub to: f64,
    /// Width of a stroke, px; 0 of edges.
    pub width: f64,
    /// How many radii agree.
    pub agree: usize,
}

/// What is seen on rings about a place out to `far` px.
pub(super) fn crossing(grey: &Grey, centre: [f64; 2], far: f64) -> Option<Crossing> {
    let mut best: Option<Crossing> = None;
    let mut now: Option<Crossing> = None;
    let mut radius = INNERMOST;
    while radius <= far && grey.holds(centre[0], centre[1], radius) {
        let seen = ring(grey, centre, radius);
        now = match (now.take(), seen) {
            (Some(run), Some(seen)) if continues(&run, &seen) => Some(Crossing {
                // Further out, directions are known better.
                arms: nearest(&run.arms, &seen.arms),
                to: radius,
                width: (run.width * run.agree as f64 + seen.width) / (run.agree + 1) as f64,
                agree: run.agree + 1,
                ..run
            }),
            (_, seen) => seen,
        };
        if let Some(run) = &now
            && best.as_ref().is_none_or(|b| run.agree > b.agree)
        {
            best = Some(run.clone());
        }
        radius *= GROWTH;
    }
    best.filter(|b| b.agree >= AGREE)
}

fn continues(run: &Crossing, seen: &Crossing) -> bool {
    let same = run.strokes == seen.strokes && run.light == seen.light;
    let slack = OPPOSITE + 1.0 / run.to;
    let arms = nearest(&run.arms, &seen.arms);
    let kept = run.arms.iter().zip(arms).all(|(a, b)| apart(*a, b) < slack);
    same && kept && (!run.strokes || seen.width < 1.6 * run.width + 1.0)
}

/// The same arms begun so that they match others.
fn nearest(like: &[f64; 4], arms: &[f64; 4]) -> [f64; 4] {
    let turned = |k: usize| std::array::from_fn::<f64, 4, _>(|i| arms[(i + k) % 4]);
    let off = |k: &usize| apart(like[0], arms[*k]);
    let k = (0..4).min_by(|a, b| off(a).total_cmp(&off(b)));
    turned(k.unwrap_or(0))
}

/// The angle between two directions, 0 to π.
fn apart(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(TAU);
    d.min(TAU - d)
}

/// Runs of light and dark round one ring.
fn ring(grey: &Grey, [x, y]: [f64; 2], radius: f64) -> Option<Crossing> {
    let count = ((TAU * radius * 1.5) as usize).max(32);
    let step = TAU / count as f64;
    let raw: Vec<f64> = (0..count)
        .map(|k| {
            let (sin, cos) = (k as f64 * step).sin_cos();
            grey.at(x + radius * cos, y + radius * sin)
        })
        .collect();
    // Over three samples, some two px.
    let at = |k: usize| (raw[(k + count - 1) % count] + raw[k] + raw[(k + 1) % count]) / 3.0;
    let values: Vec<f64> = (0..count).map(at).collect();
    let mut sorted = values.clone();
    sorted.sort_by(f64::total_cmp);
    let rank = |share: f64| sorted[((count - 1) as f64 * share) as usize];
    let range = rank(1.0) - rank(0.0);
    // Strokes are few of the ring, so its median is the ground; fields are halves of it.
    // Neither has much else beside it.
    let grounds = [
        (rank(0.5), rank(0.0), 8),
        (rank(0.5), rank(1.0), 8),
        (rank(0.8), rank(0.2), 4),
    ];
    grounds.into_iter().find_map(|(ground, mark, count)| {
        let contrast = (ground - mark).abs();
        let faint = contrast < CONTRAST * (ground + mark) || contrast < CLEAR * grey.noise;
        if faint || contrast < 0.5 * range {
            return None;
        }
        let passes = passes(&values, (ground + mark) / 2.0, 0.1 * contrast, step)?;
        match (passes.len() == count, count) {
            (true, 8) => cross(&passes, radius, mark > ground),
            (true, 4) => checker(&passes, radius),
            _ => None,
        }
    })
}

/// Where round a ring the level is passed by more than `slack`, and whether upwards.
fn passes(values: &[f64], level: f64, slack: f64, step: f64) -> Option<Vec<(f64, bool)>> {
    let count = values.len();
    let mut passes = Vec::new();
    let mut up = None;
    // Begun where it is clear on which side it is.
    let first = (0..count).find(|k| (values[*k] - level).abs() > 2.0 * slack)?;
    let mut crossed = 0.0;
    for i in 0..=count {
        let v = values[(first + i) % count];
        if i > 0 {
            let before = values[(first + i - 1) % count];
            if (before - level) * (v - level) <= 0.0 && before != v {
                crossed = (first + i) as f64 - 1.0 + (level - before) / (v - before);
            }
        }
        let side = if v > level + slack {
            true
        } else if v < level - slack {
            false
        } else {
            continue;
        };
        if up.is_some_and(|was| was != side) {
            passes.push(((crossed * step).rem_euclid(TAU), side));
        }
        up = Some(side);
    }
    Some(passes)
}

fn opposite(arms: &[f64; 4], radius: f64) -> bool {
    let slack = OPPOSITE + 1.2 / radius;
    let faced = |a: usize, b: usize| (apart(arms[a], arms[b]) - PI).abs() < slack;
    let turn = apart(arms[0], arms[1]);
    faced(0, 2) && faced(1, 3) && turn > SHARP && turn < PI - SHARP
}

fn checker(passes: &[(f64, bool)], radius: f64) -> Option<Crossing> {
    let arms: [f64; 4] = std::array::from_fn(|k| passes[k].0);
    opposite(&arms, radius).then_some(Crossing {
        strokes: false,
        light: false,
        arms,
        from: radius,
        to: radius,
        width: 0.0,
        agree: 1,
    })
}

fn cross(passes: &[(f64, bool)], radius: f64, light: bool) -> Option<Crossing> {
    // Runs from each pass to the next; those that begin upwards are light.
    let run = |k: usize| {
        let (from, to) = (passes[k].0, passes[(k + 1) % 8].0);
        let long = (to - from).rem_euclid(TAU);
        ((from + long / 2.0).rem_euclid(TAU), long)
    };
    let own = (0..8).filter(|k| passes[*k].1 == light);
    let strokes: Vec<(f64, f64)> = own.map(run).collect();
    if strokes.len() != 4 || strokes.iter().map(|r| r.1).sum::<f64>() > 0.42 * TAU {
        return None;
    }
    let arms: [f64; 4] = std::array::from_fn(|k| strokes[k].0);
    // A chord is a stroke's width by its angle.
    let widths: Vec<f64> = strokes
        .iter()
        .map(|s| 2.0 * radius * (s.1 / 2.0).sin())
        .collect();
    let width = widths.iter().sum::<f64>() / 4.0;
    let even = widths.iter().all(|w| *w < 2.5 * width && *w > 0.3 * width);
    (even && opposite(&arms, radius)).then_some(Crossing {
        strokes: true,
        light,
        arms,
        from: radius,
        to: radius,
        width,
        agree: 1,
    })
}

/// The angle by which a second line is turned from a first, folded to 0 to π/2.
pub(super) fn between(a: f64, b: f64) -> f64 {
    let d = apart(a, b);
    if d > FRAC_PI_2 { PI - d } else { d }
}
