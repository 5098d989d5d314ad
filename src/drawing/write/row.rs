//! Pieces side by side, so that none lies on another.

use crate::pattern::PatternPiece;
use crate::space::{Bounds, Piece, Vector};

/// How pieces are put side by side, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Between pieces and round them all.
    pub gap: f64,
    /// Above each piece besides.
    pub head: f64,
    /// A row that would become wider than this goes on in another below it; one piece may.
    pub widest: f64,
}

impl Spread {
    /// One row, at full size.
    pub const ROW: Self = Self {
        gap: 20.0,
        head: 0.0,
        widest: f64::INFINITY,
    };

    /// Where each piece's origin goes, and how large the whole is: mm, y up, from the lower
    /// left corner. Pieces of a row stand on one line.
    pub fn places(&self, pieces: &[PatternPiece]) -> (Vec<Vector<Piece>>, [f64; 2]) {
        let boxes: Vec<Bounds<Piece>> = pieces.iter().map(extent).collect();
        let mut rows: Vec<(Vec<usize>, f64)> = Vec::new();
        let (mut x, mut wide) = (self.gap, self.gap);
        let mut left = Vec::with_capacity(boxes.len());
        for (k, b) in boxes.iter().enumerate() {
            if rows.is_empty() || (x > self.gap && x + b.width() + self.gap > self.widest) {
                rows.push((Vec::new(), 0.0));
                x = self.gap;
            }
            if let Some((row, high)) = rows.last_mut() {
                row.push(k);
                *high = high.max(b.height());
            }
            left.push(x - b.min.x);
            x += b.width() + self.gap;
            wide = wide.max(x);
        }
        let mut places = vec![Vector::zero(); boxes.len()];
        let mut y = self.gap;
        for (row, high) in rows.iter().rev() {
            for &k in row {
                places[k] = Vector::new(left[k], y - boxes[k].min.y);
            }
            y += high + self.head + self.gap;
        }
        (places, [wide.max(2.0 * self.gap), y.max(2.0 * self.gap)])
    }
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
