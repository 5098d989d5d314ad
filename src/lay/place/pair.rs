//! Places for a pair, found together.

use super::bed::Fold;
use super::engine::{As, Engine};
use super::pick::pick_all;
use super::{Ask, NoPlace, Offer, Place, Progress, alike};
use crate::fault::Outcome;
use crate::lay::wish::Amount;

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
        let alike = alike(self.alike);
        let own = [self.first.why(), self.second.why()];
        if self.first.kept.is_empty() && self.second.kept.is_empty() {
            return alike;
        }
        format!("{}; its partner {}; {alike}", own[0], own[1])
    }
}

/// How alike two are, in a few words.
pub(super) fn alike(amount: Amount) -> String {
    match amount {
        Amount::Unlike { mean, .. } => format!("alike within {mean:.1}"),
        _ => "their shades are not known".to_owned(),
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
            alike::alike([ask.first, second], same_panel, accepts, progress)
        }
    }
}

/// Its score by its own wishes alone.
pub(super) fn own(mut offer: Offer) -> Offer {
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
        let Some(picked) = pick_all(&engine, ask.limits.offers, accepts, &told) else {
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

pub(super) fn best(mut pairs: Vec<PairOffer>, ask: &Ask, refused: Option<String>) -> PairFound {
    if pairs.is_empty() {
        return PairFound::None(NoPlace::of(ask, refused));
    }
    pairs.sort_by(|a, b| b.score.total_cmp(&a.score));
    pairs.truncate(ask.limits.offers.max(1));
    PairFound::Pairs(pairs)
}
