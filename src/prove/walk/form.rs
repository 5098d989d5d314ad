//! The form of an edge: which way it leaves a corner, how it curves, whether its piece is
//! the same either side of its middle.

use crate::pattern::{CORNER, Edge};
use crate::shape::nearest;
use crate::space::{Piece as PieceSpace, Point, Vector};

type At = Point<PieceSpace>;
type Way = Vector<PieceSpace>;

/// A piece whose mirror image lies within this of itself is symmetric, mm: half of the
/// hand's tolerance of 1 mm (common practice).
const SYMMETRIC: f64 = 0.5;

/// An outline is looked at in so many places at most.
const PLACES: usize = 240;

/// The direction in which a line leaves its first point. Where it begins as a curve, that
/// of the circle through its first three points: the angle between tangent and chord is
/// the one over the chord seen from the circle (Euclid III, 32).
pub fn leaves(line: &[At]) -> Option<Way> {
    let mut steps = line
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|v| v.length() > 0.0);
    let first = steps.next()?;
    let unit = first / first.length();
    let Some(second) = steps.next() else {
        return Some(unit);
    };
    let turn = first.cross(second).atan2(first.dot(second));
    // A corner, or a short straight lead-in before a curve of other kind.
    if turn.abs() > CORNER.to_radians() {
        return Some(unit);
    }
    let whole = first + second;
    // Seen from the third point, the first chord spans the angle between second and whole.
    let seen = whole.cross(second).atan2(whole.dot(second));
    let (sin, cos) = (-seen).sin_cos();
    Some(Way::new(
        cos * unit.x - sin * unit.y,
        sin * unit.x + cos * unit.y,
    ))
}

/// The piece's angle at the corner between two edges that follow one another
/// counter-clockwise, degrees, 0 to 360.
pub fn corner(before: &Edge, after: &Edge) -> Option<f64> {
    let mut back = before.line.clone();
    back.reverse();
    let (to, from) = (leaves(&after.line)?, leaves(&back)?);
    let angle = to.cross(from).atan2(to.dot(from)).to_degrees();
    Some(if angle < 0.0 { angle + 360.0 } else { angle })
}

/// By how much a line turns to the left from end to end, degrees; > 0 on the outward
/// curve of a piece that is on its left.
pub fn turning(line: &[At]) -> f64 {
    let ways: Vec<Way> = line
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|v| v.length() > 0.0)
        .collect();
    let turns = ways
        .windows(2)
        .map(|w| w[0].cross(w[1]).atan2(w[0].dot(w[1])));
    turns.sum::<f64>().to_degrees()
}

/// Whether the piece is its own mirror image about the line through the middle of an
/// edge's chord, square to it. An edge that ends where it begins has no such line.
pub fn symmetric(edges: &[Edge], edge: usize) -> bool {
    let Some((&a, &b)) = edges
        .get(edge)
        .and_then(|e| e.line.first().zip(e.line.last()))
    else {
        return false;
    };
    let chord = b - a;
    let length = chord.length();
    if length < 1.0 {
        return false;
    }
    let (axis, middle) = (chord / length, a + chord / 2.0);
    let mirrored = |p: At| p - axis * (2.0 * (p - middle).dot(axis));
    let all = edges.iter().flat_map(|e| e.line.iter());
    let count: usize = edges.iter().map(|e| e.line.len()).sum();
    let mut places = all.step_by(count.div_ceil(PLACES).max(1));
    places.all(|&p| {
        let image = mirrored(p);
        edges
            .iter()
            .filter_map(|e| nearest(&e.line, image))
            .any(|(_, d)| d <= SYMMETRIC)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arc(r: f64, from: f64, to: f64, n: u32) -> Vec<At> {
        (0..=n)
            .map(|k| {
                let (sin, cos) = (from + (to - from) * f64::from(k) / f64::from(n)).sin_cos();
                Point::new(r * cos, r * sin)
            })
            .collect()
    }

    #[test]
    fn a_circle_is_left_along_its_tangent_not_its_chord() {
        for (to, want) in [(1.5, 90.0), (-1.5, -90.0)] {
            let way = leaves(&arc(40.0, 0.0, to, 20)).unwrap();
            let deg = way.y.atan2(way.x).to_degrees();
            assert!((deg - want).abs() < 1e-9, "{deg}");
        }
        assert!(
            (turning(&arc(40.0, 0.0, 1.5, 20)) - 1.5f64.to_degrees() * 19.0 / 20.0).abs() < 1e-9
        );
    }
}
