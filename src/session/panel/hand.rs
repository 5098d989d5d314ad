//! The piece in hand: its numbers, always in sight below the plan, and what can
//! be done with it.

use super::press::press;
use super::style::{BODY, CHALK, DIM, FACT, letters};
use super::view::{PanelView, Wish};
use super::wish_of;
use crate::lay::Face;
use crate::lay::Placement;
use crate::lay::off_grain;
use crate::measure::Unit;
use crate::session::papers::PaperWish;
use crate::work::Act;
use crate::work::Doing;
use crate::work::KeyAct;
use crate::work::Relative;
use crate::work::Seek;
use crate::work::table;
use egui::{RichText, Role, Ui};

/// The piece in hand and where it lies, in large letters.
pub fn strip(ui: &mut Ui, view: &PanelView) {
    let state = view.bench.state();
    let held = view.bench.held().and_then(|id| view.bench.shown(id));
    let Some(p) = held else {
        ui.label(RichText::new("nothing in hand").size(FACT).color(DIM));
        if view.bench.doing().is_laying() {
            ui.label(RichText::new("press in a piece, or step to one with Tab").color(DIM));
        }
        return;
    };
    let cloth = state.panel(&p.panel).map_or("", |q| q.cloth.as_str());
    let mut about = format!("{cloth} on {}, {}", p.panel, face(p.face));
    if p.locked {
        about += ", locked";
    }
    if view.bench.moves_together() {
        about += ", moves with its article";
    }
    ui.horizontal_wrapped(|ui| {
        ui.label(letters_of(format!("{} {}", p.piece, p.article), FACT));
        ui.label(RichText::new(about).color(DIM));
    });
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 26.0;
        for (what, value) in numbers(view, p) {
            fact(ui, what, &value);
        }
    });
    for words in view.shade {
        ui.label(RichText::new(words).color(DIM));
    }
}

/// What is measured of a placement: words and value.
fn numbers(view: &PanelView, p: &Placement) -> Vec<(&'static str, String)> {
    let unit = view.facts.unit;
    let mut all = vec![
        ("across", unit.show(p.x_mm)),
        ("up", unit.show(p.y_mm)),
        ("turned", degrees(p.turn_deg)),
    ];
    let grain = view.bench.goods.stock().piece(&p.piece);
    let warp = view.bench.state().panel(&p.panel).map(|q| q.grain_deg);
    let grain = grain.and_then(|q| q.grain).zip(warp);
    let off = grain.and_then(|(g, w)| off_grain(g, p.face, p.turn_deg, w, false));
    all.push(("off grain", off.map_or("no grain".to_owned(), degrees)));
    all
}

/// How true its light is, of place and of shape: standard errors across its cut line.
fn true_to(view: &PanelView) -> Option<String> {
    let (sure, id) = (view.facts.sure.as_ref()?, view.bench.held()?);
    let p = view.bench.state().placed.get(&id)?;
    let ring = view.bench.goods.stock().piece(&p.piece)?.cut.first()?;
    let pose = view.bench.pose(id)?;
    let outline: Vec<_> = ring.iter().map(|&c| pose.point(c)).collect();
    let errors = sure.shape(&outline)?;
    let show = |mm: f64| match view.facts.unit {
        // Sixteenths are too coarse for an error.
        Unit::Inch => format!("{:.3} in", mm / Unit::Inch.mm()),
        _ => format!("{mm:.2} mm"),
    };
    let lens = match sure.knows_lens() {
        true => "",
        false => "; what the lens bends is not known",
    };
    Some(format!(
        "by its marks the light typically misses by {} in place and {} in shape{lens}",
        show(errors.place),
        show(errors.shape)
    ))
}

/// Degrees to a tenth, without a minus before zero.
fn degrees(d: f64) -> String {
    let d = (d * 10.0).round() / 10.0 + 0.0;
    format!("{d:.1}°").replace('-', "−")
}

