//! The leaf of the pattern: what was found when it was proven, and its drafts as tables
//! to fill in, drawn as they are typed.

use super::PanelMemory;
use super::head::warning;
use super::press::press;
use super::style::{BODY, DIM, letters};
use super::view::{PanelView, Wish};
use super::{drafting, reading};
use crate::pattern::{Finding, Severity};
use crate::prove::Proof;
use crate::session::proving::DraftWish;
use crate::session::reading::ReadOpen;
use egui::{RichText, TextEdit, Ui};

/// What is being typed.
#[derive(Debug, Clone, Default)]
pub struct Typing {
    field: String,
    text: String,
}

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    let proving = view.proving;
    let words = if proving.proof.is_none() {
        "prove the pattern"
    } else if proving.is_stale() {
        "prove it again: it has changed"
    } else {
        "prove it again"
    };
    if press(words).wide().show(ui) {
        wishes.push(Wish::Draft(DraftWish::Prove));
    }
    if let Some(proof) = &proving.proof {
        found(ui, proof);
    }
    for (k, open) in proving.readings.iter().enumerate() {
        ui.separator();
        let hand = (&mut memory.looking, &mut memory.typing);
        reading::show(ui, (k, open), view.facts.unit, hand, wishes);
    }
    for (k, open) in proving.drafts.iter().enumerate() {
        ui.separator();
        let hand = (&mut memory.at_draft, &mut memory.typing);
        drafting::show(ui, (k, open), hand, wishes);
    }
    let corrected = proving.readings.iter().any(ReadOpen::is_changed);
    let words = match (corrected, proving.drafts.is_empty()) {
        (true, true) => "keep it: write what is corrected beside the file, and lay from it",
        (true, false) => "keep it: write draft and corrected drawing, and lay from them",
        (false, false) => "keep it: write the draft, and lay from it",
        (false, true) => return,
    };
    ui.add_space(6.0);
    if press(words).wide().show(ui) {
        wishes.push(Wish::Draft(DraftWish::Keep));
    }
}

/// The findings, what matters most first, and the seams.
fn found(ui: &mut Ui, proof: &Proof) {
    if let Some(l) = &proof.largest {
        let words = format!(
            "largest: {}, {:.1} × {:.1} mm. Is that its true size?",
            l.piece, l.width_mm, l.height_mm
        );
        ui.label(RichText::new(words).color(DIM));
    }
    if !proof.spoils() {
        ui.label("nothing found that would spoil the work");
    }
    for f in &proof.findings {
        let words = sentence(f);
        match f.severity {
            Severity::Spoils => warning(ui, &words),
            Severity::Check => drop(ui.label(format!("look at: {words}"))),
            Severity::Advice => drop(ui.label(RichText::new(words).color(DIM))),
        }
    }
    let seams = proof.seams.iter().map(|s| (&s.seam, s.difference_mm));
    let rings = proof.rings.iter().map(|r| (&r.ring, r.difference_mm));
    for (name, off) in seams.chain(rings) {
        ui.label(RichText::new(format!("{name}: off by {off:.1} mm")).color(DIM));
    }
}

fn sentence(f: &Finding) -> String {
    let mut at = Vec::new();
    at.extend(f.spot.seam.clone());
    at.extend(f.spot.piece.clone());
    at.extend(f.spot.edge.clone());
    match at.join(", ").as_str() {
        "" => format!("{}; {}", f.what, f.remedy),
        at => format!("{at}: {}; {}", f.what, f.remedy),
    }
}

/// A field that keeps what is being typed, also if it can't be taken; what it was changed
/// to. `at_once`: with every letter, but for none at all; else when it is left.
pub(super) fn typed(
    ui: &mut Ui,
    typing: &mut Typing,
    (id, name): (String, &str),
    now: &str,
    (width, at_once): (f32, bool),
) -> Option<String> {
    let mine = typing.field == id;
    let mut text = if mine {
        typing.text.clone()
    } else {
        now.to_owned()
    };
    let edit = TextEdit::singleline(&mut text)
        .id_salt(("typed", &id))
        .font(letters(BODY))
        .desired_width(width);
    let field = ui.add(edit);
    let said = name.to_owned();
    ui.ctx()
        .accesskit_node_builder(field.id, |node| node.set_label(said));
    let left = field.lost_focus() && mine;
    if left {
        typing.field.clear();
    }
    if field.changed() {
        typing.field.clone_from(&id);
        typing.text.clone_from(&text);
    }
    let takes = if at_once && !text.trim().is_empty() {
        field.changed()
    } else {
        left && text != now
    };
    takes.then_some(text)
}
