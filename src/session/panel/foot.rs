//! The foot: how the table was set, where the light goes, whether what was done
//! is written.

use super::hand::pair;
use super::head::warning;
use super::press::press;
use super::room::key_of;
use super::sign::sign;
use super::style::BODY;
use super::view::{Facts, OutputState, PanelView, Wish};
use crate::fault::counted;
use crate::work::Outside;
use egui::{Id, Role, Ui, vec2};

pub fn show(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let facts = view.facts;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(24.0, 4.0);
        for (what, value) in lines(facts).into_iter().chain(trimmed(view)) {
            pair(ui, (what, BODY), (&value, BODY));
        }
    });
    if facts.profile.is_none() {
        ui.horizontal(|ui| {
            sign(ui);
            ui.label("the table is not set: no millimetre is true yet");
            if press("set it")
                .named("set the table now")
                .key(key_of(Outside::Setting))
                .show(ui)
            {
                wishes.push(Wish::BeginSetting);
            }
        });
    }
    for words in warnings(facts)
        .into_iter()
        .chain(view.bench.unchecked().map(str::to_owned))
    {
        warning(ui, &words);
    }
    noted(ui, &facts.notes);
}

/// A button that says how many notes there are, and what they say once it is pressed. They open
/// by themselves when there are more.
fn noted(ui: &mut Ui, notes: &[String]) {
    if notes.is_empty() {
        return;
    }
    let id = Id::unique("foot-notes");
    let seen: Option<(usize, bool)> = ui.data(|d| d.get_temp(id));
    let mut open = match seen {
        Some((count, open)) => open || count < notes.len(),
        // At the start they are what was left out of a pattern, mostly: there when wanted.
        None => false,
    };
    let words = counted(notes.len(), "note", "notes");
    if press(&words)
        .named("notes")
        .chosen(Role::CheckBox, open)
        .show(ui)
    {
        open = !open;
    }
    ui.data_mut(|d| d.insert_temp(id, (notes.len(), open)));
    if open {
        let tall = 6.0 * ui.text_style_height(&egui::TextStyle::Body);
        egui::ScrollArea::vertical()
            .id_salt(id)
            .max_height(tall)
            .show(ui, |ui| {
                for note in notes.iter().rev() {
                    ui.label(note);
                }
            });
    }
}

/// What is so.
fn lines(facts: &Facts) -> Vec<(&'static str, String)> {
    let output = &facts.output;
    let mut lines = vec![("job", facts.project.clone())];
    if let Some(p) = &facts.profile {
        lines.push(("table set by", format!("{}, {}", p.name, p.made)));
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
        lines.push(("light follows in", format!("{ms:.0} ms")));
    }
    if facts.rehearsing {
        lines.push(("table", "simulated".to_owned()));
    }
    if facts.journal_fault.is_none() && facts.read_only.is_none() {
        lines.push(("journal", "all is written".to_owned()));
    }
    lines
}

/// The trims that are on.
fn trimmed<'a>(view: &'a PanelView) -> impl Iterator<Item = (&'static str, String)> + 'a {
    let on = view.bench.state().trims.iter().filter(|t| t.on);
    on.map(|t| ("trim on", format!("{:+.2} mm, {}", -t.edge_mm, t.of())))
}

/// What should not be so.
fn warnings(facts: &Facts) -> Vec<String> {
    let mut all = Vec::new();
    if !facts.output.state.is_well() {
        let name = &facts.output.name;
        let mut words = format!("{name} is {}", facts.output.state.words());
        if facts.output.state == OutputState::Lost && !facts.outputs.is_empty() {
            words += &format!("; there are {}", facts.outputs.join(", "));
        }
        all.push(words);
    }
    all.extend(facts.read_only.clone());
    all.extend(facts.journal_fault.clone());
    all
}
