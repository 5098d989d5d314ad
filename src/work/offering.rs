//! Places that are offered for what is in hand, or for all that is open: one after another
//! as light, and laid only when the person takes one.
//!
//! The bench searches nothing itself. It says what is sought ([`Bench::query`]); whoever
//! runs the windows searches, beside everything else, and tells what comes of it
//! ([`Act::Found`]).

use super::act::{Act, Reply, Touched};
use super::bench::Bench;
use super::doing::Doing;
use super::goods::Goods;
use super::op::{Id, Op, Spot};
use super::state::State;
use crate::cloth::Panel;
use crate::lay::{Count, Placement};
use std::collections::BTreeMap;

/// What places are sought for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seek {
    /// The piece in hand.
    Hand,
    /// The piece in hand and its partner, together.
    Pair,
    /// All that is ordered and not laid yet.
    Open,
}

/// What a search says.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// How far it is, 0 to 1, in a few words if there are any.
    Share(f64, String),
    /// The best first.
    Offers(Vec<Offered>),
    /// Nothing, and why: a sentence without a full stop.
    Nothing(String),
}

/// One suggestion: where pieces would lie, and why there.
#[derive(Debug, Clone, PartialEq)]
pub struct Offered {
    /// Each with its number: of pieces that lie there, where they would; others are new.
    pub placed: Vec<Placement>,
    /// In a few words, without a full stop.
    pub why: String,
}

/// What the person is offered now.
#[derive(Debug, Clone, PartialEq)]
pub struct Offering {
    /// Of this search.
    pub number: u64,
    pub seek: Seek,
    /// In the light's words: `upper 1`, `all that is still to lay`.
    pub name: String,
    /// While it is sought: how far that is, and what is said of it.
    pub share: f64,
    pub told: String,
    /// The person has had enough: what is best so far is offered.
    pub enough: bool,
    /// None while it is sought.
    pub offers: Vec<Offered>,
    pub at: usize,
    /// What lay and where when it was sought: what was found fits nothing else.
    upon: (BTreeMap<Id, Placement>, Vec<Panel>),
}

impl Offering {
    pub fn offered(&self) -> Option<&Offered> {
        self.offers.get(self.at)
    }

    pub(super) fn asks(&self) -> String {
        let name = &self.name;
        let Some(offer) = self.offered() else {
            let told = match self.told.as_str() {
                "" => format!("{:.0} %", 100.0 * self.share),
                told => told.to_owned(),
            };
            let best = match self.seek {
                Seek::Open => "; Enter: the best so far",
                _ => "",
            };
            return format!("looking for places for {name}: {told}{best}; Esc: leave it");
        };
        let all = self.offers.len();
        let which = match all {
            1 => format!("a place for {name}"),
            _ => format!("place {} of {all} for {name}", self.at + 1),
        };
        let next = if all > 1 { ", Tab: the next" } else { "" };
        format!("{which}: {}. Enter: take it{next}", offer.why)
    }
}

/// All that a search needs, on any thread.
#[derive(Debug, Clone)]
pub struct Query {
    pub number: u64,
    pub seek: Seek,
    pub goods: Goods,
    pub state: State,
    /// The piece in hand, and its partner; each as it lies, or as it would be laid anew.
    pub hands: Vec<Placement>,
    /// The first number that no piece has had.
    pub next: Id,
    /// The guide's width, mm.
    pub band: f64,
}

impl Bench {
    /// The search that is wanted now, by its number.
    pub fn sought(&self) -> Option<(u64, bool)> {
        match &self.doing {
            Doing::Offering(o) if o.offers.is_empty() => Some((o.number, o.enough)),
            _ => None,
        }
    }

    /// All that the search needs that is wanted now.
    pub fn query(&self) -> Option<Query> {
        let Doing::Offering(o) = &self.doing else {
            return None;
        };
        Some(Query {
            number: o.number,
            seek: o.seek,
            goods: self.goods.clone(),
            state: self.state.clone(),
            hands: match o.seek {
                Seek::Open => Vec::new(),
                Seek::Hand => self.in_hand().into_iter().map(|(_, p)| p).collect(),
                Seek::Pair => {
                    let both = self.in_hand().map(|(_, p)| [self.its_partner(&p), Some(p)]);
                    let both = both.into_iter().flatten().flatten();
                    both.rev().collect()
                }
            },
            next: self.new_id(),
            band: self.ways().lit_width().max(self.lit.band()),
        })
    }

