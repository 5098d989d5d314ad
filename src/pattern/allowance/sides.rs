//! A finished piece's walked line with its edges numbered, and which of them lie on folds.

use super::super::edges::{Edge, ON_FOLD, edges};
use super::super::piece::{PatternPiece, Polyline};
use super::check;
use crate::fault::{Fault, Outcome};
use crate::shape::{Join, Side, Sided, nearest};
use crate::space::{Piece, Point};

/// The line on which a piece is walked, its points' edges by their places in the list.
pub fn sided(piece: &PatternPiece) -> (Sided<Piece>, Vec<Edge>) {
    let edges = edges(piece);
    let mut sided = Sided {
        ring: Polyline::new(),
        side: Vec::new(),
    };
    for (k, edge) in edges.iter().enumerate() {
        let points = &edge.line[..edge.line.len().saturating_sub(1)];
        sided.ring.extend(points);
        sided.side.resize(sided.ring.len(), k);
    }
    (sided, edges)
}

/// Which edges lie on the fold.
#[derive(Debug)]
pub struct FoldEdges(Vec<bool>);

impl FoldEdges {
    /// # Errors
    ///
    /// When a fold is only a part of an edge, bowed, or the piece reaches over it.
    pub fn of(piece: &PatternPiece, edges: &[Edge]) -> Outcome<Self> {
        let on = |p: Point<Piece>| {
            let off = piece.folds.iter().filter_map(|f| nearest(f, p));
            off.map(|(_, d)| d).fold(f64::INFINITY, f64::min) <= ON_FOLD
        };
        let ring: Polyline = edges.iter().flat_map(|e| e.line.iter().copied()).collect();
        let mut folds = Vec::new();
        for edge in edges {
            let mut middles = edge.line.windows(2).map(|w| on(w[0].lerp(w[1], 0.5)));
            let all = middles.all(|on| on);
            let any = edge.line.windows(2).any(|w| on(w[0].lerp(w[1], 0.5)));
            let named = |fault: Fault| fault.at(format!("edge \"{}\"", edge.name));
            if any && !all {
                return Err(named(Fault::input(
                    "only a part of the edge lies on the fold",
                    "name what lies on the fold as an edge of its own",
                )));
            }
            if all {
                check::fold(&edge.line, &ring).map_err(named)?;
            }
            folds.push(all);
        }
        Ok(Self(folds))
    }

    pub fn is(&self, edge: usize) -> bool {
        self.0.get(edge).copied().unwrap_or(false)
    }
}

/// What is done to each edge when it is moved by `by` mm and its neighbours end on folds,
/// which stay.
pub fn offset_line(by: &[f64], folds: &FoldEdges) -> Vec<Side> {
    let n = by.len();
    let side = |k: usize| Side {
        by: if folds.is(k) { 0.0 } else { by[k] },
        join: match folds.is(k) || folds.is((k + n - 1) % n) {
            true => Join::Meet,
            false => Join::Mitre,
        },
    };
    (0..n).map(side).collect()
}
