//! Places for a pair, found together.

use super::bed::Fold;
use super::engine::{As, Engine, Spot};
use super::layer::PAIR_WEIGHT;
use super::pick::{apart, improved, pick};
use super::{Ask, NoPlace, Offer, Place, Progress};
use crate::fault::Outcome;
use crate::lay::inside_of;
use crate::lay::wish::{Amount, Shade, unlike};
use crate::shape::near;

/// Places of each that are put together with those of the other.
const EACH: usize = 24;

/// Pairs of places that are improved, at most.
const IMPROVED: usize = 24;

/// How often one is moved to suit the other.
const TURNS: usize = 2;

/// How the two lie to each other.
#[derive(Debug, Clone, Copy)]
pub enum Together<'a> {
    /// Mirrored about a line of the panel; the second is the first turned over.
    Mirrored(Fold),
    /// Each at its best, both of like shade.
    Alike {
        /// What is asked for the second: the same piece, the other way up.
        second: &'a Ask<'a>,
        /// On the same panel: then they keep the gap from each other.
        same_panel: bool,
    },
}

/// What is asked for a pair.
#[derive(Debug, Clone)]
pub struct PairAsk<'a> {
    pub first: &'a Ask<'a>,
    pub together: Together<'a>,
}

/// Two places that are offered together; the two offers' scores are of their own wishes.
#[derive(Debug, Clone, PartialEq)]
pub struct PairOffer {
    pub first: Offer,
    pub second: Offer,
    /// How alike they are in shade.
    pub alike: Amount,
    /// What the pair is worth, in units of L\*.
    pub score: f64,
}

