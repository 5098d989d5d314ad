//! The light: which way, how strong, how wide.

use super::PanelMemory;
use super::press::press;
use super::style::DIM;
use super::trims;
use super::view::{PanelView, Wish};
use crate::colour::Tint;
use crate::measure::Unit;
use crate::work::Act;
use crate::work::BANDS;
use crate::work::Doing;
use crate::work::Errand;
use crate::work::KeyAct;
use crate::work::MOST_WORK_LIGHT;
use crate::work::Relative;
use crate::work::Task;
use crate::work::WASTE;
use crate::work::Way;
use crate::work::table;
use egui::{RichText, Role, Slider, Ui};

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    let ways = *view.bench.ways();
    let mut wish = |act| wishes.push(Wish::Act(act));
    for way in Way::ALL {
        let control = press(way.words())
            .key(keys(|a| *a == KeyAct::Act(Act::Way(way))))
            .chosen(Role::RadioButton, ways.way == way)
            .wide();
        if control.show(ui) {
            wish(Act::Way(way));
        }
    }
    ui.add_space(8.0);
    let is_waste = |a: &KeyAct| *a == KeyAct::Relative(Relative::Waste);
    let words = format!("light the waste for {}", show(view.facts.unit, WASTE));
    let control = press(&words)
        .key(keys(is_waste))
        .chosen(Role::CheckBox, ways.waste);
    if control.wide().show(ui) {
        wish(Act::Waste(!ways.waste));
    }
    let is_watch = |a: &KeyAct| *a == KeyAct::Relative(Relative::Watch);
    let control = press("rings round bare marks")
        .key(keys(is_watch))
        .chosen(Role::CheckBox, ways.watch);
    if control.wide().show(ui) {
        wish(Act::Watch(!ways.watch));
    }
    let is_creep = |a: &KeyAct| *a == KeyAct::Relative(Relative::Creep);
    let control = press("dashes that creep along the band")
        .key(keys(is_creep))
        .chosen(Role::CheckBox, ways.creep);
    if control.wide().show(ui) {
        wish(Act::Creep(!ways.creep));
    }
    ui.add_space(8.0);
    let percent = |v: f64| format!("{v:.0} %");
    let is = |a: &KeyAct| matches!(a, KeyAct::Relative(Relative::WorkLight(_)));
    let range = (0.0, f64::from(MOST_WORK_LIGHT));
    let value = f64::from(ways.work_light);
    if let Some(v) = slide(ui, ("work light", keys(is)), value, range, 5.0, percent) {
        wish(Act::WorkLight(v.round() as u8));
    }
    let is = |a: &KeyAct| matches!(a, KeyAct::Relative(Relative::Brightness(_)));
    let value = f64::from(ways.brightness);
    if let Some(v) = slide(ui, ("guides", keys(is)), value, (5.0, 100.0), 5.0, percent) {
        wish(Act::Brightness(v.round() as u8));
    }
    let is = |a: &KeyAct| matches!(a, KeyAct::Relative(Relative::Band(_)));
    let range = (*BANDS.start(), *BANDS.end());
    let shown = |mm: f64| show(view.facts.unit, mm);
    if let Some(v) = slide(ui, ("band", keys(is)), ways.band_mm, range, 0.5, shown) {
        wish(Act::Band(v));
    }
    if let Some(least) = view.facts.lit_band_mm.filter(|l| *l > ways.lit_width()) {
        let words = format!("lit {}: three projector pixels", shown(least));
        ui.label(RichText::new(words).color(DIM));
    }
    let now = ways.colour;
    ui.horizontal(|ui| {
        ui.label(RichText::new("colour").color(DIM));
        ui.label(now.words());
        let next = keys(|a| *a == KeyAct::Relative(Relative::NextColour));
        ui.label(RichText::new(next).size(super::style::CAP).color(DIM));
    });
    ui.horizontal_wrapped(|ui| {
        for tint in Tint::ALL {
            let control = press(tint.words()).named(format!("{} light", tint.words()));
            if control.chosen(Role::RadioButton, now == tint).show(ui) {
                wish(Act::Colour(tint));
            }
        }
    });
    ui.add_space(8.0);
    trims::list(ui, view, memory, wishes);
    ui.add_space(8.0);
    let check = KeyAct::Relative(Relative::Begin(Errand::Check));
    let control = press("check the light: still on its marks?").key(keys(|a| *a == check));
    if control.wide().show(ui) {
        wishes.push(Wish::Act(Act::Begin(Task::Check)));
    }
    if press("the projector was refocused").wide().show(ui) {
        wishes.push(Wish::Act(Act::Refocused));
    }
}

/// A length, finer than a tape is read: a band of 2.5 mm is no round fraction.
fn show(unit: Unit, mm: f64) -> String {
    match unit {
        Unit::Inch => format!("{} ({mm:.1} mm)", unit.show(mm)),
        _ => unit.show(mm),
    }
}

/// The keys of the first line whose act it is, with a space between.
fn keys(is: impl Fn(&KeyAct) -> bool) -> String {
    let lines = table(&Doing::Laying).into_iter();
    let mut lines = lines.filter(|l| l.presses.iter().any(|(_, a)| is(a)));
    lines.next().map(|l| l.keys()).unwrap_or_default()
}

/// A slider with its value above it; what it was moved to. Steps are coarse:
/// each is one step of undo.
fn slide(
    ui: &mut Ui,
    (what, keys): (&str, String),
    value: f64,
    (least, most): (f64, f64),
    step: f64,
    shown: impl Fn(f64) -> String,
) -> Option<f64> {
    ui.horizontal(|ui| {
        ui.label(RichText::new(what).color(DIM));
        ui.label(shown(value));
    });
    let mut moved = value;
    let response = ui
        .horizontal(|ui| {
            let slider = Slider::new(&mut moved, least..=most)
                .step_by(step)
                .show_value(false);
            let response = ui.add(slider);
            ui.label(RichText::new(keys).size(super::style::CAP).color(DIM));
            response
        })
        .inner;
    let name = what.to_owned();
    ui.ctx()
        .accesskit_node_builder(response.id, |node| node.set_label(name));
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    (moved != value).then_some(moved)
}
