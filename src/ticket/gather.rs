//! What a bundle's ticket says, as plain values.

use crate::lay::{CutPart, Face, Hands, Stock, look_alikes};
use crate::order::{Bought, Tape};
use crate::pattern::PatternPiece;
use std::collections::BTreeMap;

/// The ticket of one article.
#[derive(Debug, Clone)]
pub struct Ticket<'a> {
    pub job: &'a str,
    pub article: &'a str,
    pub note: Option<&'a str>,
    pub spare: bool,
    pub parts: Vec<TicketPart<'a>>,
    pub tapes: Vec<Tape>,
    pub bought: &'a [Bought],
    pub sew: &'a [String],
}

/// One line of it.
#[derive(Debug, Clone)]
pub struct TicketPart<'a> {
    pub piece: &'a PatternPiece,
    pub cloth: &'a str,
    pub count: u32,
    pub pair: bool,
    /// Cut so far, and not spoilt.
    pub cut: Hands,
    /// What is read under it: `lightness 62`.
    pub shade: Option<String>,
    /// What it is easily taken for in a heap.
    pub alike: Vec<String>,
}

impl TicketPart<'_> {
    /// Which hands: `1 as drawn, 1 mirrored`.
    pub fn hands(&self) -> String {
        match (self.pair, self.count) {
            (true, n) => format!("{} as drawn, {} mirrored", n.div_ceil(2), n / 2),
            (false, 1) => "as drawn".to_owned(),
            (false, n) => format!("{n} alike, as drawn"),
        }
    }

    /// What is marked on it: `6 notches, 2 drill points`; nothing of nothing.
    pub fn marks(&self) -> Option<String> {
        let p = self.piece;
        let count = |n: usize, one: &str, many: &str| match n {
            0 => None,
            1 => Some(format!("1 {one}")),
            n => Some(format!("{n} {many}")),
        };
        let all = [
            count(p.notches.len(), "notch", "notches"),
            count(p.darts.len(), "dart", "darts"),
            count(p.drills.len(), "drill point", "drill points"),
            count(p.folds.len(), "edge on the fold", "edges on the fold"),
        ];
        let all: Vec<String> = all.into_iter().flatten().collect();
        (!all.is_empty()).then(|| all.join(", "))
    }
}

/// The tickets of all articles, in their order. `tapes` are each article's, `shades` what is
/// read under a part, by article, piece and cloth.
pub fn tickets<'a>(
    job: &'a str,
    stock: &Stock<'a>,
    cut: &[CutPart],
    tapes: &BTreeMap<String, Vec<Tape>>,
    shades: &BTreeMap<(String, String, String), String>,
) -> Vec<Ticket<'a>> {
    let each = stock.articles.iter().map(|article| {
        let parts = article.parts.iter().filter_map(|part| {
            let mut hands = Hands::default();
            let own = |c: &&CutPart| {
                !c.spoilt
                    && (&c.article, &c.piece, &c.cloth) == (&article.name, &part.piece, &part.cloth)
            };
            for c in cut.iter().filter(own) {
                hands.add(c.face);
            }
            let key = (article.name.clone(), part.piece.clone(), part.cloth.clone());
            let like = CutPart {
                id: 1,
                placed: 1,
                piece: part.piece.clone(),
                article: article.name.clone(),
                cloth: part.cloth.clone(),
                panel: String::new(),
                face: Face::Up,
                plies: 1,
                clipped_late: Vec::new(),
                marking: Default::default(),
                spoilt: false,
                by: None,
            };
            Some(TicketPart {
                piece: stock.piece(&part.piece)?,
                cloth: &part.cloth,
                count: part.count,
                pair: part.pair,
                cut: hands,
                shade: shades.get(&key).cloned(),
                alike: look_alikes(&like, stock),
            })
        });
        Ticket {
            job,
            article: &article.name,
            note: article.note.as_deref(),
            spare: article.spare,
            parts: parts.collect(),
            tapes: tapes.get(&article.name).cloned().unwrap_or_default(),
            bought: &article.bought,
            sew: &article.sew,
        }
    });
    each.collect()
}
