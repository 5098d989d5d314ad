//! A drawing on the leaf of the pattern: its largest piece's size to be said true, what was
//! guessed of each piece, a picture of it with its strokes numbered, and ways to put right
//! what was guessed wrongly.

use super::head::warning;
use super::pattern::{Typing, typed};
use super::press::press;
use super::stroke_picture::picture;
use super::style::{BODY, DIM, letters};
use super::view::Wish;
use crate::drawing::read::correct::{Correction, Stroke, Taken};
use crate::drawing::read::slip;
use crate::measure::Unit;
use crate::pattern::NotchKind;
use crate::session::proving::DraftWish;
use crate::session::reading::{ReadOpen, ReadWish};
use egui::{RichText, Role, Ui};

/// Which piece of which drawing is looked at, and which of its strokes.
#[derive(Debug, Clone, Default)]
pub struct Looking {
    pub(super) reading: usize,
    pub(super) piece: usize,
    pub(super) stroke: Option<usize>,
}

/// What is asked of the drawing `k`.
struct Ask<'a> {
    k: usize,
    /// Which drawing a control is of, where there are several.
    of: String,
    wishes: &'a mut Vec<Wish>,
}

impl Ask<'_> {
    fn wish(&mut self, wish: ReadWish) {
        let reading = self.k;
        self.wishes
            .push(Wish::Draft(DraftWish::Read { reading, wish }));
    }

    fn correct(&mut self, correction: Correction) {
        self.wish(ReadWish::Correct(correction));
    }
}

/// One drawing.
pub fn show(
    ui: &mut Ui,
    (k, open): (usize, &ReadOpen),
    unit: Unit,
    (looking, typing): (&mut Looking, &mut Typing),
    wishes: &mut Vec<Wish>,
) {
    let of = match k {
        0 => String::new(),
        _ => format!(" of {}", open.file),
    };
    let mut ask = Ask { k, of, wishes };
    let star = if open.is_changed() {
        ", corrected, not written yet"
    } else {
        ""
    };
    ui.label(RichText::new(format!("{}{star}", open.file)).font(letters(BODY)));
    size(ui, open, unit, typing, &mut ask);
    if let Some(fault) = open.desk.fault() {
        warning(ui, fault);
    }
    if let Some(note) = open.note {
        warning(ui, note);
    }
    let pieces = &open.desk.read().pieces;
    // While another drawing is looked at, this one shows its first piece.
    let mine = looking.reading == k;
    let piece = if mine { looking.piece } else { 0 }.min(pieces.len().saturating_sub(1));
    let chosen = looking.stroke.filter(|_| mine);
    ui.horizontal_wrapped(|ui| {
        for (at, read) in pieces.iter().enumerate() {
            let now = open.desk.named(at);
            let (name, out) = match &now {
                Some((name, ..)) => (name.as_str(), ""),
                None => (read.name.as_str(), ", left out"),
            };
            let words = format!("{name}{out}");
            let control = press(&words)
                .named(format!("piece {name} of {}", open.file))
                .chosen(Role::RadioButton, at == piece);
            if control.show(ui) {
                *looking = Looking {
                    reading: k,
                    piece: at,
                    stroke: None,
                };
            }
        }
    });
    // What was guessed of this piece is said beside its picture.
    let read = &pieces[piece].name;
    let quoted = format!("\"{read}\"");
    let notes: Vec<&String> = open.desk.made().notes.iter().collect();
    let is_own = |n: &&&String| n.contains(&quoted);
    let strokes = open.desk.strokes(piece);
    let pressed = picture(ui, &strokes, chosen, read);
    for note in notes.iter().filter(is_own) {
        ui.label(RichText::new(*note).color(DIM));
    }
    about(ui, open, piece, typing, &mut ask);
    let row = pressed.or(strokes_row(ui, &strokes, chosen, &ask.of));
    if let Some(stroke) = row {
        *looking = Looking {
            reading: k,
            piece,
            stroke: Some(stroke),
        };
    }
    if let Some((at, stroke)) = chosen.and_then(|s| Some((s, strokes.get(s)?))) {
        takes(ui, piece, at, stroke, &mut ask);
    }
    said(ui, open, &mut ask);
    for note in notes.iter().filter(|n| !is_own(n)) {
        ui.label(RichText::new(*note).color(DIM));
    }
    for left in &open.desk.made().left_out {
        ui.label(RichText::new(format!("left out: {left}")).color(DIM));
    }
}

