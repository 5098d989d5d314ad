//! Places of a seam in words that a maker acts on.

use super::laid::Laid;
use super::run::{Run, Stands, Stop};
use crate::pattern::NotchKind;
use crate::pattern::Spot;
use std::fmt::Display;

/// A place this near the middle of an edge is called its middle, mm.
const MIDDLE: f64 = 0.5;

/// At most so many names are listed.
const MOST_LISTED: usize = 20;

/// `"a", "b", "c"`; of many, the first.
pub fn list<T: Display>(names: impl Iterator<Item = T>) -> String {
    let mut all: Vec<String> = names.map(|n| format!("\"{n}\"")).collect();
    if all.len() > MOST_LISTED {
        let rest = all.len() - MOST_LISTED;
        all.truncate(MOST_LISTED);
        all.push(format!("and {rest} more"));
    }
    if all.is_empty() {
        return "none".into();
    }
    all.join(", ")
}

/// The word for a notch.
pub fn notch(kind: NotchKind) -> &'static str {
    match kind {
        NotchKind::Slit => "slit",
        NotchKind::Double => "double notch",
        NotchKind::Vee => "vee",
    }
}

/// The word for what stands at a place.
pub fn kind(stop: &Stop) -> &'static str {
    match stop.stands {
        Stands::Notch(_, kind) => notch(kind),
        Stands::Joint => "joint",
    }
}

/// `"upper: throat"`.
pub fn edge(laid: &[Laid], run: &Run, step: usize) -> String {
    let step = run.steps[step];
    let piece = &laid[step.piece];
    format!("\"{}: {}\"", piece.piece.name, piece.edges[step.edge].name)
}

/// A side of a seam.
pub fn side(laid: &[Laid], run: &Run) -> String {
    let all: Vec<String> = (0..run.steps.len()).map(|k| edge(laid, run, k)).collect();
    all.join(" + ")
}

/// Where a step's edge is.
pub fn spot(laid: &[Laid], run: &Run, step: usize, seam: Option<&str>) -> Spot {
    let step = run.steps[step];
    let piece = &laid[step.piece];
    Spot {
        seam: seam.map(str::to_owned),
        ..Spot::piece(piece.piece).edge(&piece.edges[step.edge].name)
    }
}

/// The end of a step's edge to which its travel leads (`on`), or from which it comes: by
/// the neighbouring edge.
pub fn end(laid: &[Laid], run: &Run, step: usize, on: bool) -> String {
    let step = run.steps[step];
    let piece = &laid[step.piece];
    if piece.edges.len() < 2 {
        return if on { "its end" } else { "its start" }.into();
    }
    let next = piece.neighbour(step.edge, on != step.back);
    if piece.folded[next] {
        return "the fold".into();
    }
    format!("the end at \"{}\"", piece.edges[next].name)
}

/// The step on which a length falls, and where on its edge that is: from its nearer end.
pub fn place(laid: &[Laid], run: &Run, s: f64) -> (usize, String) {
    let (step, rest) = run.on(s);
    let whole = run.begins[step + 1] - run.begins[step];
    let rest = rest.clamp(0.0, whole);
    let far = rest > whole / 2.0;
    let from = if far { whole - rest } else { rest };
    let end = end(laid, run, step, far);
    let middle = if (rest - whole / 2.0).abs() <= MIDDLE {
        "in the middle, "
    } else {
        ""
    };
    (step, format!("{middle}{from:.1} mm from {end}"))
}
