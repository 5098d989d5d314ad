//! Where a stiffener sits inside a part.

use super::inside_of;
use crate::pattern::PatternPiece;
use crate::shape::{difference, nearest, pairs};
use crate::space::{Piece, Point};

/// The margin round a stiffener that is laid middle on middle varies by so much at
/// most, mm: what the hand takes for even (common practice).
const EVEN: f64 = 1.5;

/// The margin is looked at every so many mm.
const STEP: f64 = 5.0;

/// Whether a stiffener is the part made smaller evenly all round. Then it sits middle
/// on middle, as each piece's origin is the middle of its own box. Of one that was
/// carved off on one side the drawing does not say where it sits.
pub fn is_seated(inner: &PatternPiece, outer: &PatternPiece) -> bool {
    let closed = |ring: &[Point<Piece>]| -> Vec<Point<Piece>> {
        ring.iter().chain(ring.first()).copied().collect()
    };
    let Some(edge) = outer.cut.first().map(|r| closed(r)) else {
        return false;
    };
    let sides = inner.cut.iter().flat_map(|r| pairs(r));
    let places = sides.flat_map(|(a, b)| {
        let n = ((b - a).length() / STEP).ceil().max(1.0);
        (0..n as u32).map(move |k| a.lerp(b, f64::from(k) / n))
    });
    let margins: Vec<f64> = places.filter_map(|p| Some(nearest(&edge, p)?.1)).collect();
    let widest = margins.iter().copied().fold(0.0, f64::max);
    let narrowest = margins.iter().copied().fold(f64::INFINITY, f64::min);
    widest - narrowest <= EVEN && difference(&inside_of(inner), &inside_of(outer)).area() < 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn oblong(w: f64, h: f64) -> PatternPiece {
        let mut piece = PatternPiece::named("p");
        let corners = [(-w, -h), (w, -h), (w, h), (-w, h)];
        piece.cut = vec![corners.map(|(x, y)| Point::new(x / 2.0, y / 2.0)).to_vec()];
        piece
    }

    #[test]
    fn what_is_smaller_all_round_is_seated_and_what_is_carved_on_one_side_is_not() {
        let outer = oblong(200.0, 90.0);
        assert!(is_seated(&oblong(180.0, 70.0), &outer));
        assert!(is_seated(&oblong(200.0, 90.0), &outer));
        assert!(!is_seated(&oblong(160.0, 70.0), &outer), "20 and 10 mm");
        assert!(!is_seated(&oblong(220.0, 110.0), &outer), "larger");
    }
}
