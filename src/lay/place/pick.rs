//! The best distinct places: of what was looked at coarsely the best are moved to where
//! they are best, the best of those is taken, all that is not distinct from it falls away,
//! and again (greedy non-maximum suppression; Neubeck & Van Gool, ICPR 2006).

use super::engine::{Engine, Look, Scored, Spot};
use super::layer::Scratch;
use super::{Ask, Place, Progress};
use crate::lay::inside_of;
use std::cell::RefCell;
use std::collections::BTreeSet;

/// The best so many of what is left are looked through for starts, …
const TOP: usize = 4000;

/// … so many of them are taken, if not fewer are asked for, …
pub const STARTS: usize = 72;

/// … this far from each other: mm at most and at least, and as a share of the piece's size
/// (root of its area).
const STARTS_APART: [f64; 2] = [2.0, 8.0];
const STARTS_SHARE: f64 = 1.0 / 12.0;

/// In a round it is told exactly of so many places at most whether they fit.
const TESTS: usize = 200;

/// So many of the best are looked at closely, and moved on exactly; where all places were
/// looked at, as there are few of them, so many.
const EXACT: usize = 6;
const EXACT_OF_ALL: usize = STARTS;

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

/// What is picked from.
pub struct Sought<'f> {
    /// Places and what they are worth, looked at coarsely.
    pub found: Vec<Scored>,
    /// What a place is worth.
    pub score: &'f dyn Fn(Spot, Look) -> f64,
    /// Whether a place will do, beside that the piece fits there.
    pub allowed: &'f dyn Fn(Spot) -> bool,
    /// So many places at most, …
    pub wanted: usize,
    /// … so far apart, mm.
    pub apart: f64,
    /// Of the best, so many are moved to where they are best.
    pub starts: usize,
}

/// `None` if it was stopped.
pub fn pick(
    engine: &Engine,
    sought: Sought,
    accepts: Accepts,
    progress: Progress,
) -> Option<Picked> {
    let Sought { wanted, apart, .. } = sought;
    let size = inside_of(engine.ask.hand.piece).area().sqrt();
    let start_apart = (STARTS_SHARE * size).clamp(STARTS_APART[0], STARTS_APART[1]);
    let clear = |a: Spot, b: Spot| engine.apart_squared(a, b) >= start_apart * start_apart;
    let mut left = sought.found;
    let mut picked = Picked::default();
    let mut chosen: Vec<(f64, Spot)> = Vec::new();
    let mut in_vain = 0;
    while chosen.len() < wanted && !left.is_empty() && in_vain < IN_VAIN {
        if !progress(0.8 + 0.2 * chosen.len() as f64 / wanted as f64) {
            return None;
        }
        let (starts, unfit) = starts(engine, &mut left, &clear, sought.allowed, sought.starts);
        left.retain(|s| !unfit.contains(&s.spot));
        let taken: Vec<Spot> = chosen.iter().map(|(_, s)| *s).collect();
        let allowed = |s: Spot| {
            let far = |t: &Spot| engine.apart_squared(*t, s) >= apart * apart;
            taken.iter().all(far) && (sought.allowed)(s)
        };
        let finely = |s: Spot| (sought.score)(s, Look::Finely);
        let moved = starts.iter();
        let mut best: Vec<(f64, Spot)> = moved
            .map(|s| improved(engine, s.spot, Moves::Plain, &allowed, &finely))
            .collect();
        let order = |a: &(f64, Spot), b: &(f64, Spot)| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1));
        best.sort_by(order);
        best.dedup();
        // The cells take the piece for up to a cell larger: on to where it touches.
        let exactly = |s: Spot| allowed(s) && engine.fits_exactly(s);
        let closely = |s: Spot| (sought.score)(s, Look::Closely);
        best.truncate(match engine.is_small() {
            true => EXACT_OF_ALL,
            false => EXACT,
        });
        for (worth, spot) in &mut best {
            (*worth, *spot) = improved(engine, *spot, Moves::All, &exactly, &closely);
        }
        best.sort_by(order);
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
                left.retain(|s| starts.iter().all(|g| clear(s.spot, g.spot)));
                in_vain += 1;
            }
        }
    }
    chosen.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    picked.spots = chosen.into_iter().map(|(_, s)| s).collect();
    Some(picked)
}

