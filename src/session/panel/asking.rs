//! The panel while the table is set: what this step asks, fields to type in,
//! choices to press.

use super::head::warning;
use super::press::press;
use super::style::{BODY, CHALK, DIM, FACT, GROUND};
use crate::work::Said;
use crate::work::setting::{Ask, Setting, SettingAct, sheet};
use egui::{CentralPanel, Frame, Margin, RichText, ScrollArea, TextEdit, Ui};

/// What is being typed, and for which field.
#[derive(Debug, Clone, Default)]
pub struct AskMemory {
    of: (String, usize),
    texts: Vec<String>,
}

/// Widest line of words, points: longer ones are lost track of.
const MEASURE: f32 = 860.0;

/// Shows the step in all of the window; what the person answers.
pub fn ask(
    ui: &mut Ui,
    setting: &Setting,
    said: Option<&Said>,
    memory: &mut AskMemory,
) -> Vec<SettingAct> {
    let asked = setting.asks();
    let mut acts = Vec::new();
    let frame = Frame::NONE
        .fill(GROUND)
        .inner_margin(Margin::symmetric(28, 20));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.set_max_width(MEASURE);
            let (n, of) = asked.step_of;
            ui.label(RichText::new(format!("setting the table, {n} of {of}")).color(DIM));
            ui.label(RichText::new(asked.title).size(FACT).color(CHALK));
            ui.add_space(10.0);
            for words in &asked.words {
                ui.label(words);
                ui.add_space(4.0);
            }
            ui.add_space(10.0);
            fields(ui, &asked, memory, &mut acts);
            for (k, choice) in asked.choices.iter().enumerate() {
                let control = press(choice).key(format!("{}", k + 1)).wide();
                if control.show(ui) {
                    acts.push(SettingAct::Choose(k));
                }
            }
            ui.add_space(12.0);
            // What the step says already is not said again.
            if let Some(said) = said.filter(|s| !asked.words.contains(&s.words)) {
                if said.warning {
                    warning(ui, &said.words);
                } else {
                    ui.label(&said.words);
                }
                ui.add_space(12.0);
            }
            ui.horizontal(|ui| {
                if press("go on").key("Enter").show(ui) {
                    acts.push(SettingAct::GoOn);
                }
                if press("back").key("Esc").show(ui) {
                    acts.push(SettingAct::Back);
                }
                if press("leave setting").show(ui) {
                    acts.push(SettingAct::Leave);
                }
            });
            ui.add_space(16.0);
            for (keys, what) in sheet(setting) {
                let words = format!("{keys}   {what}");
                ui.label(RichText::new(words).color(DIM).size(BODY - 2.0));
            }
        });
    });
    acts
}

/// A line for each field; what is typed is taken in with Enter, or when the
/// field is left.
fn fields(ui: &mut Ui, asked: &Ask, memory: &mut AskMemory, acts: &mut Vec<SettingAct>) {
    let of = (asked.title.to_owned(), asked.fields.len());
    let fresh = memory.of != of;
    if fresh {
        memory.of = of;
        memory.texts = asked.fields.iter().map(|f| f.text.clone()).collect();
    }
    for (k, field) in asked.fields.iter().enumerate() {
        let Some(text) = memory.texts.get_mut(k) else {
            continue;
        };
        ui.horizontal(|ui| {
            let label = ui.add_sized(
                [330.0, 30.0],
                egui::Label::new(&field.label).halign(egui::Align::Min),
            );
            let edit = TextEdit::singleline(text).desired_width(240.0);
            let here = ui.add(edit).labelled_by(label.id);
            ui.label(RichText::new(field.unit).color(DIM));
            if fresh && k == asked.field {
                here.request_focus();
            }
            if here.gained_focus() && k != asked.field {
                acts.push(SettingAct::Field(k));
            }
            if here.lost_focus() && *text != field.text {
                acts.push(SettingAct::Field(k));
                acts.push(SettingAct::Typed(text.clone()));
                let next = (k + 1).min(asked.fields.len() - 1);
                acts.push(SettingAct::Field(next));
            }
        });
    }
    if !asked.fields.is_empty() {
        ui.add_space(10.0);
    }
}
