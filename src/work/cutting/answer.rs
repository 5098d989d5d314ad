//! What each signal comes to.

use super::{Cutting, Errand, Item, Of, Phase};
use crate::lay::Marking;
use crate::work::act::{Act, Reply, Said, Touched};
use crate::work::bench::Bench;
use crate::work::doing::Doing;
use crate::work::op::Op;
use crate::work::signals::{Signal, Told};
use crate::work::switches::switch_words;

/// The marks were pointed at, and the light is not on them.
const OFF: &str = "the light is off the table's marks, and what is cut now is cut beside its place: \
                   set the table anew (F2), or go on again to cut all the same";

impl Bench {
    /// Cutting is under way, or an errand from it.
    pub fn is_cutting(&self) -> bool {
        self.course.is_on()
    }

    /// Over to cutting. What speaks against it is said once each time; who means it goes on.
    pub(in crate::work) fn begin_cutting(&mut self) -> Reply {
        if !self.is_cutting()
            && let Some(doubts) = self.doubts()
            && self.course.tells(&doubts)
        {
            return Reply::refused(format!("{doubts}; Enter again to cut all the same"));
        }
        if self.same_hands().is_some() {
            self.course.hands_are_told();
        }
        self.course.begin(self.log.history().depth());
        self.hand.release();
        self.go_to_next();
        Reply::touching(Touched::All)
    }

    /// Takes cutting up where it was when the program stopped: asks whether the
    /// cloth has moved. Does nothing if nothing was cut, or all is.
    pub fn take_up(&mut self) {
        let left = self.state.placed.keys().any(|id| self.state.is_to_cut(*id));
        let marks = self.state.cuts.parts.iter();
        let to_mark = marks
            .into_iter()
            .any(|p| p.marking == Marking::ToDo && !p.spoilt);
        let cuts = &self.state.cuts;
        let begun = !(cuts.parts.is_empty() && cuts.apart.is_empty());
        if !begun || !(left || to_mark || cuts.parts.iter().any(|p| self.is_wanted_again(p))) {
            return;
        }
        self.course.take_up();
        let now = self.cutting_now();
        self.doing = Doing::Cutting(Cutting {
            phase: Phase::Returned,
            ..now
        });
        self.settle();
    }

    /// Answers a signal while cutting.
    pub(in crate::work) fn signalled(&mut self, told: Told) -> Reply {
        let Doing::Cutting(cutting) = &self.doing else {
            return self.signalled_elsewhere(told);
        };
        let cutting = cutting.clone();
        let reply = match (cutting.list, told) {
            (Some(_), Told::List) => {
                self.list(None);
                Reply::touching(Touched::All)
            }
            (Some(at), Told::GoOn) => {
                let n = Item::of(&cutting.phase).len();
                self.list(Some((at + 1) % n));
                Reply::touching(Touched::Over)
            }
            (Some(at), Told::Back) => {
                self.list(None);
                let item = Item::of(&cutting.phase).get(at).copied();
                self.take_item(item.unwrap_or(Item::Close), &cutting.phase)
            }
            (None, Told::List) => {
                self.list(Some(0));
                Reply::touching(Touched::Over)
            }
            (None, Told::GoOn) => self.go_on(&cutting),
            (None, Told::Back) => self.back(&cutting),
        };
        Reply {
            touched: reply.touched.and(Touched::All),
            ..reply
        }
    }

    /// Signals work the carrying of cloth, too: it is slid under its marks.
    fn signalled_elsewhere(&mut self, told: Told) -> Reply {
        let pointed = match &self.doing {
            Doing::Laying => return Reply::default(),
            Doing::Lengths(_) => {
                let act = match told {
                    Told::GoOn => Act::Finish,
                    Told::Back => Act::BackUp,
                    _ => Act::Leave,
                };
                return self.while_laying_tapes(act).unwrap_or_default();
            }
            Doing::Carrying { now, .. } => Some(now.iter().flatten().count()),
            _ => None,
        };
        match (told, pointed) {
            (Told::GoOn, _) => self.finish(),
            (Told::Back, Some(1..)) => self.back_up(),
            (_, pointed) => {
                self.doing = Doing::Laying;
                Reply {
                    touched: Touched::All,
                    said: pointed.map(|_| Said {
                        words: "the lay was not moved: slide the cloth until it lies in its light \
                                as before"
                            .to_owned(),
                        warning: true,
                    }),
                }
            }
        }
    }

