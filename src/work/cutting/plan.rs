//! What comes next: the order of the pieces, and of the sheets.

use super::{Cutting, Phase};
use crate::cloth::OnTable;
use crate::lay::{CutPart, Marking, RoughCut, cut_order, inside, rough_cuts};
use crate::shape::{ARC_ERROR, Region, difference, offset};
use crate::space::Table;
use crate::stand::{Hand, Side};
use crate::work::bench::Bench;
use crate::work::doing::Doing;
use crate::work::history::apply_all;
use crate::work::op::{Id, Spot};

/// Beyond the band a notch's sign reaches so far, mm; what falls away is not worth
/// more care.
const SIGN: f64 = 10.0;

/// A rough cut keeps so far from all light, mm: shears wander.
const CLEAR: f64 = 4.0;

/// How a sheet is to be cut up, and what that was worked out from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    panel: String,
    lies: Option<(OnTable, Vec<[f64; 2]>)>,
    spots: Vec<(Id, Spot)>,
    by: (Side, Hand, f64),
    order: Vec<Id>,
    rough: Vec<RoughCut>,
}

impl Bench {
    /// Where cutting stands, worked out from what is cut.
    pub(in crate::work) fn cutting_now(&mut self) -> Cutting {
        if let Doing::Cutting(before) = &mut self.doing {
            before.coming = None;
        }
        let mut cutting = Cutting::at(Phase::Over);
        let sheet = self.state.sheet_in_hand().map(|p| p.name.clone());
        if let Some(panel) = &sheet {
            let (order, plan) = self.order_on(panel);
            cutting.order = order;
            cutting.rough = plan;
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
        } else if let Some(again) = self.again_due() {
            again
        } else if let Some(panel) = self.state.next_sheet() {
            let panel = panel.name.clone();
            let mut after = self.state.clone();
            // Each op was made from this very state.
            if apply_all(&mut after, &self.state.spreading(&panel)).is_ok() {
                let now = std::mem::replace(&mut self.state, after);
                (cutting.order, cutting.rough) = self.order_on(&panel);
                cutting.coming = Some(std::mem::replace(&mut self.state, now).panels);
            }
            Phase::Stack { panel }
        } else {
            Phase::Over
        };
        cutting
    }

    /// The uncut pieces of a sheet in the order that keeps it whole and flat, and
    /// the rough cuts that part them. It is worked out once a sheet, and again
    /// when something lies elsewhere.
    fn order_on(&mut self, panel: &str) -> (Vec<Id>, Vec<RoughCut>) {
        let kept = self.worked_out.take_plan();
        let plan = kept.filter(|p| self.still_holds(p, panel));
        let plan = plan.unwrap_or_else(|| self.plan_for(panel));
        let to_cut = plan.order.iter().copied();
        let mut order: Vec<Id> = to_cut.filter(|id| self.state.is_to_cut(*id)).collect();
        let wanted = &self.state.cuts.first;
        // A stable sort: the rest keeps its order.
        order.sort_by_key(|id| wanted.iter().position(|w| w == id).unwrap_or(usize::MAX));
        let apart = self.state.cuts.apart.iter().any(|p| p == panel);
        let rough = if apart {
            Vec::new()
        } else {
            plan.rough.clone()
        };
        self.worked_out.keep_plan(plan);
        (order, rough)
    }

    fn still_holds(&self, plan: &Plan, panel: &str) -> bool {
        let lies = self.state.panel(panel);
        let same = |(at, outline): &(OnTable, Vec<[f64; 2]>)| {
            lies.is_some_and(|p| p.on_table == *at && p.outline_mm == *outline)
        };
        plan.panel == panel
            && plan.by == self.planned_by()
            && plan.lies.as_ref().is_some_and(same)
            && self.state.spots_on(panel) == plan.spots
            && plan
                .spots
                .iter()
                .all(|(id, _)| !self.state.is_to_cut(*id) || plan.order.contains(id))
    }

    /// Where the person stands, which hand cuts, and how wide the light is.
    fn planned_by(&self) -> (Side, Hand, f64) {
        let ways = &self.state.ways;
        (
            ways.stands,
            ways.cuts,
            self.lit.band().max(ways.lit_width()),
        )
    }

    fn plan_for(&self, panel: &str) -> Plan {
        let (ids, laid) = self.laid();
        let here = ids.into_iter().zip(&laid);
        let here = here.filter(|(id, l)| l.panel == panel && self.state.is_to_cut(*id));
        let (ids, pieces): (Vec<Id>, Vec<Region<Table>>) =
            here.map(|(id, l)| (id, inside(l))).unzip();
        let own = self.state.panel(panel);
        let whole = own.and_then(super::super::outline_on_table);
        let sheet = difference(&whole.unwrap_or_default(), &self.cut_away(panel));
        let reach = self.planned_by().2 + SIGN + ARC_ERROR;
        let kept: Vec<Region<Table>> = pieces.iter().map(|p| offset(p, reach)).collect();
        let rough = rough_cuts(&sheet, &kept, CLEAR);
        let ways = &self.state.ways;
        let order = cut_order(&sheet, &pieces, &rough.parts, ways.stands, ways.cuts);
        Plan {
            panel: panel.to_owned(),
            lies: own.map(|p| (p.on_table, p.outline_mm.clone())),
            spots: self.state.spots_on(panel),
            by: self.planned_by(),
            order: order.into_iter().map(|k| ids[k]).collect(),
            rough: rough.cuts,
        }
    }

    /// Where a sheet has holes already.
    fn cut_away(&self, panel: &str) -> Region<Table> {
        let (_, laid) = self.laid();
        let mut gone = Region::default();
        for l in laid.iter().filter(|l| l.panel == panel && l.is_cut) {
            gone.append(inside(l));
        }
        gone
    }

    /// How many plies are cut at once on a panel.
    pub(super) fn plies(&self, panel: &str) -> u32 {
        self.goods.stock().plies(panel, &self.state.panels)
    }

    /// The ordinary way on: to whatever comes next.
    pub(in crate::work) fn go_to_next(&mut self) {
        let next = self.cutting_now();
        self.hold_of(&next.phase);
        self.doing = Doing::Cutting(next);
    }

    /// The piece that is asked for is the piece in hand: it is bright.
    pub(super) fn hold_of(&mut self, phase: &Phase) {
        self.hand.hold(match phase {
            Phase::Piece { id } => Some(*id),
            Phase::Notches {
                of: super::Of::Piece(id),
                ..
            } => Some(*id),
            _ => None,
        });
    }
}
