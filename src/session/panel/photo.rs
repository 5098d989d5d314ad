//! A photo of the table, on the leaf of the cloth: its marks are clicked on, it is read, and
//! what it tells is taken or left.

use super::field::field;
use super::head::warning;
use super::press::press;
use super::style::{BODY, DIM, HERE, letters};
use super::view::{PanelView, Wish};
use crate::look::Item;
use crate::session::photographed::{PhotoAsk, PhotoWish, Photographed, Small, Told};
use egui::{Align2, RichText, Role, Sense, Stroke, TextureHandle, TextureOptions, Ui, pos2, vec2};

/// What is typed and chosen of a photo.
#[derive(Debug, Clone, Default)]
pub struct Photographing {
    open: bool,
    path: String,
    ask: PhotoAsk,
    next: Next,
    left_out: Vec<Item>,
}

/// The mark that the next click is on.
#[derive(Debug, Clone, PartialEq)]
enum Next {
    /// Of the table, from 1.
    Table(usize),
    /// Of the panel that is shown by its own marks.
    Own(String),
    /// A place that is cloth, and one that is table.
    ClothHere,
    TableHere,
}

impl Default for Next {
    fn default() -> Self {
        Next::Table(1)
    }
}

pub fn show(ui: &mut Ui, view: &PanelView, memory: &mut Photographing, wishes: &mut Vec<Wish>) {
    let words = "a photo of the table";
    let is_open = memory.open || view.photo.is_some();
    if press(words).chosen(Role::CheckBox, is_open).wide().show(ui) {
        memory.open = !is_open;
        if is_open && view.photo.is_some() {
            wishes.push(Wish::Photo(PhotoWish::Leave));
        }
    }
    if !is_open {
        return;
    }
    let Some(photo) = view.photo else {
        let words = "from any camera, the whole cloth and four marks in it; type where the file \
                     lies, or drag it onto this window";
        ui.label(RichText::new(words).color(DIM));
        ui.horizontal(|ui| {
            field(ui, &mut memory.path, ("photo's file", ""), 300.0);
            if press("open")
                .named("open the photo")
                .off(memory.path.trim().is_empty())
                .show(ui)
            {
                (memory.ask, memory.next) = (PhotoAsk::default(), Next::default());
                memory.left_out.clear();
                wishes.push(Wish::Photo(PhotoWish::Open(memory.path.clone())));
            }
        });
        return;
    };
    ui.label(RichText::new(&photo.path).color(DIM));
    if let Some(fault) = &photo.fault {
        warning(ui, fault);
    }
    match &photo.small {
        None if photo.fault.is_none() => {
            ui.label("opening the photo");
        }
        None => {}
        Some(small) => {
            marks(ui, view, memory);
            own_marks(ui, view, memory);
            picture(ui, small, memory);
            taken_back(ui, memory);
            asks(ui, view, photo, memory, wishes);
        }
    }
    if let Some(told) = &photo.told {
        tells(ui, told, memory, wishes);
    }
}

/// Which mark the next click is on.
fn marks(ui: &mut Ui, view: &PanelView, memory: &mut Photographing) {
    let count = view.facts.marks;
    if count == 0 {
        let words = "the table has no marks yet: set it, or lay the sheet of tags on it";
        ui.label(RichText::new(words).color(DIM));
        return;
    }
    if let Next::Table(n) = &mut memory.next {
        *n = (*n).clamp(1, count);
    }
    ui.label(RichText::new("click on each mark that you see; near it is enough").color(DIM));
    ui.horizontal_wrapped(|ui| {
        for n in 1..=count {
            let set = memory.ask.clicks.iter().any(|(k, _)| *k == n);
            let words = if set {
                format!("{n} ✓")
            } else {
                n.to_string()
            };
            let control = press(&words).named(format!("mark {n}"));
            if control
                .chosen(Role::RadioButton, memory.next == Next::Table(n))
                .show(ui)
            {
                memory.next = Next::Table(n);
            }
        }
    });
}

