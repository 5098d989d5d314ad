//! Plies that are cut at once: the layers of a panel and of what lies beneath it, and where
//! a piece laid on the upper ply is in the lower one.

use super::{Face, Hands, Placement, Stock, is_its_own_mirror};
use crate::cloth::Panel;
use crate::space::{Cloth, Rigid};

/// The ply that lies under a panel and is cut with it.
#[derive(Debug, Clone, Copy)]
pub struct Ply<'b> {
    pub panel: &'b Panel,
    /// From the upper panel's cloth space to the lower one's. Both are as seen from above, so
    /// nothing is mirrored here: that the lower ply lies turned over makes it the other hand.
    pub onto: Rigid<Cloth, Cloth>,
}

/// One layer that the blade goes through.
#[derive(Debug, Clone, Copy)]
pub struct Layer<'b> {
    pub panel: &'b Panel,
    pub wrong_side_up: bool,
}

impl Stock<'_> {
    /// The ply beneath a panel, if one is cut with it.
    pub fn beneath<'b>(&self, panel: &str, panels: &'b [Panel]) -> Option<Ply<'b>> {
        let top = panels.iter().find(|p| p.name == panel)?;
        let below = self.ply_under(panel, panels)?;
        let onto = top.on_table.pose().then(&below.on_table.pose().inverse());
        Some(Ply { panel: below, onto })
    }

    /// All that is cut at once on a panel, from the top: its own layers, and those of the
    /// panel that is slipped under it, which lies the other way up.
    pub fn layers<'b>(&self, panel: &str, panels: &'b [Panel]) -> Vec<Layer<'b>> {
        let Some(top) = panels.iter().find(|p| p.name == panel) else {
            return Vec::new();
        };
        let of = |panel: &'b Panel, over: bool| {
            let sides = panel.stack.sides();
            sides.map(move |side| Layer {
                panel,
                wrong_side_up: side ^ over,
            })
        };
        let mut all: Vec<Layer> = of(top, false).collect();
        if let Some(below) = self.ply_under(panel, panels) {
            // Wrong side to wrong side, or face to face.
            let touches = all.last().is_some_and(|l| l.wrong_side_up);
            let first = below.stack.wrong_side_up;
            all.extend(of(below, first == touches));
        }
        all
    }

    /// What a placement gives when it is cut, layer by layer from the top: the hand that it is
    /// laid as where the face side is up, its mirror image where it is not; which of a piece
    /// that is its own mirror image is the same hand again.
    pub fn gives(&self, p: &Placement, panels: &[Panel]) -> Vec<Face> {
        let cloth = panels.iter().find(|q| q.name == p.panel);
        let part = cloth.and_then(|q| self.part(&p.article, &p.piece, &q.cloth));
        let pair = part.is_some_and(|part| part.pair);
        let layers = self.layers(&p.panel, panels);
        // Where two alike make a pair it matters not which is which. It takes a while to tell,
        // and counts are asked for with every move.
        let over = layers.iter().any(|l| l.wrong_side_up);
        let same = over && !pair && self.piece(&p.piece).is_some_and(is_its_own_mirror);
        let faces = layers.iter().map(|l| match l.wrong_side_up && !same {
            true => p.face.other(),
            false => p.face,
        });
        let mut faces: Vec<Face> = faces.collect();
        if faces.is_empty() {
            faces.push(p.face);
        }
        faces
    }

    /// How many layers are cut at once on a panel.
    pub fn plies(&self, panel: &str, panels: &[Panel]) -> u32 {
        let top = panels.iter().find(|p| p.name == panel);
        let own = top.map_or(1, |p| p.stack.layers);
        let below = self.ply_under(panel, panels).map_or(0, |p| p.stack.layers);
        own.saturating_add(below).max(1)
    }

    /// The hands that a placement gives.
    pub fn hands(&self, p: &Placement, panels: &[Panel]) -> Hands {
        let mut hands = Hands::default();
        for face in self.gives(p, panels) {
            hands.add(face);
        }
        hands
    }
}
