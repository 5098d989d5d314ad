//! The panel: the laptop's window, for what the light on the table can't say.
//!
//! What is always in sight: what is asked for now (top), the plan, the piece in
//! hand and what is wrong (left), whether the work is safe (foot). The rest lies
//! on leaves at the right, one in sight at a time. Everything is a control with
//! a name, reached by Tab.

mod asking;
mod cautions;
mod cloths;
mod cut;
mod drafting;
mod field;
mod fit;
mod foot;
mod hand;
mod hatch;
mod head;
mod keys;
mod lamp;
mod pattern;
mod photo;
mod pieces;
mod plan;
mod press;
mod reading;
mod room;
mod settling;
mod sign;
mod stroke_picture;
mod style;
mod trims;
mod view;
mod wished;

pub use asking::{AskMemory, ask};
pub use style::dress;
pub use view::{Bad, Facts, OutputFact, OutputState, PanelView, ProfileFact, Wish, wrongs};

use crate::work::Act;
use crate::work::Bench;
use crate::work::Key;
use crate::work::KeyAct;
use crate::work::Outside;
use crate::work::Pressed;
use crate::work::signals::{Signal, Told};
use egui::{CentralPanel, Context, Frame, Margin, Panel, RichText, Role, ScrollArea, Ui};
use press::press;
use std::collections::BTreeSet;
use style::{DIM, GROUND, RULE};

/// What the panel remembers of itself between two pictures.
#[derive(Debug, Clone, Default)]
pub struct PanelMemory {
    leaf: Leaf,
    /// Panels of cloth whose names are unfolded.
    open: BTreeSet<String>,
    naming: Option<cloths::Naming>,
    strip: trims::Strip,
    typing: pattern::Typing,
    looking: reading::Looking,
    wishing: wished::Wishing,
    photographing: photo::Photographing,
    at_draft: drafting::AtDraft,
    /// The cautions lie over all else.
    cautions: bool,
    settling: settling::Settling,
}

impl PanelMemory {
    /// Looks at a stroke of a piece of a drawing, each by its place from 0.
    pub fn look_at(&mut self, reading: usize, piece: usize, stroke: Option<usize>) {
        self.looking = reading::Looking {
            reading,
            piece,
            stroke,
        };
    }

    /// Turns to a leaf by the name on its tab; nothing if there is none.
    pub fn turn_to(&mut self, name: &str) {
        let found = Leaf::ALL.into_iter().find(|l| l.words() == name);
        self.leaf = found.unwrap_or(self.leaf);
    }
}

/// What is in sight at the right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Leaf {
    #[default]
    Pieces,
    Hand,
    Cloth,
    Cut,
    Light,
    Table,
    Pattern,
    Keys,
}

impl Leaf {
    const ALL: [Leaf; 8] = [
        Leaf::Pieces,
        Leaf::Hand,
        Leaf::Cloth,
        Leaf::Cut,
        Leaf::Light,
        Leaf::Table,
        Leaf::Pattern,
        Leaf::Keys,
    ];

    fn words(self) -> &'static str {
        match self {
            Leaf::Pieces => "pieces",
            Leaf::Hand => "hand",
            Leaf::Cloth => "cloth",
            Leaf::Cut => "cut",
            Leaf::Light => "light",
            Leaf::Table => "table",
            Leaf::Pattern => "pattern",
            Leaf::Keys => "keys",
        }
    }
}

/// The least size of the window, desktop points: every strip has its room there, and some is
/// left for the plan.
pub const LEAST: [f32; 2] = [760.0, 520.0];

/// Between the tabs.
const GAP: f32 = 4.0;

/// Shows the panel in all of the window; what the person asks for by it.
pub fn show(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory) -> Vec<Wish> {
    let mut wishes = Vec::new();
    if memory.cautions {
        memory.cautions = !cautions::show(ui);
        return wishes;
    }
    let frame = |margin: Margin| Frame::NONE.fill(GROUND).inner_margin(margin);
    let window = ui.available_size();
    // A low window's room is the plan's.
    let side = Margin::symmetric(16, if window.y < 620.0 { 5 } else { 10 });
    let head = Panel::top("head")
        .frame(frame(side))
        .show_separator_line(true)
        .show(ui, |ui| head::show(ui, view, &mut wishes));
    let foot = Panel::bottom("foot")
        .frame(frame(side))
        .show_separator_line(true)
        .show(ui, |ui| foot::show(ui, view, &mut wishes));
    Panel::right("leaves")
        .frame(frame(side))
        .resizable(false)
        .exact_size((window.x * 0.4).clamp(300.0, 520.0))
        .show(ui, |ui| leaves(ui, view, memory, &mut wishes));
    let hand = Panel::bottom("hand")
        .frame(frame(side))
        .resizable(false)
        .show_separator_line(true)
        .show(ui, |ui| {
            hand::strip(ui, view);
            wrong(ui, view, window.y);
        });
    CentralPanel::no_frame().show(ui, |ui| plan::show(ui, view, &mut wishes));
    let high = [head, foot, hand].map(|strip| strip.response.rect.height());
    if memory.settling.is_due(high) {
        ui.ctx().request_repaint();
    }
    wishes
}

