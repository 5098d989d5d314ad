//! Corners trued: where a seam ends, the corners of its two sides must add up to 180°, so
//! that the edges beyond it run on smoothly.

use super::form::corner;
use super::laid::Laid;
use super::run::Run;
use super::say;
use super::sense::Walked;
use super::sewn::Sewn;
use crate::pattern::CORNER;
use crate::pattern::Seam;
use crate::pattern::{Finding, Severity, Topic};

/// How far two corners may add up to other than 180°, degrees (estimate: 0.7 mm over
/// `BEYOND`).
pub const TRUED: f64 = 2.0;

/// More than that off, a corner is meant.
const MEANT: f64 = 45.0;

/// The kink is told as a step: how far the edge is off the smooth line this far beyond
/// the seam, mm.
const BEYOND: f64 = 20.0;

/// The corner at one end of a run: its angle in degrees, and the edge beyond it as
/// (piece, edge). `None` if there is no corner: the run ends in the middle of a line.
fn end(laid: &[Laid], run: &Run, at_end: bool) -> Option<(f64, (usize, usize))> {
    let step = *(if at_end {
        run.steps.last()
    } else {
        run.steps.first()
    })?;
    let piece = &laid[step.piece];
    let after = at_end != step.back;
    let beyond = piece.neighbour(step.edge, after);
    if beyond == step.edge {
        return None;
    }
    let (own, next) = (&piece.edges[step.edge], &piece.edges[beyond]);
    let angle = if after {
        corner(own, next)
    } else {
        corner(next, own)
    }?;
    // Straight on: the run is a part of a longer edge.
    ((angle - 180.0).abs() > CORNER).then_some((angle, (step.piece, beyond)))
}

/// The corners at both ends of a walked seam that do not add up.
pub fn trued(
    laid: &[Laid],
    sewn: &Sewn,
    seam: &Seam,
    walked: &Walked,
    tolerance_deg: f64,
) -> Vec<Finding> {
    let mut out = Vec::new();
    for at_end in [false, true] {
        let (Some((a, beyond_a)), Some((b, beyond_b))) = (
            end(laid, &walked.one, at_end),
            end(laid, &walked.other, at_end),
        ) else {
            continue;
        };
        let folded = |e: (usize, usize)| laid[e.0].folded[e.1];
        let off = a + b - 180.0;
        let skip = folded(beyond_a) || folded(beyond_b) || sewn.together(beyond_a, beyond_b);
        if skip || off.abs() <= tolerance_deg || off.abs() > MEANT {
            continue;
        }
        let step = |run: &Run| if at_end { run.steps.len() - 1 } else { 0 };
        let (one, other) = (&walked.one, &walked.other);
        let mut spot = say::spot(laid, other, step(other), Some(&seam.name));
        let s = if at_end { other.length() } else { 0.0 };
        if let Some(p) = other.point(laid, s) {
            spot = spot.at(p);
        }
        let name = |e: (usize, usize)| {
            format!(
                "\"{}: {}\"",
                laid[e.0].piece.name, laid[e.0].edges[e.1].name
            )
        };
        let mm = BEYOND * off.abs().to_radians().tan();
        out.push(Finding::new(
            Severity::Check,
            Topic::Corner,
            spot,
            format!(
                "where {} meets {} their corners add up to {:.1}° ({a:.1}° and {b:.1}°): a {} of {:.1}°, {mm:.1} mm off the smooth line {BEYOND:.0} mm on",
                say::edge(laid, one, step(one)),
                say::edge(laid, other, step(other)),
                a + b,
                if off > 0.0 { "point" } else { "hollow" },
                off.abs()
            ),
            format!(
                "true up {} and {} so that they run on from one to the other",
                name(beyond_a),
                name(beyond_b)
            ),
        ));
    }
    out
}
