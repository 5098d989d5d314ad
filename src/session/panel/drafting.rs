//! A draft on the leaf of the pattern: its measures, a drawing of one of its pieces, and
//! its rows, kind by kind, each to be filled in, told otherwise or taken out. What is wrong
//! is said at its row.

use super::head::warning;
use super::pattern::{Typing, typed};
use super::press::press;
use super::style::{CHALK, DIM};
use super::view::Wish;
use crate::draft::{Cell, Cells, Desk, Part, Row, RowAt};
use crate::session::proving::{DraftOpen, DraftWish};
use crate::shape::bounds;
use crate::space::{Piece, Point};
use egui::{Align2, FontId, RichText, Role, Sense, Shape, Stroke, Ui, pos2, vec2};

/// Height of the drawing, points.
const DRAWING: f32 = 260.0;

/// Which rows are looked at.
#[derive(Debug, Clone)]
pub struct AtDraft {
    piece: String,
    part: Part,
    /// The row whose other words are unfolded.
    open: Option<(usize, RowAt)>,
    /// Words that it is to have, with nothing in their cells yet.
    empty: Vec<String>,
}

impl Default for AtDraft {
    fn default() -> Self {
        Self {
            piece: String::new(),
            part: Part::Points,
            open: None,
            empty: Vec::new(),
        }
    }
}

/// One draft.
pub fn show(
    ui: &mut Ui,
    (k, open): (usize, &DraftOpen),
    (looking, typing): (&mut AtDraft, &mut Typing),
    wishes: &mut Vec<Wish>,
) {
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
    let names: Vec<&str> = desk.draft().pieces().collect();
    if !names.contains(&looking.piece.as_str()) {
        looking.piece = names.first().map_or_else(String::new, |n| (*n).to_owned());
    }
    let here = names.iter().position(|n| *n == looking.piece).unwrap_or(0);
    let mut rows = desk.rows(looking.part);
    rows.retain(|r| match r.at.part {
        Part::Pieces => r.at.row == here,
        part => !part.is_of_a_piece() || r.at.piece == here,
    });
    // A fault that no row in sight says is said here.
    if let Some(fault) = desk.fault() {
        let said = rows.iter().any(|r| desk.faults_at(r.at).contains(&fault));
        if !said {
            warning(ui, fault);
        }
    }
    for note in desk.drawn().map_or(&[][..], |d| &d.notes) {
        ui.label(note);
    }
    ui.horizontal_wrapped(|ui| {
        for name in names {
            let control = press(name)
                .named(format!("draft of {name}"))
                .chosen(Role::RadioButton, looking.piece == name);
            if control.show(ui) {
                name.clone_into(&mut looking.piece);
            }
        }
    });
    let piece = looking.piece.clone();
    drawing(ui, desk, &piece);
    parts(ui, k, looking);
    for row in &rows {
        let mut table = Rows {
            k,
            piece: &piece,
            looking,
            typing,
            wishes,
        };
        table.row(ui, row);
        for fault in desk.faults_at(row.at) {
            warning(ui, fault);
        }
    }
    let part = looking.part;
    let words = format!("one more {}", part.words().1);
    let control = press(&words).named(format!("{words}{}", of_draft(k)));
    if control.show(ui) {
        let piece = here;
        wishes.push(Wish::Draft(DraftWish::AddRow {
            draft: k,
            part,
            piece,
        }));
    }
}

/// Which draft a control is of, where there are several.
fn of_draft(k: usize) -> String {
    match k {
        0 => String::new(),
        k => format!(" of draft {}", k + 1),
    }
}

/// Which kind of rows is in sight.
fn parts(ui: &mut Ui, k: usize, looking: &mut AtDraft) {
    ui.horizontal_wrapped(|ui| {
        for part in Part::ALL {
            let (many, one) = part.words();
            let words = if part == Part::Pieces { one } else { many };
            let control = press(words)
                .named(format!("rows: {words} of draft {}", k + 1))
                .chosen(Role::RadioButton, looking.part == part);
            if control.show(ui) {
                looking.part = part;
                looking.open = None;
                looking.empty.clear();
            }
        }
    });
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

/// The rows of a draft, and what is done in them.
struct Rows<'a> {
    k: usize,
    piece: &'a str,
    looking: &'a mut AtDraft,
    typing: &'a mut Typing,
    wishes: &'a mut Vec<Wish>,
}

