//! The panels of cloth: which are on the table, what is known of them, and what
//! can be begun on each.

use super::PanelMemory;
use super::photo;
use super::press::press;
use super::style::{BODY, DIM, letters};
use super::view::{PanelView, Wish};
use crate::cloth::{MOST_LAYERS, Panel, Stack};
use crate::work::Act;
use crate::work::Doing;
use crate::work::Errand;
use crate::work::KeyAct;
use crate::work::Relative;
use crate::work::table;
use egui::{RichText, Role, TextEdit, Ui};

/// A name that is being typed.
#[derive(Debug, Clone, Default)]
pub struct Naming {
    panel: String,
    mark: bool,
    at: usize,
    text: String,
}

/// What can be begun on a panel, in the order of a working day.
const ERRANDS: [(Errand, &str); 5] = [
    (Errand::Outline, "draw its outline"),
    (Errand::KeepOut, "mark a bad place"),
    (Errand::Warp, "show its warp"),
    (Errand::Marks, "give it marks"),
    (Errand::Moved, "the cloth has moved"),
];

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    let panels = &view.bench.state().panels;
    if panels.is_empty() {
        let words = "The job has no cloth yet: name its panels of cloth in the job file.";
        ui.label(RichText::new(words).color(DIM));
    }
    photo::show(ui, view, &mut memory.photographing, wishes);
    ui.add_space(6.0);
    for panel in panels {
        ui.heading(&panel.name);
        ui.label(RichText::new(about(panel)).color(DIM));
        spread(ui, panel, wishes);
        if panel.spread {
            ui.horizontal_wrapped(|ui| errands(ui, view, panel, wishes));
            ui.horizontal_wrapped(|ui| plies(ui, panels, panel, wishes));
            ui.horizontal_wrapped(|ui| layers(ui, panel, wishes));
        }
        names(ui, panel, memory, wishes);
        ui.add_space(6.0);
        ui.separator();
    }
    ui.label(RichText::new("anywhere on the table").color(DIM));
    let anywhere = [
        (Errand::Tape, "measure by light"),
        (Errand::Edge, "square to a mat's edge"),
        (Errand::Samples, "samples: how strong a guide"),
        (Errand::Strip, "a strip to cut"),
    ];
    ui.horizontal_wrapped(|ui| {
        for (errand, words) in anywhere {
            let control = press(words).key(key_of(errand));
            if control.show(ui) {
                wishes.push(Wish::Act(Act::Begin(errand.on(""))));
            }
        }
    });
}

fn about(panel: &Panel) -> String {
    let (marks, outs) = (panel.marks.len(), panel.keep_out.len());
    let count = |n: usize, one: &str| match n {
        0 => format!("no {one}s"),
        1 => format!("1 {one}"),
        n => format!("{n} {one}s"),
    };
    format!(
        "{}, {}, {}",
        panel.cloth,
        count(outs, "bad place"),
        count(marks, "mark")
    )
}

fn spread(ui: &mut Ui, panel: &Panel, wishes: &mut Vec<Wish>) {
    let words = match &panel.under {
        Some(top) => format!("on the table, under {top}"),
        None => "on the table".to_owned(),
    };
    let control = press(&words)
        .named(format!("{} is on the table", panel.name))
        .chosen(Role::CheckBox, panel.spread);
    if control.show(ui) {
        wishes.push(Wish::Act(Act::Spread {
            panel: panel.name.clone(),
            spread: !panel.spread,
        }));
    }
}

fn errands(ui: &mut Ui, view: &PanelView, panel: &Panel, wishes: &mut Vec<Wish>) {
    let meant = crate::work::meant(view.bench).is_some_and(|m| m.name == panel.name);
    for (errand, words) in ERRANDS {
        let mut control = press(words).named(format!("{}: {words}", panel.name));
        // Its key begins it on the panel that is meant, and on no other.
        if meant {
            control = control.key(key_of(errand));
        }
        // Less than two marks don't carry it.
        let off = errand == Errand::Moved && panel.marks.len() < 2;
        if control.off(off).show(ui) {
            wishes.push(Wish::Act(Act::Begin(errand.on(&panel.name))));
        }
    }
}

/// The key that begins an errand.
fn key_of(errand: Errand) -> String {
    let lines = table(&Doing::Laying).into_iter().flat_map(|l| l.presses);
    let mut keys = lines.filter(|(_, a)| *a == KeyAct::Relative(Relative::Begin(errand)));
    keys.next().map(|(p, _)| p.to_string()).unwrap_or_default()
}

