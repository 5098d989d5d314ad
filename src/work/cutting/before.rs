//! What speaks against beginning to cut: the order, the lay, the light.

use crate::cloth::Panel;
use crate::fault::counted;
use crate::lay::{Checked, Laid, Trouble, grounds};
use crate::pattern::{Miscount, check_counts};
use crate::shape::Region;
use crate::space::Table;
use crate::work::bench::Bench;
use crate::work::lies::lies;
use std::collections::BTreeSet;

impl Bench {
    /// What speaks against beginning to cut as things are, without a full stop.
    pub(super) fn doubts(&self) -> Option<String> {
        let hands = self.same_hands();
        let hands = hands.filter(|_| !self.course.has_told_hands());
        let light = self.found_off().map(str::to_owned);
        let all = [hands, self.lies_wrong(), light].into_iter().flatten();
        let all: Vec<String> = all.collect();
        (!all.is_empty()).then(|| all.join("; "))
    }

    /// What is ordered twice as the same hand where the pattern means a pair, or in pairs of an
    /// odd number, if anything of it is still to be cut.
    pub(super) fn same_hands(&self) -> Option<String> {
        let counts = self.counts();
        let open = counts
            .iter()
            .filter(|c| c.to_cut().sum() > 0 && !c.any_hand);
        let all = open.filter_map(|c| {
            let piece = self.goods.stock().piece(&c.part.piece)?;
            let found = check_counts(piece, c.part.count, c.part.pair, false);
            let bad = found
                .into_iter()
                .find(|f| matches!(f.what, Miscount::OneHand(_) | Miscount::Odd(_)))?;
            let said = bad.to_string();
            Some(format!(
                "article {}: {}",
                c.article,
                said.trim_end_matches('.')
            ))
        });
        let all: Vec<String> = all.collect();
        (!all.is_empty()).then(|| all.join("; "))
    }

    /// What is laid and can't be cut as it lies: not whole on its cloth, in the light and clear
    /// of all others. The first such piece, and how many more there are.
    fn lies_wrong(&self) -> Option<String> {
        let panels = &self.state.panels;
        let mut all = self.wrong_on(panels, self.lit.reach());
        // Where a sheet that is put away will lie is not known yet; what lies on it is.
        for sheet in panels.iter().filter(|p| !p.spread) {
            if self.state.has_to_cut(sheet) {
                let mut alone = panels.clone();
                for p in &mut alone {
                    p.spread = p.name == sheet.name || p.under.as_ref() == Some(&sheet.name);
                }
                all.extend(self.wrong_on(&alone, None));
            }
        }
        let first = all.first()?;
        Some(match all.len() {
            1 => first.clone(),
            n => format!(
                "{first}, and {}",
                counted(n - 1, "more piece lies wrong", "more pieces lie wrong")
            ),
        })
    }

    /// What of the pieces on the panels that are spread can't be cut as it lies: a sentence a
    /// piece, without a full stop.
    fn wrong_on(&self, panels: &[Panel], reach: Option<&Region<Table>>) -> Vec<String> {
        let stock = self.goods.stock();
        let state = &self.state;
        let laid = state.placed.values();
        let laid: Vec<Laid> = laid
            .filter_map(|p| lies(p, &stock, panels, &state.trims, &state.cuts))
            .collect();
        // Opening the job has found every outline to enclose something.
        let Ok(grounds) = grounds(panels) else {
            return Vec::new();
        };
        let band = state.ways.lit_width().max(self.lit.band());
        let checked = Checked::new(&laid, &grounds, reach, band);
        let mut told = BTreeSet::new();
        let mut all = checked.all();
        all.retain(|w| {
            let bad = matches!(
                w.what,
                Trouble::On { .. } | Trouble::Off { .. } | Trouble::Beyond { .. }
            );
            bad && told.insert(w.index)
        });
        all.iter().map(|w| checked.sentence(w)).collect()
    }
}
