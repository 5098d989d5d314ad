//! The top of the panel: what the person is asked to do now, the controls of
//! what is being done, and the sentence said last.

use super::press::press;
use super::sign::sign;
use super::style::{DIM, FACT};
use super::view::{PanelView, Wish};
use super::wish_of;
use crate::work::Act;
use crate::work::KeyAct;
use crate::work::table;
use egui::{RichText, Ui};

pub fn show(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let bench = view.bench;
    let asks = bench.doing().asks(&bench.marks_in_work());
    ui.label(RichText::new(capital(&asks)).size(FACT));
    if view.facts.keyboard_elsewhere {
        let words = "another window has the keyboard: keys do not reach the table";
        warning(ui, words);
    }
    if !bench.doing().is_laying() {
        ui.horizontal_wrapped(|ui| {
            for line in table(bench.doing()) {
                // One control each, whatever other keys there are for it.
                let one = line.presses.iter().find(|(_, a)| ends(a));
                let Some((pressed, act)) = one else { continue };
                let control = press(line.what).key(pressed.to_string());
                if control.show(ui) {
                    wishes.extend(wish_of(act, bench));
                }
            }
        });
    }
    // A line is kept for what is said, so that nothing jumps when it is.
    match view.said {
        Some(said) if said.warning => warning(ui, &said.words),
        Some(said) => {
            ui.label(RichText::new(&said.words).color(DIM));
        }
        None => {
            ui.label("");
        }
    }
}

/// A sentence with the sign of a warning.
pub fn warning(ui: &mut Ui, words: &str) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 8.0;
        sign(ui);
        ui.label(words);
    });
}

/// What ends an activity, or takes a step in it or back: pressing itself is done on
/// the table.
fn ends(act: &KeyAct) -> bool {
    use Act::{BackUp, Finish, Leave, Next, PassOver};
    matches!(act, KeyAct::Act(Finish | Leave | BackUp | PassOver | Next))
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + chars.as_str()
}
