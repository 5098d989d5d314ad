//! The leaf of the pattern: what was found when it was proven, and its drafts as tables
//! to fill in, drawn as they are typed.

use super::PanelMemory;
use super::head::warning;
use super::press::press;
use super::style::{BODY, CHALK, DIM, letters};
use super::view::{PanelView, Wish};
use crate::pattern::draft::{Desk, Row};
use crate::pattern::prove::Proof;
use crate::pattern::{Finding, Severity};
use crate::session::proving::{DraftOpen, DraftWish};
use crate::shape::bounds;
use crate::space::{Piece, Point};
use egui::{Align2, FontId, RichText, Role, Sense, Shape, Stroke, TextEdit, Ui, pos2, vec2};

/// Height of the drawing, points.
const DRAWING: f32 = 260.0;

/// What is being typed, and which piece is looked at.
#[derive(Debug, Clone, Default)]
pub struct Typing {
    field: String,
    text: String,
    piece: String,
}

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    let proving = view.proving;
    let words = if proving.proof.is_none() {
        "prove the pattern"
    } else if proving.is_stale() {
        "prove it again: it has changed"
    } else {
        "prove it again"
    };
    if press(words).wide().show(ui) {
        wishes.push(Wish::Draft(DraftWish::Prove));
    }
    if let Some(proof) = &proving.proof {
        found(ui, proof);
    }
    for (k, open) in proving.drafts.iter().enumerate() {
        ui.separator();
        draft(ui, (k, open), &mut memory.typing, wishes);
    }
    if !proving.drafts.is_empty() {
        ui.add_space(6.0);
        let control = press("keep it: write the draft, and lay by it").wide();
        if control.show(ui) {
            wishes.push(Wish::Draft(DraftWish::Keep));
        }
    }
}

/// The findings, what matters most first, and the seams.
fn found(ui: &mut Ui, proof: &Proof) {
    if let Some(l) = &proof.largest {
        let words = format!(
            "largest: {}, {:.1} × {:.1} mm. Is that its true size?",
            l.piece, l.width_mm, l.height_mm
        );
        ui.label(RichText::new(words).color(DIM));
    }
    if !proof.spoils() {
        ui.label("nothing found that would spoil the work");
    }
    for f in &proof.findings {
        let words = sentence(f);
        match f.severity {
            Severity::Spoils => warning(ui, &words),
            Severity::Check => drop(ui.label(format!("look at: {words}"))),
            Severity::Advice => drop(ui.label(RichText::new(words).color(DIM))),
        }
    }
    let seams = proof.seams.iter().map(|s| (&s.seam, s.difference_mm));
    let rings = proof.rings.iter().map(|r| (&r.ring, r.difference_mm));
    for (name, off) in seams.chain(rings) {
        ui.label(RichText::new(format!("{name}: off by {off:.1} mm")).color(DIM));
    }
}

fn sentence(f: &Finding) -> String {
    let mut at = Vec::new();
    at.extend(f.spot.seam.clone());
    at.extend(f.spot.piece.clone());
    at.extend(f.spot.edge.clone());
    match at.join(", ").as_str() {
        "" => format!("{}; {}", f.what, f.remedy),
        at => format!("{at}: {}; {}", f.what, f.remedy),
    }
}

fn draft(ui: &mut Ui, (k, open): (usize, &DraftOpen), typing: &mut Typing, wishes: &mut Vec<Wish>) {
    let desk = &open.desk;
    let star = if desk.is_changed() {
        ", not written yet"
    } else {
        ""
    };
    ui.heading(&desk.draft().name);
    ui.label(RichText::new(format!("{}{star}", open.file)).color(DIM));
    for m in desk.draft().measures() {
        ui.horizontal_wrapped(|ui| {
            ui.label(&m.name);
            let now = desk.measure(&m.name);
            let name = format!("measure {}", m.name);
            let id = (format!("{k} {name}"), name.as_str());
            if let Some(text) = typed(ui, typing, id, &now, (110.0, true)) {
                let name = m.name.clone();
                wishes.push(Wish::Draft(DraftWish::Measure {
                    draft: k,
                    name,
                    text,
                }));
            }
            let range = format!("{} to {}", m.unit.show(m.least), m.unit.show(m.most));
            ui.label(RichText::new(range).color(DIM));
        });
    }
    scales(ui, k, desk, typing, wishes);
    if let Some(fault) = desk.fault() {
        warning(ui, fault);
    }
    for note in desk.drawn().map_or(&[][..], |d| &d.notes) {
        ui.label(note);
    }
    let names: Vec<&str> = desk.draft().pieces().collect();
    if !names.contains(&typing.piece.as_str()) {
        typing.piece = names.first().map_or_else(String::new, |n| (*n).to_owned());
    }
    ui.horizontal_wrapped(|ui| {
        for name in names {
            let control = press(name)
                .named(format!("draft of {name}"))
                .chosen(Role::RadioButton, typing.piece == name);
            if control.show(ui) {
                name.clone_into(&mut typing.piece);
            }
        }
    });
    let piece = typing.piece.clone();
    drawing(ui, desk, &piece);
    for row in desk.rows().iter().filter(|r| r.piece == piece) {
        ui.horizontal_wrapped(|ui| cells(ui, k, row, typing, wishes));
    }
    if press("one more point").show(ui) {
        wishes.push(Wish::Draft(DraftWish::AddRow { draft: k, piece }));
    }
}

