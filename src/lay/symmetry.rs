//! Whether a piece is its own mirror image: then the second of two plies is the
//! same part, and not the other hand.

use crate::pattern::{Notch, PatternPiece};
use crate::shape::{Region, difference, length};
use crate::space::{Piece, Point, Rigid, Vector};
use std::f64::consts::PI;

/// How far an outline may lie from its mirror image, mm: a blade's width.
const SAME: f64 = 0.3;

/// How far a notch may.
const SAME_NOTCH: f64 = 1.0;

/// Whether the piece, mirrored about the upright or the level axis through its
/// middle, is itself again, notches and all.
pub fn is_its_own_mirror(piece: &PatternPiece) -> bool {
    let upright: Rigid<Piece, Piece> = Rigid::new(true, 0.0, Vector::zero());
    let level = Rigid::new(true, PI, Vector::zero());
    [upright, level].iter().any(|m| same_by(piece, m))
}

fn same_by(piece: &PatternPiece, mirror: &Rigid<Piece, Piece>) -> bool {
    let rings = piece.cut.iter().chain(&piece.cutouts).cloned();
    let whole = Region::new(rings.collect());
    let image = whole.moved(mirror);
    let round: f64 = whole.rings.iter().map(|r| length(r)).sum();
    let strays = difference(&whole, &image).area() + difference(&image, &whole).area();
    let near = |a: Point<Piece>, b: &Notch| (a - b.at).length() <= SAME_NOTCH;
    strays <= SAME * round
        && piece
            .notches
            .iter()
            .all(|n| piece.notches.iter().any(|o| near(mirror.point(n.at), o)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::NotchKind;

    fn piece(ring: &[(f64, f64)]) -> PatternPiece {
        let mut piece = PatternPiece::named("band");
        piece.cut = vec![ring.iter().map(|&(x, y)| Point::new(x, y)).collect()];
        piece
    }

    #[test]
    fn a_band_is_its_own_mirror_and_a_sole_is_not() {
        let mut band = piece(&[(-50.0, -10.0), (50.0, -10.0), (40.0, 10.0), (-40.0, 10.0)]);
        assert!(is_its_own_mirror(&band));
        band.notches.push(Notch {
            at: Point::new(30.0, -10.0),
            inward: Vector::new(0.0, 1.0),
            depth: 3.0,
            kind: NotchKind::Slit,
        });
        assert!(!is_its_own_mirror(&band), "a notch tells left from right");
        let leaning = piece(&[(-50.0, -10.0), (40.0, -10.0), (50.0, 10.0), (-40.0, 10.0)]);
        assert!(!is_its_own_mirror(&leaning));
    }
}
