//! Which notch of one side meets which of the other.
//!
//! Walked from the same end, two notches are off by what lies between them beyond what the
//! whole seam allows: where one side is longer (by its ease, or by a fault that is told
//! for itself) any share of that may be taken up before a notch, but none taken away. So
//! a pair at s and t is off by the distance of s − t from the span between 0 and the
//! difference of the two lengths: the notches divide the ease.
//!
//! The pairing keeps order and costs least (Needleman & Wunsch, J. Mol. Biol. 48, 1970).

use super::run::{Run, Stands, Stop};
use crate::pattern::NotchKind;

/// Notches farther apart than that, mm, or than twice the seam's tolerance, were not meant
/// for each other (estimate).
const REACH: f64 = 10.0;

/// Costs, in shares of [`REACH`]: what is told of a seam is the cheapest story. A notch
/// that meets none costs less than half of the worst pair, a pair of two kinds counts
/// as 4 mm off, a notch is not drawn to a joint over more than half the reach, and
/// joints meet each other only when they nearly do.
const ALONE: f64 = 0.75;
const OTHER_KIND: f64 = 0.4;
const JOINTS: f64 = 0.3;
const TO_JOINT: f64 = 1.5;
/// What tells apart two places that the ease allows alike: the even share.
const UNEVEN: f64 = 0.2;

/// More pairs of stops than that are not tried.
pub const MOST_PAIRS: usize = 1_000_000;

/// How the stops of two runs meet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Meeting {
    /// Stops of one and of the other, by their places in the runs.
    pub pairs: Vec<(usize, usize)>,
    pub cost: f64,
    /// There are more pairs than [`MOST_PAIRS`]: none were tried.
    pub too_many: bool,
}

/// How far a pair at `s` and `t` is off, mm: > 0 if the notch on one lies too far on.
pub fn off(one: &Run, other: &Run, s: f64, t: f64) -> f64 {
    let d = one.length() - other.length();
    let ahead = s - t;
    ahead - ahead.clamp(d.min(0.0), d.max(0.0))
}

fn kind(stop: &Stop) -> Option<NotchKind> {
    match stop.stands {
        Stands::Notch(_, kind) => Some(kind),
        Stands::Joint => None,
    }
}

fn alone(stop: &Stop) -> f64 {
    if kind(stop).is_some() { ALONE } else { 0.0 }
}

/// What a pair costs; `None` if they were not meant for each other.
fn pair(one: &Run, other: &Run, reach: f64, a: &Stop, b: &Stop) -> Option<f64> {
    let share = off(one, other, a.s, b.s).abs() / reach;
    if share > 1.0 {
        return None;
    }
    let d = one.length() - other.length();
    let even = d * a.s / one.length().max(1e-9);
    let share = share + UNEVEN * (a.s - b.s - even).abs() / d.abs().max(reach);
    Some(match (kind(a), kind(b)) {
        (Some(x), Some(y)) if x == y => share,
        (Some(_), Some(_)) => share + OTHER_KIND,
        (None, None) => share - JOINTS,
        _ => share * TO_JOINT,
    })
}

/// The pairing that costs least. None are paired if there are more than [`MOST_PAIRS`].
pub fn meet(one: &Run, other: &Run, tolerance: f64) -> Meeting {
    let (a, b) = (&one.stops, &other.stops);
    let (n, m) = (a.len(), b.len());
    let reach = REACH.max(2.0 * tolerance);
    if (n + 1).saturating_mul(m + 1) > MOST_PAIRS {
        let cost = a.iter().chain(b).map(alone).sum();
        return Meeting {
            pairs: Vec::new(),
            cost,
            too_many: true,
        };
    }
    let at = |i: usize, j: usize| i * (m + 1) + j;
    let mut cost = vec![0.0; (n + 1) * (m + 1)];
    for i in 0..=n {
        for j in 0..=m {
            let mut best = if i + j == 0 { 0.0 } else { f64::INFINITY };
            if i > 0 {
                best = f64::min(best, cost[at(i - 1, j)] + alone(&a[i - 1]));
            }
            if j > 0 {
                best = f64::min(best, cost[at(i, j - 1)] + alone(&b[j - 1]));
            }
            if i > 0
                && j > 0
                && let Some(c) = pair(one, other, reach, &a[i - 1], &b[j - 1])
            {
                best = f64::min(best, cost[at(i - 1, j - 1)] + c);
            }
            cost[at(i, j)] = best;
        }
    }
    let (mut i, mut j, mut pairs) = (n, m, Vec::new());
    while i > 0 || j > 0 {
        let here = cost[at(i, j)];
        let paired = (i > 0 && j > 0)
            .then(|| pair(one, other, reach, &a[i - 1], &b[j - 1]))
            .flatten();
        if let Some(c) = paired
            && cost[at(i - 1, j - 1)] + c <= here
        {
            (i, j) = (i - 1, j - 1);
            pairs.push((i, j));
        } else if i > 0 && cost[at(i - 1, j)] + alone(&a[i - 1]) <= here {
            i -= 1;
        } else {
            j = j.saturating_sub(1);
        }
    }
    pairs.reverse();
    Meeting {
        pairs,
        cost: cost[at(n, m)],
        too_many: false,
    }
}

/// What is wrong with a meeting: notches that meet none, pairs of two kinds, and pairs
/// that are off by more than the tolerance.
pub fn faults(one: &Run, other: &Run, meeting: &Meeting, tolerance: f64) -> usize {
    let notches = |run: &Run| run.stops.iter().filter(|s| kind(s).is_some()).count();
    let mut met = 0;
    let mut wrong = 0;
    for &(i, j) in &meeting.pairs {
        let (a, b) = (&one.stops[i], &other.stops[j]);
        let (x, y) = (kind(a), kind(b));
        met += usize::from(x.is_some()) + usize::from(y.is_some());
        let differ = x.is_some() && y.is_some() && x != y;
        let far = off(one, other, a.s, b.s).abs() > tolerance;
        wrong += usize::from(differ || (far && (x.is_some() || y.is_some())));
    }
    notches(one) + notches(other) - met + wrong
}
