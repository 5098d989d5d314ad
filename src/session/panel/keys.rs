//! What the keys do now, and what the lines of the plan mean.

use super::style::DIM;
use super::view::PanelView;
use crate::work::sheet;
use egui::{Grid, RichText, Ui};

/// The leaf: the very table that the keys are taken from.
pub fn leaf(ui: &mut Ui, view: &PanelView) {
    Grid::new("keys")
        .num_columns(2)
        .spacing([14.0, 6.0])
        .show(ui, |ui| {
            for (keys, what) in sheet(view.bench.doing()) {
                ui.label(keys);
                ui.add(egui::Label::new(RichText::new(what).color(DIM)).wrap());
                ui.end_row();
            }
        });
    ui.add_space(12.0);
    ui.heading("lines of the plan");
    for words in [
        "doubled and bright: in hand",
        "plain: laid",
        "dashed: locked",
        "rising hatching: something is wrong there",
        "falling hatching: a bad place, to keep out of",
        "dotted: cloth slipped beneath",
        "corners: as far as the light reaches",
    ] {
        ui.label(RichText::new(words).color(DIM));
    }
}
