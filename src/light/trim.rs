//! A piece whose light is moved inward by what the hand leaves at every edge: cut along
//! it, the piece comes out as it is drawn.

use super::band::inside;
use crate::pattern::{Notch, PatternPiece, Polyline};
use crate::shape::{Caps, Region, difference, offset, signed_area, stroke, union};
use crate::space::Piece;
use std::borrow::Cow;

/// A notch is clipped no shallower than this, mm.
const LEAST_CLIP: f64 = 0.5;

/// The piece with its cut line `by` mm further in (negative: further out, with its corners
/// rounded by as much). Fold edges are not cut and stay. A piece that would vanish stays
/// as it is.
pub fn trimmed(piece: &PatternPiece, by: f64) -> Cow<'_, PatternPiece> {
    if by == 0.0 {
        return Cow::Borrowed(piece);
    }
    let whole = inside(piece);
    let lit = if piece.folds.is_empty() {
        offset(&whole, -by)
    } else {
        beside_cut_edges(piece, &whole, by)
    };
    if lit.is_empty() {
        return Cow::Borrowed(piece);
    }
    let (cut, cutouts) = lit.rings.into_iter().partition(|r| signed_area(r) > 0.0);
    let moved = |n: &Notch| Notch {
        at: n.at + n.inward * by,
        depth: (n.depth - by).max(LEAST_CLIP),
        ..*n
    };
    Cow::Owned(PatternPiece {
        cut,
        cutouts,
        notches: piece.notches.iter().map(moved).collect(),
        ..piece.clone()
    })
}

/// The area moved in or out along all edges but the folds.
fn beside_cut_edges(piece: &PatternPiece, whole: &Region<Piece>, by: f64) -> Region<Piece> {
    let runs = cut_runs(piece);
    let beside: Vec<Region<Piece>> = runs
        .iter()
        .map(|run| stroke(run, by.abs(), Caps::Flat))
        .collect();
    if by > 0.0 {
        return difference(whole, &union(&beside));
    }
    union(beside.iter().chain([whole]))
}

/// The outlines without their fold edges, as open lines; a ring without a fold is closed.
fn cut_runs(piece: &PatternPiece) -> Vec<Polyline> {
    let folded = |a, b| {
        let pairs = piece.folds.iter().flat_map(|f| f.windows(2));
        pairs
            .into_iter()
            .any(|w| (w[0] == a && w[1] == b) || (w[0] == b && w[1] == a))
    };
    let mut runs = Vec::new();
    for ring in piece.cut.iter().chain(&piece.cutouts) {
        let n = ring.len();
        let at = |k: usize| ring[k % n];
        let Some(start) = (0..n).find(|&k| folded(at(k), at(k + 1))) else {
            runs.push(ring.iter().chain(ring.first()).copied().collect());
            continue;
        };
        let mut run = Polyline::new();
        for k in start..start + n {
            if !folded(at(k), at(k + 1)) {
                if run.is_empty() {
                    run.push(at(k));
                }
                run.push(at(k + 1));
            } else if run.len() > 1 {
                runs.push(std::mem::take(&mut run));
            }
        }
        if run.len() > 1 {
            runs.push(run);
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::NotchKind;
    use crate::space::{Point, Vector};

    /// 100 × 60 mm, with a notch in the middle of its lower edge.
    fn oblong() -> PatternPiece {
        let mut piece = PatternPiece::named("oblong");
        let corners = [(-50.0, -30.0), (50.0, -30.0), (50.0, 30.0), (-50.0, 30.0)];
        piece.cut = vec![corners.map(|(x, y)| Point::new(x, y)).to_vec()];
        piece.notches = vec![Notch {
            at: Point::new(0.0, -30.0),
            inward: Vector::new(0.0, 1.0),
            depth: 3.0,
            kind: NotchKind::Slit,
        }];
        piece
    }

    fn size(piece: &PatternPiece) -> (f64, f64) {
        let b = inside(piece).bounds().unwrap();
        (b.width(), b.height())
    }

    #[test]
    fn each_edge_comes_in_by_the_trim_and_a_notchs_tip_stays() {
        let piece = oblong();
        let lit = trimmed(&piece, 0.4);
        let (w, h) = size(&lit);
        assert!(
            (w - 99.2).abs() < 1e-6 && (h - 59.2).abs() < 1e-6,
            "{w} {h}"
        );
        let n = lit.notches[0];
        assert!((n.at - Point::new(0.0, -29.6)).length() < 1e-9);
        assert!((n.at + n.inward * n.depth - Point::new(0.0, -27.0)).length() < 1e-9);
        let (w, h) = size(&trimmed(&piece, -0.4));
        assert!(
            (w - 100.8).abs() < 1e-6 && (h - 60.8).abs() < 1e-6,
            "{w} {h}"
        );
        assert_eq!(*trimmed(&piece, 0.0), piece);
    }

    #[test]
    fn a_fold_is_not_cut_and_stays() {
        let mut piece = oblong();
        let ring = piece.cut[0].clone();
        piece.folds = vec![vec![ring[3], ring[0]]];
        for by in [0.4, -0.4] {
            let lit = inside(&trimmed(&piece, by)).bounds().unwrap();
            let want = [-50.0, 50.0 - by, -30.0 + by, 30.0 - by];
            let got = [lit.min.x, lit.max.x, lit.min.y, lit.max.y];
            for (a, b) in want.iter().zip(got) {
                assert!((a - b).abs() < 1e-6, "{by}: {got:?}");
            }
        }
    }

    #[test]
    fn cut_outs_come_in_too_and_a_sliver_is_left_as_it_is() {
        let mut piece = oblong();
        let mut hole = Region::<Piece>::disc(Point::new(20.0, 0.0), 8.0).rings;
        hole[0].reverse();
        piece.cutouts = hole;
        let lit = trimmed(&piece, 0.5);
        assert_eq!((lit.cut.len(), lit.cutouts.len()), (1, 1));
        // The light of a hole grows: what is left of the cloth is what comes in.
        let r = (-signed_area(&lit.cutouts[0]) / std::f64::consts::PI).sqrt();
        assert!((r - 8.5).abs() < 0.01, "{r}");
        assert_eq!(*trimmed(&piece, 40.0), piece);
    }
}