fn fact(ui: &mut Ui, what: &str, value: &str) {
    pair(ui, (what, BODY), (value, FACT));
}

/// A word and what it is, never parted by the end of a line.
pub fn pair(ui: &mut Ui, (what, small): (&str, f32), (value, large): (&str, f32)) {
    let text = format!("{what} {value}");
    let mut job = egui::text::LayoutJob::default();
    let format = |size, colour| egui::TextFormat {
        valign: egui::Align::BOTTOM,
        ..egui::TextFormat::simple(letters(size), colour)
    };
    job.append(what, 0.0, format(small, DIM));
    job.append(value, 8.0, format(large, CHALK));
    job.wrap.max_width = f32::INFINITY;
    let label = ui.add(egui::Label::new(job).extend());
    label.widget_info(|| egui::WidgetInfo::labeled(Role::Label, true, &text));
}

fn letters_of(words: String, size: f32) -> RichText {
    RichText::new(words).size(size)
}

fn face(face: Face) -> &'static str {
    match face {
        Face::Up => "as drawn",
        Face::Down => "mirrored",
    }
}

/// What can be done with the piece in hand, each with its key.
pub fn leaf(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let free = view.bench.held().is_some() && view.bench.doing().is_laying();
    if !free {
        let words = "No piece is in hand: press in one. Then this leaf moves it.";
        ui.label(RichText::new(words).color(DIM));
    }
    if let Some(words) = true_to(view) {
        ui.label(RichText::new(words).color(DIM));
    }
    let on_paper = press(PaperWish::Piece.words()).wide().off(!free);
    if on_paper.show(ui) {
        wishes.push(Wish::Paper(PaperWish::Piece));
    }
    for line in table(&Doing::Laying) {
        // Both keys of a turn; the first of others that have two.
        let n = match line.presses.first() {
            Some((_, KeyAct::Act(Act::Turn(_)))) => 2,
            _ => 1,
        };
        for (pressed, act) in line.presses.iter().take(n).filter(|(_, a)| about_hand(a)) {
            let words = match act {
                KeyAct::Act(Act::Turn(d)) if *d > 0.0 => "turn left 15°",
                KeyAct::Act(Act::Turn(_)) => "turn right 15°",
                KeyAct::Act(Act::Next) => "next piece in hand",
                _ => line.what,
            };
            let on = match act {
                KeyAct::Relative(Relative::Together) => Some(view.bench.moves_together()),
                KeyAct::Act(Act::Lock) => Some(locked(view)),
                _ => None,
            };
            let steps = *act == KeyAct::Act(Act::Next) && view.bench.doing().is_laying();
            let mut p = press(words).key(pressed.to_string()).wide();
            p = p.off(!free && !steps);
            if let Some(on) = on {
                p = p.chosen(Role::CheckBox, on);
            }
            if p.show(ui) {
                wishes.extend(wish_of(act, view.bench));
            }
        }
    }
}

fn locked(view: &PanelView) -> bool {
    let placed = &view.bench.state().placed;
    let held = view.bench.held().and_then(|id| placed.get(&id));
    held.is_some_and(|p| p.locked)
}

/// Whether it is about the piece in hand; a full step of turning only.
fn about_hand(act: &KeyAct) -> bool {
    match act {
        KeyAct::Act(Act::Turn(d)) => d.abs() > 10.0,
        KeyAct::Act(act) => matches!(
            act,
            Act::Next
                | Act::LetGo
                | Act::Square
                | Act::Bias
                | Act::TurnOver
                | Act::Another
                | Act::Partner
                | Act::PartnerAcross
                | Act::Seek(Seek::Hand | Seek::Pair)
                | Act::Lock
                | Act::TakeAway
        ),
        KeyAct::Relative(Relative::Together) => true,
        KeyAct::Outside(o) => *o == crate::work::Outside::Flash,
        KeyAct::Relative(_) | KeyAct::Signal(_) => false,
    }
}
