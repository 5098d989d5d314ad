//! Which way each edge of a seam is travelled.
//!
//! Edges run counter-clockwise, with the piece on the left. Laid side by side, face up,
//! two edges that are sewn together run opposite ways. So:
//!
//! 1. Edges that follow one another in the list say their way where they share a corner
//!    of their piece, or where the edges beyond their ends are sewn to each other (as the
//!    side seam is between two edges of a hem).
//! 2. Others go the way of those on their side, and against those of the other side. An
//!    edge that is listed twice running is a half and its mirror image: the second goes
//!    back.
//! 3. They may go against rule 2 where the notches then meet better: a piece is sewn to
//!    the mirrored one of a pair, or was drawn from its wrong side.

use super::laid::Laid;
use super::meet::{self, Meeting};
use super::run::{Run, Step};
use super::sewn::Sewn;

/// At most so many lone edges are tried both ways.
const MOST_TRIED: usize = 6;

/// Each way against rule 2 must pay for itself by this much of the meeting's cost, and so
/// must each end of the seam where one side has a notch and the other none.
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
    /// Listed again: a mirror image, which goes the other way than its side.
    mirrored: bool,
}

type Edges<'a> = &'a [(usize, usize)];

/// Both sides, and which of their groups may be turned.
struct Sides<'a> {
    laid: &'a [Laid<'a>],
    edges: [Edges<'a>; 2],
    groups: [Vec<Group>; 2],
    free: Vec<(usize, usize)>,
    tolerance: f64,
}

/// A choice of ways, laid out.
struct Laying {
    runs: [Run; 2],
    meeting: Meeting,
    price: f64,
}

/// Lays out both sides, in the ways that the module tells. Neither side may be empty;
/// edges are (piece, edge).
pub fn walk(laid: &[Laid], sewn: &Sewn, one: Edges, other: Edges, tolerance: f64) -> Walked {
    let groups = [groups(laid, sewn, one), groups(laid, sewn, other)];
    let mut free: Vec<(usize, usize)> = Vec::new();
    for (side, groups) in groups.iter().enumerate() {
        let own = (0..groups.len()).filter(|&k| groups[k].back.is_none());
        free.extend(own.map(|k| (side, k)));
    }
    // Two lone edges both turned are the same walk from the other end.
    let lone = groups.iter().all(|g| g.len() == 1 && g[0].count == 1);
    if lone {
        free.retain(|f| f.0 == 1);
    }
    free.truncate(MOST_TRIED);
    let sides = Sides {
        laid,
        edges: [one, other],
        groups,
        free,
        tolerance,
    };
    // What rule 2 says with nothing turned: the sides go opposite ways.
    let mut best = sides.lay(0);
    let pairs = best.runs[0]
        .stops
        .len()
        .saturating_mul(best.runs[1].stops.len());
    let tries = 1usize << sides.free.len();
    let tries = if pairs.saturating_mul(tries) > meet::MOST_PAIRS {
        1
    } else {
        tries
    };
    let mut chosen = 0;
    for turned in 1..tries {
        let now = sides.lay(turned);
        if now.price < best.price {
            (best, chosen) = (now, turned);
        }
    }
    let faults = |l: &Laying| meet::faults(&l.runs[0], &l.runs[1], &l.meeting, tolerance);
    let either_way = lone && tries > 1 && faults(&sides.lay(chosen ^ 1)) <= faults(&best);
    let [one, other] = best.runs;
    let way = |run: &Run| run.steps.first().is_some_and(|s| s.back);
    Walked {
        same_way: way(&one) == way(&other),
        either_way,
        one,
        other,
        meeting: best.meeting,
    }
}

