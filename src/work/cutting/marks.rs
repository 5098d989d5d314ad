//! What is transferred to a part before it leaves the light, and which ticket
//! goes on it.

use crate::lay::{CutPart, Stock, is_seated, look_alikes};

/// What to transfer to a part, a few words each; empty if nothing.
pub fn to_transfer(part: &CutPart, stock: &Stock) -> Vec<String> {
    let Some(piece) = stock.piece(&part.piece) else {
        return Vec::new();
    };
    let several = |n: usize, one: &str, many: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    };
    let mut all: Vec<String> = [
        several(piece.darts.len(), "dart", "darts"),
        several(piece.drills.len(), "drill point", "drill points"),
        several(piece.lines.len(), "inner line", "inner lines"),
        several(piece.folds.len(), "fold", "folds"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if let Some(inner) = stock.inside_of(&part.article, &part.piece) {
        // Where the drawing does not say where it sits, the eye does.
        let seated = stock.piece(inner).is_some_and(|p| is_seated(p, piece));
        let how = if seated { "" } else { ", by eye" };
        all.push(format!("the seat of the {inner}{how}"));
    }
    if piece.label_at.is_some() && !all.is_empty() {
        all.push("the label's place: where its name stands".to_owned());
    }
    let alike = look_alikes(part, stock);
    if !alike.is_empty() {
        all.push(format!(
            "the ticket {} (it looks like {})",
            part.name(),
            alike.join(", ")
        ));
    }
    all
}