impl Rows<'_> {
    fn change(&mut self, at: RowAt, key: &str, text: &str) {
        self.wishes.push(Wish::Draft(DraftWish::Cell {
            draft: self.k,
            at,
            key: key.to_owned(),
            text: text.to_owned(),
        }));
    }

    /// What a row is called: a name of its own among all rows.
    fn title(&self, row: &Row) -> String {
        let one = row.at.part.words().1;
        let (number, name) = (row.at.row + 1, row.name());
        let of = of_draft(self.k);
        match row.at.part {
            Part::Points => format!("{name} of {}{of}", self.piece),
            Part::Notches | Part::Darts => format!("{one} {number} of {}{of}", self.piece),
            part if part.is_of_a_piece() => format!("{one} {name} of {}{of}", self.piece),
            _ => format!("{one} {name}{of}"),
        }
    }

    fn row(&mut self, ui: &mut Ui, row: &Row) {
        let at = row.at;
        let is_open = self.looking.open == Some((self.k, at));
        let title = self.title(row);
        ui.horizontal_wrapped(|ui| {
            for cell in &row.cells {
                self.cell(ui, at, cell, &title);
            }
            let empty = self.looking.empty.iter().filter(|_| is_open);
            let empty: Vec<String> = empty.filter(|k| row.text(k).is_empty()).cloned().collect();
            for key in empty {
                if !row.cells.iter().any(|c| c.key == key) {
                    self.cell(ui, at, &Cell::new(key, ""), &title);
                }
            }
            let control = press("more")
                .named(format!("more words for {title}"))
                .chosen(Role::CheckBox, is_open);
            if control.show(ui) {
                self.looking.open = (!is_open).then_some((self.k, at));
                self.looking.empty.clear();
            }
            if press("take out")
                .named(format!("take out {title}"))
                .show(ui)
            {
                let draft = self.k;
                let wish = DraftWish::RemoveRow { draft, at };
                self.wishes.push(Wish::Draft(wish));
            }
        });
        if is_open {
            self.unfolded(ui, row, &title);
        }
    }

    fn cell(&mut self, ui: &mut Ui, at: RowAt, cell: &Cell, title: &str) {
        let key = cell.key.as_str();
        let words = key.replace('_', " ");
        if at.part.cells(key) == Cells::Flag {
            let on = cell.text == "yes";
            let control = press(&words)
                .named(format!("{words} of {title}"))
                .chosen(Role::CheckBox, on);
            if control.show(ui) {
                self.change(at, key, if on { "" } else { "yes" });
            }
            return;
        }
        ui.label(RichText::new(words).color(DIM));
        // A name is one only when it is whole.
        let at_once = key != at.part.name_key();
        let width = match (at.part.cells(key), cell.text.chars().count()) {
            (Cells::Count, _) => 50.0,
            (_, 0..=9) => 90.0,
            (_, 10..=18) => 150.0,
            _ => 240.0,
        };
        let RowAt { part, piece, row } = at;
        let id = format!("{} {part:?} {piece} {row} {key}", self.k);
        let name = format!("{key} of {title}");
        let new = typed(ui, self.typing, (id, &name), &cell.text, (width, at_once));
        if let Some(new) = new {
            self.change(at, key, &new);
        }
    }

    /// The ways in which a row can be told, and the words that it could have.
    fn unfolded(&mut self, ui: &mut Ui, row: &Row, title: &str) {
        let at = row.at;
        let has = |key: &&&str| {
            row.cells
                .iter()
                .any(|c| c.key == **key && !c.text.is_empty())
        };
        let ways = at.part.ways();
        let told = |k: usize| {
            let own = ways[k].keys;
            let others = || ways.iter().flat_map(|w| w.keys);
            let rest = others().filter(|k| !own.contains(k)).filter(has);
            rest.count() == 0 && own.iter().any(|k| has(&k))
        };
        // Of two that hold all that is said, the first says it.
        let now = (0..ways.len()).find(|&k| told(k));
        ui.horizontal_wrapped(|ui| {
            for (way, w) in ways.iter().enumerate() {
                let control = press(w.words)
                    .named(format!("{title} is told: {}", w.words))
                    .chosen(Role::RadioButton, now == Some(way));
                if control.show(ui) && now != Some(way) {
                    let draft = self.k;
                    let wish = DraftWish::Tell { draft, at, way };
                    self.wishes.push(Wish::Draft(wish));
                }
            }
        });
        let own = now.map_or(&[][..], |k| ways[k].keys).iter();
        let all = own.chain(at.part.others());
        let open: Vec<&str> = all
            .filter(|k| !row.cells.iter().any(|c| c.key == **k))
            .copied()
            .filter(|k| !self.looking.empty.iter().any(|e| e == k))
            .collect();
        ui.horizontal_wrapped(|ui| {
            for key in open {
                let words = format!("+ {}", key.replace('_', " "));
                if press(&words).named(format!("{words} for {title}")).show(ui) {
                    if at.part.cells(key) == Cells::Flag {
                        self.change(at, key, "yes");
                    } else {
                        self.looking.empty.push(key.to_owned());
                    }
                }
            }
        });
    }
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
