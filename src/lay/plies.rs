//! Two plies cut at once: what lies beneath a panel, and where a piece laid on it is in the
//! lower ply.

use super::Stock;
use crate::cloth::Panel;
use crate::space::{Cloth, Rigid};

/// The ply that lies under a panel and is cut with it.
#[derive(Debug, Clone, Copy)]
pub struct Ply<'b> {
    pub panel: &'b Panel,
    /// From the upper panel's cloth space to the lower one's. Both are as seen from above, so
    /// nothing is mirrored here: that the lower ply lies face down makes it the other hand.
    pub onto: Rigid<Cloth, Cloth>,
}

impl Stock<'_> {
    /// The ply beneath a panel, if one is cut with it.
    pub fn beneath<'b>(&self, panel: &str, panels: &'b [Panel]) -> Option<Ply<'b>> {
        let top = panels.iter().find(|p| p.name == panel)?;
        let below = self.ply_under(panel, panels)?;
        let onto = top.on_table.pose().then(&below.on_table.pose().inverse());
        Some(Ply { panel: below, onto })
    }
}
