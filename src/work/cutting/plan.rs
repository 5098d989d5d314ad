//! What comes next: the order of the pieces, and of the sheets.

use super::{Cutting, Phase};
use crate::cloth::Panel;
use crate::lay::{CutPart, Marking, RoughPlan, cut_order, inside, rough_cuts};
use crate::shape::{ARC_ERROR, Region, offset};
use crate::space::Table;
use crate::work::bench::Bench;
use crate::work::op::Id;

/// Beyond the band a notch's sign reaches so far, mm; what falls away is not worth
/// more care.
const SIGN: f64 = 10.0;

/// A rough cut keeps so far from all light, mm: shears wander.
const CLEAR: f64 = 4.0;

impl Bench {
    /// Where cutting stands, worked out from what is cut.
    pub(in crate::work) fn cutting_now(&self) -> Cutting {
        let mut cutting = Cutting::at(Phase::Over);
        let sheet = self.sheet_in_hand().map(|p| p.name.clone());
        if let Some(panel) = &sheet {
            let (order, plan) = self.order_on(panel);
            cutting.order = order;
            cutting.rough = plan.cuts;
        }
        let to_mark = |p: &&CutPart| p.marking == Marking::ToDo && !p.spoilt;
        cutting.phase = if let Some(p) = self.state.cuts.parts.iter().find(to_mark) {
            Phase::Marks { part: p.id }
        } else if let Some(panel) = sheet {
            let whole = !self.state.cuts.apart.contains(&panel) && !cutting.rough.is_empty();
            match cutting.order.first() {
                _ if whole => Phase::Apart { panel },
                Some(&id) => Phase::Piece { id },
                None => Phase::Over,
            }
        } else if let Some(panel) = self.next_sheet() {
            Phase::Stack {
                panel: panel.name.clone(),
            }
        } else {
            Phase::Over
        };
        cutting
    }

    fn has_to_cut(&self, panel: &Panel) -> bool {
        let on = self.state.placed.iter().filter(|(_, p)| p.panel == panel.name);
        on.into_iter().any(|(id, _)| self.state.is_to_cut(*id))
    }

    /// The sheet on the table that is cut first: the one that the person wants a
    /// piece of first, else the first in the job's order.
    fn sheet_in_hand(&self) -> Option<&Panel> {
        let wanted = self.state.cuts.first.iter();
        let wanted = wanted.filter(|id| self.state.is_to_cut(**id));
        let mut named = wanted.filter_map(|id| {
            let p = self.state.placed.get(id)?;
            self.state.panel(&p.panel).filter(|q| q.spread)
        });
        let mut all = self.state.panels.iter().filter(|p| p.spread);
        named.next().or_else(|| all.find(|p| self.has_to_cut(p)))
    }

    /// The next sheet with something to cut that is not on the table.
    pub(super) fn next_sheet(&self) -> Option<&Panel> {
        let mut all = self.state.panels.iter().filter(|p| !p.spread);
        all.find(|p| self.has_to_cut(p))
    }

    /// The uncut pieces of a sheet in the order that keeps it whole and flat, and
    /// the rough cuts that part them.
    fn order_on(&self, panel: &str) -> (Vec<Id>, RoughPlan) {
        let (ids, laid) = self.laid();
        let here = ids.into_iter().zip(&laid);
        let here = here.filter(|(id, l)| l.panel == panel && self.state.is_to_cut(*id));
        let (ids, pieces): (Vec<Id>, Vec<Region<Table>>) =
            here.map(|(id, l)| (id, inside(l))).unzip();
        let sheet = self.state.panel(panel).and_then(super::super::outline_on_table);
        let sheet = sheet.unwrap_or_default();
        let gone = self.cut_away(panel);
        let sheet = crate::shape::difference(&sheet, &gone);
        let reach = self.band.max(self.state.ways.lit_width()) + SIGN + ARC_ERROR;
        let kept: Vec<Region<Table>> = pieces.iter().map(|p| offset(p, reach)).collect();
        let mut plan = rough_cuts(&sheet, &kept, CLEAR);
        if self.state.cuts.apart.iter().any(|p| p == panel) {
            // They are made: what is left is parted as it is.
            plan.cuts.clear();
        }
        let ways = &self.state.ways;
        let order = cut_order(&sheet, &pieces, &plan.parts, ways.stands, ways.cuts);
        let mut order: Vec<Id> = order.into_iter().map(|k| ids[k]).collect();
        let wanted = &self.state.cuts.first;
        // A stable sort: the rest keeps its order.
        order.sort_by_key(|id| wanted.iter().position(|w| w == id).unwrap_or(usize::MAX));
        (order, plan)
    }

    /// Where a sheet has holes already.
    fn cut_away(&self, panel: &str) -> Region<Table> {
        let (ids, laid) = self.laid();
        let mut gone = Region::default();
        for (id, l) in ids.iter().zip(&laid) {
            if l.panel == panel && self.state.cuts.has(*id) {
                gone.append(inside(l));
            }
        }
        gone
    }

    /// A placement's sheet and what lies under it, in words: `2 plies`.
    pub(super) fn plies(&self, panel: &str) -> u32 {
        let stock = self.goods.stock();
        1 + u32::from(stock.ply_under(panel, &self.state.panels).is_some())
    }

    /// The ordinary way on: to whatever comes next.
    pub(in crate::work) fn go_to_next(&mut self) {
        let next = self.cutting_now();
        self.hold_of(&next.phase);
        self.doing = super::super::doing::Doing::Cutting(next);
    }

    /// The piece that is asked for is the piece in hand: it is bright.
    pub(super) fn hold_of(&mut self, phase: &Phase) {
        self.held = match phase {
            Phase::Piece { id } => Some(*id),
            Phase::Notches {
                of: super::Of::Piece(id),
                ..
            } => Some(*id),
            _ => None,
        };
    }
}
