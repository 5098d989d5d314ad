//! The cut test: a strip that was cut is typed in here; what was found is on or off.

use super::PanelMemory;
use super::field::field;
use super::press::press;
use super::style::DIM;
use super::view::{PanelView, Wish};
use crate::work::{Act, CutStrip};
use egui::{RichText, Role, Ui};

/// What is being typed of a strip.
#[derive(Debug, Clone)]
pub struct Strip {
    open: bool,
    /// Two lengths, two widths.
    read: [String; 4],
    tool: String,
    cloth: String,
    plies: u32,
}

impl Default for Strip {
    fn default() -> Self {
        Self {
            open: false,
            read: Default::default(),
            tool: "shears".to_owned(),
            cloth: String::new(),
            plies: 1,
        }
    }
}

/// The trims that are known, and a strip to be typed in.
pub fn list(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    for (at, trim) in view.bench.state().trims.iter().enumerate() {
        let way = if trim.edge_mm < 0.0 { "out" } else { "in" };
        let by = format!("{:.2} mm {way}", trim.edge_mm.abs());
        ui.horizontal_wrapped(|ui| {
            let words = format!("trim {by}: {}", trim.of());
            if press(&words).chosen(Role::CheckBox, trim.on).show(ui) {
                wishes.push(Wish::Act(Act::Trim { at, on: !trim.on }));
            }
            let named = format!("take away the trim of {}", trim.of());
            if press("take away").named(named).show(ui) {
                wishes.push(Wish::Act(Act::DropTrim(at)));
            }
        });
    }
    let strip = &mut memory.strip;
    if press("a strip was cut")
        .chosen(Role::CheckBox, strip.open)
        .wide()
        .show(ui)
    {
        strip.open = !strip.open;
    }
    if strip.open {
        typed(ui, view, strip, wishes);
    }
}

fn typed(ui: &mut Ui, view: &PanelView, strip: &mut Strip, wishes: &mut Vec<Wish>) {
    let words = "a strip of light, 240 by 60 mm, cut out of a scrap as always; each side measured \
                 twice, at two places";
    ui.label(RichText::new(words).color(DIM));
    let rows = [("long side", 0), ("short side", 2)];
    for (what, first) in rows {
        ui.horizontal(|ui| {
            ui.add_sized([90.0, 24.0], egui::Label::new(what));
            for (k, nth) in [(first, "first"), (first + 1, "second")] {
                field(
                    ui,
                    &mut strip.read[k],
                    (&format!("{what}, {nth} reading"), ""),
                    90.0,
                );
            }
        });
    }
    ui.horizontal(|ui| {
        ui.add_sized([90.0, 24.0], egui::Label::new("cut with"));
        field(ui, &mut strip.tool, ("cut with", ""), 140.0);
    });
    let cloths = &view.bench.goods.cloths;
    if !cloths.iter().any(|c| c.name == strip.cloth) {
        strip.cloth = cloths.first().map_or_else(String::new, |c| c.name.clone());
    }
    ui.horizontal_wrapped(|ui| {
        for c in cloths {
            let control = press(&c.name).named(format!("cut from {}", c.name));
            if control
                .chosen(Role::RadioButton, strip.cloth == c.name)
                .show(ui)
            {
                strip.cloth.clone_from(&c.name);
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        for (plies, words) in [(1, "one ply"), (2, "two plies")] {
            if press(words)
                .chosen(Role::RadioButton, strip.plies == plies)
                .show(ui)
            {
                strip.plies = plies;
            }
        }
    });
    if press("work out what the hand leaves").wide().show(ui) {
        let [a, b, c, d] = strip.read.clone();
        wishes.push(Wish::Act(Act::CutStrip(Box::new(CutStrip {
            tool: strip.tool.clone(),
            cloth: strip.cloth.clone(),
            plies: strip.plies,
            length: [a, b],
            width: [c, d],
            unit: view.facts.unit,
        }))));
    }
}
