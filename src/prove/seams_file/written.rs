//! The seams file for a drawing that was written from pieces whose edges have names.
//!
//! A drawing keeps no names. Where the pieces' edges begin is looked for among the corners
//! and notches of the drawing as it is read back, for by those the file names them.

use super::{Along, EdgeNaming, Place, SeamsFile};
use crate::fault::Outcome;
use crate::pattern::PatternPiece;
use crate::pattern::edges;
use crate::pattern::{EdgeName, Sewing};
use crate::prove::walk::Laid;
use crate::shape::along;
use crate::space::{Piece as PieceSpace, Point};

/// A corner or notch this near to where an edge begins is where it begins, mm.
const HERE: f64 = 0.05;

/// A seams file, and what could not be put into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    pub file: SeamsFile,
    /// One sentence each.
    pub left_out: Vec<String>,
}

impl SeamsFile {
    /// The file that gives the pieces of a drawing, `read` back from it, the edges' names and
    /// allowances of the `pieces` that it was written from, and what is sewn to what.
    /// Pieces are matched by name. A seam or ring of an edge that begins or ends at neither a
    /// corner nor a notch of the drawing is left out. A seam with ease below zero is
    /// written with its sides exchanged.
    ///
    /// # Errors
    /// If the drawing's edges can't be named so.
    pub fn written(
        pieces: &[PatternPiece],
        read: &[PatternPiece],
        sewing: &Sewing,
    ) -> Outcome<Written> {
        let mut file = Self::default();
        for piece in pieces.iter().filter(|p| !p.edges.is_empty()) {
            if let Some(drawn) = read.iter().find(|p| p.name == piece.name) {
                file.edges.extend(named(piece, drawn));
            }
        }
        let mut left_out = Vec::new();
        let missing = |names: &[&EdgeName]| -> Option<String> {
            let known = |n: &EdgeName| {
                let named = |e: &EdgeNaming| e.piece == n.piece && e.name == n.edge;
                let numbered = |p: &PatternPiece| {
                    p.name == n.piece
                        && p.edges.is_empty()
                        && edges(p).iter().any(|e| e.name == n.edge)
                };
                file.edges.iter().any(named) || pieces.iter().any(numbered)
            };
            names.iter().find(|n| !known(n)).map(ToString::to_string)
        };
        let mut why = |what: &str, name: &str, edge: String| {
            left_out.push(format!(
                "the {what} \"{name}\" is not in it: \"{edge}\" does not begin and end at a corner or notch."
            ));
        };
        for seam in &sewing.seams {
            let all: Vec<&EdgeName> = seam.one.iter().chain(&seam.other).collect();
            if let Some(edge) = missing(&all) {
                why("seam", &seam.name, edge);
                continue;
            }
            let mut seam = seam.clone();
            if seam.ease < 0.0 {
                std::mem::swap(&mut seam.one, &mut seam.other);
                seam.ease = -seam.ease;
            }
            file.sewing.seams.push(seam);
        }
        for ring in &sewing.rings {
            match missing(&ring.edges.iter().collect::<Vec<_>>()) {
                Some(edge) => why("ring", &ring.name, edge),
                None => file.sewing.rings.push(ring.clone()),
            }
        }
        // That it can be read is seen now, and not when it is needed.
        file.apply(&mut read.to_vec())?;
        Ok(Written { file, left_out })
    }
}

/// The names of a piece's edges, as far as they are to be found on the drawing.
fn named(piece: &PatternPiece, drawn: &PatternPiece) -> Vec<EdgeNaming> {
    let laid = Laid::new(drawn);
    let all = edges(piece);
    let starts: Vec<Option<Place>> = all
        .iter()
        .map(|e| e.line.first().and_then(|&p| place(&laid, p)))
        .collect();
    let corners = laid.edges.len();
    let mut out = Vec::new();
    for (k, edge) in all.iter().enumerate() {
        let (Some(from), Some(to)) = (starts[k], starts[(k + 1) % all.len()]) else {
            continue;
        };
        // As the file's reader takes names: a bare number is one that nobody gave.
        if edge.name.contains(':') || edge.name.parse::<u64>().is_ok() {
            continue;
        }
        let along = match (from, to) {
            (Place::Corner(a), Place::Corner(b)) if corners > 1 && a % corners + 1 == b => {
                Along::Number(a)
            }
            _ => Along::Between(from, to),
        };
        out.push(EdgeNaming {
            piece: piece.name.clone(),
            along,
            name: edge.name.clone(),
            length: Some((edge.length * 100.0).round() / 100.0),
            allowance: edge.allowance,
            line: 0,
        });
    }
    out
}

/// The corner or notch at a place of the line that is walked.
fn place(laid: &Laid, at: Point<PieceSpace>) -> Option<Place> {
    let here = |p: Point<PieceSpace>| (p - at).length() <= HERE;
    // Of a line without corners, where it happens to begin is no place.
    let cornered = laid.edges.len() > 1;
    let corner = laid
        .edges
        .iter()
        .position(|e| cornered && e.line.first().is_some_and(|&p| here(p)));
    if let Some(k) = corner {
        return Some(Place::Corner(k + 1));
    }
    let order = laid.piece.notches_in_order();
    let notch = order.iter().position(|notch| {
        let mut marks = laid.marks.iter().filter(|m| m.notch == *notch);
        marks.any(|m| along(&laid.edges[m.edge].line, m.s).is_some_and(|st| here(st.at)))
    });
    notch.map(|k| Place::Notch(k + 1))
}
