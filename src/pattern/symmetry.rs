//! Whether a piece is its own mirror image: then the second of two plies is the
//! same part, and not the other hand.

use super::piece::{Notch, PatternPiece};
use crate::shape::{Region, difference, length, pairs};
use crate::space::{Piece, Point, Rigid, Vector};
use std::f64::consts::PI;

/// How far an outline may lie from its mirror image, mm: a blade's width.
const SAME: f64 = 0.3;

/// How far a notch may.
const SAME_NOTCH: f64 = 1.0;

/// Whether the piece, mirrored about the upright or the level axis through its
/// middle, or about one that its own spread gives, is itself again, notches and all.
pub fn is_its_own_mirror(piece: &PatternPiece) -> bool {
    let upright: Rigid<Piece, Piece> = Rigid::new(true, 0.0, Vector::zero());
    let level = Rigid::new(true, PI, Vector::zero());
    let mut tried = [upright, level].into_iter().chain(slanting(piece));
    tried.any(|m| same_by(piece, &m))
}

/// Mirrorings about the two principal axes of the area of the piece's outlines: a mirror
/// axis is one of them, unless the area is spread evenly all round.
fn slanting(piece: &PatternPiece) -> Vec<Rigid<Piece, Piece>> {
    let (mut area, mut first, mut second) = (0.0, Vector::zero(), [0.0; 3]);
    for (a, b) in piece
        .cut
        .iter()
        .chain(&piece.cutouts)
        .flat_map(|r| pairs(r))
    {
        // Moments of the triangle from the origin, by Green's theorem.
        let (a, b) = (a.to_vector(), b.to_vector());
        let turn: f64 = a.cross(b);
        area += turn / 2.0;
        first += (a + b) * (turn / 6.0);
        let moment = |p: f64, q: f64, r: f64, s: f64| 2.0 * (p * r + q * s) + p * s + q * r;
        second[0] += turn * moment(a.x, b.x, a.x, b.x) / 24.0;
        second[1] += turn * moment(a.x, b.x, a.y, b.y) / 24.0;
        second[2] += turn * moment(a.y, b.y, a.y, b.y) / 24.0;
    }
    if area <= 0.0 {
        return Vec::new();
    }
    let c: Vector<Piece> = first / area;
    let xx = second[0] / area - c.x * c.x;
    let xy = second[1] / area - c.x * c.y;
    let yy = second[2] / area - c.y * c.y;
    let axis = (2.0 * xy).atan2(xx - yy) / 2.0;
    let about = |axis: f64| {
        // Turned over about the upright axis, then turned: over about `axis`.
        let linear: Rigid<Piece, Piece> = Rigid::new(true, 2.0 * axis - PI, Vector::zero());
        Rigid::new(true, linear.turn, c - linear.vector(c))
    };
    vec![about(axis), about(axis + PI / 2.0)]
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
    use super::super::piece::NotchKind;
    use super::*;

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

    #[test]
    fn a_slanting_piece_is_its_own_mirror_about_its_own_axis() {
        let kite = [(0.0, -60.0), (30.0, 10.0), (0.0, 40.0), (-30.0, 10.0)];
        let turned: Rigid<Piece, Piece> = Rigid::new(false, 0.7, Vector::new(3.0, -2.0));
        let mut slanting = piece(&kite);
        for p in &mut slanting.cut[0] {
            *p = turned.point(*p);
        }
        assert!(is_its_own_mirror(&slanting));
        slanting.cut[0][1] += Vector::new(6.0, 1.0);
        assert!(!is_its_own_mirror(&slanting));
    }
}