    pub(super) fn seek(&mut self, mut seek: Seek) -> Reply {
        let name = match seek {
            Seek::Open => {
                let counts = self.counts();
                if counts.iter().all(|c| c.open() == 0) {
                    let wrong = counts.iter().find_map(Count::too_much);
                    return Reply::refused(wrong.map_or_else(
                        || "all that is ordered is laid".to_owned(),
                        |(what, remedy)| format!("{what}; {remedy}"),
                    ));
                }
                "all that is still to lay".to_owned()
            }
            _ => {
                if self.movable().is_none() {
                    return self.nothing_to_move();
                }
                let Some((_, p)) = self.in_hand() else {
                    return self.nothing_to_move();
                };
                let name = format!("{} {}", p.piece, p.article);
                if seek == Seek::Pair && self.goods.stock().gives(&p, &self.state.panels).len() > 1
                {
                    // Both hands are cut at once, at one place.
                    seek = Seek::Hand;
                }
                match seek {
                    Seek::Pair if self.its_partner(&p).is_none() => {
                        return Reply::refused(format!(
                            "{name} has no partner that could move: lay one, or free it"
                        ));
                    }
                    Seek::Pair => format!("{name} and its partner"),
                    _ => name,
                }
            }
        };
        self.doing = Doing::Offering(Box::new(Offering {
            number: self.next_gesture(),
            seek,
            name,
            share: 0.0,
            told: String::new(),
            enough: false,
            offers: Vec::new(),
            at: 0,
            upon: self.upon(),
        }));
        Reply::touching(Touched::All)
    }

    /// The other hand of a placement: one that lies there and may move, else one that the
    /// order takes, on the same panel.
    fn its_partner(&self, p: &Placement) -> Option<Placement> {
        let cloth = |q: &Placement| self.state.panel(&q.panel).map(|panel| &panel.cloth);
        let is = |q: &&Placement| {
            (&q.piece, &q.article) == (&p.piece, &p.article)
                && q.face != p.face
                && cloth(q) == cloth(p)
        };
        let mut laid = self.state.placed.values().filter(is).peekable();
        if laid.peek().is_some() {
            let moves = |q: &&Placement| {
                let cut = q.id.is_some_and(|id| self.state.cuts.has(id));
                let spread = self.state.panel(&q.panel).is_some_and(|panel| panel.spread);
                !q.locked && !cut && spread
            };
            return laid.find(moves).cloned();
        }
        let new = Placement {
            id: Some(self.new_id()),
            face: p.face.other(),
            locked: false,
            ..p.clone()
        };
        self.takes(&new, None).is_ok().then_some(new)
    }

    /// Answers while places are sought or offered; hands back what is not about them.
    pub(super) fn while_offering(&mut self, act: Act) -> Result<Reply, Act> {
        match (&act, &mut self.doing) {
            (Act::Seek(seek), Doing::Laying) => Ok(self.seek(*seek)),
            (Act::Seek(_), Doing::Offering(_)) => Ok(Reply::default()),
            (Act::Seek(_), _) => Ok(Reply::refused(
                "finish what is being done first, or leave it (Esc)",
            )),
            (Act::Found { number, found }, Doing::Offering(o)) if o.number == *number => {
                let found = (**found).clone();
                Ok(self.found(found))
            }
            // Of a search that nobody waits for any more.
            (Act::Found { .. }, _) => Ok(Reply::default()),
            (Act::Next, Doing::Offering(o)) => Ok(stepped(o, 1)),
            (Act::Previous, Doing::Offering(o)) => Ok(stepped(o, -1)),
            (Act::Finish, Doing::Offering(o)) => {
                if o.offers.is_empty() {
                    o.enough |= o.seek == Seek::Open;
                    return Ok(Reply::touching(Touched::Over));
                }
                Ok(self.take_offer())
            }
            // The piece in hand stays in hand, where it was.
            (Act::Leave, Doing::Offering(_)) => {
                self.doing = Doing::Laying;
                Ok(Reply::touching(Touched::All))
            }
            // Nothing is moved while a place for it is looked at.
            (
                Act::Turn(_)
                | Act::Nudge { .. }
                | Act::Hold(_)
                | Act::LetGo
                | Act::Square
                | Act::Bias
                | Act::TurnOver
                | Act::Another
                | Act::Partner
                | Act::PartnerAcross
                | Act::TakeAway
                | Act::Lock
                | Act::Lay { .. }
                | Act::Press,
                Doing::Offering(_),
            ) => Ok(Reply::refused("take the place, or leave it, first")),
            _ => Err(act),
        }
    }

