//! Places for a pair of like shade: each of some good places of the one with the best place
//! for the other beside it; then both make way for each other.

use super::engine::{As, Engine, Look, Scored, Spot};
use super::layer::{PAIR_WEIGHT, Scratch};
use super::pair::{AcceptsPair, PairFound, PairOffer, best, own};
use super::pick::{Moves, Sought, apart, improved, pick, pick_all};
use super::{Ask, NoPlace, Progress};
use crate::fault::Outcome;
use crate::lay::inside_of;
use crate::lay::wish::{Amount, Shade, unlike};
use crate::shape::{Region, near};
use crate::space::Cloth;
use std::cell::RefCell;

/// So many places of each are tried with a place for the other.
const EACH: usize = 4;

/// How often both make way for each other.
const MOVED: usize = 1;

/// So many of the other's are moved to where they are best.
const STARTS: usize = 16;

/// Places of the other that are looked at for one of these, at most.
const MOST: usize = 20_000;

/// A place of one: what it is worth, and its shade, looked at coarsely, finely, closely.
struct Seen {
    spot: Spot,
    score: f64,
    shade: [Vec<Shade>; 3],
}

impl Seen {
    fn at(engine: &Engine, spot: Spot) -> Self {
        let mut scratch = Scratch::default();
        let looks = [Look::Coarsely, Look::Finely, Look::Closely];
        Self {
            spot,
            score: engine.score(spot, Look::Closely, &mut scratch),
            shade: looks.map(|look| engine.shade(spot, look, &mut scratch).to_vec()),
        }
    }

    fn likeness(&self, other: &Seen) -> Amount {
        let [a, b] = [self, other].map(|s| &s.shade[Look::Closely as usize]);
        unlike(a, b, a.len())
    }
}

/// One of the two, sought while the other is held.
struct Beside<'f> {
    engine: &'f Engine<'f>,
    held: &'f Seen,
    /// The held one, if both lie on the same panel.
    still: Option<Region<Cloth>>,
    scratch: RefCell<Scratch>,
}

impl Beside<'_> {
    fn likeness(&self, spot: Spot, look: Look) -> f64 {
        let scratch = &mut self.scratch.borrow_mut();
        let shade = self.engine.shade(spot, look, scratch);
        PAIR_WEIGHT * unlike(&self.held.shade[look as usize], shade, shade.len()).worth()
    }

    fn score(&self, spot: Spot, look: Look) -> f64 {
        let own = self
            .engine
            .score(spot, look, &mut self.scratch.borrow_mut());
        own + self.likeness(spot, look)
    }

    /// Whether it keeps the gap.
    fn clear(&self, spot: Spot) -> bool {
        let ask = self.engine.ask;
        let piece = || inside_of(ask.hand.piece).moved(&self.engine.pose(spot));
        let near = |still: &Region<Cloth>| near(still, &piece(), ask.bed.gap);
        !self.still.as_ref().is_some_and(near)
    }

    /// Its best place.
    fn best(&self) -> Option<Seen> {
        let all = &self.engine.found;
        let some = all.iter().step_by(all.len().div_ceil(MOST).max(1));
        let found = some.map(|s| Scored {
            score: s.score + self.likeness(s.spot, Look::Coarsely) as f32,
            spot: s.spot,
        });
        let sought = Sought {
            found: found.collect(),
            score: &|s, look| self.score(s, look),
            allowed: &|s| self.clear(s),
            wanted: 1,
            apart: 0.0,
            starts: STARTS,
        };
        let picked = pick(self.engine, sought, &|_| Ok(()), &|_| true)?;
        Some(Seen::at(self.engine, *picked.spots.first()?))
    }

    /// Moved to where it suits the held one best.
    fn moved(&self, from: Spot) -> Seen {
        let allowed = |s: Spot| self.engine.fits_exactly(s) && self.clear(s);
        let score = |s: Spot| self.score(s, Look::Closely);
        let (_, spot) = improved(self.engine, from, Moves::All, &allowed, &score);
        Seen::at(self.engine, spot)
    }
}

/// The `k`th, sought while the other is held.
fn beside<'f>(engines: &'f [Engine<'f>], same_panel: bool, k: usize, held: &'f Seen) -> Beside<'f> {
    let other = &engines[1 - k];
    let still = || inside_of(other.ask.hand.piece).moved(&other.pose(held.spot));
    Beside {
        engine: &engines[k],
        held,
        still: same_panel.then(still),
        scratch: RefCell::default(),
    }
}

pub fn alike(
    asks: [&Ask; 2],
    same_panel: bool,
    accepts: AcceptsPair,
    progress: Progress,
) -> Outcome<PairFound> {
    let cells = asks.iter().filter_map(|a| Some(a.shade?.cell()));
    let cell = cells.fold(f64::INFINITY, f64::min);
    let mut engines = Vec::new();
    for (from, ask) in [0.0, 0.3].into_iter().zip(asks) {
        let told = |done: f64| progress(from + 0.3 * done);
        let Some(engine) = Engine::prepare(ask, As::OneOfTwo(cell), &told)? else {
            return Ok(PairFound::Stopped);
        };
        engines.push(engine);
    }
    let mut pairs: Vec<(f64, [Seen; 2])> = Vec::new();
    for (from, k) in [(0.6, 0), (0.8, 1)] {
        let Some(picked) = pick_all(&engines[k], EACH, &|_| Ok(()), &|_| progress(from)) else {
            return Ok(PairFound::Stopped);
        };
        if picked.spots.is_empty() {
            return Ok(PairFound::None(NoPlace::of(asks[k], picked.refused)));
        }
        for (done, spot) in picked.spots.into_iter().enumerate() {
            if !progress(from + 0.2 * done as f64 / EACH as f64) {
                return Ok(PairFound::Stopped);
            }
            let mut one = Seen::at(&engines[k], spot);
            let Some(mut two) = beside(&engines, same_panel, 1 - k, &one).best() else {
                continue;
            };
            for _ in 0..MOVED {
                one = beside(&engines, same_panel, k, &two).moved(one.spot);
                two = beside(&engines, same_panel, 1 - k, &one).moved(two.spot);
            }
            let score = one.score + two.score + PAIR_WEIGHT * one.likeness(&two).worth();
            pairs.push((score, if k == 0 { [one, two] } else { [two, one] }));
        }
    }
    pairs.sort_by(|p, q| q.0.total_cmp(&p.0));
    let limit = asks.map(apart);
    let mut chosen: Vec<(f64, [Seen; 2])> = Vec::new();
    let mut refused = None;
    for (score, pair) in pairs {
        let same = |k: usize, c: &[Seen; 2]| {
            engines[k].apart_squared(c[k].spot, pair[k].spot) < limit[k] * limit[k]
        };
        let taken = chosen.iter().any(|(_, c)| same(0, c) && same(1, c));
        if taken || chosen.len() >= asks[0].limits.offers {
            continue;
        }
        let places = [0, 1].map(|k: usize| engines[k].place(pair[k].spot));
        match accepts(&places) {
            Ok(()) => chosen.push((score, pair)),
            Err(why) => refused = Some(why),
        }
    }
    let offers = chosen.into_iter().map(|(score, pair)| PairOffer {
        first: own(engines[0].offer(pair[0].spot)),
        second: own(engines[1].offer(pair[1].spot)),
        alike: pair[0].likeness(&pair[1]),
        score,
    });
    Ok(best(offers.collect(), asks[0], refused))
}