impl PairOffer {
    /// Why it is offered, in a few words without a full stop.
    pub fn why(&self) -> String {
        let alike = match self.alike {
            Amount::Unlike { mean, .. } => format!("alike within {mean:.1}"),
            _ => "their shades are not known".to_owned(),
        };
        let own = [self.first.why(), self.second.why()];
        if self.first.kept.is_empty() && self.second.kept.is_empty() {
            return alike;
        }
        format!("{}; its partner {}; {alike}", own[0], own[1])
    }
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub enum PairFound {
    /// The best first; never none.
    Pairs(Vec<PairOffer>),
    None(NoPlace),
    Stopped,
}

/// The last word on both places: `Err` says why they will not do.
pub type AcceptsPair<'f> = &'f dyn Fn(&[Place; 2]) -> Result<(), String>;

/// The best places for a pair. Two pairs of places are distinct if either piece's are.
///
/// # Errors
/// As [`super::find`].
pub fn find_pair(ask: &PairAsk, accepts: AcceptsPair, progress: Progress) -> Outcome<PairFound> {
    match ask.together {
        Together::Mirrored(fold) => mirrored(ask.first, &fold, accepts, progress),
        Together::Alike { second, same_panel } => {
            alike([ask.first, second], same_panel, accepts, progress)
        }
    }
}

fn own(mut offer: Offer) -> Offer {
    offer.score = offer.kept.iter().map(|k| k.weight * k.amount.worth()).sum();
    offer
}

fn mirrored(
    ask: &Ask,
    fold: &Fold,
    accepts: AcceptsPair,
    progress: Progress,
) -> Outcome<PairFound> {
    let mut pairs = Vec::new();
    let mut refused = None;
    for (side, left) in [(0.0, true), (0.5, false)] {
        let told = |done: f64| progress(side + done / 2.0);
        let Some(engine) = Engine::prepare(ask, As::Folded(fold, left), &told)? else {
            return Ok(PairFound::Stopped);
        };
        let Some(picked) = pick(&engine, (ask.limits.offers, apart(ask)), accepts, &told) else {
            return Ok(PairFound::Stopped);
        };
        refused = picked.refused.or(refused);
        for spot in picked.spots {
            let first = engine.offer(spot);
            let (second, alike) = engine.second(spot);
            pairs.push(PairOffer {
                score: first.score,
                first: own(first),
                second: own(second),
                alike,
            });
        }
    }
    Ok(best(pairs, ask, refused))
}

fn best(mut pairs: Vec<PairOffer>, ask: &Ask, refused: Option<String>) -> PairFound {
    if pairs.is_empty() {
        return PairFound::None(NoPlace::of(ask, refused));
    }
    pairs.sort_by(|a, b| b.score.total_cmp(&a.score));
    pairs.truncate(ask.limits.offers.max(1));
    PairFound::Pairs(pairs)
}

/// A place of one, what it is worth, and the shade there.
struct Seen {
    spot: Spot,
    score: f64,
    shade: Vec<Shade>,
}

fn seen(engine: &Engine, spot: Spot) -> Seen {
    Seen {
        spot,
        score: engine.score(spot, &mut Default::default()),
        shade: engine.shade(spot),
    }
}

fn together(a: &Seen, b: &Seen) -> f64 {
    a.score + b.score + PAIR_WEIGHT * unlike(&a.shade, &b.shade, a.shade.len()).worth()
}

fn alike(
    asks: [&Ask; 2],
    same_panel: bool,
    accepts: AcceptsPair,
    progress: Progress,
) -> Outcome<PairFound> {
    let mut engines = Vec::new();
    let mut lists: Vec<Vec<Seen>> = Vec::new();
    for (from, ask) in [0.0, 0.4].into_iter().zip(asks) {
        let told = |done: f64| progress(from + 0.4 * done);
        let Some(engine) = Engine::prepare(ask, As::OneOfTwo, &told)? else {
            return Ok(PairFound::Stopped);
        };
        // Closer together than offers: the second must have a choice.
        let Some(picked) = pick(&engine, (EACH, apart(ask) / 2.0), &|_| Ok(()), &told) else {
            return Ok(PairFound::Stopped);
        };
        if picked.spots.is_empty() {
            return Ok(PairFound::None(NoPlace::of(ask, picked.refused)));
        }
        lists.push(picked.spots.iter().map(|s| seen(&engine, *s)).collect());
        engines.push(engine);
    }
    let clear = |a: Spot, b: Spot| {
        let at = |k: usize, s: Spot| inside_of(asks[k].hand.piece).moved(&engines[k].pose(s));
        !same_panel || !near(&at(0, a), &at(1, b), asks[0].bed.gap)
    };
    let mut combined: Vec<(f64, usize, usize)> = Vec::new();
    for (i, a) in lists[0].iter().enumerate() {
        for (j, b) in lists[1].iter().enumerate() {
            combined.push((together(a, b), i, j));
        }
    }
    combined.sort_by(|p, q| q.0.total_cmp(&p.0).then((p.1, p.2).cmp(&(q.1, q.2))));
    let combined = combined
        .into_iter()
        .filter(|(_, i, j)| clear(lists[0][*i].spot, lists[1][*j].spot));
    let mut pairs: Vec<(f64, [Seen; 2])> = Vec::new();
    for (k, (_, i, j)) in combined.take(IMPROVED).enumerate() {
        if !progress(0.8 + 0.2 * k as f64 / IMPROVED as f64) {
            return Ok(PairFound::Stopped);
        }
        let mut pair = [
            seen(&engines[0], lists[0][i].spot),
            seen(&engines[1], lists[1][j].spot),
        ];
        for turn in 0..2 * TURNS {
            let (own, other) = (turn % 2, 1 - turn % 2);
            let start = pair[own].spot;
            let held = pair[other].spot;
            let allowed = |s: Spot| match own {
                0 => clear(s, held),
                _ => clear(held, s),
            };
            let fixed = &pair[other];
            let mut score = |s: Spot| together(&seen(&engines[own], s), fixed);
            let (_, spot) = improved(&engines[own], start, &allowed, &mut score);
            pair[own] = seen(&engines[own], spot);
        }
        pairs.push((together(&pair[0], &pair[1]), pair));
    }
    pairs.sort_by(|p, q| q.0.total_cmp(&p.0));
    let limit = asks.map(apart);
    let mut chosen: Vec<(f64, [Seen; 2])> = Vec::new();
    let mut refused = None;
    for (score, pair) in pairs {
        let same = |k: usize, c: &[Seen; 2]| {
            engines[k].apart_squared(c[k].spot, pair[k].spot) < limit[k] * limit[k]
        };
        if chosen.iter().any(|(_, c)| same(0, c) && same(1, c)) {
            continue;
        }
        let places = [
            engines[0].place(pair[0].spot),
            engines[1].place(pair[1].spot),
        ];
        match accepts(&places) {
            Ok(()) => chosen.push((score, pair)),
            Err(why) => refused = Some(why),
        }
        if chosen.len() >= asks[0].limits.offers {
            break;
        }
    }
    let offers = chosen.into_iter().map(|(score, pair)| PairOffer {
        first: own(engines[0].offer(pair[0].spot)),
        second: own(engines[1].offer(pair[1].spot)),
        alike: unlike(&pair[0].shade, &pair[1].shade, pair[0].shade.len()),
        score,
    });
    Ok(best(offers.collect(), asks[0], refused))
}
