//! Notches: one after another, one that was forgotten, one for the next time.

use super::{Lying, Of, Phase};
use crate::shape::{along, nearest};
use crate::space::{Piece, Point};
use crate::work::act::{Reply, Touched};
use crate::work::bench::Bench;
use crate::work::cuts::AddedNotch;
use crate::work::op::Op;
use crate::work::pieces::rounded;

/// How near to a cut line the pointer must be for a notch, mm.
const NEAR: f64 = 15.0;

/// So near to another, mm, a notch is that one.
const SAME: f64 = 6.0;

impl Bench {
    /// The notch that a round has come to.
    pub fn notch_in_round(&self) -> Option<(Of, usize)> {
        match self.doing.cutting()?.phase {
            Phase::Notches { of, at, .. } => Some((of, at)),
            _ => None,
        }
    }

    pub(super) fn notches(&self, of: Of) -> usize {
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

    pub(super) fn notch_by_notch(&mut self, of: Of, over: bool) -> Reply {
        if self.notches(of) == 0 {
            return Reply::refused("it has no notches");
        }
        self.turn_to(Phase::Notches { of, at: 0, over });
        Reply::touching(Touched::All)
    }

    /// One notch of a round is clipped; `late`: it had been forgotten.
    pub(super) fn notch_done(&mut self, of: Of, at: usize, over: bool, late: bool) -> Reply {
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

    /// Where the pointer is on a cut line of what is laid back, with no notch there: there
    /// the pattern may get one.
    pub fn notch_at(&self) -> Option<(&Lying, Point<Piece>)> {
        let lying = self.doing.cutting()?.lies.first()?;
        let at = lying.pose.inverse().point(self.pointer()?);
        let piece = self.goods.stock().piece(&lying.piece)?;
        let on = piece.cut.iter().filter_map(|ring| {
            let closed: Vec<_> = ring.iter().chain(ring.first()).copied().collect();
            let (s, off) = nearest(&closed, at)?;
            Some((off, along(&closed, s)?.at))
        });
        let (off, on) = on.min_by(|a, b| a.0.total_cmp(&b.0))?;
        let own = piece.notches.iter().map(|n| n.at);
        let added = self.state.cuts.notches.iter();
        let added = added.filter(|n| n.piece == lying.piece);
        let mut there = own.chain(added.map(|n| Point::new(n.x_mm, n.y_mm)));
        let is_new = there.all(|n| (n - on).length() > SAME);
        (off <= NEAR && is_new).then_some((lying, on))
    }

    /// The pattern is to have a notch where the pointer is.
    pub(super) fn notch_next_time(&mut self) -> Reply {
        let Some((lying, at)) = self.notch_at() else {
            return Reply::refused(
                "put the pointer of light on the edge first, where it has no notch",
            );
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
        Reply::touching(Touched::All).saying(format!(
            "{name} has this notch from the next opening of the job"
        ))
    }
}
