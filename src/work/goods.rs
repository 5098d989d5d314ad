//! What the work is given and never changes.

use crate::cloth::Cloth;
use crate::lay::Stock;
use crate::order::Article;
use crate::pattern::PatternPiece;

/// Pieces, cloths and articles: what the work does not change.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Goods {
    pub pieces: Vec<PatternPiece>,
    pub cloths: Vec<Cloth>,
    pub articles: Vec<Article>,
}

impl Goods {
    pub fn stock(&self) -> Stock<'_> {
        Stock {
            pieces: &self.pieces,
            cloths: &self.cloths,
            articles: &self.articles,
        }
    }
}
