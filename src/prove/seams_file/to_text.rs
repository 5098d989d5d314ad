//! The seams file as text, written.

use super::text::{EdgeText, RingText, SeamText, Typed, Whole};
use super::{Along, EdgeNaming, Place, SeamsFile, VERSION};
use crate::fault::{Fault, Outcome};
use crate::pattern::{EdgeName, Ring, Seam};
use toml::Spanned;

impl SeamsFile {
    /// The file as text; read again it is the same, but for the lines.
    ///
    /// # Errors
    /// Only if the TOML library fails.
    pub fn to_text(&self) -> Outcome<String> {
        let whole = Whole {
            ghostchalk_seams: VERSION,
            edge: self
                .edges
                .iter()
                .map(|e| Spanned::new(0..0, edge_text(e)))
                .collect(),
            seam: self
                .sewing
                .seams
                .iter()
                .map(|s| Spanned::new(0..0, seam_text(s)))
                .collect(),
            ring: self
                .sewing
                .rings
                .iter()
                .map(|r| Spanned::new(0..0, ring_text(r)))
                .collect(),
        };
        toml::to_string(&whole)
            .map_err(|e| Fault::mistake(format!("it can't be written as TOML: {e}")))
    }
}

/// Shortest digits that read back to the same length.
fn mm(value: f64) -> Typed {
    Typed(format!("{value} mm"))
}

fn place_text(place: Place) -> String {
    match place {
        Place::Corner(n) => format!("corner {n}"),
        Place::Notch(n) => format!("notch {n}"),
    }
}

fn edge_text(e: &EdgeNaming) -> EdgeText {
    let mut text = EdgeText {
        piece: e.piece.clone(),
        name: e.name.clone(),
        length: e.length.map(mm),
        allowance: e.allowance.map(mm),
        ..EdgeText::default()
    };
    match e.along {
        Along::Number(n) => text.number = Some(n),
        Along::Between(from, to) => {
            text.from = Some(place_text(from));
            text.to = Some(place_text(to));
        }
    }
    text
}

fn seam_text(s: &Seam) -> SeamText {
    let list = |names: &[EdgeName]| names.iter().map(ToString::to_string).collect();
    SeamText {
        name: s.name.clone(),
        one: list(&s.one),
        other: list(&s.other),
        ease: Some(mm(s.ease)),
        tolerance: Some(mm(s.tolerance)),
    }
}

fn ring_text(r: &Ring) -> RingText {
    RingText {
        name: r.name.clone(),
        edges: r.edges.iter().map(ToString::to_string).collect(),
        girth: mm(r.girth),
        ease: Some(mm(r.ease)),
        cloth: Some(mm(r.cloth)),
        at: Some(r.at),
        tolerance: Some(mm(r.tolerance)),
        sewn: r.sewn.map(mm),
    }
}