/// The best places of all that an engine found; if cells leave none, one to a hair's
/// breadth. `None` if it was stopped.
pub fn pick_all(
    engine: &Engine,
    wanted: usize,
    accepts: Accepts,
    progress: Progress,
) -> Option<Picked> {
    let scratch = RefCell::new(Scratch::default());
    let sought = Sought {
        found: engine.found.clone(),
        score: &|s, look| engine.score(s, look, &mut scratch.borrow_mut()),
        allowed: &|_| true,
        wanted,
        apart: apart(engine.ask),
        starts: STARTS,
    };
    let mut picked = pick(engine, sought, accepts, progress)?;
    if picked.spots.is_empty() {
        match super::tight::tight(engine, accepts, progress)? {
            Ok(spot) => picked.spots.push(spot),
            Err(why) => picked.refused = picked.refused.or(why),
        }
    }
    Some(picked)
}

/// How far apart distinct places are, mm.
pub fn apart(ask: &Ask) -> f64 {
    let asked = ask.limits.apart_mm.filter(|mm| *mm > 0.0);
    let b = inside_of(ask.hand.piece).bounds().unwrap_or_default();
    asked.unwrap_or((b.width().min(b.height()) / 2.0).clamp(20.0, 150.0))
}

/// Some of the best of what is left, not beside each other, all of which fit; and those
/// that turned out not to.
fn starts(
    engine: &Engine,
    left: &mut [Scored],
    clear: &dyn Fn(Spot, Spot) -> bool,
    allowed: &dyn Fn(Spot) -> bool,
    count: usize,
) -> (Vec<Scored>, BTreeSet<Spot>) {
    let order = |a: &Scored, b: &Scored| b.score.total_cmp(&a.score).then(a.spot.cmp(&b.spot));
    let mut top = left;
    if top.len() > TOP {
        top.select_nth_unstable_by(TOP, order);
        top = &mut top[..TOP];
    }
    top.sort_unstable_by(order);
    let mut starts: Vec<Scored> = Vec::new();
    let mut tests = 0;
    let mut unfit = BTreeSet::new();
    for s in top.iter() {
        if !starts.iter().all(|g| clear(s.spot, g.spot)) {
            continue;
        }
        if !allowed(s.spot) {
            unfit.insert(s.spot);
            continue;
        }
        if !engine.fits(s.spot) {
            tests += 1;
            if tests > TESTS {
                continue;
            }
            if !engine.fits_exactly(s.spot) {
                unfit.insert(s.spot);
                continue;
            }
        }
        starts.push(*s);
        if starts.len() == count {
            break;
        }
    }
    (starts, unfit)
}

/// How a place is moved: steps across and up, turns. First the plain moves, then those
/// that follow a slanting edge or turn along one.
const ABOUT: [(i32, i32, i32); 34] = about();
const PLAIN: usize = 10;

const fn about() -> [(i32, i32, i32); 34] {
    let eight = [
        (1, 0),
        (-1, 0),
        (0, 1),
        (0, -1),
        (1, 1),
        (-1, 1),
        (1, -1),
        (-1, -1),
    ];
    let mut all = [(0, 0, 0); 34];
    all[8] = (0, 0, 1);
    all[9] = (0, 0, -1);
    let mut k = 0;
    while k < 8 {
        let (x, y) = eight[k];
        all[k] = (x, y, 0);
        all[PLAIN + k] = (x, y, 1);
        all[PLAIN + 8 + k] = (x, y, -1);
        // A knight's moves: of (1, 1) make (2, 1), of (1, 0) make (1, 2).
        let knight = if x != 0 && y != 0 {
            (2 * x, y)
        } else if x != 0 {
            (x, 2 * x)
        } else {
            (y, -2 * y)
        };
        all[PLAIN + 16 + k] = (knight.0, knight.1, 0);
        k += 1;
    }
    all
}

/// A place moved to where it is best: to the best of the places about it, while one is
/// better, in steps of 4, 2 and 1 cells and half a degree (pattern search; Hooke & Jeeves,
/// J. ACM 8(2), 1961). It goes only where it is `allowed`, which is asked last.
pub fn improved(
    engine: &Engine,
    start: Spot,
    moves: Moves,
    allowed: &dyn Fn(Spot) -> bool,
    score: &dyn Fn(Spot) -> f64,
) -> (f64, Spot) {
    let (about, mut step) = match moves {
        Moves::Plain => (&ABOUT[..PLAIN], 4),
        Moves::All => (&ABOUT[..], 2),
    };
    let mut best = (score(start), start);
    for _ in 0..MOVES {
        let from = best.1;
        for &(dx, dy, dt) in about {
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
            if moves == Moves::Plain && !engine.fits(spot) {
                continue;
            }
            let score = score(spot);
            if score > best.0 && allowed(spot) {
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

/// Which moves are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moves {
    /// Straight and slanting ones, where whole cells tell that the piece fits.
    Plain,
    /// All, where it fits exactly.
    All,
}
