//! Looks for a place for one part: many places are tried, over all frames and about where it
//! lies, and the best are improved by coordinate descent.
//!
//! After the search for a placement in Gardeyn, Vanden Berghe & Wauters (2025); the numbers
//! are theirs, from memory.

use super::engine::{Shape, Spot};
use super::turns::Turns;
use rand::{Rng, RngExt};

/// How hard it is looked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Trials {
    /// Places tried over all frames.
    pub anywhere: usize,
    /// Places tried about where the part lies.
    pub around: usize,
    /// Of the best, so many are improved.
    pub kept: usize,
}

/// While overlaps are being removed.
pub(super) const OVERLAPPING: Trials = Trials {
    anywhere: 50,
    around: 25,
    kept: 3,
};

/// A descent's first and last step, as shares of the part's breadth: a rough one for each
/// of the best, a fine one for the best of them.
const ROUGH: [f32; 2] = [0.25, 0.02];
const FINE: [f32; 2] = [0.01, 0.001];

/// A step grows by the first factor if it helped, else by the second.
const STEP: [f32; 2] = [1.1, 0.5];

/// Two of the best that lie nearer than this share of the breadth are the same.
const SAME: f32 = 0.05;

/// Where a part may go: for each frame the turns it may have there, none if it is no place
/// for it.
pub(super) type Ways = Vec<Option<Turns>>;

/// A frame as sampling needs it: bounds and area.
pub(super) type Extent = ([f32; 4], f32);

/// A place somewhere in a frame that takes the part whole, as far as boxes tell.
pub(super) fn anywhere(
    shape: &Shape,
    ways: &Ways,
    frames: &[Extent],
    rng: &mut impl Rng,
) -> Option<Spot> {
    let open = |k: &usize| ways[*k].is_some();
    let all: f32 = (0..frames.len()).filter(open).map(|k| frames[k].1).sum();
    let mut at = rng.random_range(0.0..1.0) * all;
    let mut frame = None;
    for k in (0..frames.len()).filter(open) {
        frame = Some(k);
        at -= frames[k].1;
        if at < 0.0 {
            break;
        }
    }
    let frame = frame?;
    let turn = ways[frame].as_ref()?.pick(rng);
    let b = shape.turned_box(turn);
    let f = frames[frame].0;
    let mut between = |low: f32, high: f32| (low < high).then(|| rng.random_range(low..high));
    Some(Spot {
        frame,
        turn,
        x: between(f[0] - b[0], f[2] - b[2])?,
        y: between(f[1] - b[1], f[3] - b[3])?,
    })
}

/// A place within half the part's own box of `spot`.
fn around(
    spot: &Spot,
    shape: &Shape,
    ways: &Ways,
    frames: &[Extent],
    rng: &mut impl Rng,
) -> Option<Spot> {
    let turns = ways[spot.frame].as_ref()?;
    let turn = if rng.random_bool(0.5) {
        spot.turn
    } else {
        turns.pick(rng)
    };
    let b = shape.turned_box(turn);
    let f = frames[spot.frame].0;
    let mut near = |at: f32, reach: f32, low: f32, high: f32| {
        let (low, high) = (low.max(at - reach), high.min(at + reach));
        (low < high).then(|| rng.random_range(low..high))
    };
    Some(Spot {
        frame: spot.frame,
        turn,
        x: near(spot.x, (b[2] - b[0]) / 2.0, f[0] - b[0], f[2] - b[2])?,
        y: near(spot.y, (b[3] - b[1]) / 2.0, f[1] - b[1], f[3] - b[3])?,
    })
}

