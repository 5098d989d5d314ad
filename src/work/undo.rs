//! What was done is undone, and done again.

use super::act::{Reply, Touched};
use super::bench::Bench;
use super::doing::Doing;
use super::history::Record;
use super::op::Op;

impl Bench {
    pub(super) fn step_back(&mut self) -> Reply {
        let what = self.history().last();
        self.retrace(Record::Undo, what.map(|w| format!("undone: {w}")))
    }

    pub(super) fn step_forth(&mut self) -> Reply {
        let what = self.history().next();
        self.retrace(Record::Redo, what.map(|w| format!("done again: {w}")))
    }

    fn retrace(&mut self, record: Record, said: Option<String>) -> Reply {
        self.log.write();
        let Some(said) = said else {
            let what = if record == Record::Undo {
                "undo"
            } else {
                "do again"
            };
            return Reply::refused(format!("there is nothing to {what}"));
        };
        let ops = match self.log.retrace(&mut self.state, record) {
            Ok(ops) => ops,
            Err(wrong) => return Reply::refused(wrong.to_string()),
        };
        let pieces = ops.iter().filter_map(|op| match op {
            Op::Move { id, .. } | Op::Lay { id, .. } => Some(*id),
            _ => None,
        });
        // Of several, the one in hand stays there.
        let held = self.hand.held();
        let (first, same) = pieces.fold((None, false), |(first, same), id| {
            (first.or(Some(id)), same || held == Some(id))
        });
        if let (Some(id), false) = (first, same) {
            self.hand.hold(Some(id));
        }
        for op in &ops {
            // Places pointed at must not be taken for other marks.
            if let (Op::Mark { panel, .. }, Doing::Carrying { panel: at, .. }) = (op, &self.doing)
                && panel == at
            {
                self.doing = Doing::Laying;
            }
        }
        Reply::touching(Touched::All).saying(said)
    }
}
