//! What each signal comes to.

use super::{Cutting, Errand, Item, Lying, Of, Phase};
use crate::lay::{CutPart, Hands, Marking};
use crate::shape::{along, nearest};
use crate::space::{Piece, Point};
use crate::work::act::{Act, Reply, Said, Touched};
use crate::work::bench::Bench;
use crate::work::cuts::AddedNotch;
use crate::work::doing::Doing;
use crate::work::op::{Id, Op};
use crate::work::pieces::rounded;
use crate::work::signals::{Signal, Told};

/// How near to a cut line the pointer must be for a notch, mm.
const NEAR: f64 = 15.0;

impl Bench {
    /// Cutting is under way, or an errand from it.
    pub fn is_cutting(&self) -> bool {
        self.cutting
    }

    /// Over to cutting.
    pub(in crate::work) fn begin_cutting(&mut self) -> Reply {
        self.cutting = true;
        self.cutting_from = self.history().depth();
        self.grip = None;
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
        self.cutting = true;
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
                        words: "not carried: see that the light lies where it did".to_owned(),
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
            Phase::Returned | Phase::LaidBack { .. } | Phase::Check { .. } => self.go_to_next(),
            Phase::Stack { panel } => return self.restack(panel),
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
                self.later.clear();
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
            Phase::Check { .. } => {
                self.turn_to(Phase::Check { off: true });
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

    /// The last thing that was signalled is taken back.
    fn take_back_last(&mut self) -> Reply {
        let history = self.history();
        if history.depth() <= self.cutting_from {
            return Reply::refused("nothing that was cut can be taken back");
        }
        if !history.last_is_cutting() {
            let last = history.last().unwrap_or_default();
            return Reply::refused(format!("first to be undone by Ctrl+Z: {last}"));
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
            (Item::Moved, _) => return self.has_moved(),
            (Item::Check, _) => self.turn_to(Phase::Check { off: false }),
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
            (Item::Outlines, _) => self.outlines = !self.outlines,
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

    /// A piece is cut, and all its notches are clipped.
    fn cut(&mut self, id: Id) -> Reply {
        let Some(parts) = self.parts_of(id) else {
            return self.next_with("that piece is not on the table");
        };
        let gives = parts.iter().fold(Hands::default(), |mut all, p| {
            all.add(p.face);
            all
        });
        let (first, counts) = (&parts[0], self.counts());
        let count = counts.iter().find(|c| {
            c.article == first.article && c.part.piece == first.piece && c.part.cloth == first.cloth
        });
        if !count.is_some_and(|c| c.cuts(gives)) {
            let name = format!("{} {}", first.piece, first.article);
            let under = self
                .goods
                .stock()
                .ply_under(&first.panel, &self.state.panels);
            return Reply::refused(match under {
                Some(under) => format!(
                    "{name} is cut single now: draw {} out from under it first",
                    under.name
                ),
                None => format!("{name}: that hand is cut already; take this one away"),
            });
        }
        let said = match parts.as_slice() {
            [one] => format!("{} cut", one.name()),
            _ => format!(
                "{} {} cut, {} plies",
                first.piece,
                first.article,
                parts.len()
            ),
        };
        let marked = |mut part: CutPart| {
            if !self.transfer_of(&part).is_empty() {
                part.marking = Marking::ToDo;
            }
            part
        };
        let parts = parts.into_iter().map(marked).collect();
        self.does(vec![Op::Cut { parts }]);
        self.next_with(&said)
    }

    /// The parts that a placement gives, whatever there is to mark on them.
    pub(super) fn parts_of(&self, id: Id) -> Option<Vec<CutPart>> {
        let placed = self.state.placed.get(&id)?;
        let panel = self.state.panel(&placed.panel).filter(|p| p.spread)?;
        let stock = self.goods.stock();
        let faces = stock.gives(placed, &self.state.panels);
        let under = stock.ply_under(&placed.panel, &self.state.panels);
        let plies = faces.len() as u32;
        let last = self.state.cuts.last();
        let part = |(k, face)| {
            let from = if k == 0 { panel } else { under? };
            Some(CutPart {
                id: last + 1 + k as u32,
                placed: id,
                piece: placed.piece.clone(),
                article: placed.article.clone(),
                cloth: from.cloth.clone(),
                panel: from.name.clone(),
                face,
                plies,
                clipped_late: Vec::new(),
                marking: Marking::Nothing,
                spoilt: false,
            })
        };
        faces.into_iter().enumerate().map(part).collect()
    }

    /// Changes a part.
    pub(super) fn change_part(&mut self, id: u32, change: impl FnOnce(&mut CutPart)) -> bool {
        let Some(from) = self.state.cuts.part(id).cloned() else {
            return false;
        };
        let mut to = from.clone();
        change(&mut to);
        self.does(vec![Op::Part { from, to }])
    }

    fn mark(&mut self, part: u32, marking: Marking) -> Reply {
        self.change_part(part, |p| p.marking = marking);
        self.next_with(match marking {
            Marking::Waived => "done without its marks",
            _ => "marked",
        })
    }

    /// The notch that a round has come to.
    pub fn notch_in_round(&self) -> Option<(Of, usize)> {
        match self.doing.cutting()?.phase {
            Phase::Notches { of, at, .. } => Some((of, at)),
            _ => None,
        }
    }

    fn notches(&self, of: Of) -> usize {
        let piece = match of {
            Of::Piece(id) => self.state.placed.get(&id).map(|p| &p.piece),
            Of::Part(id) => self.state.cuts.part(id).map(|p| &p.piece),
        };
        let piece = piece.and_then(|p| self.goods.stock().piece(p));
        piece.map_or(0, |p| p.notches.len())
    }

    /// Which of a piece's notches a round comes to as its `at`th.
    pub fn notch_in(&self, of: Of, at: usize) -> Option<usize> {
        let part = self.part_of(of)?;
        let piece = self.goods.stock().piece(&part.piece)?;
        piece.notches_in_order().get(at).copied()
    }

    fn notch_by_notch(&mut self, of: Of, over: bool) -> Reply {
        if self.notches(of) == 0 {
            return Reply::refused("it has no notches");
        }
        self.turn_to(Phase::Notches { of, at: 0, over });
        Reply::touching(Touched::All)
    }

    /// One notch of a round is clipped; `late`: it had been forgotten.
    fn notch_done(&mut self, of: Of, at: usize, over: bool, late: bool) -> Reply {
        if let (Of::Part(part), true) = (of, late) {
            let n = self.notch_in(of, at).map_or(0, |k| k as u32 + 1);
            self.change_part(part, |p| {
                if !p.clipped_late.contains(&n) {
                    p.clipped_late.push(n);
                    p.clipped_late.sort_unstable();
                }
            });
        }
        if at + 1 < self.notches(of) {
            self.turn_to(Phase::Notches {
                of,
                at: at + 1,
                over,
            });
        } else {
            self.turn_to(match of {
                Of::Piece(id) => Phase::Piece { id },
                Of::Part(_) => Phase::LaidBack { of, over },
            });
        }
        Reply::touching(Touched::All)
    }

    /// A part is lit again, whole.
    pub(super) fn lay_back(&mut self, of: Of) -> Reply {
        self.turn_to(Phase::LaidBack { of, over: false });
        Reply::touching(Touched::All)
    }

    /// Where the pointer is on a cut line of what is laid back: there the pattern may
    /// get a notch.
    pub fn notch_at(&self) -> Option<(&Lying, Point<Piece>)> {
        let lying = self.doing.cutting()?.lies.first()?;
        let at = lying.pose.inverse().point(self.pointer?);
        let piece = self.goods.stock().piece(&lying.piece)?;
        let on = piece.cut.iter().filter_map(|ring| {
            let closed: Vec<_> = ring.iter().chain(ring.first()).copied().collect();
            let (s, off) = nearest(&closed, at)?;
            Some((off, along(&closed, s)?.at))
        });
        let (off, on) = on.min_by(|a, b| a.0.total_cmp(&b.0))?;
        (off <= NEAR).then_some((lying, on))
    }

    /// The pattern is to have a notch where the pointer is.
    fn notch_next_time(&mut self) -> Reply {
        let Some((lying, at)) = self.notch_at() else {
            return Reply::refused("put the pointer of light on the edge first");
        };
        let name = lying.piece.clone();
        self.does(vec![Op::NextNotch {
            at: self.state.cuts.notches.len(),
            from: None,
            to: Some(AddedNotch {
                piece: name.clone(),
                x_mm: rounded(at.x),
                y_mm: rounded(at.y),
            }),
        }]);
        Reply::touching(Touched::All).saying(format!("{name} has this notch from the next time on"))
    }

    /// Another piece is to be cut next.
    pub(in crate::work) fn cut_next(&mut self, id: Id) -> Reply {
        if !self.state.is_to_cut(id) {
            return Reply::refused("that piece is not there to be cut");
        }
        let from = self.state.cuts.first.clone();
        let mut to = vec![id];
        let rest = from
            .iter()
            .filter(|k| **k != id && self.state.is_to_cut(**k));
        to.extend(rest);
        self.does(vec![Op::First { from, to }]);
        if self.doing.cutting().is_some() {
            self.go_to_next();
        }
        Reply::touching(Touched::All)
    }

    /// Something from the list, named outright.
    pub(in crate::work) fn take_from_list(&mut self, item: Item) -> Reply {
        let Doing::Cutting(cutting) = &self.doing else {
            return Reply::refused("nothing is being cut: begin with Enter");
        };
        let phase = cutting.phase.clone();
        if !Item::of(&phase).contains(&item) {
            return Reply::refused("not now: go on, or back, first");
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
        let said = format!("{name} means {}", signal.words());
        *own = Some(name);
        self.does(vec![Op::Switches { from, to }]);
        Reply::touching(Touched::All).saying(said)
    }

    /// What can be chosen: what is cut, the latest first; to be laid back also what
    /// lies uncut on the table, in the order that it is cut.
    pub fn choices(&self, to: Errand) -> Vec<Of> {
        let good = self.state.cuts.parts.iter().rev().filter(|p| !p.spoilt);
        let mut all: Vec<Of> = good.map(|p| Of::Part(p.id)).collect();
        if let (Errand::LayBack, Some(cutting)) = (to, self.doing.cutting()) {
            all.extend(cutting.order.iter().map(|id| Of::Piece(*id)));
            // Then what lies on other sheets.
            let (ids, _) = self.laid();
            let others = ids.into_iter().filter(|id| self.state.is_to_cut(*id));
            all.extend(
                others
                    .filter(|id| !cutting.order.contains(id))
                    .map(Of::Piece),
            );
        }
        all
    }
}
