//! The guide band: it lies outside the cut line, and its inner edge *is* the
//! cut line.

use super::notch;
use crate::pattern::{Notch, PatternPiece, Polyline};
use crate::shape::{Region, counter_clockwise, difference, near, offset, pairs, union};
use crate::space::{Piece, Point};

/// The area inside a piece's cut line, cut-outs taken out.
pub fn inside(piece: &PatternPiece) -> Region<Piece> {
    Region::new(piece.cut.iter().chain(&piece.cutouts).cloned().collect())
}

/// What is lit outside a piece: the band, and a sign outside it for each notch.
#[derive(Debug)]
pub struct Outside {
    pub band: Region<Piece>,
    /// One a notch; empty where it has no room outside its own piece.
    pub signs: Vec<Region<Piece>>,
    /// The piece, its band and a dark rim: what no sign may reach into.
    pub kept: Region<Piece>,
}

/// The light outside a piece whose area is `inside`.
///
/// The band is all points within `width` mm of the piece and not in it, but for
/// the notches' gaps and the fold edges, which are not cut. The signs keep clear
/// of the band.
pub fn outside(
    inside: &Region<Piece>,
    notches: &[Notch],
    folds: &[Polyline],
    width: f64,
) -> Outside {
    let mut holes = inside.clone();
    for ring in &mut holes.rings {
        ring.reverse();
    }
    // The grown outline holds the piece, so their difference needs no boolean:
    // its inner boundary is the cut line, bit for bit.
    let mut band = offset(inside, width);
    band.append(holes);
    let mut open: Vec<Region<Piece>> = notches
        .iter()
        .map(|n| notch::gap(n, gap_reach(n, inside, width)))
        .collect();
    open.extend(folds.iter().flat_map(|f| beside_fold(f, inside, width)));
    if !open.is_empty() {
        band = difference(&band, &union(&open));
    }
    let kept = offset(inside, width + SIGN_CLEAR);
    let mut signs: Vec<Region<Piece>> = Vec::new();
    for notch in notches {
        let mut sign = difference(&notch::sign(notch, width), &kept);
        // Notches close together share the room.
        for earlier in &signs {
            if near(earlier, &sign, 0.0) {
                sign = difference(&sign, earlier);
            }
        }
        signs.push(sign);
    }
    Outside { band, signs, kept }
}

/// Dark kept between the band and a notch's sign, mm.
const SIGN_CLEAR: f64 = 1.5;

/// How far outward a notch opens the band: through it, but in a narrow slot
/// only to the middle, for the far side is another edge with a band of its own.
fn gap_reach(notch: &Notch, inside: &Region<Piece>, width: f64) -> f64 {
    let through = width + 1.0;
    let out = -notch.inward;
    let hit = inside
        .rings
        .iter()
        .flat_map(|r| pairs(r))
        .filter_map(|(a, b)| {
            // Where the ray at + s·out meets the edge.
            let along = b - a;
            let across = out.cross(along);
            let s = (a - notch.at).cross(along) / across;
            let t = (a - notch.at).cross(out) / across;
            (across != 0.0 && s > 0.05 && (0.0..=1.0).contains(&t)).then_some(s)
        })
        .fold(f64::INFINITY, f64::min);
    through.min(hit / 2.0)
}

/// The strip outside a fold edge, as wide as the band and a bit: on the fold's
/// outer side only, so that an edge that leaves it at a sharp corner keeps its
/// band.
fn beside_fold(fold: &Polyline, inside: &Region<Piece>, width: f64) -> Vec<Region<Piece>> {
    let strip = |w: &[Point<Piece>]| {
        let along = (w[1] - w[0]).try_normalize()?;
        let left = euclid::vec2(-along.y, along.x);
        let middle = w[0].lerp(w[1], 0.5);
        let out = if inside.contains(middle + left * 0.05) {
            -left
        } else {
            left
        };
        let far = out * (width + 2.0);
        let ring = vec![w[0], w[1], w[1] + far, w[0] + far];
        Some(Region::ring(counter_clockwise(ring)))
    };
    fold.windows(2).filter_map(strip).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::NotchKind;
    use crate::shape::intersection;
    use crate::space::Vector;

    fn block(l: f64, b: f64, r: f64, t: f64) -> Region<Piece> {
        let corners = [(l, b), (r, b), (r, t), (l, t)];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    }

    fn slotted() -> Region<Piece> {
        difference(&block(0.0, 0.0, 80.0, 60.0), &block(39.0, 20.0, 41.0, 61.0))
    }

    #[test]
    fn a_slot_narrower_than_the_band_is_lit_whole_and_the_piece_stays_dark() {
        let piece = slotted();
        let lit = outside(&piece, &[], &[], 3.0).band;
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
        let lit = outside(&piece, &[notch], &[fold], 3.0).band;
        assert!(!lit.contains(Point::new(-1.0, 30.0)));
        assert!(lit.contains(Point::new(-1.0, 34.0)));
        assert!(!lit.contains(Point::new(40.0, -1.0)));
    }

    #[test]
    fn a_notch_in_a_slot_leaves_the_far_edge_its_band() {
        // A slot of 4.5 mm, notched on its left side only.
        let piece = difference(&block(0.0, 0.0, 80.0, 60.0), &block(38.0, 20.0, 42.5, 61.0));
        let notch = Notch {
            at: Point::new(38.0, 40.0),
            inward: Vector::new(-1.0, 0.0),
            depth: 3.0,
            kind: NotchKind::Slit,
        };
        let lit = outside(&piece, &[notch], &[], 3.0).band;
        assert!(!lit.contains(Point::new(39.0, 40.0)));
        assert!(lit.contains(Point::new(41.5, 40.0)));
    }

    #[test]
    fn an_edge_that_leaves_a_fold_sharply_keeps_its_band() {
        let piece = Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(80.0, 0.0),
            Point::new(80.0, 80.0),
        ]);
        let fold = vec![Point::new(0.0, 0.0), Point::new(80.0, 0.0)];
        let lit = outside(&piece, &[], &[fold], 3.0).band;
        // Along the slanted edge, 1.5 mm outside it.
        let out = Vector::new(-1.0, 1.0).normalize() * 1.5;
        for s in [0.5, 2.0, 5.0, 30.0] {
            let at = Point::new(0.0, 0.0) + Vector::new(1.0, 1.0).normalize() * s + out;
            assert!(lit.contains(at), "dark {s} mm from the corner");
        }
        assert!(!lit.contains(Point::new(40.0, -1.0)));
    }

    #[test]
    fn a_notchs_sign_stands_clear_of_the_band() {
        let piece = slotted();
        for kind in [NotchKind::Slit, NotchKind::Double, NotchKind::Vee] {
            let notch = Notch {
                at: Point::new(0.0, 30.0),
                inward: Vector::new(1.0, 0.0),
                depth: 3.0,
                kind,
            };
            let lit = outside(&piece, &[notch], &[], 3.0);
            assert!(lit.signs[0].area() > 5.0, "{kind:?}");
            assert!(intersection(&lit.signs[0], &offset(&piece, 4.4)).area() < 1e-6);
        }
    }
}