    /// While cutting nothing is moved under the blade, and what is in hand is what
    /// is asked for. Gives back an act that cutting has nothing to say about.
    pub(in crate::work) fn while_cutting(&mut self, act: Act) -> Result<Reply, Act> {
        if self.doing.cutting().is_none() {
            return Err(act);
        }
        match act {
            // A wheel is brushed by accident.
            Act::Turn(_) | Act::Next | Act::Previous | Act::LetGo => Ok(Reply::default()),
            Act::Nudge { .. }
            | Act::Square
            | Act::Bias
            | Act::TurnOver
            | Act::Another
            | Act::Partner
            | Act::PartnerAcross
            | Act::TakeAway
            | Act::Lock => Ok(Reply::refused(
                "nothing is moved under the blade: leave cutting first (Esc)",
            )),
            Act::Hold(id) => Ok(self.cut_next(id)),
            act => Err(act),
        }
    }

    fn list(&mut self, list: Option<usize>) {
        if let Doing::Cutting(c) = &mut self.doing {
            c.list = list;
        }
    }

    pub(super) fn turn_to(&mut self, phase: Phase) {
        self.hold_of(&phase);
        if let Doing::Cutting(c) = &mut self.doing {
            c.phase = phase;
            c.list = None;
        }
    }

    fn go_on(&mut self, cutting: &Cutting) -> Reply {
        match &cutting.phase {
            // The pointer was put on its edge: that is what it is there for.
            Phase::LaidBack { .. } if self.notch_at().is_some() => return self.notch_next_time(),
            Phase::Check { off, .. } => {
                // Said once; the finding stands in the light from then on.
                if self.is_seen_off() && self.course.tells(OFF) {
                    return Reply::refused(OFF);
                }
                self.note_check(*off);
                self.go_to_next();
            }
            Phase::Returned | Phase::LaidBack { .. } => self.go_to_next(),
            Phase::Stack { panel } => return self.restack(panel, &cutting.rough),
            Phase::Apart { panel } => {
                let from = self.state.cuts.apart.clone();
                let to = from.iter().chain([panel]).cloned().collect();
                self.does(vec![Op::Apart { from, to }]);
                self.go_to_next();
            }
            Phase::Piece { id } => return self.cut(*id),
            Phase::Walk { .. } => return self.walk_on(&cutting.phase),
            Phase::Notches { of, at, over } => {
                return self.notch_done(*of, *at, *over, false);
            }
            Phase::Marks { part } => return self.mark(*part, Marking::Done),
            Phase::Choose { to, at } => {
                // The last is none of them.
                let n = self.choices(*to).len() + 1;
                self.turn_to(Phase::Choose {
                    to: *to,
                    at: (at + 1) % n,
                });
            }
            Phase::Again { part, places, at } => return self.lay_again(*part, places.get(*at)),
            Phase::Over => {
                self.course.later_is_now();
                self.go_to_next();
            }
        }
        Reply::touching(Touched::All)
    }

    fn back(&mut self, cutting: &Cutting) -> Reply {
        match &cutting.phase {
            Phase::Returned => self.has_moved(),
            Phase::LaidBack { of, over } => {
                self.turn_to(Phase::LaidBack {
                    of: *of,
                    over: !over,
                });
                Reply::touching(Touched::All)
            }
            Phase::Walk { .. } => self.walk_back(&cutting.phase),
            Phase::Notches {
                of: Of::Piece(id),
                at,
                over,
            } => {
                let of = Of::Piece(*id);
                self.turn_to(match at.checked_sub(1) {
                    Some(at) => Phase::Notches {
                        of,
                        at,
                        over: *over,
                    },
                    None => Phase::Piece { id: *id },
                });
                Reply::touching(Touched::All)
            }
            Phase::Notches { of, at, over } => self.notch_done(*of, *at, *over, true),
            Phase::Check { seen, .. } => {
                let mut seen = seen.clone();
                seen.pop();
                self.turn_to(Phase::Check { off: true, seen });
                Reply::touching(Touched::All)
            }
            Phase::Choose { to, at } => match (to, self.choices(*to).get(*at).copied()) {
                (Errand::LayBack, Some(of)) => self.lay_back(of),
                (Errand::Spoilt, Some(Of::Part(part))) => self.spoil(part),
                _ => {
                    self.go_to_next();
                    Reply::touching(Touched::All)
                }
            },
            Phase::Again { part, places, at } => {
                let at = at + 1;
                if at >= places.len() {
                    return self.put_off(*part);
                }
                self.turn_to(Phase::Again {
                    part: *part,
                    places: places.clone(),
                    at,
                });
                Reply::touching(Touched::All)
            }
            _ => self.take_back_last(),
        }
    }

