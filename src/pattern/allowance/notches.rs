//! Notches: from the net line out to the cut line, and how deep they may be clipped.

use super::super::net::NetPiece;
use super::super::piece::{Notch, PatternPiece};
use super::sides::FoldEdges;
use super::{mm, place};
use crate::fault::{Fault, Outcome};
use crate::shape::{MITRE_LIMIT, Offset, Sided, nearest, pairs, ray};
use crate::space::{Piece, Point, Vector};

/// How far from the net line a notch may be drawn, mm: as far as from a cut line.
const REACH: f64 = 1.0;
/// Two edges are both met by a notch at their corner, to this, mm.
const AT_CORNER: f64 = 1e-3;
/// A notch keeps this far short of any stitching, mm (TRADE: common practice).
const SHORT_OF_STITCHING: f64 = 1.0;
/// A notch less deep than this, mm, is hard to see (the widest cut of shears' tips).
pub const LEAST_SEEN: f64 = 1.5;
/// Less than this, mm, is no notch.
const LEAST: f64 = 0.1;

/// How deep a notch may be, mm: at most half the allowance, and at least 1 mm short of any
/// stitching in it (common practice). `stitched`: from the net line to the stitching that
/// lies farthest into the allowance.
pub fn deepest_notch(allowance: f64, stitched: f64) -> f64 {
    (allowance / 2.0).min(allowance - stitched - SHORT_OF_STITCHING)
}

/// The edges that a place on an outline belongs to: two at a corner. None if it is farther
/// off than [`REACH`].
pub fn edges_at(outline: &Sided<Piece>, at: Point<Piece>) -> Vec<usize> {
    let far = |(a, b): (Point<Piece>, Point<Piece>)| {
        nearest(&[a, b], at).map_or(f64::INFINITY, |(_, d)| d)
    };
    let each: Vec<f64> = pairs(&outline.ring).map(far).collect();
    let least = each.iter().copied().fold(f64::INFINITY, f64::min);
    let mut found: Vec<usize> = Vec::new();
    for (&d, &side) in each.iter().zip(&outline.side) {
        if least <= REACH && d <= least + AT_CORNER && !found.contains(&side) {
            found.push(side);
        }
    }
    found
}

/// The notches of a net piece on its cut line.
///
/// # Errors
///
/// When a notch is not on the net line, or has no depth or direction.
pub fn carried(
    net: &NetPiece,
    line: &Sided<Piece>,
    cut: &Offset<Piece>,
    notes: &mut Vec<String>,
) -> Outcome<Vec<Notch>> {
    let rings = || cut.outer.iter().chain(&cut.holes).map(|s| &s.ring);
    let mut out = Vec::new();
    for (k, notch) in net.piece.notches.iter().enumerate() {
        let bad = |what: &str, remedy: &str| {
            Err(Fault::input(what, remedy).at(format!("notch {}", k + 1)))
        };
        let inward = notch.inward.try_normalize().filter(|n| n.is_finite());
        let deep = notch.depth.is_finite() && notch.depth > 0.0;
        let (Some(inward), true, true) = (inward, deep, notch.at.is_finite()) else {
            return bad("the notch has no depth or direction", "draw it anew");
        };
        let mut edges = edges_at(line, notch.at);
        if edges.is_empty() {
            return bad(
                "the notch is not on the net line",
                "place it on the net line",
            );
        }
        // At the end of a fold, it is clipped into the other edge, along the fold.
        let fold = edges.iter().copied().find(|&e| net.makes[e].on_fold);
        let inward = match fold.filter(|_| edges.len() > 1) {
            Some(fold) => along(line, fold, notch.at).unwrap_or(inward),
            None => inward,
        };
        if edges.len() > 1 {
            edges.retain(|&e| !net.makes[e].on_fold);
        }
        let name = edges
            .first()
            .map_or("", |&e| net.piece.edges[e].name.as_str());
        let allowance = |&e: &usize| match net.makes[e].on_fold {
            true => 0.0,
            false => net.piece.edges[e].allowance.unwrap_or(0.0),
        };
        let narrow = edges.iter().map(allowance).fold(f64::INFINITY, f64::min);
        let wide = edges.iter().map(allowance).fold(0.0, f64::max);
        let stitched = edges
            .iter()
            .map(|&e| net.makes[e].stitched)
            .fold(0.0, f64::max);
        let said = format!("notch {} on edge \"{name}\"", k + 1);
        let deepest = deepest_notch(narrow, stitched);
        if deepest < LEAST {
            notes.push(format!(
                "{said} is left out: an allowance of {} has no room to clip it; mark it \
                 another way.",
                mm(narrow)
            ));
            continue;
        }
        let met = ray(rings(), notch.at, -inward);
        let Some((_, at)) = met.filter(|(far, _)| *far <= MITRE_LIMIT * wide + REACH) else {
            notes.push(format!(
                "{said} is left out: straight out from {} there is no cut line of its own.",
                place(&[notch.at])
            ));
            continue;
        };
        let depth = notch.depth.min(deepest);
        // Half an allowance is usual; only what would have gone through the seam is told.
        if depth >= LEAST_SEEN && notch.depth > 2.0 * deepest + 1e-9 {
            notes.push(format!(
                "{said} is {} deep and not {}: no notch goes further into this allowance.",
                mm(depth),
                mm(notch.depth)
            ));
        }
        if depth < LEAST_SEEN {
            notes.push(format!(
                "{said} can only be {} deep, too little to see well; mark it another way too.",
                mm(depth)
            ));
        }
        out.push(Notch {
            at,
            inward,
            depth,
            kind: notch.kind,
        });
    }
    Ok(out)
}

/// The direction of a fold from its end at `at` into the piece.
fn along(line: &Sided<Piece>, fold: usize, at: Point<Piece>) -> Option<Vector<Piece>> {
    let (_, run) = line.runs().into_iter().find(|(side, _)| *side == fold)?;
    let (first, last) = (*run.first()?, *run.last()?);
    let begins = (first - at).length() < (last - at).length();
    let way = if begins { last - first } else { first - last };
    way.try_normalize()
}

/// Notes the drawn notches that are deeper than the allowance lets them be.
pub fn too_deep<'a>(
    piece: &PatternPiece,
    cut: &Sided<Piece>,
    folds: &FoldEdges,
    allowances: &[f64],
    name: &dyn Fn(usize) -> &'a str,
    notes: &mut Vec<String>,
) {
    for (k, notch) in piece.notches.iter().enumerate() {
        let edges = edges_at(cut, notch.at);
        let narrow = edges.iter().filter(|&&e| !folds.is(e));
        let Some(&edge) = narrow.min_by(|&&a, &&b| allowances[a].total_cmp(&allowances[b])) else {
            continue;
        };
        let deepest = deepest_notch(allowances[edge], 0.0);
        if notch.depth > deepest + 1e-9 {
            notes.push(format!(
                "notch {} on edge \"{}\" is drawn {} deep; {} is the most that keeps clear of \
                 the seam.",
                k + 1,
                name(edge),
                mm(notch.depth),
                mm(deepest.max(0.0))
            ));
        }
    }
}