fn leaves(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    // All in a row, or in two.
    let per_row = if ui.available_width() < 640.0 { 4 } else { 8 };
    let wide = (ui.available_width() - GAP * (per_row - 1) as f32) / per_row as f32;
    for row in Leaf::ALL.chunks(per_row) {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            for &leaf in row {
                let tab = press(leaf.words())
                    .named(format!("leaf: {}", leaf.words()))
                    .width(wide)
                    .warns(leaf == Leaf::Pattern && view.proving.is_unconfirmed())
                    .chosen(Role::Tab, memory.leaf == leaf);
                if tab.show(ui) {
                    memory.leaf = leaf;
                }
            }
        });
    }
    ui.add_space(8.0);
    let area = ScrollArea::vertical()
        .id_salt(memory.leaf.words())
        .auto_shrink(false);
    area.show(ui, |ui| match memory.leaf {
        Leaf::Pieces => pieces::leaf(ui, view, wishes),
        Leaf::Hand => {
            hand::leaf(ui, view, wishes);
            wished::show(ui, view, &mut memory.wishing, wishes);
        }
        Leaf::Cloth => cloths::leaf(ui, view, memory, wishes),
        Leaf::Cut => cut::leaf(ui, view, wishes),
        Leaf::Light => lamp::leaf(ui, view, memory, wishes),
        Leaf::Table => room::leaf(ui, view, wishes),
        Leaf::Pattern => pattern::leaf(ui, view, memory, wishes),
        Leaf::Keys => keys::leaf(ui, view),
    });
}

/// What is wrong now. At most a fifth of the window; the rest by scrolling.
fn wrong(ui: &mut Ui, view: &PanelView, window: f32) {
    let rule = ui.max_rect().x_range();
    ui.painter()
        .hline(rule, ui.cursor().top(), egui::Stroke::new(1.0, RULE));
    ui.add_space(6.0);
    let most = (window / 5.0).max(40.0);
    // The strip's room is its last height, which a longer list must outgrow.
    let area = ScrollArea::vertical()
        .id_salt("wrong")
        .max_height(most)
        .min_scrolled_height(most)
        .auto_shrink([false, true]);
    area.show(ui, |ui| {
        for bad in view.wrong {
            head::warning(ui, &bad.sentence);
        }
        // What it is stands with its piece.
        let counts = view.bench.counts();
        if counts.iter().any(|c| c.too_much().is_some()) {
            head::warning(ui, "not laid as ordered: see pieces");
        } else if view.wrong.is_empty() {
            ui.label(RichText::new("nothing is wrong").color(DIM));
        }
    });
}

/// What a key's act asks for, as things are on the bench. What can't be meant,
/// and what only the keyboard needs, asks for nothing.
fn wish_of(act: &KeyAct, bench: &Bench) -> Option<Wish> {
    match act {
        KeyAct::Act(act) => Some(Wish::Act(act.clone())),
        KeyAct::Signal(signal) => Some(Wish::Act(Act::Signal(match signal {
            Signal::GoOn => Told::GoOn,
            Signal::Back => Told::Back,
        }))),
        KeyAct::Relative(relative) => relative.act(bench).ok().map(Wish::Act),
        KeyAct::Outside(outside) => match outside {
            Outside::Flash => Some(Wish::Flash),
            Outside::KeySheet => Some(Wish::KeySheet),
            Outside::Setting => Some(Wish::BeginSetting),
            Outside::Cautions => Some(Wish::Cautions),
            Outside::Quit => Some(Wish::Quit),
            Outside::Panel => None,
        },
    }
}

/// Whether the panel's window keeps a key for itself, instead of handing it on
/// to the table: always what steps through controls; what works a control if
/// one has the keyboard; all but Ctrl+Q while a name is typed, for Ctrl+Z there
/// is about the name, not about the lay.
pub fn keeps(ctx: &Context, pressed: Pressed) -> bool {
    let focused = ctx.memory(|m| m.focused().is_some());
    match pressed.key {
        Key::F(_) => false,
        Key::Tab => true,
        _ if ctx.text_edit_focused() => pressed != Pressed::ctrl(Key::Letter('Q')),
        Key::Enter | Key::Space | Key::Escape => focused,
        Key::Left | Key::Right | Key::Up | Key::Down => focused && !pressed.ctrl && !pressed.shift,
        _ => false,
    }
}
