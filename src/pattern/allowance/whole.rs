//! The piece as a whole: moved to its own middle; what one outline has that another lacks.

use super::super::piece::{PatternPiece, Polyline};
use crate::fault::short;
use crate::shape::{Region, Sided, bounds, connected, difference, nearest, offset};
use crate::space::{Piece, Point};

/// What is thinner than twice this, mm, is a curve's chords and not a piece of cloth.
const THIN: f64 = 0.1;

/// Moves all of a piece so that its origin is the middle of its cut outlines' box.
pub fn centred(piece: &mut PatternPiece) {
    let Some(middle) = bounds(piece.cut.iter().flatten().copied()).map(|b| b.center()) else {
        return;
    };
    let by = middle.to_vector();
    let lines = piece.cut.iter_mut().chain(&mut piece.cutouts);
    let lines = lines.chain(&mut piece.folds).chain(&mut piece.darts);
    let stroked = piece.net.iter_mut().chain(&mut piece.lines);
    let lines = lines.chain(stroked.map(|l| &mut l.points));
    let points = lines.flatten().chain(&mut piece.drills);
    let points = points.chain(piece.grain.iter_mut().flatten());
    let points = points.chain(&mut piece.label_at);
    let points = points.chain(piece.edges.iter_mut().map(|e| &mut e.at));
    for p in points.chain(piece.notches.iter_mut().map(|n| &mut n.at)) {
        *p -= by;
    }
}

/// The places, thick enough to be cloth, that `a` has and `b` lacks.
pub fn bites(a: &[Sided<Piece>], b: &[Sided<Piece>]) -> Vec<Polyline> {
    let region =
        |parts: &[Sided<Piece>]| Region::new(parts.iter().map(|p| p.ring.clone()).collect());
    let parts = connected(&difference(&region(a), &region(b)));
    // A disc that thick, at least: slivers that touch themselves are no outlines to offset.
    let least = std::f64::consts::PI * THIN * THIN;
    let large = parts.into_iter().filter(|p| p.area() > least);
    let thick = large.filter(|p| !offset(p, -THIN).is_empty());
    thick.filter_map(|p| p.rings.into_iter().next()).collect()
}

/// Where an outline's middle is: `(12.5, -3) mm`.
pub fn place(ring: &[Point<Piece>]) -> String {
    let middle = bounds(ring.iter().copied()).map_or(Point::zero(), |b| b.center());
    format!("({}, {}) mm", short(middle.x), short(middle.y))
}

/// The edges of `outline` that a bite touches, for a sentence.
pub fn on_edges<'a>(
    bite: &Polyline,
    outline: &Sided<Piece>,
    name: &dyn Fn(usize) -> &'a str,
) -> String {
    let closed: Polyline = bite.iter().chain(bite.first()).copied().collect();
    let mut names: Vec<&str> = Vec::new();
    for (side, line) in outline.runs() {
        let near = |p: &Point<Piece>| nearest(&closed, *p).is_some_and(|(_, d)| d < THIN);
        let touched = line.iter().any(near)
            || bite
                .iter()
                .any(|p| nearest(&line, *p).is_some_and(|(_, d)| d < THIN));
        if touched && !names.contains(&name(side)) {
            names.push(name(side));
        }
    }
    counted(&names)
}

/// `edge "a"`, `edges "a" and "b"`.
pub fn counted(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|n| format!("\"{n}\"")).collect();
    match quoted.as_slice() {
        [] => "the edges".to_owned(),
        [one] => format!("edge {one}"),
        [most @ .., last] => format!("edges {} and {last}", most.join(", ")),
    }
}
