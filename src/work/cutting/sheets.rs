//! Sheet after sheet: which one is cut now, which comes next, and what makes room for it.

use crate::cloth::Panel;
use crate::work::op::{Id, Op, Spot};
use crate::work::state::State;

impl State {
    /// Whether anything on a panel is still to be cut.
    pub(super) fn has_to_cut(&self, panel: &Panel) -> bool {
        let mut on = self.placed.iter().filter(|(_, p)| p.panel == panel.name);
        on.any(|(id, _)| self.is_to_cut(*id))
    }

    /// The sheet on the table that is cut first: the one that the person wants a
    /// piece of first, else the first in the job's order.
    pub(super) fn sheet_in_hand(&self) -> Option<&Panel> {
        let wanted = self.cuts.first.iter();
        let wanted = wanted.filter(|id| self.is_to_cut(**id));
        let mut named = wanted.filter_map(|id| {
            let p = self.placed.get(id)?;
            self.panel(&p.panel).filter(|q| q.spread)
        });
        let mut all = self.panels.iter().filter(|p| p.spread);
        named.next().or_else(|| all.find(|p| self.has_to_cut(p)))
    }

    /// The next sheet with something to cut that is not on the table.
    pub(super) fn next_sheet(&self) -> Option<&Panel> {
        let mut all = self.panels.iter().filter(|p| !p.spread);
        all.find(|p| self.has_to_cut(p))
    }

    /// The panel that lies under another.
    pub(super) fn lower_of(&self, panel: &str) -> Option<&Panel> {
        let mut all = self.panels.iter();
        all.find(|p| p.under.as_deref() == Some(panel))
    }

    /// What lies on a panel, and where.
    pub(super) fn spots_on(&self, panel: &str) -> Vec<(Id, Spot)> {
        let on = self.placed.iter().filter(|(_, p)| p.panel == panel);
        on.map(|(id, p)| (*id, Spot::of(p))).collect()
    }

    /// A panel comes onto the table, with the one under it; what is cut up makes room.
    pub(super) fn spreading(&self, panel: &str) -> Vec<Op> {
        let comes = |p: &Panel| p.name == panel || p.under.as_deref() == Some(panel);
        let done = |p: &Panel| p.spread && !self.has_to_cut(p) && !comes(p);
        // A lower ply goes with the one that lay on it.
        let goes = |p: &Panel| {
            let top = p.under.as_ref().and_then(|t| self.panel(t));
            done(p) && top.is_none_or(|t| !t.spread || done(t))
        };
        let mut ops = Vec::new();
        for p in &self.panels {
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
        ops
    }
}
