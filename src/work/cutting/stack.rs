//! What lies on the table: another sheet is spread, the cloth has moved.

use super::Phase;
use crate::cloth::Panel;
use crate::work::act::{Reply, Task};
use crate::work::bench::Bench;
use crate::work::doing::Doing;
use crate::work::op::Op;

/// So many marks carry a panel.
const MARKS: usize = 2;

impl Bench {
    /// The cloth has moved: the sheet in hand is carried by its marks.
    pub(super) fn has_moved(&mut self) -> Reply {
        let panel = match &self.doing {
            Doing::Cutting(c) => c.order.first().and_then(|id| self.state.placed.get(id)),
            _ => None,
        };
        let Some(panel) = panel.map(|p| p.panel.clone()) else {
            return self.next_with("nothing on the table is still to be cut");
        };
        let reply = self.carry(panel);
        if matches!(self.doing, Doing::Cutting(_)) {
            // Refused: it has too few marks. What is cut shows where it lies.
            self.outlines = true;
            self.turn_to(Phase::Returned);
            return Reply::refused(
                "it has no marks to carry it by: slide it until the dotted outlines lie on what is cut",
            );
        }
        reply
    }

    /// The marks of a panel are asked for, or the cloth is slid under them.
    fn carry(&mut self, panel: String) -> Reply {
        let reply = self.begin(Task::Moved(panel));
        if let Doing::Carrying { full_hands, .. } = &mut self.doing {
            *full_hands = true;
        }
        reply
    }

    /// The sheet that is to be spread next: of a sheet cut in two plies the lower one
    /// first if it has marks of its own, for they are seen only while it lies alone.
    pub(super) fn to_spread(&self) -> Option<&Panel> {
        let sheet = self.next_sheet()?;
        let mut all = self.state.panels.iter();
        let lower = all.find(|p| {
            p.under.as_deref() == Some(&sheet.name) && !p.spread && p.marks.len() >= MARKS
        });
        lower.or(Some(sheet))
    }

    /// The next sheet lies on the table; what is cut up makes room.
    pub(super) fn restack(&mut self, panel: &str) -> Reply {
        let comes = |p: &Panel| p.name == panel || p.under.as_deref() == Some(panel);
        let done = |p: &Panel| p.spread && !self.has_to_cut(p) && !comes(p);
        // A lower ply goes with the one that lay on it.
        let goes = |p: &Panel| {
            let top = p.under.as_ref().and_then(|t| self.state.panel(t));
            done(p) && top.is_none_or(|t| !t.spread || done(t))
        };
        let mut ops = Vec::new();
        for p in &self.state.panels {
            let to = match (comes(p), goes(p)) {
                (true, _) => true,
                (_, true) => false,
                _ => continue,
            };
            if p.spread != to {
                ops.push(Op::Spread {
                    panel: p.name.clone(),
                    from: p.spread,
                    to,
                });
            }
        }
        if let Some(why) = self.too_many_after(&ops) {
            return Reply::refused(why);
        }
        self.does(ops);
        self.later.clear();
        if self
            .state
            .panel(panel)
            .is_some_and(|p| p.marks.len() >= MARKS)
        {
            return self.carry(panel.to_owned());
        }
        self.next_with(&format!("{panel} is on the table"))
    }

    pub(super) fn stack_words(&self, panel: &str) -> Vec<String> {
        let mut all = self.state.panels.iter();
        let on = self.state.panel(panel).and_then(|p| p.under.as_ref());
        let on = on.filter(|t| self.state.panel(t).is_some_and(|t| !t.spread));
        let how = match (on, all.find(|p| p.under.as_deref() == Some(panel))) {
            (Some(top), _) => format!("spread {panel} wrong side up; {top} goes on it"),
            (None, Some(lower)) if lower.spread => {
                format!("spread {panel} on {}, wrong sides together", lower.name)
            }
            (None, Some(lower)) => format!(
                "spread {} and {panel} on it, wrong sides together",
                lower.name
            ),
            (None, None) => format!("spread {panel}, single"),
        };
        vec![how, "go on: it lies there".to_owned()]
    }
}