/// In how many layers it lies, and which side of it is up.
fn layers(ui: &mut Ui, panel: &Panel, wishes: &mut Vec<Wish>) {
    let now = panel.stack;
    let words = now.words();
    let words = words.as_deref().unwrap_or("single, face side up");
    ui.label(RichText::new(words).color(DIM));
    let mut wish = |stack: Stack| {
        wishes.push(Wish::Act(Act::Stack {
            panel: panel.name.clone(),
            stack,
        }));
    };
    let name = |does: &str| format!("{}: {does}", panel.name);
    let control = press("one ply more").named(name("one ply more"));
    if control.off(now.layers >= MOST_LAYERS).show(ui) {
        let layers = now.layers + 1;
        wish(Stack { layers, ..now });
    }
    if now.layers > 1 {
        if press("one less").named(name("one ply less")).show(ui) {
            let layers = now.layers - 1;
            wish(Stack { layers, ..now });
        }
        let control = press("every second one turned over")
            .named(name("every second ply is turned over"))
            .chosen(Role::CheckBox, now.turned);
        if control.show(ui) {
            let turned = !now.turned;
            wish(Stack { turned, ..now });
        }
    }
    let control = press("wrong side up")
        .named(name("wrong side up"))
        .chosen(Role::CheckBox, now.wrong_side_up);
    if control.show(ui) {
        let wrong_side_up = !now.wrong_side_up;
        wish(Stack {
            wrong_side_up,
            ..now
        });
    }
}

fn plies(ui: &mut Ui, all: &[Panel], panel: &Panel, wishes: &mut Vec<Wish>) {
    let mut wish = |top: Option<String>| {
        wishes.push(Wish::Act(Act::Under {
            panel: panel.name.clone(),
            top,
        }));
    };
    if let Some(top) = &panel.under {
        let name = format!("draw {} out from under {top}", panel.name);
        if press("draw it out").named(name).show(ui) {
            wish(None);
        }
        return;
    }
    let above = |q: &&Panel| q.name != panel.name && q.spread && q.under.is_none();
    for top in all.iter().filter(above) {
        let words = format!("slip under {}", top.name);
        let name = format!("slip {} under {}", panel.name, top.name);
        if press(&words).named(name).show(ui) {
            wish(Some(top.name.clone()));
        }
    }
}

/// Marks and keep-outs by name, to be renamed or dropped; folded away.
fn names(ui: &mut Ui, panel: &Panel, memory: &mut PanelMemory, wishes: &mut Vec<Wish>) {
    if panel.marks.is_empty() && panel.keep_out.is_empty() {
        return;
    }
    let open = memory.open.contains(&panel.name);
    let control = press("its marks and bad places")
        .named(format!("names of what is on {}", panel.name))
        .chosen(Role::CheckBox, open);
    if control.show(ui) && !memory.open.remove(&panel.name) {
        memory.open.insert(panel.name.clone());
    }
    if !open {
        return;
    }
    let marks = panel.marks.iter().map(|m| &m.name).enumerate();
    for (at, name) in marks {
        named(ui, panel, (true, at, name), memory, wishes);
    }
    let outs = panel.keep_out.iter().map(|k| &k.name).enumerate();
    for (at, name) in outs {
        named(ui, panel, (false, at, name), memory, wishes);
    }
}

fn named(
    ui: &mut Ui,
    panel: &Panel,
    (mark, at, name): (bool, usize, &str),
    memory: &mut PanelMemory,
    wishes: &mut Vec<Wish>,
) {
    let what = if mark { "mark" } else { "bad place" };
    let full = format!("{what} {name} of {}", panel.name);
    let is_typed = |n: &Naming| (n.panel.as_str(), n.mark, n.at) == (&panel.name, mark, at);
    let typed = memory.naming.clone().filter(is_typed);
    let mut text = typed.map_or_else(|| name.to_owned(), |n| n.text);
    ui.horizontal(|ui| {
        let label = ui.label(RichText::new(what).color(DIM));
        let field = TextEdit::singleline(&mut text)
            .id_salt(("name", &panel.name, mark, at))
            .font(letters(BODY))
            .desired_width(150.0);
        let field = ui.add(field).labelled_by(label.id);
        let said = format!("name of {full}");
        ui.ctx()
            .accesskit_node_builder(field.id, |node| node.set_label(said));
        if field.changed() {
            memory.naming = Some(Naming {
                panel: panel.name.clone(),
                mark,
                at,
                text: text.clone(),
            });
        }
        if field.lost_focus() {
            let new = text.trim();
            if memory.naming.take_if(|n| is_typed(n)).is_some() && !new.is_empty() && new != name {
                wishes.push(Wish::Act(renamed(panel, mark, at, new)));
            }
        }
        if press("take away")
            .named(format!("take away {full}"))
            .show(ui)
        {
            let panel = panel.name.clone();
            wishes.push(Wish::Act(match mark {
                true => Act::DropMark { panel, at },
                false => Act::DropKeepOut { panel, at },
            }));
        }
    });
}

fn renamed(panel: &Panel, mark: bool, at: usize, name: &str) -> Act {
    let (panel, name) = (panel.name.clone(), name.to_owned());
    match mark {
        true => Act::NameMark { panel, at, name },
        false => Act::NameKeepOut { panel, at, name },
    }
}
