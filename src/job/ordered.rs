//! What a job's orders come to: drafts drawn for their measures, and articles.

use super::{JobFile, PatternFile};
use crate::fault::{Fault, Outcome};
use crate::order::{Article, expand};
use crate::pattern::PatternPiece;

impl JobFile {
    /// The job's pattern files, and the drafts that its orders have drawn for their measures:
    /// each size once.
    ///
    /// # Errors
    /// If an order has measures and its make no draft, or two call different measures alike.
    pub fn all_patterns(&self) -> Outcome<Vec<PatternFile>> {
        let mut all = self.patterns.clone();
        for (k, order) in self.orders.iter().enumerate() {
            if order.measures.is_empty() {
                continue;
            }
            let place = |e: Fault| e.at(format!("order {} (\"{}\")", k + 1, order.make));
            let make = self.makes.iter().find(|m| m.name == order.make);
            // That there is none is told where the order is expanded.
            let Some(make) = make else { continue };
            let Some(draft) = &make.draft else {
                return Err(place(Fault::input(
                    format!(
                        "it gives measures, and \"{}\" is not drawn from a draft",
                        make.name
                    ),
                    "name the make's \"draft\", or order a size",
                )));
            };
            let drawn = PatternFile {
                size: order.size_name(),
                measures: order.measures.clone(),
                ..PatternFile::named(draft)
            };
            let alike = |f: &&PatternFile| f.file == drawn.file && f.size == drawn.size;
            match all.iter().find(alike) {
                Some(f) if f.measures == drawn.measures => {}
                Some(_) => {
                    let size = drawn.size.unwrap_or_default();
                    return Err(place(Fault::input(
                        format!("\"{size}\" is called what has other measures"),
                        "give its size another name",
                    )));
                }
                None => all.push(drawn),
            }
        }
        Ok(all)
    }

    /// All that is ordered: what is written out, and what the orders come to.
    ///
    /// # Errors
    /// As [`expand`].
    pub fn all_articles(&self, pieces: &[PatternPiece]) -> Outcome<Vec<Article>> {
        let taken: Vec<&str> = self.articles.iter().map(|a| a.name.as_str()).collect();
        let has = |name: &str| pieces.iter().any(|p| p.name == name);
        let mut all = self.articles.clone();
        all.extend(expand(&self.makes, &self.orders, &taken, &has)?);
        Ok(all)
    }
}