    fn found(&mut self, found: Finding) -> Reply {
        let Doing::Offering(o) = &mut self.doing else {
            return Reply::default();
        };
        match found {
            Finding::Share(share, told) => {
                (o.share, o.told) = (share, told);
                Reply::touching(Touched::Over)
            }
            Finding::Offers(offers) if !offers.is_empty() => {
                o.offers = offers;
                Reply::touching(Touched::All)
            }
            Finding::Offers(_) => {
                self.no_place("none that is free was found; make room, or wish for less")
            }
            Finding::Nothing(why) => self.no_place(&why),
        }
    }

    fn no_place(&mut self, why: &str) -> Reply {
        let Doing::Offering(o) = std::mem::take(&mut self.doing) else {
            return Reply::default();
        };
        Reply {
            touched: Touched::All,
            ..Reply::refused(format!("no place for {}: {why}", o.name))
        }
    }

    /// What is offered is laid so.
    fn take_offer(&mut self) -> Reply {
        let Doing::Offering(o) = std::mem::take(&mut self.doing) else {
            return Reply::default();
        };
        let Some(offer) = o.offered() else {
            return Reply::default();
        };
        let ops = offer.placed.iter().filter_map(|p| {
            let (id, to) = (p.id?, Spot::of(p));
            Some(match self.spot(id) {
                Some(from) => Op::Move { id, from, to },
                None => Op::Lay {
                    id,
                    placed: p.clone(),
                },
            })
        });
        let ops: Vec<Op> = ops.collect();
        if !self.does(ops) {
            return Reply {
                touched: Touched::All,
                ..Reply::refused(
                    "pieces were moved meanwhile, so the place may be taken: look again",
                )
            };
        }
        let said = match offer.placed.len() {
            1 => format!("{} lies there", o.name),
            n => format!("{n} pieces lie there; undo takes them away in one step"),
        };
        Reply::touching(Touched::All).saying(said)
    }

    /// What was found fits nothing but the lay that it was sought on.
    pub(super) fn offers_still_fit(&self) -> bool {
        match &self.doing {
            Doing::Offering(o) => o.upon.0 == self.state.placed && o.upon.1 == self.state.panels,
            _ => true,
        }
    }

    fn upon(&self) -> (BTreeMap<Id, Placement>, Vec<Panel>) {
        (self.state.placed.clone(), self.state.panels.clone())
    }

    /// Where pieces would lie by what is offered now.
    pub(super) fn offered(&self) -> &[Placement] {
        match &self.doing {
            Doing::Offering(o) => o.offered().map_or(&[], |offer| &offer.placed[..]),
            _ => &[],
        }
    }

    /// A placement as it is lit: where it lies, or where it is offered a place.
    pub fn shown(&self, id: Id) -> Option<&Placement> {
        let offered = self.offered().iter().find(|p| p.id == Some(id));
        offered.or_else(|| self.state.placed.get(&id))
    }

    /// The other hand of a placement's part, as it is lit.
    pub fn partner_shown(&self, p: &Placement) -> Option<&Placement> {
        let cloth = |q: &Placement| self.state.panel(&q.panel).map(|panel| &panel.cloth);
        let all = self.all_shown();
        let mut others = all.into_values().filter(|q| {
            (&q.piece, &q.article) == (&p.piece, &p.article)
                && q.face != p.face
                && cloth(q) == cloth(p)
        });
        others.next()
    }

    /// All that is lit: what lies there, and what is offered.
    pub(super) fn all_shown(&self) -> BTreeMap<Id, &Placement> {
        let mut all: BTreeMap<Id, &Placement> =
            self.state.placed.iter().map(|(id, p)| (*id, p)).collect();
        let offered = self.offered().iter();
        all.extend(offered.filter_map(|p| Some((p.id?, p))));
        all
    }
}

fn stepped(o: &mut Offering, by: isize) -> Reply {
    let n = o.offers.len();
    if n < 2 {
        return Reply::default();
    }
    o.at = (o.at as isize + by).rem_euclid(n as isize) as usize;
    Reply::touching(Touched::All)
}
