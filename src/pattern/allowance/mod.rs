//! Seam allowance: from the net line, where a piece is sewn, to the cut line, with an
//! allowance of its own for each edge; and back.

mod check;
mod notches;
mod sides;
mod whole;

#[cfg(test)]
mod tests;

pub use notches::{LEAST_SEEN, deepest_notch};
pub use sides::FoldEdges;
pub(super) use sides::{offset_line, sided};
pub(super) use whole::{bites, centred, counted, on_edges, place};

use super::net::{Corner, NetPiece};
use super::piece::{EdgeStart, Line, PatternPiece};
use crate::fault::{Fault, Outcome, short};
use crate::shape::{Join, Offset, Side, Sided, edgewise, signed_area};
use crate::space::Piece;

/// Largest allowance, mm: more is a slip of the pen.
pub const MOST: f64 = 200.0;

/// A piece that was worked out, and what the person should know of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Allowed {
    pub piece: PatternPiece,
    /// One sentence each.
    pub notes: Vec<String>,
}

/// The piece with its cut line. Corners are as each edge's [`Corner`] says; a mitre that
/// runs out beyond [`crate::shape::MITRE_LIMIT`] is cut off and noted. On the fold there is
/// no allowance, and the neighbours' cut lines end on the fold's line. Notches go out along
/// their normal; see [`deepest_notch`] for their depth. All is moved so that the origin
/// is the middle of the cut outlines' box.
///
/// # Errors
///
/// When the net line is open, clockwise or crosses itself, when an edge has no allowance or
/// one outside 0 to [`MOST`], when a fold is not straight or the piece lies on both sides of
/// it, and when a notch is not on the net line.
pub fn add(net: &NetPiece) -> Outcome<Allowed> {
    let place = |fault: Fault| fault.at(format!("piece \"{}\"", net.piece.name));
    let sided = check::checked(net).map_err(place)?;
    let sides = out(net);
    let offset = edgewise(&sided, &sides);
    let cut = match offset.outer.as_slice() {
        [cut] => cut,
        _ => {
            return Err(place(Fault::mistake(
                "no cut line could be drawn round the net line",
            )));
        }
    };
    let mut notes = Vec::new();
    let name = |side: usize| net.piece.edges.get(side).map_or("", |e| e.name.as_str());
    for &side in &offset.blunted {
        notes.push(format!(
            "the corner where edge \"{}\" begins is so sharp that its mitre is cut off.",
            name(side)
        ));
    }
    filled(&sided, cut, &sides, &name, &mut notes);
    let mut piece = net.piece.clone();
    piece.notches = notches::carried(net, &sided, &offset, &mut notes).map_err(place)?;
    piece.folds = cut
        .runs()
        .into_iter()
        .filter(|(side, _)| net.makes[*side].on_fold)
        .map(|(_, line)| line)
        .collect();
    for (edge, make) in piece.edges.iter_mut().zip(&net.makes) {
        if make.on_fold {
            edge.allowance = Some(0.0);
        }
    }
    piece.cut = vec![cut.ring.clone()];
    for hole in &offset.holes {
        notes.push(format!(
            "the cut line closes on itself round an opening at {}, which is cut out.",
            place_of(hole)
        ));
        piece.cutouts.push(hole.ring.clone());
    }
    centred(&mut piece);
    Ok(Allowed { piece, notes })
}

fn place_of(ring: &Sided<Piece>) -> String {
    place(&ring.ring)
}

/// What is done to each edge of the net line.
fn out(net: &NetPiece) -> Vec<Side> {
    let n = net.makes.len();
    let side = |k: usize| {
        let (make, before) = (net.makes[k], net.makes[(k + n - 1) % n]);
        let join = match make.corner {
            _ if make.on_fold || before.on_fold => Join::Meet,
            Corner::Mitred => Join::Mitre,
            Corner::Folded => Join::FoldBack,
            Corner::Squared => Join::Square,
        };
        let by = net.piece.edges[k].allowance.filter(|_| !make.on_fold);
        Side {
            by: by.unwrap_or(0.0),
            join,
        }
    };
    (0..n).map(side).collect()
}

/// Notes where allowances run into each other, so that the cut line does not show what the
/// net line does: made net again, it has more.
fn filled<'a>(
    net: &Sided<Piece>,
    cut: &Sided<Piece>,
    sides: &[Side],
    name: &dyn Fn(usize) -> &'a str,
    notes: &mut Vec<String>,
) {
    let back = |s: &Side| Side {
        by: -s.by,
        join: if s.join == Join::Meet {
            s.join
        } else {
            Join::Mitre
        },
    };
    let back: Vec<Side> = sides.iter().map(back).collect();
    let again = edgewise(cut, &back);
    for bite in bites(&again.outer, std::slice::from_ref(net)) {
        let edges = on_edges(&bite, net, name);
        notes.push(format!(
            "the allowances of {edges} run into each other at {}: the cut line does not show \
             what is narrower than they are.",
            place(&bite)
        ));
    }
}

