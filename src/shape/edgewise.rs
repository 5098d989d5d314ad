//! Offset of an outline by a distance of its own for each of its sides.
//!
//! The raw offset curve is built side by side ([`raw`]) such that a place's winding number
//! is 1 within the outline, plus 1 for each grown strip along an edge that holds it, minus 1
//! for each shrunk one. What is wound round a positive number of times is the answer, so it
//! is right however the curve crosses itself ([`trace`]).

mod bend;
mod raw;
mod trace;

#[cfg(test)]
mod tests;

use super::{Ring, bounds, signed_area};
use crate::space::Point;

/// Where two edges of one side turn by more than this, degrees, they meet in a corner and
/// are mitred; where by less, they are chords of a curve and the offset is an arc.
pub const CORNER: f64 = 25.0;

/// How far an arc's chords may fall from it, mm.
const ARC: f64 = 0.001;

/// How far from its corner a mitre may reach, as a multiple of the larger of the two
/// distances; it is cut off square there. 4 lets corners of 29° and more run out
/// (1/sin(θ/2), as for SVG's `stroke-miterlimit`, whose initial value is 4 too).
pub const MITRE_LIMIT: f64 = 4.0;

/// A closed line, counter-clockwise, each edge of which belongs to a numbered side.
#[derive(Debug, PartialEq)]
pub struct Sided<S> {
    pub ring: Ring<S>,
    /// Of the edge that begins at the point of the same index. As long as `ring`.
    pub side: Vec<usize>,
}

/// How the offset turns an outer corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Join {
    /// Both offset lines run on until they meet, or to [`MITRE_LIMIT`].
    #[default]
    Mitre,
    /// Each ends square to its side at the corner; a straight edge closes the gap.
    Square,
    /// The strip of the side that begins here, folded along that side, ends where the strip
    /// of the side before it does: its end is that one's offset line, mirrored. A corner
    /// too blunt or too sharp for that is mitred.
    FoldBack,
    /// One of the two is straight and stays where it is; the other's offset line ends on it.
    Meet,
}

/// What is done to one side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Side {
    /// mm outwards; inwards if negative.
    pub by: f64,
    /// At the corner where the side begins.
    pub join: Join,
}

/// An outline, offset.
#[derive(Debug, PartialEq)]
pub struct Offset<S> {
    /// Counter-clockwise, the largest first; none if nothing is left.
    pub outer: Vec<Sided<S>>,
    /// Clockwise: what two strips close off between them.
    pub holes: Vec<Sided<S>>,
    /// Sides at whose beginning a mitre was cut off at [`MITRE_LIMIT`].
    pub blunted: Vec<usize>,
}

/// `outline` with each of its sides moved by its own distance: grown, all points of the
/// outline or within the distance of a side, corners as their [`Join`] says; shrunk, all
/// points of it that are within the distance of none. Where some sides move out and
/// some in, those that move in do so first.
///
/// Exact but for `ARC` at arcs and 1e-5 mm where the curve crosses itself. A simple ring
/// and finite distances are asked for; `sides` that are missing stay where they are.
pub fn edgewise<S>(outline: &Sided<S>, sides: &[Side]) -> Offset<S> {
    let mut now = Offset {
        outer: vec![outline.clone()],
        holes: Vec::new(),
        blunted: Vec::new(),
    };
    for grow in [false, true] {
        let moves = |s: &&Side| if grow { s.by > 0.0 } else { s.by < 0.0 };
        if !sides.iter().any(|s| moves(&s)) {
            continue;
        }
        let reach = |side: usize| sides.get(side).filter(moves).map_or(0.0, |s| s.by.abs());
        let join = |side: usize| sides.get(side).map_or(Join::Mitre, |s| s.join);
        let mut curves = Vec::new();
        for part in now.outer.iter().filter(|p| grow || !is_gone(p, &reach)) {
            curves.push(raw::curve(part, grow, &reach, &join, &mut now.blunted));
        }
        let (outer, holes) = trace::wound(&now.outer, &curves, grow);
        now.outer = outer;
        now.holes = holes;
    }
    now.blunted.sort_unstable();
    now.blunted.dedup();
    now
}

// Derived `Clone` would ask the space tag for the same.
impl<S> Clone for Sided<S> {
    fn clone(&self) -> Self {
        Self {
            ring: self.ring.clone(),
            side: self.side.clone(),
        }
    }
}

/// Whether a shrunk outline is gone for certain: no place within is farther from it than
/// half its box is wide.
fn is_gone<S>(part: &Sided<S>, reach: &dyn Fn(usize) -> f64) -> bool {
    let least = part
        .side
        .iter()
        .map(|&s| reach(s))
        .fold(f64::INFINITY, f64::min);
    let size = bounds(part.ring.iter().copied()).map(|b| b.size());
    size.is_some_and(|s| s.width.min(s.height) <= 2.0 * least)
}

impl<S> Sided<S> {
    /// A ring that is all one side.
    pub fn whole(ring: Ring<S>) -> Self {
        let side = vec![0; ring.len()];
        Self { ring, side }
    }

    /// The first runs of edges of one side, in order: the side and its points, from where it
    /// begins up to and with where it ends. Of a ring that is one side, all of it, its first
    /// point at both ends.
    pub fn runs(&self) -> Vec<(usize, Vec<Point<S>>)> {
        let n = self.ring.len();
        if n == 0 || self.side.len() != n {
            return Vec::new();
        }
        let begins = |k: &usize| self.side[*k] != self.side[(*k + n - 1) % n];
        let mut starts: Vec<usize> = (0..n).filter(begins).collect();
        if starts.is_empty() {
            starts.push(0);
        }
        let run = |k: usize| {
            let from = starts[k];
            let to = starts.get(k + 1).copied().unwrap_or(starts[0] + n);
            let points = (from..=to).map(|i| self.ring[i % n]).collect();
            (self.side[from], points)
        };
        (0..starts.len()).map(run).collect()
    }

    /// Where the first of its [`Sided::runs`] begins.
    fn first_run(&self) -> usize {
        let n = self.side.len();
        let begins = |k: &usize| self.side[*k] != self.side[(*k + n - 1) % n];
        (0..n).find(begins).unwrap_or(0)
    }

    /// mm².
    pub fn area(&self) -> f64 {
        signed_area(&self.ring)
    }
}
