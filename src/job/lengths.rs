//! What a job's articles need by length.

use super::Job;
use crate::fault::Outcome;
use crate::order::{Article, Tape, tape};
use crate::pattern::{PatternPiece, Sewing};
use crate::prove::walk::sewn_length;
use std::collections::BTreeMap;

impl Job {
    /// The tapes of every article, by its name, as long as the pattern says.
    ///
    /// # Errors
    /// As [`tapes`].
    pub fn tapes(&self) -> Outcome<BTreeMap<String, Vec<Tape>>> {
        tapes(&self.articles, &self.pieces, &self.sewing)
    }
}

/// The tapes of articles, by their names, as long as a pattern says.
///
/// # Errors
/// Names the article and the length that can't be worked out.
pub fn tapes(
    articles: &[Article],
    pieces: &[PatternPiece],
    sewing: &Sewing,
) -> Outcome<BTreeMap<String, Vec<Tape>>> {
    let edges = |name: &_| sewn_length(pieces, name);
    let rings = |name: &str| {
        let found = sewing.rings.iter().find(|r| r.name == name);
        found.map(|r| r.edges.clone())
    };
    let mut all = BTreeMap::new();
    for article in articles {
        let tapes = article.lengths.iter().map(|l| tape(l, &edges, &rings));
        let tapes = tapes.collect::<Outcome<Vec<Tape>>>();
        let place = |f: crate::fault::Fault| f.at(format!("article \"{}\"", article.name));
        all.insert(article.name.clone(), tapes.map_err(place)?);
    }
    Ok(all)
}
