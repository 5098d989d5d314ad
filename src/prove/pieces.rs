//! What is checked of each piece for itself: its size, grain, notches, and the allowance
//! between its net line and its cut line.

use super::Largest;
use crate::pattern::walked;
use crate::pattern::{Finding, Severity, Spot, Topic};
use crate::pattern::{Kind, kind};
use crate::pattern::{PatternPiece, Polyline};
use crate::prove::walk::Laid;
use crate::shape::{Region, along, bounds, nearest};
use crate::space::{Piece as PieceSpace, Point};
use serde::Serialize;

/// An allowance is odd below this, mm: too narrow to sew beside (common practice).
const NARROW: f64 = 2.0;

/// Less than that is none at all, mm.
const NONE: f64 = 0.05;

/// An allowance that varies by more than this along one edge is told, mm (common
/// practice: a hand cuts to 1 mm).
const VARIES: f64 = 1.0;

/// The allowance is measured at so many places of an edge, on all edges together about
/// [`PLACES_IN_ALL`], and not in this share of it at
/// either end, where corners are turned in their own ways; nor nearer to an end than the
/// wider of the two allowances that meet there, for so far the neighbour's cut line can be
/// the nearer one.
const PLACES: usize = 32;
const PLACES_IN_ALL: usize = 8000;
const ENDS: f64 = 0.1;

/// On more edges than that (a pinked outline has many) it is not measured.
const MOST_EDGES: usize = 500;

/// The allowance of one edge, measured from net line to cut line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AllowanceMeasured {
    pub edge: String,
    /// mm; negative where the net line is outside the cut line.
    pub least_mm: f64,
    pub most_mm: f64,
    /// What the pattern says, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub told_mm: Option<f64>,
}

/// An edge of a piece as the report numbers it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EdgeResult {
    pub edge: String,
    /// mm along the line that is walked, darts open.
    pub length_mm: f64,
    /// What darts take up of it, mm.
    pub darts_mm: f64,
    /// Its notches, mm from its start, counter-clockwise.
    pub notches_mm: Vec<f64>,
    pub on_fold: bool,
}

/// A piece for itself.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceResult {
    pub piece: String,
    pub width_mm: f64,
    pub height_mm: f64,
    pub notches: usize,
    pub has_grain: bool,
    /// Whether it is walked along a net line; else along its cut line.
    pub has_net: bool,
    pub edges: Vec<EdgeResult>,
    pub allowance: Vec<AllowanceMeasured>,
}

/// Checks one piece.
pub fn check(laid: &Laid) -> (PieceResult, Vec<Finding>) {
    let piece = laid.piece;
    let mut out = Vec::new();
    let size = bounds(piece.cut.iter().flatten().copied());
    let (width, height) = size.map_or((0.0, 0.0), |b| (b.width(), b.height()));
    let has_net = !laid.edges.is_empty() && !piece.cut.contains(&walked(piece));
    let middle = size.map(|b| b.center());
    let spot = || match middle {
        Some(p) => Spot::piece(piece).at(p),
        None => Spot::piece(piece),
    };
    let mut say = |severity, topic, what: &str, remedy: &str| {
        out.push(Finding::new(severity, topic, spot(), what, remedy));
    };
    if laid.edges.is_empty() {
        say(
            Severity::Spoils,
            Topic::Piece,
            "it has no closed line to walk or to cut",
            "draw its cut line closed",
        );
    }
    if piece.grain.is_none() {
        say(
            Severity::Check,
            Topic::Grain,
            "no grain line is drawn",
            "draw one along the warp, unless its cloth has none (felt, leather)",
        );
    }
    if piece.pair && piece.cut_count % 2 == 1 {
        let count = piece.cut_count;
        match kind(piece) {
            // Left and right of it are the same.
            Kind::Symmetric | Kind::OnFold => say(
                Severity::Check,
                Topic::Count,
                &format!(
                    "the pattern asks for {count} of it as left and right, and it is its own mirror image"
                ),
                "ask for it without the pair",
            ),
            Kind::Pair | Kind::Single => say(
                Severity::Spoils,
                Topic::Count,
                &format!(
                    "the pattern asks for {count} of it as left and right: one is left without its partner"
                ),
                "ask for an even number, or for one hand only",
            ),
        }
    }
    if piece.notches.is_empty() && !laid.edges.is_empty() {
        say(
            Severity::Advice,
            Topic::Notch,
            "it has no notch",
            "notch what is sewn to it, or leave it if nothing is",
        );
    }
    let open = piece.net.iter().filter(|l| !l.closed).count();
    if open > 0 && !has_net {
        say(
            Severity::Advice,
            Topic::Piece,
            &format!(
                "its net line is open ({}): its edges are walked along the cut line",
                crate::fault::counted(open, "stroke", "strokes")
            ),
            "close the net line, so that seams are walked where they are sewn",
        );
    }
    for adrift in &laid.adrift {
        out.push(Finding::new(
            Severity::Check,
            Topic::Notch,
            Spot::piece(piece).at(adrift.at),
            adrift.what.clone(),
            "check where it is drawn",
        ));
    }
    for mark in folded(laid) {
        let notch = &piece.notches[mark];
        out.push(Finding::new(
            Severity::Check,
            Topic::Notch,
            Spot::piece(piece).at(notch.at),
            "a notch lies on the fold, where nothing is clipped",
            "move it to the edge that it is for",
        ));
    }
    let allowance = if has_net {
        measured(laid, &mut out)
    } else {
        Vec::new()
    };
    let edges = laid.edges.iter().enumerate().map(|(e, edge)| EdgeResult {
        edge: edge.name.clone(),
        length_mm: edge.length,
        darts_mm: laid.taken(e),
        notches_mm: {
            let own = laid.marks.iter().filter(|m| m.edge == e);
            let mut at: Vec<f64> = own.map(|m| m.s).collect();
            at.sort_by(f64::total_cmp);
            at
        },
        on_fold: laid.folded[e],
    });
    let result = PieceResult {
        piece: piece.name.clone(),
        width_mm: width,
        height_mm: height,
        notches: piece.notches.len(),
        has_grain: piece.grain.is_some(),
        has_net,
        edges: edges.collect(),
        allowance,
    };
    (result, out)
}

