//! Pieces side by side, so that none lies on another.

use crate::pattern::piece::PatternPiece;
use crate::space::{Bounds, Piece, Vector};

/// Between pieces and round them all, mm.
const GAP: f64 = 20.0;

/// Where each piece's origin goes, and how large the whole is: mm, y up, from the lower
/// left corner.
pub fn row(pieces: &[PatternPiece]) -> (Vec<Vector<Piece>>, [f64; 2]) {
    let boxes: Vec<Bounds<Piece>> = pieces.iter().map(extent).collect();
    let high = boxes.iter().map(|b| b.height()).fold(0.0, f64::max);
    let mut x = GAP;
    let place = |b: &Bounds<Piece>| {
        let at = Vector::new(x - b.min.x, GAP - b.min.y);
        x += b.width() + GAP;
        at
    };
    let places = boxes.iter().map(place).collect();
    (places, [x.max(2.0 * GAP), high + 2.0 * GAP])
}

/// The box of all that is drawn of a piece.
fn extent(piece: &PatternPiece) -> Bounds<Piece> {
    let lines = piece.net.iter().chain(&piece.lines).map(|l| &l.points);
    let runs = piece
        .cut
        .iter()
        .chain(&piece.cutouts)
        .chain(&piece.folds)
        .chain(&piece.darts);
    let marks = piece
        .drills
        .iter()
        .chain(piece.grain.iter().flatten())
        .chain(&piece.label_at);
    let notches = piece
        .notches
        .iter()
        .flat_map(|n| [n.at, n.at + n.inward * n.depth]);
    let points = lines.chain(runs).flatten().chain(marks).copied();
    let all: Vec<_> = points.chain(notches).collect();
    Bounds::from_points(&all)
}
