//! The guide band: it lies outside the cut line, and its inner edge *is* the
//! cut line.

use super::notch;
use crate::pattern::{Notch, PatternPiece};
use crate::shape::{Caps, Region, difference, offset, stroke, union};
use crate::space::Piece;

/// The area inside a piece's cut line, cut-outs taken out.
pub fn inside(piece: &PatternPiece) -> Region<Piece> {
    Region::new(piece.cut.iter().chain(&piece.cutouts).cloned().collect())
}

/// The band of width `width` mm round `inside`: all points within `width` of
/// it and not in it, but for the notches' gaps and the fold edges, which are
/// not cut.
pub fn band(
    inside: &Region<Piece>,
    notches: &[Notch],
    folds: &[Vec<crate::space::Point<Piece>>],
    width: f64,
) -> Region<Piece> {
    let grown = offset(inside, width);
    let mut open: Vec<Region<Piece>> = notches.iter().map(|n| notch::gap(n, width)).collect();
    open.extend(folds.iter().map(|f| stroke(f, width + 2.0, Caps::Flat)));
    let mut holes = inside.clone();
    for ring in &mut holes.rings {
        ring.reverse();
    }
    // The grown outline holds the piece, so their difference needs no boolean:
    // its inner boundary is the cut line, bit for bit.
    let mut band = grown;
    band.append(holes);
    if open.is_empty() {
        return band;
    }
    difference(&band, &union(&open))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::NotchKind;
    use crate::shape::intersection;
    use crate::space::{Point, Vector};

    fn slotted() -> Region<Piece> {
        let block = |l: f64, b: f64, r: f64, t: f64| {
            Region::ring(vec![
                Point::new(l, b),
                Point::new(r, b),
                Point::new(r, t),
                Point::new(l, t),
            ])
        };
        difference(&block(0.0, 0.0, 80.0, 60.0), &block(39.0, 20.0, 41.0, 61.0))
    }

    #[test]
    fn a_slot_narrower_than_the_band_is_lit_whole_and_the_piece_stays_dark() {
        let piece = slotted();
        let lit = band(&piece, &[], &[], 3.0);
        assert!(intersection(&lit, &piece).area() < 1e-6);
        assert!(lit.contains(Point::new(40.0, 30.0)));
        // Steiner on the block, plus the slot; over its mouth the two corners'
        // discs (radius 3, centres 2 apart) leave a dip: ∫√(9−u²) for u to 1.
        let dip = 2.0 * (3.0 - 0.5 * (8f64.sqrt() + 9.0 * (1f64 / 3.0).asin()));
        let want = 280.0 * 3.0 + std::f64::consts::PI * 9.0 + 2.0 * 40.0 - dip;
        assert!((lit.area() - want).abs() < 0.1, "{} {want}", lit.area());
    }

    #[test]
    fn fold_edges_and_notches_interrupt_the_band() {
        let piece = slotted();
        let notch = Notch {
            at: Point::new(0.0, 30.0),
            inward: Vector::new(1.0, 0.0),
            depth: 3.0,
            kind: NotchKind::Slit,
        };
        let fold = vec![Point::new(0.0, 0.0), Point::new(80.0, 0.0)];
        let lit = band(&piece, &[notch], &[fold], 3.0);
        assert!(!lit.contains(Point::new(-1.0, 30.0)));
        assert!(lit.contains(Point::new(-1.0, 34.0)));
        assert!(!lit.contains(Point::new(40.0, -1.0)));
    }
}
