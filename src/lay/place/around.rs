//! The lay about the piece in hand: what of its panel is free, and the lay's own checks.

use super::{Bed, Place};
use crate::lay::{Checked, Ground, Laid, inside_of};
use crate::shape::Region;
use crate::space::{Cloth, Rigid, Table};

/// All that lies on the table, one piece of it in hand.
#[derive(Debug, Clone, Copy)]
pub struct Around<'a> {
    /// The piece in hand is one of them, wherever it lies.
    pub laid: &'a [Laid<'a>],
    pub grounds: &'a [Ground<'a>],
    /// What the projector lights.
    pub reach: Option<&'a Region<Table>>,
    /// The guide band's width, mm.
    pub band: f64,
    /// Where the panel lies on which a place is sought.
    pub panel: &'a str,
    pub on_table: Rigid<Cloth, Table>,
}

impl Around<'_> {
    /// The panel as a bed for pieces other than those `in_hand` (by their places among
    /// what is laid), which keep at least `gap` mm from each other, and never less than
    /// the band is wide. The ply beneath and the light must hold a piece too.
    pub fn bed(&self, in_hand: &[usize], gap: f64) -> Bed {
        let back = self.on_table.inverse();
        let of = |g: &&Ground| g.name == self.panel || g.under == Some(self.panel);
        let mut bed = Bed {
            gap: gap.max(self.band),
            ..Bed::default()
        };
        for ground in self.grounds.iter().filter(of) {
            bed.within.push(ground.outline.moved(&back));
            let places = ground.keep_outs.iter().map(|(_, r)| r.moved(&back));
            bed.clear_of.extend(places);
            if ground.name == self.panel {
                bed.warp_deg = (ground.warp - self.on_table.turn).to_degrees();
            }
        }
        // A ply alone is no panel.
        if !self.grounds.iter().any(|g| g.name == self.panel) {
            bed.within.clear();
        }
        if let (Some(reach), false) = (self.reach, bed.within.is_empty()) {
            bed.within.push(reach.moved(&back));
        }
        for (k, l) in self.laid.iter().enumerate() {
            if in_hand.contains(&k) {
                continue;
            }
            let there = inside_of(l.piece).moved(&l.pose.then(&back));
            match l.is_cut {
                true => bed.clear_of.push(there),
                false => bed.taken.push(there),
            }
        }
        bed
    }

    /// What the lay's checks say of pieces moved to places on the panel: the first trouble
    /// as a sentence, none if all is well.
    ///
    /// # Errors
    /// That sentence.
    pub fn accepts(&self, moved: &[(usize, Place)]) -> Result<(), String> {
        let mut laid = self.laid.to_vec();
        for (k, place) in moved {
            if let Some(l) = laid.get_mut(*k) {
                l.panel = self
                    .grounds
                    .iter()
                    .map(|g| g.name)
                    .find(|n| *n == self.panel)
                    .unwrap_or(l.panel);
                l.face = place.face;
                l.pose = place.pose().then(&self.on_table);
            }
        }
        let checked = Checked::new(&laid, self.grounds, self.reach, self.band);
        for (k, _) in moved {
            if let Some(wrong) = checked.of(*k).first() {
                return Err(checked.sentence(wrong));
            }
        }
        Ok(())
    }
}