/// A lower ply is photographed turned over, alone: then its own marks say how it lies.
fn own_marks(ui: &mut Ui, view: &PanelView, memory: &mut Photographing) {
    let panels = &view.bench.state().panels;
    let marked: Vec<_> = panels.iter().filter(|p| p.marks.len() >= 2).collect();
    if marked.is_empty() {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        ui.label("shown turned over, by its own marks");
        for panel in &marked {
            let is = memory.ask.own.as_ref() == Some(&panel.name);
            let control = press(&panel.name).named(format!("{} is shown turned over", panel.name));
            if control.chosen(Role::CheckBox, is).show(ui) {
                memory.ask.own = (!is).then(|| panel.name.clone());
                memory.ask.own_clicks.clear();
                memory.ask.panel = None;
                memory.next = Next::default();
            }
        }
    });
    let shown = marked
        .iter()
        .find(|p| memory.ask.own.as_ref() == Some(&p.name));
    let Some(panel) = shown else { return };
    ui.horizontal_wrapped(|ui| {
        for mark in &panel.marks {
            let clicks = &memory.ask.own_clicks;
            let set = clicks.iter().any(|(name, _)| *name == mark.name);
            let words = if set {
                format!("{} ✓", mark.name)
            } else {
                mark.name.clone()
            };
            let own = Next::Own(mark.name.clone());
            let control = press(&words).named(format!("the cloth's mark {}", mark.name));
            if control
                .chosen(Role::RadioButton, memory.next == own)
                .show(ui)
            {
                memory.next = own;
            }
        }
    });
}

/// The photo, and what was clicked on in it.
fn picture(ui: &mut Ui, small: &Small, memory: &mut Photographing) {
    let width = ui.available_width();
    let [w, h] = small.size.map(|n| n as f32);
    let (response, painter) = ui.allocate_painter(vec2(width, width * h / w), Sense::click());
    let said = match &memory.next {
        Next::Table(n) => format!("the photo: click on mark {n}"),
        Next::Own(name) => format!("the photo: click on the cloth's mark {name}"),
        Next::ClothHere => "the photo: click on cloth".to_owned(),
        Next::TableHere => "the photo: click on bare table".to_owned(),
    };
    ui.ctx()
        .accesskit_node_builder(response.id, |node| node.set_label(said));
    let rect = response.rect;
    let whole = egui::Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
    let texture = texture(ui, small);
    painter.image(texture.id(), rect, whole, egui::Color32::WHITE);
    let clicked = response.interact_pointer_pos();
    if let Some(at) = clicked.filter(|_| response.clicked()) {
        let v = (at - rect.min) / rect.size();
        let px = [f64::from(v.x * w), f64::from(v.y * h)];
        match &mut memory.next {
            Next::Table(mark) => {
                memory.ask.clicks.retain(|(k, _)| k != mark);
                memory.ask.clicks.push((*mark, px));
                *mark += 1;
            }
            Next::ClothHere => memory.ask.cloth_at.push(px),
            Next::TableHere => memory.ask.table_at.push(px),
            Next::Own(name) => {
                memory.ask.own_clicks.retain(|(n, _)| n != name);
                memory.ask.own_clicks.push((name.clone(), px));
            }
        }
    }
    let table = memory.ask.clicks.iter();
    let table = table.map(|(number, at)| (number.to_string(), at));
    let cloth = memory.ask.own_clicks.iter();
    let cloth = cloth.map(|(name, at)| (name.clone(), at));
    let named = |name: &'static str| move |at| (name.to_owned(), at);
    let seeds = memory.ask.cloth_at.iter().map(named("cloth"));
    let seeds = seeds.chain(memory.ask.table_at.iter().map(named("table")));
    for (name, [x, y]) in table.chain(cloth).chain(seeds) {
        let v = vec2(*x as f32 / w, *y as f32 / h);
        let at = rect.min + v * rect.size();
        let stroke = Stroke::new(2.0, HERE);
        painter.circle_stroke(at, 7.0, stroke);
        let beside = at + vec2(9.0, -9.0);
        painter.text(beside, Align2::LEFT_BOTTOM, name, letters(BODY), HERE);
    }
}

fn taken_back(ui: &mut Ui, memory: &mut Photographing) {
    let ask = &mut memory.ask;
    let none = ask.clicks.is_empty()
        && ask.own_clicks.is_empty()
        && ask.cloth_at.is_empty()
        && ask.table_at.is_empty();
    if press("take back all clicks").off(none).show(ui) {
        ask.clicks.clear();
        ask.own_clicks.clear();
        ask.cloth_at.clear();
        ask.table_at.clear();
        memory.next = Next::default();
    }
}