/// The piece with a net line inside the cut line that is all it has: `allowances` in the
/// order of [`super::edges`], mm. Edges on the fold have none, whatever is said. The net
/// line's corners are where the edges' net lines meet. Of a cut line that [`add`] drew it
/// is the net line again, but where that is a curve that bends in: chords that turn by t
/// there come back rounded, by the allowance × (1/cos(t/2) − 1), which is 0.01 mm for 12 mm
/// and 4.7°; and within 0.002 mm elsewhere.
///
/// # Errors
///
/// When the piece has a net line already or not exactly one outline, when the allowances are
/// not one for each edge and 0 to [`MOST`], and when they leave nothing or several parts.
pub fn net_of(piece: &PatternPiece, allowances: &[f64]) -> Outcome<Allowed> {
    let at = |fault: Fault| fault.at(format!("piece \"{}\"", piece.name));
    if piece.net.iter().any(|l| l.closed) {
        return Err(at(Fault::input(
            "the piece has a net line already",
            "take that one out, or leave it as it is",
        )));
    }
    if piece.cut.len() != 1 {
        return Err(at(Fault::input(
            format!("the piece has {} outlines, not one", piece.cut.len()),
            "make a piece of each",
        )));
    }
    let (cut, edges) = sided(piece);
    if allowances.len() != edges.len() {
        return Err(at(Fault::input(
            format!(
                "{} given for {}",
                crate::fault::counted(allowances.len(), "allowance is", "allowances are"),
                crate::fault::counted(edges.len(), "edge", "edges")
            ),
            "give one for each edge",
        )));
    }
    for (edge, &mm) in edges.iter().zip(allowances) {
        check::allowance(&edge.name, mm).map_err(at)?;
    }
    let folds = FoldEdges::of(piece, &edges).map_err(at)?;
    let by: Vec<f64> = allowances.iter().map(|mm| -mm).collect();
    let sides = offset_line(&by, &folds);
    let net = edgewise(&cut, &sides);
    let [one] = net.outer.as_slice() else {
        let what = match net.outer.len() {
            0 => "nothing is left inside the allowances".to_owned(),
            n => format!("the allowances part the net line into {n}"),
        };
        return Err(at(Fault::input(what, "give smaller allowances")));
    };
    let mut notes = Vec::new();
    let name = |side: usize| edges.get(side).map_or("", |e| e.name.as_str());
    for bite in bites(std::slice::from_ref(&cut), &regrown(&net, &sides)) {
        notes.push(format!(
            "the net line leaves out what is narrower than the allowances at {}, by {}.",
            place(&bite),
            on_edges(&bite, &cut, &name)
        ));
    }
    let mut out = piece.clone();
    out.net.insert(
        0,
        Line {
            points: one.ring.clone(),
            closed: true,
        },
    );
    out.edges = named(one, &name, &mut notes, &mut |side| {
        if folds.is(side) {
            0.0
        } else {
            allowances[side]
        }
    });
    notches::too_deep(piece, &cut, &folds, allowances, &name, &mut notes);
    Ok(Allowed { piece: out, notes })
}

/// What was moved, moved back.
pub(super) fn regrown(moved: &Offset<Piece>, sides: &[Side]) -> Vec<Sided<Piece>> {
    let back: Vec<Side> = sides.iter().map(|s| Side { by: -s.by, ..*s }).collect();
    let grown = moved.outer.iter().map(|part| edgewise(part, &back).outer);
    grown.flatten().collect()
}

/// Where the edges begin on an outline; notes those that are not on it, or in parts.
pub(super) fn named<'a>(
    outline: &Sided<Piece>,
    name: &dyn Fn(usize) -> &'a str,
    notes: &mut Vec<String>,
    allowance: &mut dyn FnMut(usize) -> f64,
) -> Vec<EdgeStart> {
    let mut seen: Vec<usize> = Vec::new();
    let mut starts = Vec::new();
    for (side, line) in outline.runs() {
        if seen.contains(&side) {
            notes.push(format!(
                "edge \"{}\" is in several parts: only the first keeps its name, and the others belong to the edge before them.",
                name(side)
            ));
            continue;
        }
        seen.push(side);
        starts.push(EdgeStart {
            at: line[0],
            name: name(side).to_owned(),
            allowance: Some(allowance(side)),
        });
    }
    starts
}

/// Whether a ring runs counter-clockwise and encloses something.
fn is_left_handed(ring: &[crate::space::Point<Piece>]) -> bool {
    signed_area(ring) > 0.0
}

/// Says a length in a note.
pub(super) fn mm(length: f64) -> String {
    format!("{} mm", short(length))
}