/// The best place found for a part, and its cost. `cost` tells what a place costs, and may
/// tell any number from `bound` up once that is reached; a cost of `enough` or less is taken
/// at once.
pub(super) fn seek(
    (shape, ways, frames): (&Shape, &Ways, &[Extent]),
    now: Option<Spot>,
    trials: Trials,
    enough: f32,
    rng: &mut impl Rng,
    cost: &mut impl FnMut(&Spot, f32) -> f32,
) -> Option<(Spot, f32)> {
    let mut best: Vec<(Spot, f32)> = Vec::with_capacity(trials.kept + 1);
    let same = SAME * shape.breadth;
    let mut offer = |spot: Spot, best: &mut Vec<(Spot, f32)>| {
        let full = best.len() >= trials.kept;
        let bound = best.last().filter(|_| full).map_or(f32::INFINITY, |b| b.1);
        let c = cost(&spot, bound);
        if c >= bound {
            return false;
        }
        let alike = |b: &(Spot, f32)| {
            let near = (b.0.x - spot.x).abs() < same && (b.0.y - spot.y).abs() < same;
            near && b.0.frame == spot.frame && (b.0.turn - spot.turn).abs() < 0.05
        };
        match best.iter().position(alike) {
            Some(k) if best[k].1 <= c => {}
            Some(k) => best[k] = (spot, c),
            None => best.push((spot, c)),
        }
        best.sort_by(|a, b| a.1.total_cmp(&b.1));
        best.truncate(trials.kept);
        c <= enough
    };
    let mut found = false;
    if let Some(spot) = now {
        found = offer(spot, &mut best);
        for _ in 0..trials.around {
            let Some(spot) = around(&spot, shape, ways, frames, rng) else {
                continue;
            };
            found = found || offer(spot, &mut best);
        }
    }
    for _ in 0..trials.anywhere {
        if found {
            break;
        }
        if let Some(spot) = anywhere(shape, ways, frames, rng) {
            found = offer(spot, &mut best);
        }
    }
    if found {
        return best.first().copied();
    }
    let mut top: Option<(Spot, f32)> = None;
    for start in best {
        let end = descend(start, shape, ways, ROUGH, enough, rng, cost);
        if top.is_none_or(|t| end.1 < t.1) {
            top = Some(end);
        }
        if end.1 <= enough {
            return top;
        }
    }
    Some(descend(top?, shape, ways, FINE, enough, rng, cost))
}

/// Moves a place by steps along, across and askew, and round if it may turn, as long as that
/// makes it cheaper.
pub(super) fn descend(
    (mut at, mut least): (Spot, f32),
    shape: &Shape,
    ways: &Ways,
    [from, to]: [f32; 2],
    enough: f32,
    rng: &mut impl Rng,
    cost: &mut impl FnMut(&Spot, f32) -> f32,
) -> (Spot, f32) {
    let Some(turns) = &ways[at.frame] else {
        return (at, least);
    };
    let (first, last) = (from * shape.breadth, to * shape.breadth);
    let (mut sx, mut sy) = (first, first);
    // Turning moves the ends as far as shifting does.
    let arm = shape.size.diameter / 2.0;
    let turning = turns.slack() > 0.0;
    let mut st = if turning {
        (first / arm).min(turns.slack())
    } else {
        0.0
    };
    let least_turn = last / arm;
    while (sx > last || sy > last || st > least_turn) && least > enough {
        let axis = rng.random_range(0..if turning { 6 } else { 4 });
        let mut helped = false;
        for sign in [1.0, -1.0] {
            let mut to = at;
            match axis {
                0 => to.x += sign * sx,
                1 => to.y += sign * sy,
                2 => (to.x, to.y) = (to.x + sign * sx, to.y + sign * sy),
                3 => (to.x, to.y) = (to.x + sign * sx, to.y - sign * sy),
                _ => to.turn = turns.nearest(to.turn + sign * st),
            }
            let c = cost(&to, least);
            if c < least {
                (at, least) = (to, c);
                helped = true;
                break;
            }
        }
        let factor = if helped { STEP[0] } else { STEP[1] };
        match axis {
            0 => sx *= factor,
            1 => sy *= factor,
            2 | 3 => (sx, sy) = (sx * factor.sqrt(), sy * factor.sqrt()),
            _ => st *= factor,
        }
    }
    (at, least)
}
