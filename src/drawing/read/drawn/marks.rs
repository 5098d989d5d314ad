//! Marks on a piece: notches, the grain, and where points stand.

use super::drawing::Drawn;
use super::flatten::{self, Ground, Run};
use super::foot::nearest;
use super::outline::Outlines;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::{Notch, NotchKind, Polyline};
use crate::shape::{edge_distance, length};
use crate::space::{Piece, Point, Vector};

/// Farthest that a notch may be drawn from the line it is clipped into, mm.
const NOTCH_REACH: f64 = 1.0;
/// Shortest notch, in mm.
const MIN_NOTCH: f64 = 0.01;
/// A notch this near to a corner, in mm, is at the corner.
const CORNER: f64 = 1e-3;
/// Two edges that turn less than this, rad, and differ in length by less than
/// this factor are chords of one curve.
pub const SMOOTH: f64 = 0.35;
const CHORDS_ALIKE: f64 = 3.0;
/// Most a stroke may bow, as a part of its length.
const BOW: f64 = 0.02;

type At = Point<Piece>;

/// The centre of what is drawn, or of a text its place.
pub fn centre(drawn: &Drawn, ground: Ground) -> Option<At> {
    Some(ground.piece(flatten::bounds(&drawn.path)?.center()))
}

/// The notch drawn as `stroke`: its end nearer to an outline is its place,
/// snapped onto that; its length is its depth.
///
/// # Errors
///
/// When it is not one straight stroke from an outline.
pub fn notch(stroke: &Run, kind: NotchKind, outlines: &Outlines) -> Outcome<Notch> {
    let redraw = "draw it as one straight stroke from the cut line inwards";
    let [tail, head] = straight(stroke)
        .ok_or_else(|| Fault::input("the notch is not one straight stroke", redraw))?;
    let depth = (head - tail).length();
    if depth < MIN_NOTCH {
        return Err(Fault::input("the notch has no length", redraw));
    }
    let lines: Vec<&Polyline> = outlines.all().collect();
    let near = [tail, head]
        .into_iter()
        .filter_map(|end| nearest(end, lines.iter().copied()));
    let near = near.reduce(|a, b| if b.distance < a.distance { b } else { a });
    match near {
        Some(foot) if foot.distance <= NOTCH_REACH => Ok(Notch {
            at: foot.at,
            inward: inward(lines[foot.line], foot.edge, foot.at),
            depth,
            kind,
        }),
        foot => Err(Fault::input(
            match foot {
                Some(foot) => format!(
                    "the notch is not on the cut line: its nearer end is {} mm away",
                    short(foot.distance)
                ),
                None => "the notch is not on the cut line".to_owned(),
            },
            "draw it from the cut line inwards",
        )),
    }
}

/// The grain among `strokes`: the longest. What is less than half as long is
/// taken as its arrow head.
///
/// # Errors
///
/// When it is not straight, or two could be meant.
pub fn grain(strokes: &[Run]) -> Outcome<[At; 2]> {
    let long = |run: &Run| length(&run.points);
    let mut lengths: Vec<(f64, &Run)> = strokes.iter().map(|run| (long(run), run)).collect();
    lengths.sort_by(|a, b| b.0.total_cmp(&a.0));
    let none = || {
        Fault::input(
            "the grain has no length",
            "draw it from its tail to its head",
        )
    };
    let &(longest, run) = lengths.first().ok_or_else(none)?;
    if longest < MIN_NOTCH {
        return Err(none());
    }
    if lengths
        .get(1)
        .is_some_and(|&(second, _)| second * 2.0 > longest)
    {
        return Err(Fault::input(
            "two strokes could be the grain",
            "keep one grain line in the piece",
        ));
    }
    straight(run).ok_or_else(|| {
        Fault::input(
            "the grain is not one straight stroke",
            "draw it as one line from its tail to its head",
        )
    })
}

/// The ends of `run` if it is open and as good as straight.
fn straight(run: &Run) -> Option<[At; 2]> {
    let (&tail, &head) = (run.points.first()?, run.points.last()?);
    let length = (head - tail).length();
    let off = |p: At| edge_distance((tail, head), p);
    let bowed = run.points.iter().any(|&p| off(p) > BOW * length);
    // A single point is straight, and told apart by its length.
    let crooked = run.closed || (run.points.len() > 2 && bowed);
    (!crooked).then_some([tail, head])
}

/// The normal into the cloth at `at` on the edge `index` of `line`: the
/// bisector of both edges if it is at a corner, and the curve's own normal
/// where the edge is one chord of a curve that was flattened.
fn inward(line: &Polyline, index: usize, at: At) -> Vector<Piece> {
    let count = line.len();
    let edge = |index: usize| line[(index + 1) % count] - line[index % count];
    // The cloth is on the left of every outline.
    let normal = |index: usize| {
        let along = edge(index).normalize();
        Vector::new(-along.y, along.x)
    };
    let own = normal(index);
    let (before, after) = (index + count - 1, index + 1);
    let to_start = (at - line[index]).length();
    let to_end = (at - line[(index + 1) % count]).length();
    // The edges of a needle's point can be opposite but for rounding.
    let bisector = |other: Vector<Piece>| (own + other).try_normalize().unwrap_or(own);
    if to_start <= CORNER {
        return bisector(normal(before));
    }
    if to_end <= CORNER {
        return bisector(normal(after));
    }
    // At a vertex of a flattened curve the curve runs between both chords'
    // directions, nearer to the shorter one's (exact on a circle).
    let (length, at_vertex) = (edge(index).length(), |neighbour: usize| {
        let (other, length) = (normal(neighbour), edge(index).length());
        let others = edge(neighbour).length();
        let alike = others < CHORDS_ALIKE * length && length < CHORDS_ALIKE * others;
        if alike && own.dot(other) > SMOOTH.cos() {
            own * others + other * length
        } else {
            own * (length + others)
        }
        .normalize()
    });
    let blend = at_vertex(before) * (to_end / length) + at_vertex(after) * (to_start / length);
    blend.try_normalize().unwrap_or(own)
}
