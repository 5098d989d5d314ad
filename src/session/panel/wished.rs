//! What is wished of the place of the piece in hand: listed, added, dropped.

use super::press::press;
use super::style::DIM;
use super::view::{PanelView, Wish as Asked};
use crate::lay::wish::{NapWay, Part, Wish, Wished};
use crate::pattern::{PatternPiece, edges};
use crate::work::Act;
use egui::{RichText, Role, Ui};

/// A wish that is being put together.
#[derive(Debug, Clone, Default)]
pub struct Wishing {
    lighter: Option<Part>,
    darker: Option<Part>,
    /// Own edge, the other piece, its edge.
    runs_on: [Option<String>; 3],
}

/// The four ends of a piece as drawn.
const ENDS: [(&str, f64); 4] = [
    ("top", 90.0),
    ("bottom", -90.0),
    ("left", 180.0),
    ("right", 0.0),
];

pub fn show(ui: &mut Ui, view: &PanelView, making: &mut Wishing, wishes: &mut Vec<Asked>) {
    let state = view.bench.state();
    let held = view.bench.held().and_then(|id| state.placed.get(&id));
    let Some(p) = held else { return };
    let Some(piece) = view.bench.goods.stock().piece(&p.piece) else {
        return;
    };
    ui.add_space(10.0);
    ui.label(format!("wishes for {}", p.piece));
    let own = state.wishes.iter().enumerate();
    let own: Vec<(usize, &Wished)> = own
        .filter(|(_, w)| w.is_for(&p.piece, &p.article))
        .collect();
    if own.is_empty() {
        let words = "none: any place with room will do";
        ui.label(RichText::new(words).color(DIM));
    }
    for (at, wished) in &own {
        ui.horizontal_wrapped(|ui| {
            let mut words = wished.wish.to_string();
            if wished.weight != 1.0 {
                words += &format!(", counts {} times", wished.weight);
            }
            ui.label(&words);
            let named = format!("take away the wish: {words}");
            if press("take away").named(named).show(ui) {
                wishes.push(Asked::Act(Act::Wish { at: *at, to: None }));
            }
        });
    }
    let mut add = |wish: Wish| {
        // The same wished twice counts no more than once.
        if own.iter().all(|(_, w)| w.wish != wish) {
            wishes.push(Asked::Act(Act::Wish {
                at: state.wishes.len(),
                to: Some(Box::new(Wished::new(p.piece.clone(), wish))),
            }));
        }
    };
    ui.label(RichText::new("wish more").color(DIM));
    ui.horizontal_wrapped(|ui| {
        let plain = [
            Wish::Even {},
            Wish::LikePartner {},
            Wish::MirroredPlace {},
            Wish::StripeCentred { at_mm: [0.0, 0.0] },
            Wish::Nap { way: NapWay::With },
            Wish::Nap {
                way: NapWay::Against,
            },
        ];
        for wish in plain {
            let words = wish.to_string();
            if press(&words).named(format!("wish: {words}")).show(ui) {
                add(wish);
            }
        }
    });
    fade(ui, piece, making, &mut add);
    runs_on(ui, view, piece, making, &mut add);
}

/// Light here, darker there.
fn fade(ui: &mut Ui, piece: &PatternPiece, making: &mut Wishing, add: &mut dyn FnMut(Wish)) {
    let parts: Vec<(String, Part)> = ENDS
        .iter()
        .map(|(name, deg)| ((*name).to_owned(), Part::TowardsDeg(*deg)))
        .chain(edges(piece).into_iter().map(|e| {
            let part = Part::Edge(e.name);
            let said = part.to_string();
            (said.trim_start_matches("at ").to_owned(), part)
        }))
        .collect();
    for (what, chosen) in [
        ("lighter", &mut making.lighter),
        ("darker", &mut making.darker),
    ] {
        ui.horizontal_wrapped(|ui| {
            ui.label(what);
            for (name, part) in &parts {
                let is = chosen.as_ref() == Some(part);
                let control = press(name).named(format!("{what}: {name}"));
                if control.chosen(Role::CheckBox, is).show(ui) {
                    *chosen = (!is).then(|| part.clone());
                }
            }
        });
    }
    let whole = making.lighter != making.darker;
    if press("wish this fade").off(!whole).show(ui) {
        add(Wish::Fade {
            lighter: making.lighter.take(),
            darker: making.darker.take(),
        });
    }
}

/// Stripes that run on across a seam.
fn runs_on(
    ui: &mut Ui,
    view: &PanelView,
    piece: &PatternPiece,
    making: &mut Wishing,
    add: &mut dyn FnMut(Wish),
) {
    let names = |piece: &PatternPiece| -> Vec<String> {
        edges(piece).into_iter().map(|e| e.name).collect()
    };
    let pieces = &view.bench.goods.pieces;
    let other = |name: &Option<String>| pieces.iter().find(|p| Some(&p.name) == name.as_ref());
    let [own, of, to] = &mut making.runs_on;
    row(ui, "stripes run on from", &names(piece), own);
    let all: Vec<String> = pieces.iter().map(|p| p.name.clone()).collect();
    row(ui, "to", &all, of);
    let theirs = other(of).map(names).unwrap_or_default();
    row(ui, "its edge", &theirs, to);
    let known = to.as_ref().is_some_and(|t| theirs.contains(t));
    let whole = own.is_some() && of.is_some() && known;
    if press("wish that stripes run on").off(!whole).show(ui)
        && let (Some(edge), Some(of), Some(to)) = (own.take(), of.take(), to.take())
    {
        add(Wish::StripeRunsOn { edge, of, to });
    }
}

fn row(ui: &mut Ui, what: &str, names: &[String], chosen: &mut Option<String>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(what);
        for name in names {
            let is = chosen.as_ref() == Some(name);
            let control = press(name).named(format!("{what}: {name}"));
            if control.chosen(Role::RadioButton, is).show(ui) {
                *chosen = Some(name.clone());
            }
        }
    });
}
