//! The table and the windows: where the person stands, where the light goes,
//! setting, cautions.

use super::press::press;
use super::style::DIM;
use super::view::{PanelView, Wish};
use crate::measure::Unit;
use crate::stand::Hand;
use crate::stand::Side;
use crate::work::Act;
use crate::work::Doing;
use crate::work::KeyAct;
use crate::work::Outside;
use crate::work::table;
use egui::{RichText, Role, Ui};

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let ways = *view.bench.ways();
    let facts = view.facts;
    group(ui, "I stand at the table's", |ui| {
        for (side, words) in [
            (Side::Front, "front"),
            (Side::Right, "right"),
            (Side::Back, "back"),
            (Side::Left, "left"),
        ] {
            let control = press(words)
                .named(format!("I stand at the {words}"))
                .chosen(Role::RadioButton, ways.stands == side);
            if control.show(ui) {
                wishes.push(Wish::Act(Act::Stand(side)));
            }
        }
    });
    group(ui, "I cut with the", |ui| {
        for (hand, words) in [(Hand::Left, "left hand"), (Hand::Right, "right hand")] {
            let control = press(words)
                .named(format!("I cut with the {words}"))
                .chosen(Role::RadioButton, ways.cuts == hand);
            if control.show(ui) {
                wishes.push(Wish::Act(Act::Cut(hand)));
            }
        }
    });
    group(ui, "lengths in", |ui| {
        for (unit, words) in [(Unit::Mm, "millimetres"), (Unit::Inch, "inches")] {
            let control = press(words)
                .named(format!("show lengths in {words}"))
                .chosen(Role::RadioButton, facts.unit == unit);
            if control.show(ui) {
                wishes.push(Wish::Unit(unit));
            }
        }
    });
    group(ui, "light goes to", |ui| {
        for name in &facts.outputs {
            let chosen = facts.output.name == *name;
            let control = press(name)
                .named(format!("send the light to {name}"))
                .chosen(Role::RadioButton, chosen);
            if control.show(ui) {
                wishes.push(Wish::ChooseOutput(name.clone()));
            }
        }
        if facts.outputs.is_empty() {
            ui.label("no second output: the light is in a window on this screen");
        }
    });
    let control = press("a simulated table behind the light")
        .named("rehearse on a simulated table")
        .chosen(Role::CheckBox, facts.rehearsing);
    if control.show(ui) {
        wishes.push(Wish::Rehearse(!facts.rehearsing));
    }
    ui.add_space(8.0);
    let outside = [
        (Outside::Setting, "set the table", Wish::BeginSetting),
        (Outside::KeySheet, "the keys, as light", Wish::KeySheet),
        (Outside::Cautions, "cautions", Wish::Cautions),
        (Outside::Quit, "end", Wish::Quit),
    ];
    for (act, words, wish) in outside {
        if press(words).key(key_of(act)).wide().show(ui) {
            wishes.push(wish);
        }
    }
}

fn group(ui: &mut Ui, words: &str, inside: impl FnOnce(&mut Ui)) {
    ui.label(RichText::new(words).color(DIM));
    ui.horizontal_wrapped(inside);
    ui.add_space(8.0);
}

/// The key of what is outside the bench.
pub fn key_of(act: Outside) -> String {
    let mut all = table(&Doing::Laying).into_iter().flat_map(|l| l.presses);
    let found = all.find(|(_, a)| *a == KeyAct::Outside(act));
    found.map(|(p, _)| p.to_string()).unwrap_or_default()
}
