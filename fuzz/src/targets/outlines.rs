//! Outlines from bytes: simple ones, on which rules can be held, and such as nobody would draw.

use std::f64::consts::TAU;

use ghostchalk::pattern::{Notch, NotchKind, PatternPiece};
use ghostchalk::shape::{Region, Ring, pairs};
use ghostchalk::space::{Piece, Point, Vector};

use super::bytes::Bytes;

/// A simple outline, counter-clockwise, and a place from which all of it is seen.
pub struct Star<S> {
    pub middle: Point<S>,
    pub ring: Ring<S>,
}

/// Corners at rising angles about a middle, none half a turn from the next: however far out
/// each lies, the line does not cross itself.
pub fn star<S>(bytes: &mut Bytes) -> Star<S> {
    let middle = Point::new(bytes.mm() / 4.0, bytes.mm() / 4.0);
    let count = 3 + bytes.below(30);
    let corner = |k: usize, bytes: &mut Bytes| {
        let angle = TAU * (k as f64 + 0.45 * bytes.share()) / count as f64;
        let far = 0.5 + f64::from(bytes.word()) / 64.0;
        middle + Vector::new(angle.cos(), angle.sin()) * far
    };
    Star {
        middle,
        ring: (0..count).map(|k| corner(k, bytes)).collect(),
    }
}

impl<S> Star<S> {
    /// The same line drawn in towards the middle, and the other way round: a hole in it.
    pub fn hole(&self, share: f64) -> Ring<S> {
        let inner = self.ring.iter().rev();
        inner
            .map(|&p| self.middle + (p - self.middle) * share)
            .collect()
    }
}

/// A ring of any corners, mostly crossing itself.
pub fn tangle<S>(bytes: &mut Bytes) -> Ring<S> {
    let count = 1 + bytes.below(16);
    (0..count)
        .map(|_| Point::new(bytes.mm(), bytes.mm()))
        .collect()
}

/// How long all rings are together.
pub fn round<S>(region: &Region<S>) -> f64 {
    let edges = region.rings.iter().flat_map(|ring| pairs(ring));
    edges.map(|(a, b)| (b - a).length()).sum()
}

/// By how much an area may be off for the grid that shapes are cut on, mm²: a millionth of a
/// millimetre along every line, ten times over.
pub fn slack<S>(region: &Region<S>) -> f64 {
    1e-3 + 1e-5 * round(region)
}

pub fn is_finite<S>(region: &Region<S>) -> bool {
    region.rings.iter().flatten().all(|p| p.is_finite())
}

/// A piece with an outline that is simple, perhaps a hole in it, and notches on its edges.
pub fn piece(name: &str, bytes: &mut Bytes) -> PatternPiece {
    let star = star::<Piece>(bytes);
    let mut piece = PatternPiece::named(name);
    if bytes.flag() {
        piece.cutouts.push(star.hole(0.1 + 0.8 * bytes.share()));
    }
    for _ in 0..bytes.below(6) {
        piece.notches.extend(notch(&star.ring, bytes));
    }
    piece.cut.push(star.ring);
    piece
}

/// A notch on an edge, square to it; none where the edge has no length.
fn notch(ring: &Ring<Piece>, bytes: &mut Bytes) -> Option<Notch> {
    let kinds = [NotchKind::Slit, NotchKind::Double, NotchKind::Vee];
    let k = bytes.below(ring.len());
    let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
    let along = (b - a).try_normalize()?;
    Some(Notch {
        at: a.lerp(b, bytes.share()),
        inward: Vector::new(-along.y, along.x),
        depth: 0.5 + f64::from(bytes.byte()) / 32.0,
        kind: kinds[bytes.below(kinds.len())],
    })
}