fn scales(ui: &mut Ui, k: usize, desk: &Desk, typing: &mut Typing, wishes: &mut Vec<Wish>) {
    let now = desk.scales().map(|s| s * 100.0);
    ui.horizontal_wrapped(|ui| {
        for (which, what) in [(0, "along the grain, %"), (1, "across, %")] {
            ui.label(what);
            let shown = format!("{:.1}", now[which]);
            if let Some(text) = typed(
                ui,
                typing,
                (format!("{k} {what}"), what),
                &shown,
                (60.0, true),
            ) && let Ok(value) = text.trim().replace(',', ".").parse::<f64>()
            {
                let mut percent = now;
                percent[which] = value;
                wishes.push(Wish::Draft(DraftWish::Scales { draft: k, percent }));
            }
        }
    });
}

/// A row: point, from, direction, measure ÷ number, and whatever else it says.
fn cells(ui: &mut Ui, k: usize, row: &Row, typing: &mut Typing, wishes: &mut Vec<Wish>) {
    let mut change = |key: &str, text: String| {
        wishes.push(Wish::Draft(DraftWish::Cell {
            draft: k,
            piece: row.piece.clone(),
            row: row.number,
            key: key.to_owned(),
            text,
        }));
    };
    let usual = [
        ("point", &row.point, 90.0),
        ("from", &row.from, 90.0),
        ("go", &row.go, 80.0),
        ("by", &row.by, 150.0),
    ];
    let plain = row.other.is_empty();
    for (key, text, width) in usual {
        // A row of another kind shows what it says, and no empty fields.
        if plain || key == "point" || !text.is_empty() {
            ui.label(RichText::new(key).color(DIM));
            // A name is one only when it is whole.
            let how = (width, key != "point");
            if let Some(new) = typed(ui, typing, field_of(k, row, key).each(), text, how) {
                change(key, new);
            }
        }
    }
    for cell in &row.other {
        ui.label(RichText::new(&cell.key).color(DIM));
        let field = field_of(k, row, &cell.key);
        if let Some(new) = typed(ui, typing, field.each(), &cell.text, (150.0, true)) {
            change(&cell.key, new);
        }
    }
    if press("take out")
        .named(format!("take out {} of {}", row.point, row.piece))
        .show(ui)
    {
        wishes.push(Wish::Draft(DraftWish::RemoveRow {
            draft: k,
            piece: row.piece.clone(),
            row: row.number,
        }));
    }
}

/// A cell's field: what it is known by, whatever its point is called, and its name.
struct Field {
    id: String,
    name: String,
}

impl Field {
    fn each(&self) -> (String, &str) {
        (self.id.clone(), &self.name)
    }
}

fn field_of(k: usize, row: &Row, key: &str) -> Field {
    Field {
        id: format!("{k} {} {} {key}", row.piece, row.number),
        name: format!("{key} of {} of {}", row.point, row.piece),
    }
}

/// A field that keeps what is being typed, also if it can't be taken; what it was changed
/// to. `at_once`: with every letter, but for none at all; else when it is left.
fn typed(
    ui: &mut Ui,
    typing: &mut Typing,
    (id, name): (String, &str),
    now: &str,
    (width, at_once): (f32, bool),
) -> Option<String> {
    let mine = typing.field == id;
    let mut text = if mine {
        typing.text.clone()
    } else {
        now.to_owned()
    };
    let edit = TextEdit::singleline(&mut text)
        .id_salt(("typed", &id))
        .font(letters(BODY))
        .desired_width(width);
    let field = ui.add(edit);
    let said = name.to_owned();
    ui.ctx()
        .accesskit_node_builder(field.id, |node| node.set_label(said));
    let left = field.lost_focus() && mine;
    if left {
        typing.field.clear();
    }
    if field.changed() {
        typing.field.clone_from(&id);
        typing.text.clone_from(&text);
    }
    let takes = if at_once && !text.trim().is_empty() {
        field.changed()
    } else {
        left && text != now
    };
    takes.then_some(text)
}

/// The piece as it is drafted: its net line, its lines and named points.
fn drawing(ui: &mut Ui, desk: &Desk, piece: &str) {
    let Some(drawn) = desk.drawn() else { return };
    let Some(k) = drawn.pieces.iter().position(|p| p.piece.name == piece) else {
        return;
    };
    let (net, sketch) = (&drawn.pieces[k].piece, &drawn.sketches[k]);
    let outline = net.net.iter().flat_map(|l| &l.points);
    let all = outline.chain(sketch.points.iter().map(|(_, p)| p));
    let Some(b) = bounds(all.copied()) else {
        return;
    };
    let size = vec2(ui.available_width(), DRAWING);
    let (response, painter) = ui.allocate_painter(size, Sense::hover());
    let said = format!("drawing of {piece}");
    ui.ctx()
        .accesskit_node_builder(response.id, |node| node.set_label(said));
    let room = response.rect.shrink(24.0);
    let scale = (f64::from(room.width()) / b.width().max(1.0))
        .min(f64::from(room.height()) / b.height().max(1.0));
    let at = |p: Point<Piece>| {
        let off = (p - b.center()) * scale;
        pos2(
            room.center().x + off.x as f32,
            room.center().y - off.y as f32,
        )
    };
    let line = |points: &[Point<Piece>], stroke: Stroke| {
        Shape::line(points.iter().map(|&p| at(p)).collect(), stroke)
    };
    for (_, points) in &sketch.lines {
        painter.add(line(points, Stroke::new(1.0, DIM)));
    }
    for net in &net.net {
        let closed: Vec<Point<Piece>> = net
            .points
            .iter()
            .chain(net.points.first())
            .copied()
            .collect();
        painter.add(line(&closed, Stroke::new(2.0, CHALK)));
    }
    for (name, p) in &sketch.points {
        painter.circle_filled(at(*p), 2.5, CHALK);
        let beside = at(*p) + vec2(4.0, -2.0);
        painter.text(
            beside,
            Align2::LEFT_BOTTOM,
            name,
            FontId::proportional(11.0),
            DIM,
        );
    }
}
