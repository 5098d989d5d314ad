//! What lies on the table: another sheet is spread, the cloth has moved.

use super::Phase;
use crate::cloth::Panel;
use crate::lay::RoughCut;
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
            return self.next_with("nothing on the table is still to be cut: lay pieces first");
        };
        let reply = self.carry(panel);
        if matches!(self.doing, Doing::Cutting(_)) {
            // Refused: it has too few marks. What is cut shows where it lies.
            self.course.show_outlines(true);
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

    /// The sheet that is asked for lies elsewhere than its light: its marks are pointed
    /// at. Of two plies the lower one first, for its marks are seen only while it lies
    /// alone.
    pub(super) fn lies_elsewhere(&mut self) -> Reply {
        let Some(top) = self.state.next_sheet() else {
            return Reply::default();
        };
        let lower = self
            .state
            .lower_of(&top.name)
            .filter(|p| !p.spread && is_marked(p));
        let panel = lower.unwrap_or(top);
        let (name, marked) = (panel.name.clone(), is_marked(panel));
        if !marked {
            return Reply::refused(format!(
                "{name} has no marks to carry it by: slide it until it lies in its outline"
            ));
        }
        let ops = self.state.spreading(&name);
        if let Some(why) = self.too_many_after(&ops) {
            return Reply::refused(why);
        }
        self.does(ops);
        self.carry(name)
    }

    /// The sheet that was asked for lies under its light, and is cut apart: one signal
    /// for all of it.
    pub(super) fn restack(&mut self, panel: &str, rough: &[RoughCut]) -> Reply {
        let mut ops = self.state.spreading(panel);
        if let Some(why) = self.too_many_after(&ops) {
            return Reply::refused(why);
        }
        if !rough.is_empty() {
            let from = self.state.cuts.apart.clone();
            let to = from.iter().cloned().chain([panel.to_owned()]).collect();
            ops.push(Op::Apart { from, to });
        }
        self.does(ops);
        self.course.later_is_now();
        self.next_with(&format!("{panel} is on the table"))
    }

    pub(super) fn stack_words(&self, panel: &str, rough: &[RoughCut]) -> Vec<String> {
        let lower = self.state.lower_of(panel);
        let own = self.state.panel(panel).map(|p| p.stack).unwrap_or_default();
        // What touches, and so which side of the lower one is up.
        let (sides, up) = match own.sides().last() {
            Some(true) => ("face sides together", "face side up"),
            _ => ("wrong sides together", "wrong side up"),
        };
        let top = match own.words().filter(|_| own.layers > 1) {
            Some(words) => format!("{panel} ({words})"),
            None => panel.to_owned(),
        };
        let named = |p: &Panel| match p.stack.words().filter(|_| p.stack.layers > 1) {
            Some(words) => format!("{} ({words})", p.name),
            None => p.name.clone(),
        };
        let how = match (lower, own.words()) {
            (Some(lower), _) if lower.spread => {
                format!("spread {top} on {}, {sides}", named(lower))
            }
            (Some(lower), _) => {
                format!("spread {} {up} and {top} on it, {sides}", named(lower))
            }
            (None, Some(words)) if own.layers == 1 => format!("spread {panel}, {words}"),
            (None, Some(words)) => format!("spread {panel} in {words}"),
            (None, None) => format!("spread {panel}, single"),
        };
        let lies = [lower.filter(|p| !p.spread), self.state.panel(panel)];
        let under = match lies.into_iter().flatten().any(is_marked) {
            true => "in its outline of light, its marks in the crosses",
            false => "in its outline of light",
        };
        let mut lines = vec![how, under.to_owned()];
        if rough.is_empty() {
            lines.push("go on: it lies there".to_owned());
        } else {
            lines.push("then cut it apart roughly along the dashed lines".to_owned());
            lines.push("go on: it lies there, and is cut apart".to_owned());
        }
        lines
    }
}

fn is_marked(panel: &Panel) -> bool {
    panel.marks.len() >= MARKS
}