impl Sides<'_> {
    /// With the free groups turned as the bits of `turned` say.
    fn lay(&self, turned: usize) -> Laying {
        let base = self.base();
        let mut against = 0;
        let mut ways: [Vec<bool>; 2] = [Vec::new(), Vec::new()];
        let runs = [0, 1].map(|side| {
            let mut steps = Vec::with_capacity(self.edges[side].len());
            for (k, group) in self.groups[side].iter().enumerate() {
                let bit = self.free.iter().position(|&f| f == (side, k));
                let flip = bit.is_some_and(|b| turned >> b & 1 == 1);
                let back = group.back.unwrap_or((base[side] != group.mirrored) != flip);
                ways[side].push(back != group.mirrored);
                let own = &self.edges[side][group.first..group.first + group.count];
                steps.extend(own.iter().map(|&(piece, edge)| Step { piece, edge, back }));
            }
            let backs = ways[side].iter().filter(|w| **w).count();
            against += backs.min(ways[side].len() - backs);
            Run::lay(self.laid, steps)
        });
        against += usize::from(ways[0].first() == ways[1].first());
        for end in 0..2 {
            against += usize::from(runs[0].ends[end] != runs[1].ends[end]);
        }
        let meeting = meet::meet(&runs[0], &runs[1], self.tolerance);
        Laying {
            price: meeting.cost + PRIOR * against as f64,
            runs,
            meeting,
        }
    }

    /// The way of each side by rule 2.
    fn base(&self) -> [bool; 2] {
        let known = |side: usize| {
            let mut told = self.groups[side].iter();
            told.find_map(|g| g.back.map(|b| b != g.mirrored))
        };
        let (one, other) = (known(0), known(1));
        let first = one.unwrap_or_else(|| other.is_some_and(|b| !b));
        [first, other.unwrap_or(!first)]
    }
}

/// Rule 1.
fn groups(laid: &[Laid], sewn: &Sewn, edges: Edges) -> Vec<Group> {
    let mut out: Vec<Group> = Vec::new();
    for (k, &now) in edges.iter().enumerate() {
        let last = k.checked_sub(1).map(|b| edges[b]);
        let told = last.map_or(Follows::Unknown, |last| follows(laid, last, now));
        if let (Follows::Corner(back), Some(group)) = (told, out.last_mut())
            && (group.back == back || group.count == 1 && (group.back.is_none() || back.is_none()))
        {
            group.back = group.back.or(back);
            group.count += 1;
            continue;
        }
        let mut group = Group {
            first: k,
            count: 1,
            back: None,
            mirrored: false,
        };
        if let (Some(last), Some(before)) = (last, out.last_mut()) {
            group.mirrored = last == now && !before.mirrored;
            if let Some((a, b)) = joined(laid, sewn, last, now)
                && before.back.is_none_or(|was| was == a)
            {
                before.back = Some(a);
                group.back = Some(b);
            }
        }
        out.push(group);
    }
    out
}

/// How an edge follows the one before it.
#[derive(Debug, Clone, Copy)]
enum Follows {
    /// They share a corner; whether the travel goes back, unless they share both.
    Corner(Option<bool>),
    Unknown,
}

fn follows(laid: &[Laid], last: (usize, usize), now: (usize, usize)) -> Follows {
    let n = laid[now.0].edges.len();
    if last.0 != now.0 || last.1 == now.1 {
        return Follows::Unknown;
    }
    match ((last.1 + 1) % n == now.1, (now.1 + 1) % n == last.1) {
        (true, true) => Follows::Corner(None),
        (true, false) => Follows::Corner(Some(false)),
        (false, true) => Follows::Corner(Some(true)),
        (false, false) => Follows::Unknown,
    }
}

/// The ways of two edges of which the ones beyond are sewn to each other, if that is so
/// at one end of each only.
fn joined(
    laid: &[Laid],
    sewn: &Sewn,
    last: (usize, usize),
    now: (usize, usize),
) -> Option<(bool, bool)> {
    let mut found = None;
    for leaves_back in [false, true] {
        for enters_back in [false, true] {
            let beyond = (last.0, laid[last.0].neighbour(last.1, !leaves_back));
            let before = (now.0, laid[now.0].neighbour(now.1, enters_back));
            if sewn.together(beyond, before) {
                if found.is_some() {
                    return None;
                }
                found = Some((leaves_back, enters_back));
            }
        }
    }
    found
}