    /// What *back* would take back, where it takes back the last.
    pub(super) fn can_be_taken_back(&self) -> Option<String> {
        let history = self.history();
        let cut = self.course.is_since(history.depth()) && history.last_is_cutting();
        history.last().filter(|_| cut)
    }

    /// The last thing that was signalled is taken back.
    fn take_back_last(&mut self) -> Reply {
        if self.can_be_taken_back().is_none() {
            let history = self.history();
            let ours = self.course.is_since(history.depth());
            return Reply::refused(match history.last() {
                Some(last) if ours => format!(
                    "back takes back cuts only, and the last thing done was another: {last}; Ctrl+Z \
                     undoes it"
                ),
                _ => "nothing that was cut can be taken back".to_owned(),
            });
        }
        let reply = self.step_back();
        self.go_to_next();
        reply
    }

    pub(super) fn next_with(&mut self, words: &str) -> Reply {
        self.go_to_next();
        Reply::touching(Touched::All).saying(words)
    }

    fn take_item(&mut self, item: Item, phase: &Phase) -> Reply {
        let choose = |to| Phase::Choose { to, at: 0 };
        match (item, phase) {
            (Item::LayBack, _) => self.turn_to(choose(Errand::LayBack)),
            (Item::Spoilt, _) => self.turn_to(choose(Errand::Spoilt)),
            (Item::Moved, Phase::Stack { .. }) => return self.lies_elsewhere(),
            (Item::Moved, _) => return self.has_moved(),
            (Item::Check, _) => {
                self.course.tells_anew();
                self.turn_to(Phase::Check {
                    off: false,
                    seen: Vec::new(),
                });
                return Reply::touching(Touched::All).saying(self.bare_words());
            }
            (Item::Waive, Phase::Marks { part }) => return self.mark(*part, Marking::Waived),
            (Item::NotchByNotch, Phase::Piece { id }) => {
                return self.notch_by_notch(Of::Piece(*id), false);
            }
            (
                Item::NotchByNotch,
                Phase::LaidBack {
                    of: of @ Of::Part(_),
                    over,
                },
            ) => return self.notch_by_notch(*of, *over),
            (
                Item::ThisSpoilt,
                Phase::LaidBack {
                    of: Of::Part(part), ..
                },
            ) => return self.spoil(*part),
            (Item::NotchNextTime, _) => return self.notch_next_time(),
            (Item::Walk, Phase::LaidBack { of, over }) => self.turn_to(Phase::Walk {
                of: *of,
                edge: 0,
                to: None,
                over: *over,
            }),
            (Item::Outlines, _) => self.course.show_outlines(!self.shows_outlines()),
            (Item::Close, Phase::Again { part, .. }) => return self.put_off(*part),
            (
                Item::Close,
                Phase::LaidBack { .. }
                | Phase::Walk { .. }
                | Phase::Notches { .. }
                | Phase::Choose { .. }
                | Phase::Check { .. },
            ) => self.go_to_next(),
            _ => {}
        }
        Reply::touching(Touched::All)
    }

    /// A part is lit again, whole.
    pub(super) fn lay_back(&mut self, of: Of) -> Reply {
        self.turn_to(Phase::LaidBack { of, over: false });
        Reply::touching(Touched::All)
    }

    /// Something from the list, named outright.
    pub(in crate::work) fn take_from_list(&mut self, item: Item) -> Reply {
        let Doing::Cutting(cutting) = &self.doing else {
            return Reply::refused("nothing is being cut: begin with Enter");
        };
        let phase = cutting.phase.clone();
        if !Item::of(&phase).contains(&item) {
            return Reply::refused(
                "that can't be done at this point of the work: go on, or back, first",
            );
        }
        self.list(None);
        self.take_item(item, &phase)
    }

    /// This switch shall mean the signal that is being taught.
    pub(in crate::work) fn taught(&mut self, name: String) -> Reply {
        let Doing::Teaching { signal } = self.doing else {
            return Reply::default();
        };
        self.doing = Doing::Laying;
        let from = self.state.cuts.switches.clone();
        let mut to = from.clone();
        let (own, other) = match signal {
            Signal::GoOn => (&mut to.go_on, &mut to.back),
            Signal::Back => (&mut to.back, &mut to.go_on),
        };
        // One switch can't mean both.
        if other.as_ref() == Some(&name) {
            *other = None;
        }
        let said = format!("{} means {}", switch_words(&name), signal.words());
        *own = Some(name);
        self.does(vec![Op::Switches { from, to }]);
        Reply::touching(Touched::All).saying(said)
    }
}
