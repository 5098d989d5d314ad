//! The panel while the table is set: what this step asks, fields to type in,
//! choices to press.

use super::head::warning;
use super::press::press;
use super::style::{BODY, CHALK, DIM, FACT, GROUND};
use crate::work::Said;
use crate::work::setting::{Ask, Setting, SettingAct, Step, choosing, sheet};
use egui::text::CCursorRange;
use egui::text_edit::TextEditState;
use egui::{
    Align, CentralPanel, Context, Frame, Id, Key, Label, Layout, Margin, Modifiers, RichText,
    ScrollArea, TextEdit, Ui, vec2,
};

/// What is being typed, and into which field.
#[derive(Debug, Clone, Default)]
pub struct AskMemory {
    page: Option<Page>,
    texts: Vec<String>,
    /// The field that had the keyboard when the page was shown last.
    held: Option<usize>,
}

/// What tells one page of fields from another: its step, how many fields it has, and
/// the mark in hand.
type Page = (Step, usize, u32);

fn page_of(setting: &Setting, asked: &Ask) -> Page {
    let (mark, _, _) = setting.cross();
    (setting.step(), asked.fields.len(), mark)
}

/// Known beforehand, so that a field of the next page can have the keyboard before it
/// is first shown.
fn id_of(page: Page, field: usize) -> Id {
    Id::unique(("asked", page, field))
}

/// Widest line of words, points: longer ones are lost track of.
const MEASURE: f32 = 860.0;

/// What a field and its unit take of a line beside its name, points.
const FIELD: f32 = 320.0;

/// The digits that choose while a field has the keyboard, with Ctrl.
const DIGITS: [Key; 9] = [
    Key::Num1,
    Key::Num2,
    Key::Num3,
    Key::Num4,
    Key::Num5,
    Key::Num6,
    Key::Num7,
    Key::Num8,
    Key::Num9,
];

