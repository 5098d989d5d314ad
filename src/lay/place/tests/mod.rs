//! Places on cloths whose best places are known.

mod known;
mod outside;
mod pairs;
mod plies;

use super::*;
use crate::lay::wish::{Part, Wish};
use crate::shape::Region;
use crate::space::Bounds;

fn rectangle<S>(left: f64, bottom: f64, right: f64, top: f64) -> Region<S> {
    let corners = [(left, bottom), (right, bottom), (right, top), (left, top)];
    Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
}

/// A piece as wide and high as said, its grain upright, without a net line.
fn oblong(width: f64, height: f64) -> PatternPiece {
    let mut piece = PatternPiece::named("band");
    let (w, h) = (width / 2.0, height / 2.0);
    piece.cut = rectangle(-w, -h, w, h).rings;
    piece.grain = Some([Point::new(0.0, -1.0), Point::new(0.0, 1.0)]);
    piece
}

/// An empty bed with an upright warp.
fn bed(width: f64, height: f64) -> Bed {
    Bed {
        within: vec![rectangle(0.0, 0.0, width, height)],
        gap: 3.0,
        warp_deg: 90.0,
        ..Bed::default()
    }
}

/// Lightness over a bed, as a function of the place.
fn shade(bed: &Bed, of: impl Fn(Point<Cloth>) -> f64) -> Raster<[f32; 3], Cloth> {
    let bounds: Bounds<Cloth> = bed.bounds().unwrap();
    Raster::over(bounds, 1.0, |_, _, p| [of(p) as f32, 0.0, 0.0])
}

fn ask<'a>(piece: &'a PatternPiece, bed: &'a Bed) -> Ask<'a> {
    Ask {
        hand: PieceInHand {
            piece,
            face: Face::Up,
            along: Along::Warp,
            at: Point::new(0.0, 0.0),
            turn_deg: 0.0,
        },
        bed,
        shade: None,
        wishes: &[],
        known: Known::default(),
        limits: Limits::default(),
    }
}

fn towards(lighter: f64) -> Wished {
    let lighter = Some(Part::TowardsDeg(lighter));
    let darker = None;
    Wished::new("band", Wish::Fade { lighter, darker })
}

fn places(found: Found) -> Vec<Offer> {
    match found {
        Found::Places(offers) => offers,
        other => panic!("{other:?}"),
    }
}

fn all_of(ask: &Ask) -> Vec<Offer> {
    places(find(ask, &|_| Ok(()), &|_| true).unwrap())
}
