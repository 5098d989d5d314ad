//! Parts come off the cloth, are marked, and are chosen by their maker.

use super::{Errand, Of};
use crate::lay::{CutBy, CutPart, Face, Hands, Marking, trim_on};
use crate::work::act::Reply;
use crate::work::bench::Bench;
use crate::work::op::{Id, Op};

impl Bench {
    /// A piece is cut, and all its notches are clipped.
    pub(super) fn cut(&mut self, id: Id) -> Reply {
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
        let layers = stock.layers(&panel.name, &self.state.panels);
        let plies = faces.len() as u32;
        let last = self.state.cuts.last();
        let by = self.course.stamp().map(|s| CutBy {
            when: s.when.clone(),
            profile: s.profile.clone(),
            trim_mm: trim_on(&self.state.trims, &stock, &panel.name, &self.state.panels),
            error_mm: s.errors.get(&id).copied(),
        });
        let part = |(k, face): (usize, Face)| {
            let from = layers.get(k)?.panel;
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
                by: by.clone(),
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

    pub(super) fn mark(&mut self, part: u32, marking: Marking) -> Reply {
        self.change_part(part, |p| p.marking = marking);
        self.next_with(match marking {
            Marking::Waived => "done without its marks",
            _ => "marked",
        })
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
