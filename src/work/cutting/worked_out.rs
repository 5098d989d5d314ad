//! What takes a while to work out, kept until it no longer holds.

use super::plan::Plan;
use super::{Phase, to_transfer};
use crate::lay::{CutPart, Face, Stock};
use std::collections::BTreeMap;

/// A part's piece, article and cloth, and whether it is mirrored.
type HandOf = (String, String, String, bool);

/// What the choice of a spoilt part goes by: the revision, and how often one was put off.
pub(super) type DueFrom = (u64, usize);

/// Found once, and used again. Lost without harm.
#[derive(Debug, Clone, Default)]
pub(in crate::work) struct WorkedOut {
    /// How the sheet in hand is cut up.
    plan: Option<Plan>,
    /// The spoilt part that is due, and what it was worked out from.
    due: Option<(DueFrom, Option<Phase>)>,
    /// What is transferred to each hand: the goods never change.
    transfers: BTreeMap<HandOf, Vec<String>>,
}

impl WorkedOut {
    /// Forgets what goes by the pieces' names and places. The part that is due goes by
    /// the revision.
    pub(in crate::work) fn forget(&mut self) {
        self.plan = None;
        self.transfers.clear();
    }

    pub(super) fn take_plan(&mut self) -> Option<Plan> {
        self.plan.take()
    }

    pub(super) fn keep_plan(&mut self, plan: Plan) {
        self.plan = Some(plan);
    }

    /// Whether the part that is due was worked out from just this.
    pub(super) fn knows_due(&self, from: DueFrom) -> bool {
        self.due.as_ref().is_some_and(|(at, _)| *at == from)
    }

    pub(super) fn keep_due(&mut self, from: DueFrom, due: Option<Phase>) {
        self.due = Some((from, due));
    }

    /// The spoilt part that is due, as it was worked out last.
    pub(super) fn due(&self) -> Option<Phase> {
        self.due.as_ref().and_then(|(_, due)| due.clone())
    }

    /// What is to be transferred to a part; worked out once.
    pub(super) fn transfer_of(&mut self, part: &CutPart, stock: &Stock) -> Vec<String> {
        let (piece, article) = (part.piece.clone(), part.article.clone());
        let mirrored = part.face == Face::Down;
        let key = (piece, article, part.cloth.clone(), mirrored);
        let known = self.transfers.entry(key);
        known.or_insert_with(|| to_transfer(part, stock)).clone()
    }
}