/// The notches that are on the fold and on no edge beside it.
fn folded(laid: &Laid) -> Vec<usize> {
    let on_fold = |k: usize| {
        let mut own = laid.marks.iter().filter(|m| m.notch == k).peekable();
        own.peek().is_some() && own.all(|m| laid.folded[m.edge])
    };
    (0..laid.piece.notches.len())
        .filter(|&k| on_fold(k))
        .collect()
}

/// The allowance of each edge, and what is odd about it.
fn measured(laid: &Laid, out: &mut Vec<Finding>) -> Vec<AllowanceMeasured> {
    let piece = laid.piece;
    let region = Region::new(piece.cut.clone());
    let closed: Vec<Polyline> = piece
        .cut
        .iter()
        .map(|r| r.iter().chain(r.first()).copied().collect())
        .collect();
    let mut all = Vec::new();
    let wide = |e: usize| {
        let edge = &laid.edges[e];
        let drawn =
            along(&edge.line, edge.length / 2.0).map_or(0.0, |s| gap(&region, &closed, s.at));
        drawn.max(edge.allowance.unwrap_or(0.0))
    };
    let count = (PLACES_IN_ALL / laid.edges.len().max(1)).clamp(2, PLACES);
    for (e, edge) in laid.edges.iter().enumerate() {
        if e == MOST_EDGES {
            out.push(Finding::new(
                Severity::Check,
                Topic::Allowance,
                Spot::piece(piece),
                format!("the allowance is measured on its first {MOST_EDGES} edges only"),
                "name its edges, so that there are fewer",
            ));
            break;
        }
        if laid.folded[e] {
            continue;
        }
        let own = wide(e).max(ENDS * edge.length);
        let from = own.max(wide(laid.neighbour(e, false)));
        let to = edge.length - own.max(wide(laid.neighbour(e, true)));
        // Of an edge that is all corners only its middle is looked at, and only whether it
        // lies outside.
        let corners = from >= to;
        let at = |k: usize| {
            let s = match corners {
                true => edge.length / 2.0,
                false => from + (to - from) * k as f64 / count as f64,
            };
            let p = along(&edge.line, s)?.at;
            Some((p, gap(&region, &closed, p)))
        };
        let places: Vec<_> = (0..=if corners { 0 } else { count })
            .filter_map(at)
            .collect();
        let by = |a: &&(Point<PieceSpace>, f64), b: &&(Point<PieceSpace>, f64)| a.1.total_cmp(&b.1);
        let (Some(least), Some(most)) = (places.iter().min_by(by), places.iter().max_by(by)) else {
            continue;
        };
        if !corners || least.1 < 0.0 {
            out.extend(odd(piece, (&edge.name, edge.allowance), *least, most.1));
        }
        all.push(AllowanceMeasured {
            edge: edge.name.clone(),
            least_mm: least.1,
            most_mm: most.1,
            told_mm: edge.allowance,
        });
    }
    all
}

/// How far a point lies inside the cut line, mm; negative outside.
fn gap(region: &Region<PieceSpace>, closed: &[Polyline], p: Point<PieceSpace>) -> f64 {
    let near = closed.iter().filter_map(|r| nearest(r, p)).map(|(_, d)| d);
    let near = near.fold(f64::INFINITY, f64::min);
    if near <= NONE || region.contains(p) {
        near
    } else {
        -near
    }
}

fn odd(
    piece: &PatternPiece,
    (name, told): (&str, Option<f64>),
    (at, least): (Point<PieceSpace>, f64),
    most: f64,
) -> Option<Finding> {
    let (severity, what, remedy) = if least < 0.0 {
        (
            Severity::Spoils,
            format!("the net line lies {:.1} mm outside the cut line", -least),
            "redraw one of them, or check that they are not told apart wrongly",
        )
    } else if least > NONE && least < NARROW {
        (
            Severity::Check,
            format!("there is only {least:.1} mm between net line and cut line"),
            "widen the allowance, or take it off altogether",
        )
    } else if most - least > VARIES {
        (
            Severity::Check,
            format!("its allowance runs from {least:.1} mm to {most:.1} mm"),
            "even it out, or leave it if it is meant",
        )
    } else if let Some(told) = told
        && ((told - least).abs() > VARIES || (told - most).abs() > VARIES)
    {
        (
            Severity::Check,
            format!(
                "its allowance is drawn {least:.1} mm to {most:.1} mm, and said to be {told:.1} mm"
            ),
            "correct the one or the other",
        )
    } else {
        return None;
    };
    let spot = Spot::piece(piece).edge(name).at(at);
    Some(Finding::new(severity, Topic::Allowance, spot, what, remedy))
}

/// The piece with the longest side.
pub fn largest(pieces: &[PieceResult]) -> Option<Largest> {
    // By its longest side: there a wrong scale shows most.
    let long = |p: &&PieceResult| p.width_mm.max(p.height_mm);
    let p = pieces.iter().max_by(|a, b| long(a).total_cmp(&long(b)))?;
    Some(Largest {
        piece: p.piece.clone(),
        width_mm: p.width_mm,
        height_mm: p.height_mm,
    })
}
