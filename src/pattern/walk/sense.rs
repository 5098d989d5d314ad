//! Which way each edge of a seam is travelled.
//!
//! Edges run counter-clockwise, with the piece on the left. Laid side by side, face up,
//! two edges that are sewn together run opposite ways. So:
//!
//! 1. Edges of one piece that follow one another in the list and share a corner say
//!    their way themselves.
//! 2. A lone edge goes the way of the others on its side, and against those of the other
//!    side; with nothing to go by, the first side goes counter-clockwise. An edge that is
//!    listed twice running is a half and its mirror image: the second goes back.
//! 3. Lone edges may be turned against rule 2 where the notches then meet better: a piece
//!    is sewn to the mirrored one of a pair, or was drawn from its wrong side.

use super::laid::Laid;
use super::meet::{self, Meeting};
use super::run::{Run, Step};

/// At most so many lone edges are tried both ways.
const MOST_TRIED: usize = 6;

/// A way against rule 2 must pay for itself by this much of the meeting's cost.
const PRIOR: f64 = 0.02;

/// Two sides laid out, walked from the same end.
#[derive(Debug, Clone)]
pub struct Walked {
    pub one: Run,
    pub other: Run,
    pub meeting: Meeting,
    /// The sides run the same way round: one lies face down, or is the mirrored one.
    pub same_way: bool,
    /// One of the sides could as well be sewn on the other way round: its notches would
    /// meet no worse. Only told of seams whose sides have no way of their own.
    pub either_way: bool,
}

/// Edges whose ways go together.
#[derive(Debug)]
struct Group {
    first: usize,
    count: usize,
    /// Its way, if rule 1 tells it.
    back: Option<bool>,
    /// Its way by rule 2.
    usual: bool,
}

/// Lays out both sides, in the ways that the module tells. Neither side may be empty;
/// edges are (piece, edge).
pub fn walk(
    laid: &[Laid],
    one: &[(usize, usize)],
    other: &[(usize, usize)],
    tolerance: f64,
) -> Walked {
    let mut sides = [groups(laid, one), groups(laid, other)];
    let known = |groups: &[Group]| groups.iter().find_map(|g| g.back);
    let (a, b) = (known(&sides[0]), known(&sides[1]));
    let first = a.unwrap_or_else(|| b.is_some_and(|b| !b));
    let second = b.unwrap_or(!first);
    settle(&mut sides[0], one, first);
    settle(&mut sides[1], other, second);

    let mut free: Vec<(usize, usize)> = Vec::new();
    for (side, groups) in sides.iter().enumerate() {
        let own = (0..groups.len()).filter(|&k| groups[k].back.is_none());
        free.extend(own.map(|k| (side, k)));
    }
    // Turning all lone edges where nothing is known is the same walk from the other end.
    if a.is_none() && b.is_none() && !free.is_empty() {
        free.remove(0);
    }
    free.truncate(MOST_TRIED);

    let lay = |turned: usize| {
        let steps = |side: usize, edges: &[(usize, usize)]| {
            let mut steps = Vec::with_capacity(edges.len());
            for (k, group) in sides[side].iter().enumerate() {
                let bit = free.iter().position(|&f| f == (side, k));
                let flip = bit.is_some_and(|b| turned >> b & 1 == 1);
                let back = group.back.unwrap_or(group.usual != flip);
                let own = &edges[group.first..group.first + group.count];
                steps.extend(own.iter().map(|&(piece, edge)| Step { piece, edge, back }));
            }
            steps
        };
        let one = Run::lay(laid, steps(0, one));
        let other = Run::lay(laid, steps(1, other));
        let meeting = meet::meet(&one, &other, tolerance);
        (one, other, meeting)
    };
    let price = |turned: usize, m: &Meeting| m.cost + PRIOR * f64::from(turned.count_ones());
    let mut best = (0, lay(0));
    let pairs = best.1.0.stops.len().saturating_mul(best.1.1.stops.len());
    let tries = if pairs << free.len() > meet::MOST_PAIRS {
        1
    } else {
        1 << free.len()
    };
    for turned in 1..tries {
        let now = lay(turned);
        if price(turned, &now.2) < price(best.0, &best.1.2) {
            best = (turned, now);
        }
    }
    let lone = sides.iter().all(|g| g.len() == 1 && g[0].back.is_none());
    let faults = |w: &(Run, Run, Meeting)| meet::faults(&w.0, &w.1, &w.2, tolerance);
    let either_way = lone && tries > 1 && faults(&lay(best.0 ^ 1)) <= faults(&best.1);
    let (one, other, meeting) = best.1;
    let way = |run: &Run| run.steps.first().is_some_and(|s| s.back);
    Walked {
        same_way: way(&one) == way(&other),
        either_way,
        one,
        other,
        meeting,
    }
}

/// Rule 1.
fn groups(laid: &[Laid], edges: &[(usize, usize)]) -> Vec<Group> {
    let mut out: Vec<Group> = Vec::new();
    for (k, &(piece, edge)) in edges.iter().enumerate() {
        let n = laid[piece].edges.len();
        let last = out.last_mut().filter(|_| k > 0 && edges[k - 1].0 == piece);
        let before = if k > 0 { edges[k - 1].1 } else { 0 };
        let on = n > 1 && before != edge && (before + 1) % n == edge;
        let back = n > 1 && before != edge && (edge + 1) % n == before;
        match last {
            // Of two edges that share both corners neither way is told.
            Some(group) if on || back => {
                let told = if on && back { None } else { Some(back) };
                match (group.back, group.count) {
                    (None, 1) => {
                        group.back = told;
                        group.count += 1;
                        continue;
                    }
                    (was, _) if was == told => {
                        group.count += 1;
                        continue;
                    }
                    _ => {}
                }
            }
            _ => {}
        }
        out.push(Group {
            first: k,
            count: 1,
            back: None,
            usual: false,
        });
    }
    out
}

/// Rule 2.
fn settle(groups: &mut [Group], edges: &[(usize, usize)], back: bool) {
    let mut usual = back;
    for g in 0..groups.len() {
        let first = groups[g].first;
        let again = first > 0 && edges[first] == edges[first - 1];
        let before = g.checked_sub(1).map(|b| groups[b].usual);
        usual = match (again, before) {
            (true, Some(before)) => !before,
            _ => usual,
        };
        groups[g].usual = groups[g].back.unwrap_or(usual);
        if !again {
            usual = back;
        }
    }
}
