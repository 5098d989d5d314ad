//! What a job's order and lay lack, or have too much of.

use super::Job;
use crate::cloth::Panel;
use crate::lay::Count;
use crate::pattern::{Finding, Miscount, PatternPiece, Severity, Spot, Topic, check_counts};
use crate::work::State;

impl Job {
    /// What is laid that the order does not want: more than is ordered, or two lefts.
    pub fn laid_too_much(&self, state: &State) -> Vec<Finding> {
        let stock = self.stock();
        let counts = stock.counts(&state.panels, state.placed.values(), &state.cuts.parts);
        let found = counts.iter().filter_map(|count| {
            let (what, remedy) = count.too_much()?;
            let spot = Spot {
                piece: Some(count.part.piece.clone()),
                ..Spot::default()
            };
            let (severity, topic) = (Severity::Spoils, Topic::Count);
            Some(Finding::new(severity, topic, spot, what, remedy))
        });
        found.collect()
    }

    /// What is laid too much as the work now stands, and what is ordered and does not fit the
    /// pieces' hands and folds: two lefts, half of a piece on cloth that lies single.
    pub fn miscounts(&self, pieces: &[PatternPiece], state: &State) -> Vec<Finding> {
        let mut all = self.laid_too_much(state);
        let stock = self.stock();
        for article in &self.articles {
            for part in &article.parts {
                let Some(piece) = pieces.iter().find(|p| p.name == part.piece) else {
                    continue;
                };
                let no_face = stock.cloth(&part.cloth).is_some_and(|c| c.no_face);
                // Cloth that is declared folded can take the fold; whether it lies there, only
                // the person knows.
                let of_it = |q: &&Panel| q.cloth == part.cloth;
                let mut panels = state.panels.iter().filter(of_it);
                let folded = panels.any(|q| q.stack.turned);
                for found in check_counts(piece, part.count, part.pair, !folded) {
                    // Where both sides are alike, either hand is the other.
                    if no_face && matches!(found.what, Miscount::OneHand(_) | Miscount::OtherHand) {
                        continue;
                    }
                    let severity = match (found.what, found.spoils()) {
                        // Whether the cloth is folded where it lies, only the person knows.
                        (Miscount::Unfolded, _) => Severity::Check,
                        (_, true) => Severity::Spoils,
                        (_, false) => Severity::Advice,
                    };
                    let what = format!("article {}, {}: {}", article.name, part.cloth, found);
                    let (what, remedy) = what.trim_end_matches('.').rsplit_once("; ").map_or_else(
                        || (what.clone(), "check the order".to_owned()),
                        |(a, b)| (a.to_owned(), b.to_owned()),
                    );
                    all.push(Finding::new(
                        severity,
                        Topic::Count,
                        Spot::piece(piece),
                        what,
                        remedy,
                    ));
                }
            }
        }
        all
    }

    /// What the lay still lacks or has too much of, a sentence each.
    pub fn counts(&self) -> Vec<String> {
        let cut = self.file.cutting.iter().flat_map(|c| &c.parts);
        let counts = self
            .stock()
            .counts(&self.file.panels, &self.file.placed, cut);
        counts.iter().filter_map(Count::note).collect()
    }
}