/// The photo as the graphics card has it, made once.
fn texture(ui: &Ui, small: &Small) -> TextureHandle {
    let key = egui::Id::unique("photo").with(std::sync::Arc::as_ptr(&small.image) as usize);
    if let Some(made) = ui.data(|d| d.get_temp::<TextureHandle>(key)) {
        return made;
    }
    let image = std::sync::Arc::clone(&small.image);
    let made = ui
        .ctx()
        .load_texture("photo", image, TextureOptions::LINEAR);
    ui.data_mut(|d| d.insert_temp(key, made.clone()));
    made
}

/// What else is known, and the word to read it.
fn asks(
    ui: &mut Ui,
    view: &PanelView,
    photo: &Photographed,
    memory: &mut Photographing,
    wishes: &mut Vec<Wish>,
) {
    let rows = [
        ("sheet of tags at", "x, y, turn", &mut memory.ask.sheet),
        (
            "white sheets at",
            "left, bottom, right, top; …",
            &mut memory.ask.white,
        ),
    ];
    for (what, hint, text) in rows {
        ui.horizontal(|ui| {
            ui.add_sized([120.0, 24.0], egui::Label::new(what));
            field(ui, text, (what, hint), 190.0);
        });
    }
    let alone = memory.ask.own.is_some();
    ui.horizontal_wrapped(|ui| {
        if alone {
            return;
        }
        ui.label("look for the cloth of");
        let panels = view.bench.state().panels.iter().filter(|p| p.spread);
        for panel in panels {
            let is = memory.ask.panel.as_ref() == Some(&panel.name);
            let control = press(&panel.name).named(format!("look for the cloth of {}", panel.name));
            if control.chosen(Role::CheckBox, is).show(ui) {
                memory.ask.panel = (!is).then(|| panel.name.clone());
            }
        }
    });
    if memory.ask.panel.is_some() {
        ui.horizontal_wrapped(|ui| {
            ui.label("if cloth and table look alike, click:");
            for (words, next) in [("cloth", Next::ClothHere), ("table", Next::TableHere)] {
                let control = press(words).named(format!("the next click is on {words}"));
                if control
                    .chosen(Role::RadioButton, memory.next == next)
                    .show(ui)
                {
                    memory.next = next;
                }
            }
        });
    }
    match photo.share {
        Some(share) => {
            let mut left = false;
            ui.horizontal(|ui| {
                ui.label(format!("reading the photo: {:.0} %", 100.0 * share));
                left = press("leave it").named("leave the photo").show(ui);
            });
            if left {
                wishes.push(Wish::Photo(PhotoWish::Leave));
            }
        }
        None => {
            let table = memory.ask.clicks.len() >= 4 || !memory.ask.sheet.trim().is_empty();
            let enough = table && (!alone || memory.ask.own_clicks.len() >= 2);
            if press("read the photo").wide().off(!enough).show(ui) {
                memory.left_out.clear();
                wishes.push(Wish::Photo(PhotoWish::Read(memory.ask.clone())));
            }
        }
    }
}

/// What the photo tells: kept or taken as far as it is chosen.
fn tells(ui: &mut Ui, told: &Told, memory: &mut Photographing, wishes: &mut Vec<Wish>) {
    ui.label(format!(
        "a place on the cloth is true to {:.2} mm (typical miss)",
        told.error
    ));
    for note in &told.notes {
        ui.label(RichText::new(note).color(DIM));
    }
    if !told.maps.is_empty() {
        let names: Vec<&str> = told.maps.iter().map(|(n, _)| n.as_str()).collect();
        let words = format!("keep the shade of {}", names.join(", "));
        if press(&words).wide().show(ui) {
            wishes.push(Wish::Photo(PhotoWish::KeepShade));
        }
    }
    let Some(proposed) = &told.proposed else {
        return;
    };
    ui.label(format!(
        "proposed for {}, dashed in the light",
        proposed.panel
    ));
    let items = proposed.items();
    for (item, words) in &items {
        let on = !memory.left_out.contains(item);
        if press(words).chosen(Role::CheckBox, on).show(ui) {
            if on {
                memory.left_out.push(*item);
            } else {
                memory.left_out.retain(|i| i != item);
            }
        }
    }
    let chosen = items.iter().map(|(item, _)| *item);
    let chosen: Vec<Item> = chosen.filter(|i| !memory.left_out.contains(i)).collect();
    if press("take what is chosen")
        .wide()
        .off(chosen.is_empty())
        .show(ui)
    {
        wishes.push(Wish::Photo(PhotoWish::Take(chosen)));
    }
}
