//! The edge that lies on the fold: a part of the cut line itself, whichever
//! way the stroke along it wavers.

use super::flatten::{Budget, Run, SAME};
use super::foot::{Foot, nearest};
use super::marks::SMOOTH;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Polyline;
use crate::shape::{edge_distance, length};
use crate::space::{Piece, Point};

/// Farthest that a fold may be drawn from the cut line, in mm.
const REACH: f64 = 1.0;
/// Farthest that the cut line may then be from the stroke: at a square corner
/// both sides of it may be off by [`REACH`].
const STRAY: f64 = REACH * std::f64::consts::SQRT_2;
/// Farthest apart, in mm, that a stroke is looked at.
const STEP: f64 = 5.0;

const ALONG: &str = "draw it along the edge that lies on the fold";

/// The part of the outlines `cut` that the fold drawn as `stroke` runs along,
/// in the stroke's direction. An end within [`REACH`] of a corner is at the
/// corner.
///
/// # Errors
///
/// When a point of the stroke is farther than [`REACH`] from every outline, or
/// no part of one runs along the whole of it.
pub fn along_cut(stroke: &Run, cut: &[Polyline], budget: &mut Budget) -> Outcome<Polyline> {
    let points = &stroke.points;
    let astray = || Fault::input("the fold is not one stroke along one edge", ALONG);
    let (&[first, .., last], false) = (points.as_slice(), stroke.closed && points.len() > 2) else {
        return Err(astray());
    };
    let edges: usize = cut.iter().map(Vec::len).sum();
    let mut away = 0.0_f64;
    each_step(points, |p| {
        budget.look(edges)?;
        away = away.max(nearest(p, cut).map_or(f64::INFINITY, |foot| foot.distance));
        Ok(())
    })?;
    if away > REACH {
        return Err(off(away));
    }
    let (Some(from), Some(to)) = (nearest(first, cut), nearest(last, cut)) else {
        return Err(astray());
    };
    if from.line != to.line || (from.at - to.at).length() < SAME {
        return Err(astray());
    }
    let ring = Ring(&cut[from.line]);
    let (from, to) = (ring.spot(&from), ring.spot(&to));
    let mut back = ring.part(to, from);
    back.reverse();
    let mut ways = [(ring.part(from, to), from, to), (back, to, from)];
    ways.sort_by(|a, b| length(&a.0).total_cmp(&length(&b.0)));
    let long = length(&ways[0].0) > 2.0 * REACH;
    let mut least = f64::INFINITY;
    for (way, begin, end) in ways {
        let mut away = 0.0_f64;
        each_step(&way, |p| {
            budget.look(points.len())?;
            away = away.max(distance(p, points));
            Ok(())
        })?;
        if away > STRAY {
            least = least.min(away);
            continue;
        }
        if !long {
            return Ok(way);
        }
        let mut way = ring.part(ring.corner(begin), ring.corner(end));
        if begin != from {
            way.reverse();
        }
        return Ok(way);
    }
    Err(off(least))
}

fn off(away: f64) -> Fault {
    let what = format!(
        "the fold is not on the cut line: it is {} mm away",
        short(away)
    );
    Fault::input(what, ALONG)
}

/// Calls `look` with every point of `line`, and between them at least every
/// [`STEP`] mm.
fn each_step(line: &Polyline, mut look: impl FnMut(Point<Piece>) -> Outcome<()>) -> Outcome<()> {
    line.first().map_or(Ok(()), |&p| look(p))?;
    for edge in line.windows(2) {
        let steps = ((edge[1] - edge[0]).length() / STEP).ceil().max(1.0) as usize;
        for step in 1..=steps {
            look(edge[0].lerp(edge[1], step as f64 / steps as f64))?;
        }
    }
    Ok(())
}

/// How far `p` is from the open line `line`.
fn distance(p: Point<Piece>, line: &Polyline) -> f64 {
    let edges = line.windows(2).map(|e| (e[0], e[1]));
    edges
        .map(|edge| edge_distance(edge, p))
        .fold(f64::INFINITY, f64::min)
}

/// A place on a ring: the edge, and how far along it, from 0 up to below 1.
type Spot = (usize, f64);

/// A closed line.
struct Ring<'a>(&'a Polyline);

impl Ring<'_> {
    fn vertex(&self, index: usize) -> Point<Piece> {
        self.0[index % self.0.len()]
    }

    fn edge_length(&self, index: usize) -> f64 {
        (self.vertex(index + 1) - self.vertex(index)).length()
    }

    /// The spot of a foot; what is as good as a vertex is the vertex.
    fn spot(&self, foot: &Foot) -> Spot {
        let length = self.edge_length(foot.edge);
        if foot.part * length < SAME {
            (foot.edge, 0.0)
        } else if (1.0 - foot.part) * length < SAME {
            ((foot.edge + 1) % self.0.len(), 0.0)
        } else {
            (foot.edge, foot.part)
        }
    }

    fn at(&self, (edge, part): Spot) -> Point<Piece> {
        self.vertex(edge).lerp(self.vertex(edge + 1), part)
    }

    /// The ring from one spot on to another, the way it runs.
    fn part(&self, from: Spot, to: Spot) -> Polyline {
        let count = self.0.len();
        let mut last = to.0;
        if last < from.0 || (last == from.0 && to.1 <= from.1) {
            last += count;
        }
        let mut points = vec![self.at(from)];
        points.extend((from.0 + 1..=last).map(|index| self.vertex(index)));
        if to.1 > 0.0 {
            points.push(self.at(to));
        }
        points
    }

    fn is_corner(&self, index: usize) -> bool {
        let before = self.vertex(index) - self.vertex(index + self.0.len() - 1);
        let after = self.vertex(index + 1) - self.vertex(index);
        before.angle_to(after).radians.abs() > SMOOTH
    }

    /// The corner nearest to `spot` along the ring, if one is within
    /// [`REACH`]; else `spot`.
    fn corner(&self, spot: Spot) -> Spot {
        let count = self.0.len();
        let along = spot.1 * self.edge_length(spot.0);
        let find = |mut walked: f64, mut index: usize, step: usize| {
            for _ in 0..count {
                if walked > REACH {
                    return None;
                }
                if self.is_corner(index) {
                    return Some((walked, index));
                }
                // The edge from here back, or on.
                let edge = if step == 1 { index } else { index + step };
                walked += self.edge_length(edge);
                index = (index + step) % count;
            }
            None
        };
        let back = find(along, spot.0, count - 1);
        let on = find(self.edge_length(spot.0) - along, (spot.0 + 1) % count, 1);
        let nearer = back.into_iter().chain(on);
        let nearer = nearer.reduce(|a, b| if b.0 < a.0 { b } else { a });
        nearer.map_or(spot, |(_, index)| (index, 0.0))
    }
}