/// How large the largest piece is, asked until it is said to be true.
fn size(ui: &mut Ui, open: &ReadOpen, unit: Unit, typing: &mut Typing, ask: &mut Ask) {
    let (Some(largest), Some([width, height])) = (open.desk.largest(), open.size()) else {
        return;
    };
    let sides = format!("{} wide, {} high", unit.show(width), unit.show(height));
    let words = format!("the largest piece, {}, is {sides}", largest.piece);
    if open.is_confirmed() {
        ui.label(format!("{words}: you said so"));
    } else {
        warning(ui, &format!("{words}. Is that its true size?"));
        let name = format!("the size of {} is true", open.file);
        if press("that is its true size").named(name).show(ui) {
            ask.wish(ReadWish::Confirm);
        }
    }
    ui.horizontal_wrapped(|ui| {
        ui.label("its longer side is");
        let now = unit.show(width.max(height));
        let name = format!("longer side of {} of {}", largest.piece, open.file);
        let id = (format!("size {}", ask.k), name.as_str());
        if let Some(text) = typed(ui, typing, id, &now, (120.0, false)) {
            ask.wish(ReadWish::Size(text));
        }
    });
    if open.scale != 1.0 {
        let mut words = format!("read {:.4} times as large as it is drawn", open.scale);
        let found = slip(open.scale);
        if let Some((_, why)) = found {
            words += &format!(": perhaps {why}");
        }
        ui.label(RichText::new(words).color(DIM));
        ui.horizontal_wrapped(|ui| {
            let exact = found.filter(|(exact, _)| (exact - open.scale).abs() > 1e-9);
            if let Some((exact, _)) = exact
                && press(&format!("take {exact:.4} exactly")).show(ui)
            {
                ask.wish(ReadWish::Scale(exact));
            }
            let name = format!("read {} as it is drawn", open.file);
            if press("as it is drawn").named(name).show(ui) {
                ask.wish(ReadWish::Scale(1.0));
            }
        });
    }
}

/// What the piece is called and how many are cut.
fn about(ui: &mut Ui, open: &ReadOpen, piece: usize, typing: &mut Typing, ask: &mut Ask) {
    let k = ask.k;
    let read = &open.desk.read().pieces[piece].name;
    let Some((name, cut, pair)) = open.desk.named(piece) else {
        let by = open.desk.corrections().iter();
        let by = by
            .enumerate()
            .rev()
            .find(|(_, c)| matches!(c, Correction::LeaveOut { piece: p } if *p == piece));
        let control =
            press("it is a piece after all").named(format!("{read} is a piece after all"));
        if let (true, Some((at, _))) = (control.show(ui), by) {
            ask.wish(ReadWish::TakeBack(at));
        }
        return;
    };
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("called").color(DIM));
        let field = format!("name of {read}");
        let id = (format!("called {k} {piece}"), field.as_str());
        if let Some(name) = typed(ui, typing, id, &name, (160.0, false)) {
            ask.correct(Correction::Name { piece, name });
        }
        ui.label(RichText::new("cut").color(DIM));
        let field = format!("how many of {read}");
        let id = (format!("cut {k} {piece}"), field.as_str());
        let typed = typed(ui, typing, id, &cut.to_string(), (50.0, true));
        if let Some(cut) = typed.and_then(|t| t.trim().parse().ok()) {
            ask.correct(Correction::Count { piece, cut, pair });
        }
        let control = press("left and right")
            .named(format!("{read} is cut left and right"))
            .chosen(Role::CheckBox, pair);
        if control.show(ui) {
            let pair = !pair;
            ask.correct(Correction::Count { piece, cut, pair });
        }
        let control = press("no piece").named(format!("{read} is no piece"));
        if control.show(ui) {
            ask.correct(Correction::LeaveOut { piece });
        }
    });
}

