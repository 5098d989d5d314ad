//! Net lines of drawings that have only cut lines, where the allowances are told.

use crate::fault::Fault;
use crate::pattern::allowance::net_of;
use crate::pattern::{Edge, PatternPiece, edges};
use crate::shape::nearest;

/// What is this near a fold lies on it, mm.
const ON_FOLD: f64 = 0.2;

/// Gives the pieces that have a cut line and no net line, and all of whose edges are told
/// their allowance, the net line that these make; so that seams are walked where they are
/// sewn. Notes what the person should know of it, and why where it can't be.
pub fn draw(pieces: &mut [PatternPiece], notes: &mut Vec<String>) {
    for piece in pieces {
        let Some(told) = told(piece) else { continue };
        let named = |note: &String| format!("piece \"{}\": {note}", piece.name);
        match net_of(piece, &told) {
            Ok(allowed) => {
                notes.push(format!(
                    "piece \"{}\": its net line was drawn from its cut line and the allowances that \
                     are told.",
                    piece.name
                ));
                notes.extend(allowed.notes.iter().map(named));
                *piece = allowed.piece;
            }
            Err(Fault { what, remedy, .. }) => notes.push(format!(
                "piece \"{}\": no net line can be drawn from the allowances that are told: {what}; \
                 {remedy}.",
                piece.name
            )),
        }
    }
}

/// The allowances of all edges, if it has no net line and they make one.
fn told(piece: &PatternPiece) -> Option<Vec<f64>> {
    if !piece.net.is_empty() || piece.cut.len() != 1 {
        return None;
    }
    let on_fold = |edge: &Edge| {
        let on = |p| {
            piece
                .folds
                .iter()
                .any(|f| nearest(f, p).is_some_and(|(_, d)| d <= ON_FOLD))
        };
        edge.line.windows(2).all(|w| on(w[0].lerp(w[1], 0.5)))
    };
    let all = edges(piece);
    let each: Option<Vec<f64>> = all
        .iter()
        .map(|e| e.allowance.or_else(|| on_fold(e).then_some(0.0)))
        .collect();
    // With none at all the cut line is the net line.
    each.filter(|mm| mm.iter().any(|&mm| mm > 0.0))
}
