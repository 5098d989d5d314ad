//! The foot: how the table was set, where the light goes, whether what was done
//! is written.

use super::head::warning;
use super::style::DIM;
use super::view::{Facts, PanelView};
use egui::{RichText, Ui};

pub fn show(ui: &mut Ui, view: &PanelView) {
    let facts = view.facts;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 8.0;
        for (k, (what, value)) in lines(facts).into_iter().enumerate() {
            if k > 0 {
                ui.add_space(12.0);
            }
            ui.label(RichText::new(what).color(DIM));
            ui.label(value);
        }
    });
    for words in warnings(facts) {
        warning(ui, &words);
    }
}

/// What is so.
fn lines(facts: &Facts) -> Vec<(&'static str, String)> {
    let output = &facts.output;
    let mut lines = Vec::new();
    if let Some(p) = &facts.profile {
        lines.push(("set", format!("{}, {}", p.name, p.made)));
    }
    let [w, h] = output.size;
    let mut light = format!("{} {w} × {h}", output.name);
    if output.state.is_well() {
        light += &format!(", {}", output.state.words());
    }
    if let Some(m) = facts.lit_minutes {
        light += &format!(" {m} min");
    }
    lines.push(("light", light));
    if let Some(ms) = facts.frame_ms {
        lines.push(("frame", format!("{ms:.0} ms")));
    }
    if facts.rehearsing {
        lines.push(("table", "simulated".to_owned()));
    }
    if facts.journal_fault.is_none() && facts.read_only.is_none() {
        lines.push(("journal", "all is written".to_owned()));
    }
    lines
}

/// What should not be so.
fn warnings(facts: &Facts) -> Vec<String> {
    let mut all = Vec::new();
    if facts.profile.is_none() {
        all.push("the table is not set: no millimetre is true until it is (F2)".to_owned());
    }
    if !facts.output.state.is_well() {
        let name = &facts.output.name;
        all.push(format!("{name} is {}", facts.output.state.words()));
    }
    all.extend(facts.read_only.clone());
    all.extend(facts.journal_fault.clone());
    all
}
