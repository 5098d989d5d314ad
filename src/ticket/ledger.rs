//! The ledger: what was cut, when, from what, by which table; and what is left.

use crate::cloth::Panel;
use crate::lay::{CutPart, Face, Stock, inside_of};
use serde::Serialize;

/// A part off the cloth, as the ledger has it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LedgerRow {
    pub part: u32,
    /// UTC, as RFC 3339 writes it; none: the program that cut it did not note it.
    pub when: Option<String>,
    pub article: String,
    pub piece: String,
    pub cloth: String,
    pub panel: String,
    /// `as drawn` or `mirrored`.
    pub hand: &'static str,
    pub plies: u32,
    /// The table's profile, by its file.
    pub profile: Option<String>,
    /// How far the light was moved inward for what hand and tool leave, mm.
    pub trim_mm: Option<f64>,
    /// The error of its shape that was stated when it was cut, mm.
    pub error_mm: Option<f64>,
    pub spoilt: bool,
    /// The spoilt part that it takes the place of.
    pub recut_of: Option<u32>,
}

/// All that was cut, in order. What is cut beyond the number that is ordered of an article's
/// part (of a hand, where hands differ) is a recut: of the first like it that was spoilt and
/// has none yet.
pub fn ledger(stock: &Stock, cut: &[CutPart]) -> Vec<LedgerRow> {
    let mut replaced: Vec<u32> = Vec::new();
    let mut rows = Vec::new();
    for (k, p) in cut.iter().enumerate() {
        let part = stock.part(&p.article, &p.piece, &p.cloth);
        let any_hand = stock.cloth(&p.cloth).is_some_and(|c| c.no_face);
        let by_hand = part.is_some_and(|part| part.pair) && !any_hand;
        let ordered = part.map(|part| match (by_hand, part.hands(), p.face) {
            (true, (up, _), Face::Up) => up,
            (true, (_, down), Face::Down) => down,
            (false, ..) => part.count,
        });
        let like = |q: &&CutPart| {
            (&q.article, &q.piece, &q.cloth) == (&p.article, &p.piece, &p.cloth)
                && (!by_hand || q.face == p.face)
        };
        let before: Vec<&CutPart> = cut[..k].iter().filter(like).collect();
        let is_more = ordered.is_some_and(|n| before.len() >= n as usize);
        let free = before
            .iter()
            .find(|q| q.spoilt && !replaced.contains(&q.id));
        let recut_of = free.filter(|_| is_more).map(|q| q.id);
        replaced.extend(recut_of);
        let by = p.by.as_ref();
        rows.push(LedgerRow {
            part: p.id,
            when: by.map(|b| b.when.clone()),
            article: p.article.clone(),
            piece: p.piece.clone(),
            cloth: p.cloth.clone(),
            panel: p.panel.clone(),
            hand: match p.face {
                Face::Up => "as drawn",
                Face::Down => "mirrored",
            },
            plies: p.plies,
            profile: by.and_then(|b| b.profile.clone()),
            trim_mm: by.map(|b| b.trim_mm),
            error_mm: by.and_then(|b| b.error_mm),
            spoilt: p.spoilt,
            recut_of,
        });
    }
    rows
}

/// How much of a panel became parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelYield {
    pub panel: String,
    pub cloth: String,
    /// Its outline's, all layers, mm².
    pub area_mm2: f64,
    /// Of good parts, and of spoilt ones.
    pub parts_mm2: f64,
    pub spoilt_mm2: f64,
    pub percent: f64,
}

/// Yield by panel: of those from which something was cut.
pub fn yields(stock: &Stock, panels: &[Panel], cut: &[CutPart]) -> Vec<PanelYield> {
    let each = panels.iter().filter_map(|panel| {
        let mut parts = [0.0, 0.0];
        for p in cut.iter().filter(|p| p.panel == panel.name) {
            let area = stock.piece(&p.piece).map_or(0.0, |q| inside_of(q).area());
            parts[usize::from(p.spoilt)] += area;
        }
        let area = panel.outline().ok()?.area() * f64::from(panel.stack.layers);
        (parts[0] + parts[1] > 0.0).then(|| PanelYield {
            panel: panel.name.clone(),
            cloth: panel.cloth.clone(),
            area_mm2: area,
            parts_mm2: parts[0],
            spoilt_mm2: parts[1],
            percent: 100.0 * parts[0] / area,
        })
    });
    each.collect()
}

/// The ledger as CSV (RFC 4180), with a line of names first. What could be taken for a formula
/// by a spreadsheet is written after an apostrophe.
pub fn csv(rows: &[LedgerRow]) -> String {
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let names = [
        "part", "when", "article", "piece", "cloth", "panel", "hand", "plies", "profile",
        "trim_mm", "error_mm", "spoilt", "recut_of",
    ];
    // Writing to memory does not fail, and what is written is text.
    let _ = out.write_record(names);
    let safe = |text: &str| match text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        true => format!("'{text}"),
        false => text.to_owned(),
    };
    let number = |v: Option<f64>| v.map_or(String::new(), |v| format!("{v}"));
    for r in rows {
        let _ = out.write_record([
            r.part.to_string(),
            r.when.clone().unwrap_or_default(),
            safe(&r.article),
            safe(&r.piece),
            safe(&r.cloth),
            safe(&r.panel),
            r.hand.to_owned(),
            r.plies.to_string(),
            safe(r.profile.as_deref().unwrap_or_default()),
            number(r.trim_mm),
            number(r.error_mm),
            r.spoilt.to_string(),
            r.recut_of.map_or(String::new(), |n| n.to_string()),
        ]);
    }
    let bytes = out.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}
