//! Whether the order takes one more piece on the cloth.

use super::{Count, CutPart, Face, Hands, Placement, Stock};
use crate::cloth::Panel;

impl Stock<'_> {
    /// Whether the order takes a placement besides the `others` that are laid and what is cut.
    ///
    /// # Errors
    /// Says why it does not, and after a semicolon what would do, if something would.
    pub fn takes<'p>(
        &self,
        p: &Placement,
        panels: &[Panel],
        others: impl IntoIterator<Item = &'p Placement>,
        cut: impl IntoIterator<Item = &'p CutPart>,
    ) -> Result<(), String> {
        let panel = panels.iter().find(|q| q.name == p.panel);
        let cloth = panel.map(|q| q.cloth.as_str());
        let all = self.counts(panels, others, cut);
        let name = format!("{} {}", p.piece, p.article);
        let same = |c: &&Count| {
            c.article == p.article
                && c.part.piece == p.piece
                && Some(c.part.cloth.as_str()) == cloth
        };
        let Some(count) = all.iter().find(same) else {
            return Err(format!(
                "{name} is not ordered in {}",
                cloth.unwrap_or_default()
            ));
        };
        let mut gives = Hands::default();
        for face in self.gives(p, panels) {
            gives.add(face);
        }
        if count.open() == 0 {
            Err(format!("all {} of {name} are laid", count.part.count))
        } else if !count.takes_all(gives) {
            let hand = match p.face {
                Face::Up => "as drawn",
                Face::Down => "mirrored",
            };
            Err(match gives.sum() {
                1 => format!("{name}: {hand} would be one too many of that hand; turn it over"),
                _ => format!("{name}: two plies would give one too many of a hand; lay it single"),
            })
        } else {
            Ok(())
        }
    }
}