/// Shows the step in all of the window; what the person answers.
pub fn ask(
    ui: &mut Ui,
    setting: &Setting,
    said: Option<&Said>,
    memory: &mut AskMemory,
) -> Vec<SettingAct> {
    let asked = setting.asks();
    let page = page_of(setting, &asked);
    let mut acts = Vec::new();
    let mut left = None;
    let frame = Frame::NONE
        .fill(GROUND)
        .inner_margin(Margin::symmetric(28, 20));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.set_max_width(MEASURE.min(ui.available_width()));
            let (n, of) = asked.step_of;
            ui.label(RichText::new(format!("setting the table, {n} of {of}")).color(DIM));
            ui.label(RichText::new(asked.title).size(FACT).color(CHALK));
            ui.add_space(10.0);
            for words in &asked.words {
                ui.label(words);
                ui.add_space(4.0);
            }
            ui.add_space(10.0);
            left = fields(ui, &asked, page, memory, &mut acts);
            for (k, choice) in asked.choices.iter().enumerate() {
                let key = choosing(k, setting).map_or(String::new(), |p| p.to_string());
                let control = press(choice).key(key).wide();
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
    let ctx = ui.ctx().clone();
    if left.is_none() {
        chosen(&ctx, setting, &asked, memory, &mut acts);
    }
    follow(&ctx, setting, (page, left), memory, &mut acts);
    let mut all = 0..asked.fields.len();
    memory.held = all.find(|k| ctx.memory(|m| m.has_focus(id_of(page, *k))));
    if !acts.is_empty() {
        ctx.request_repaint();
    }
    acts
}

/// A line for each field; what is typed is taken in with Enter, or when the field is
/// left. Returns the field that was left.
fn fields(
    ui: &mut Ui,
    asked: &Ask,
    page: Page,
    memory: &mut AskMemory,
    acts: &mut Vec<SettingAct>,
) -> Option<usize> {
    if memory.page != Some(page) {
        memory.page = Some(page);
        memory.held = None;
        memory.texts = vec![String::new(); asked.fields.len()];
        if let Some(field) = asked.fields.get(asked.field) {
            give(ui.ctx(), id_of(page, asked.field), &field.text);
        }
    }
    let (mut left, mut reached) = (None, None);
    for (k, (field, text)) in asked.fields.iter().zip(&mut memory.texts).enumerate() {
        let at = id_of(page, k);
        let held = memory.held == Some(k);
        if !held {
            text.clone_from(&field.text);
        }
        ui.horizontal(|ui| {
            let wide = (ui.available_width() - FIELD).clamp(120.0, 330.0);
            let name = Layout::left_to_right(Align::Center);
            let label = ui.allocate_ui_with_layout(vec2(wide, 30.0), name, |ui| {
                ui.set_min_width(wide);
                ui.add(Label::new(&field.label).wrap())
            });
            let label = label.inner;
            let edit = TextEdit::singleline(text).id(at).desired_width(240.0);
            ui.add(edit).labelled_by(label.id);
            ui.label(RichText::new(field.unit).color(DIM));
        });
        match (held, ui.memory(|m| m.has_focus(at))) {
            (true, false) => left = Some(k),
            (false, true) => reached = Some(k),
            _ => {}
        }
    }
    if let Some(k) = left {
        let enter = ui.input(|i| i.key_pressed(Key::Enter));
        let (field, text) = (&asked.fields[k], &memory.texts[k]);
        if *text != field.text || (enter && field.refused) {
            acts.extend([SettingAct::Field(k), SettingAct::Typed(text.clone())]);
        } else if enter && k + 1 < asked.fields.len() {
            acts.push(SettingAct::Field(k + 1));
        } else if enter {
            acts.push(SettingAct::GoOn);
        }
    }
    // Where the keyboard is now, whatever field what was typed led on to.
    if let Some(k) = reached.filter(|k| *k != asked.field || !acts.is_empty()) {
        acts.push(SettingAct::Field(k));
    }
    if !asked.fields.is_empty() {
        ui.add_space(10.0);
    }
    left
}

/// What would come of these acts: nothing is lost by trying.
fn after(setting: &Setting, acts: &[SettingAct]) -> Setting {
    let mut then = setting.clone();
    for act in acts {
        then.answer(act.clone());
    }
    then
}

/// A choice made from a field, with Ctrl. What stands in the field is taken in first, if
/// the same can be chosen then.
fn chosen(
    ctx: &Context,
    setting: &Setting,
    asked: &Ask,
    memory: &mut AskMemory,
    acts: &mut Vec<SettingAct>,
) {
    let Some(k) = memory.held else { return };
    let (Some(field), Some(text)) = (asked.fields.get(k), memory.texts.get(k)) else {
        return;
    };
    let mut digits = DIGITS.iter().take(asked.choices.len());
    let pressed = |key: &Key| ctx.input_mut(|i| i.consume_key(Modifiers::COMMAND, *key));
    let Some(n) = digits.position(pressed) else {
        return;
    };
    if *text != field.text {
        let typed = [SettingAct::Field(k), SettingAct::Typed(text.clone())];
        let then = after(setting, &typed);
        let stays = then.step() == setting.step();
        if stays {
            acts.extend(typed);
        }
        if stays && then.asks().choices.get(n) != asked.choices.get(n) {
            return;
        }
    }
    acts.push(SettingAct::Choose(n));
    // What the choice has put into the field in hand is shown there.
    let then = after(setting, acts);
    let now = then.asks();
    if page_of(&then, &now) == page_of(setting, asked)
        && let Some(field) = now.fields.get(k)
    {
        memory.texts[k].clone_from(&field.text);
    }
}

/// After Enter, and after *go on*, the keyboard is with the field that is in hand once
/// all is answered, on this page or the next; what Tab leaves and can't be taken keeps
/// it. Given at once: what is typed in the same moment belongs to that field.
fn follow(
    ctx: &Context,
    setting: &Setting,
    (page, left): (Page, Option<usize>),
    memory: &mut AskMemory,
    acts: &mut Vec<SettingAct>,
) {
    let by = |key| left.is_some() && ctx.input(|i| i.key_pressed(key));
    let on = by(Key::Enter) || acts.contains(&SettingAct::GoOn);
    let typed = acts.iter().any(|a| matches!(a, SettingAct::Typed(_)));
    let tabbed = typed && by(Key::Tab);
    let (_, fields, _) = page;
    if fields == 0 || !(on || tabbed) {
        return;
    }
    let then = after(setting, acts);
    let asked = then.asks();
    let next = page_of(&then, &asked);
    let stands = left.filter(|_| next == page);
    let refused = stands.filter(|k| asked.fields[*k].refused);
    let to = match refused {
        _ if on => asked.field,
        Some(k) => {
            acts.push(SettingAct::Field(k));
            k
        }
        None => return,
    };
    // What was taken is shown as it was taken, though the keyboard stays there.
    if let Some(k) = stands {
        memory.texts[k].clone_from(&asked.fields[k].text);
    }
    if let Some(field) = asked.fields.get(to) {
        give(ctx, id_of(next, to), &field.text);
    }
}

/// Gives a field the keyboard. All that stands in it is marked: what is typed next takes
/// its place.
fn give(ctx: &Context, field: Id, text: &str) {
    let mut state = TextEditState::load(ctx, field).unwrap_or_default();
    let all = CCursorRange::select_all_str(text);
    state.cursor.set_char_range(Some(all));
    state.store(ctx, field);
    ctx.memory_mut(|m| m.request_focus(field));
}
