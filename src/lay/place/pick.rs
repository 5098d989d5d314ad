//! The best distinct places: of what was looked at coarsely the best are moved to where
//! they are best, the best of those is taken, all that is not distinct from it falls away,
//! and again (greedy non-maximum suppression; Neubeck & Van Gool, ICPR 2006).

use super::engine::{Engine, Scored, Spot};
use super::layer::Scratch;
use super::{Ask, Place, Progress};

/// The best so many of what is left are looked through for starts, …
const TOP: usize = 4000;

/// … so many of them are taken, …
const STARTS: usize = 48;

/// … this far from each other, mm.
const STARTS_APART: f64 = 8.0;

/// Rounds without a place that is accepted, at most.
const IN_VAIN: usize = 8;

/// Steps of a move at most: from one start.
const MOVES: usize = 200;

/// What was picked.
#[derive(Debug, Default)]
pub struct Picked {
    /// The best first.
    pub spots: Vec<Spot>,
    /// The last reason why a place was refused.
    pub refused: Option<String>,
}

/// Accepts a place, of a pair both (else it is told the same twice).
pub type Accepts<'f> = &'f dyn Fn(&[Place; 2]) -> Result<(), String>;

/// So many places at most, so far `apart` (mm); `None` if it was stopped.
pub fn pick(
    engine: &Engine,
    (wanted, apart): (usize, f64),
    accepts: Accepts,
    progress: Progress,
) -> Option<Picked> {
    let mut left = engine.found.clone();
    let mut picked = Picked::default();
    let mut chosen: Vec<(f64, Spot)> = Vec::new();
    let mut in_vain = 0;
    while chosen.len() < wanted && !left.is_empty() && in_vain < IN_VAIN {
        if !progress(0.8 + 0.2 * chosen.len() as f64 / wanted as f64) {
            return None;
        }
        let starts = starts(engine, &mut left);
        let taken: Vec<Spot> = chosen.iter().map(|(_, s)| *s).collect();
        let distinct = |s: Spot| {
            let far = |t: &Spot| engine.apart_squared(*t, s) >= apart * apart;
            taken.iter().all(far)
        };
        let mut scratch = Scratch::default();
        let mut score = |s: Spot| engine.score(s, &mut scratch);
        let moved = starts.iter();
        let mut best: Vec<(f64, Spot)> = moved
            .map(|s| improved(engine, s.spot, &distinct, &mut score))
            .collect();
        best.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        best.dedup();
        let mut accepted = None;
        for found in best {
            match accepts(&engine.places(found.1)) {
                Ok(()) => {
                    accepted = Some(found);
                    break;
                }
                Err(why) => picked.refused = Some(why),
            }
        }
        match accepted {
            Some(found) => {
                left.retain(|s| engine.apart_squared(s.spot, found.1) >= apart * apart);
                chosen.push(found);
                in_vain = 0;
            }
            None => {
                // None of these, and nothing beside them.
                left.retain(|s| starts.iter().all(|g| clear(engine, s.spot, g.spot)));
                in_vain += 1;
            }
        }
    }
    if chosen.is_empty() {
        match super::tight::tight(engine, accepts, progress)? {
            Ok(spot) => chosen.push((0.0, spot)),
            Err(why) => picked.refused = picked.refused.or(why),
        }
    }
    chosen.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    picked.spots = chosen.into_iter().map(|(_, s)| s).collect();
    Some(picked)
}

/// How far apart distinct places are, mm.
pub fn apart(ask: &Ask) -> f64 {
    let asked = ask.limits.apart_mm.filter(|mm| *mm > 0.0);
    let b = crate::lay::inside_of(ask.hand.piece)
        .bounds()
        .unwrap_or_default();
    asked.unwrap_or((b.width().min(b.height()) / 2.0).clamp(20.0, 150.0))
}

/// Some of the best of what is left, not beside each other.
fn starts(engine: &Engine, left: &mut [Scored]) -> Vec<Scored> {
    let order = |a: &Scored, b: &Scored| b.score.total_cmp(&a.score).then(a.spot.cmp(&b.spot));
    let mut top = left;
    if top.len() > TOP {
        top.select_nth_unstable_by(TOP, order);
        top = &mut top[..TOP];
    }
    top.sort_unstable_by(order);
    let mut starts: Vec<Scored> = Vec::new();
    for s in top.iter() {
        if starts.iter().all(|g| clear(engine, s.spot, g.spot)) {
            starts.push(*s);
            if starts.len() == STARTS {
                break;
            }
        }
    }
    starts
}

/// Whether two starts are far enough from each other.
fn clear(engine: &Engine, a: Spot, b: Spot) -> bool {
    engine.apart_squared(a, b) >= STARTS_APART * STARTS_APART
}

/// A place moved to where it is best: to the best of the places about it, while one is
/// better, in steps of 4, 2 and 1 cells and half a degree (pattern search; Hooke & Jeeves,
/// J. ACM 8(2), 1961). It goes only where the piece fits and which is `allowed`.
pub fn improved(
    engine: &Engine,
    start: Spot,
    allowed: &dyn Fn(Spot) -> bool,
    score: &mut dyn FnMut(Spot) -> f64,
) -> (f64, Spot) {
    const ABOUT: [(i32, i32, i32); 10] = [
        (1, 0, 0),
        (-1, 0, 0),
        (0, 1, 0),
        (0, -1, 0),
        (1, 1, 0),
        (-1, 1, 0),
        (1, -1, 0),
        (-1, -1, 0),
        (0, 0, 1),
        (0, 0, -1),
    ];
    let mut best = (score(start), start);
    let mut step = 4;
    for _ in 0..MOVES {
        let from = best.1;
        for (dx, dy, dt) in ABOUT {
            let turn = from.turn.wrapping_add_signed(dt);
            let way = |t: u32| engine.turns.get(t as usize).map(|t| t.way);
            if way(turn) != way(from.turn) {
                continue;
            }
            let spot = Spot {
                turn,
                i: from.i + step * dx,
                j: from.j + step * dy,
            };
            if !engine.fits(spot) || !allowed(spot) {
                continue;
            }
            let score = score(spot);
            if score > best.0 {
                best = (score, spot);
            }
        }
        if best.1 == from {
            if step == 1 {
                break;
            }
            step /= 2;
        }
    }
    best
}