/// All strokes by number; which was pressed.
fn strokes_row(ui: &mut Ui, strokes: &[Stroke], chosen: Option<usize>, of: &str) -> Option<usize> {
    let mut pressed = None;
    ui.horizontal_wrapped(|ui| {
        for (k, stroke) in strokes.iter().enumerate() {
            let words = format!("{} {}", k + 1, stroke.taken.words());
            let control = press(&words)
                .named(format!("stroke {words}{of}"))
                .chosen(Role::RadioButton, chosen == Some(k));
            if control.show(ui) {
                pressed = Some(k);
            }
        }
    });
    pressed
}

/// What the chosen stroke could be instead.
fn takes(ui: &mut Ui, piece: usize, at: usize, stroke: &Stroke, ask: &mut Ask) {
    ui.label(format!("stroke {} is", at + 1));
    let mut kinds = match (stroke.points.len(), stroke.closed) {
        (1, _) => vec![Taken::Drill, Taken::Label],
        (_, true) => vec![
            Taken::Cut,
            Taken::Cutout,
            Taken::Net,
            Taken::Line,
            Taken::Drill,
        ],
        (_, false) => vec![
            Taken::Notch(NotchKind::Slit),
            Taken::Notch(NotchKind::Double),
            Taken::Notch(NotchKind::Vee),
            Taken::Grain,
            Taken::Net,
            Taken::Fold,
            Taken::Line,
            Taken::Dart,
            Taken::Cut,
        ],
    };
    kinds.push(Taken::LeftOut);
    if stroke.closed {
        kinds.push(Taken::Piece(format!("piece {}.{}", piece + 1, at + 1)));
    }
    ui.horizontal_wrapped(|ui| {
        for taken in kinds {
            let is = match (&taken, &stroke.taken) {
                (Taken::Piece(_), Taken::Piece(_)) => true,
                (a, b) => a == b,
            };
            let control = press(taken.words())
                .named(format!("stroke {} is: {}", at + 1, taken.words()))
                .chosen(Role::RadioButton, is);
            if control.show(ui) && !is {
                ask.correct(Correction::Take {
                    piece,
                    stroke: at,
                    taken,
                });
            }
        }
        if stroke.taken == Taken::Grain && press("turn the grain round").show(ui) {
            ask.correct(Correction::TurnGrain { piece });
        }
    });
}

/// What was corrected so far, each to be taken back.
fn said(ui: &mut Ui, open: &ReadOpen, ask: &mut Ask) {
    let name = |piece: usize| {
        let read = open.desk.read().pieces.get(piece);
        read.map_or("", |p| p.name.as_str())
    };
    for (at, correction) in open.desk.corrections().iter().enumerate() {
        let words = match correction {
            Correction::Name { piece, name: now } => format!("{} is called {now}", name(*piece)),
            Correction::Count { piece, cut, pair } => {
                let pair = if *pair { ", left and right" } else { "" };
                let times = crate::fault::counted(*cut as usize, "time", "times");
                format!("{} is cut {times}{pair}", name(*piece))
            }
            Correction::Take {
                piece,
                stroke,
                taken,
            } => format!(
                "{}: stroke {} is {}",
                name(*piece),
                stroke + 1,
                taken.words()
            ),
            Correction::TurnGrain { piece } => format!("{}: its grain is turned", name(*piece)),
            Correction::LeaveOut { piece } => format!("{} is no piece", name(*piece)),
        };
        ui.horizontal_wrapped(|ui| {
            ui.label(&words);
            if press("take back")
                .named(format!("take back: {words}{}", ask.of))
                .show(ui)
            {
                ask.wish(ReadWish::TakeBack(at));
            }
        });
    }
}
