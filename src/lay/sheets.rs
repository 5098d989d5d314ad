//! The sheets in the order in which they come onto the table and are cut.

use super::{CutPart, Hands, Placement, Stock};
use crate::cloth::Panel;

/// One sheet: a panel, with what is cut with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet<'b> {
    pub panel: &'b Panel,
    /// The panel that is slipped under it.
    pub under: Option<&'b Panel>,
    /// How many layers the blade goes through.
    pub plies: u32,
    /// What is still to be cut from it: piece, article, how many places, and what they give.
    pub gives: Vec<(String, String, u32, Hands)>,
}

/// All sheets with something to cut: those on the table, then those to come, in the job's
/// order.
pub fn sheets<'b>(
    stock: &Stock,
    panels: &'b [Panel],
    placed: &[&Placement],
    cut: &[CutPart],
) -> Vec<Sheet<'b>> {
    let of = |panel: &'b Panel| {
        let mut gives: Vec<(String, String, u32, Hands)> = Vec::new();
        let done = |p: &Placement| p.id.is_some_and(|id| cut.iter().any(|c| c.placed == id));
        for p in placed.iter().filter(|p| p.panel == panel.name && !done(p)) {
            // As it will lie: what is slipped under it is spread with it.
            let spread: Vec<Panel> = panels
                .iter()
                .map(|q| Panel {
                    spread: true,
                    ..q.clone()
                })
                .collect();
            let hands = stock.hands(p, &spread);
            let same = |g: &&mut (String, String, u32, Hands)| g.0 == p.piece && g.1 == p.article;
            match gives.iter_mut().find(same) {
                Some(g) => {
                    g.2 += 1;
                    g.3 = g.3 + hands;
                }
                None => gives.push((p.piece.clone(), p.article.clone(), 1, hands)),
            }
        }
        let under = panels
            .iter()
            .find(|q| q.under.as_ref() == Some(&panel.name) && q.cloth == panel.cloth);
        (!gives.is_empty()).then(|| Sheet {
            panel,
            under,
            plies: panel.stack.layers + under.map_or(0, |u| u.stack.layers),
            gives,
        })
    };
    let now = panels.iter().filter(|p| p.spread);
    let then = panels.iter().filter(|p| !p.spread);
    now.chain(then).filter_map(of).collect()
}

impl Sheet<'_> {
    /// How it is laid: `spread sling on lower, wrong sides together`.
    pub fn lies(&self) -> String {
        let panel = &self.panel.name;
        let own = self.panel.stack.words();
        let below = self.under.and_then(|u| u.stack.words());
        let below = below.map_or(String::new(), |words| format!(" ({words})"));
        match (self.under, own) {
            (Some(under), None) => {
                format!(
                    "spread {panel} on {}{below}, wrong sides together",
                    under.name
                )
            }
            (Some(under), Some(_)) if self.panel.stack.layers == 1 => {
                format!(
                    "spread {panel} on {}{below}, face sides together",
                    under.name
                )
            }
            (Some(under), Some(words)) => {
                format!("spread {panel} ({words}) on {}{below}", under.name)
            }
            (None, Some(words)) if self.panel.stack.layers == 1 => {
                format!("spread {panel}, {words}")
            }
            (None, Some(words)) => format!("spread {panel} in {words}"),
            (None, None) => format!("spread {panel}, single"),
        }
    }

    /// All of it: how it lies, and what is cut from it.
    pub fn words(&self) -> String {
        let all = self.gives.iter().map(|(piece, article, places, hands)| {
            let places = match places {
                1 => String::new(),
                n => format!(" at {n} places"),
            };
            let hands = match (hands.up, hands.down) {
                (1, 0) => String::new(),
                (n, 0) => format!(" ({n} as drawn)"),
                (0, n) => format!(" ({n} mirrored)"),
                (a, b) => format!(" ({a} as drawn, {b} mirrored)"),
            };
            format!("{piece} {article}{places}{hands}")
        });
        let all: Vec<String> = all.collect();
        format!("{}: {}", self.lies(), all.join(", "))
    }
}
