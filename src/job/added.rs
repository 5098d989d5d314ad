//! Notches that were found wanting at the table: the pattern has them from the
//! next time on, without its file being touched.

use crate::fault::{Fault, Outcome};
use crate::pattern::{Notch, NotchKind, PatternPiece};
use crate::shape::{along, nearest};
use crate::space::{Piece, Point, Vector};
use crate::work::AddedNotch;

/// Further from the cut line than this, mm, a notch is not meant there.
const STRAYS: f64 = 20.0;

/// Depth of a notch on a piece that has no other, mm: half the usual allowance of
/// 6 mm (common practice).
const DEPTH: f64 = 3.0;

/// Puts the added notches on the pieces.
///
/// # Errors
/// Names a notch whose piece is not there, or that lies on no cut line.
pub fn add_notches(pieces: &mut [PatternPiece], added: &[AddedNotch]) -> Outcome<()> {
    for (k, a) in added.iter().enumerate() {
        let place = |f: Fault| f.at(format!("cutting notch {}", k + 1));
        let Some(piece) = pieces.iter_mut().find(|p| p.name == a.piece) else {
            return Err(place(Fault::input(
                format!("there is no piece \"{}\"", a.piece),
                "take the notch out of the job file",
            )));
        };
        let notch = notch_at(piece, Point::new(a.x_mm, a.y_mm)).ok_or_else(|| {
            place(Fault::input(
                format!("it lies on no cut line of {}", a.piece),
                "take the notch out of the job file",
            ))
        })?;
        piece.notches.push(notch);
    }
    Ok(())
}

/// Takes notches off again that [`add_notches`] put on the pieces, and nothing was put on since.
pub(super) fn take_off_notches(pieces: &mut [PatternPiece], added: &[AddedNotch]) {
    for a in added {
        if let Some(piece) = pieces.iter_mut().find(|p| p.name == a.piece) {
            piece.notches.pop();
        }
    }
}

/// A slit on the cut line, as near as may be to a place.
pub fn notch_at(piece: &PatternPiece, at: Point<Piece>) -> Option<Notch> {
    let rings = piece.cut.iter().map(|ring| {
        let first = ring.first().copied();
        ring.iter().copied().chain(first).collect::<Vec<_>>()
    });
    let found = rings.filter_map(|ring| {
        let (far_along, off) = nearest(&ring, at)?;
        Some((off, along(&ring, far_along)?))
    });
    let (off, near) = found.min_by(|a, b| a.0.total_cmp(&b.0))?;
    if off > STRAYS {
        return None;
    }
    let depth = piece.notches.first().map_or(DEPTH, |n| n.depth);
    Some(Notch {
        at: near.at,
        // Outlines run counter-clockwise: inside is on the left.
        inward: Vector::new(-near.along.y, near.along.x),
        depth,
        kind: NotchKind::Slit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_notch_goes_to_the_nearest_place_on_the_cut_line_and_points_inward() {
        let mut piece = PatternPiece::named("band");
        let ring = [(-50.0, -10.0), (50.0, -10.0), (50.0, 10.0), (-50.0, 10.0)];
        piece.cut = vec![ring.map(|(x, y)| Point::new(x, y)).to_vec()];
        let mut pieces = [piece];
        let added = |x_mm, y_mm| AddedNotch {
            piece: "band".into(),
            x_mm,
            y_mm,
        };
        add_notches(&mut pieces, &[added(12.0, 13.0)]).unwrap();
        let n = pieces[0].notches[0];
        assert!((n.at - Point::new(12.0, 10.0)).length() < 1e-9);
        assert!((n.inward - Vector::new(0.0, -1.0)).length() < 1e-9);
        // The first edge runs from the last point to the first, too.
        add_notches(&mut pieces, &[added(-52.0, 0.0)]).unwrap();
        assert!((pieces[0].notches[1].inward - Vector::new(1.0, 0.0)).length() < 1e-9);
        let far = add_notches(&mut pieces, &[added(0.0, 90.0)]).unwrap_err();
        assert!(far.to_string().contains("cutting notch 1"), "{far}");
        let other = AddedNotch {
            piece: "sole".into(),
            ..added(0.0, 0.0)
        };
        assert!(add_notches(&mut pieces, &[other]).is_err());
    }
}
