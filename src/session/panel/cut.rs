//! Cutting: what the light asks for, what the list holds, what comes next, what
//! is cut, and which switches signal.

use super::press::press;
use super::style::DIM;
use super::view::{PanelView, Wish};
use crate::lay::{CutPart, Marking};
use crate::session::papers::PaperWish;
use crate::work::cutting::{Cutting, Item, hand};
use crate::work::signals::{Signal, Told};
use crate::work::{Act, KeyAct, Line, Switches, switch_words, table};
use egui::{RichText, Ui};

/// The leaf.
pub fn leaf(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let doing = view.bench.doing();
    match doing.cutting() {
        Some(cutting) => under_way(ui, view, cutting, wishes),
        None => {
            let words = "over to cutting";
            let begin = press(words).key(key_of(view, &KeyAct::Act(Act::BeginCutting)));
            if begin.wide().off(!doing.is_laying()).show(ui) {
                wishes.push(Wish::Act(Act::BeginCutting));
            }
        }
    }
    ui.add_space(8.0);
    cut(ui, view);
    ui.add_space(8.0);
    lengths(ui, view, wishes);
    papers(ui, wishes);
    ui.add_space(8.0);
    switches(ui, view, wishes);
}

/// What is cut by length, and a ruler of light to lay it along.
fn lengths(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let tapes = view.bench.tapes();
    if tapes.is_empty() {
        return;
    }
    let unit = view.facts.unit;
    for (article, tape) in tapes {
        let words = format!(
            "{} x {} {article}: {} ({})",
            tape.count,
            tape.name,
            unit.show(tape.total),
            tape.words(unit)
        );
        ui.label(RichText::new(words).color(DIM));
    }
    let doing = view.bench.doing();
    let control = press("lengths along a ruler of light");
    let control = control.key(key_of(view, &KeyAct::Act(Act::Lengths)));
    if control.wide().off(!doing.is_laying()).show(ui) {
        wishes.push(Wish::Act(Act::Lengths));
    }
    ui.add_space(8.0);
}

/// Papers that go with the work.
fn papers(ui: &mut Ui, wishes: &mut Vec<Wish>) {
    ui.horizontal_wrapped(|ui| {
        for wish in PaperWish::ALL {
            if press(wish.words()).show(ui) {
                wishes.push(Wish::Paper(wish));
            }
        }
    });
}

fn under_way(ui: &mut Ui, view: &PanelView, cutting: &Cutting, wishes: &mut Vec<Wish>) {
    let mut wish = |act| wishes.push(Wish::Act(act));
    if let Some(prompt) = view.bench.prompt() {
        for line in &prompt.lines {
            ui.label(line);
        }
    }
    ui.add_space(6.0);
    let signals = [(Signal::GoOn, Told::GoOn), (Signal::Back, Told::Back)];
    ui.horizontal_wrapped(|ui| {
        for (signal, told) in signals {
            let control = press(signal.words()).key(key_of(view, &KeyAct::Signal(signal)));
            if control.show(ui) {
                wish(Act::Signal(told));
            }
        }
    });
    ui.add_space(6.0);
    for item in Item::of(&cutting.phase) {
        if item == Item::Close {
            continue;
        }
        let control = press(item.words()).key(key_of(view, &KeyAct::Act(Act::Take(item))));
        if control.wide().show(ui) {
            wish(Act::Take(item));
        }
    }
    ui.add_space(8.0);
    ui.label(
        RichText::new("to cut after this, in their order; press one to cut it next").color(DIM),
    );
    ui.horizontal_wrapped(|ui| {
        for (k, id) in cutting.order.iter().enumerate() {
            let Some(p) = view.bench.state().placed.get(id) else {
                continue;
            };
            let shown = format!("{} {}", p.piece, p.article);
            let name = format!("cut {shown} next, now the {} in the order", k + 1);
            if press(&shown).named(name).show(ui) {
                wish(Act::CutNext(*id));
            }
        }
    });
}

/// What is cut, the latest first.
fn cut(ui: &mut Ui, view: &PanelView) {
    let cuts = &view.bench.state().cuts;
    let good = cuts.parts.iter().filter(|p| !p.spoilt).count();
    let to_go: u32 = view.bench.counts().iter().map(|c| c.to_cut().sum()).sum();
    ui.heading(format!("{good} cut, {to_go} to go"));
    for part in cuts.parts.iter().rev() {
        ui.label(RichText::new(told(part)).color(DIM));
    }
    for notch in &cuts.notches {
        let words = format!(
            "{} has one notch more from the next opening of the job",
            notch.piece
        );
        ui.label(RichText::new(words).color(DIM));
    }
}

fn told(part: &CutPart) -> String {
    let hand = hand(part.face);
    let mut words = format!("{} {} {}, {hand}", part.piece, part.article, part.cloth);
    if part.plies > 1 {
        words += &format!(", of {} plies", part.plies);
    }
    if part.spoilt {
        return words + ", spoilt";
    }
    words += match part.marking {
        Marking::Nothing => "",
        Marking::ToDo => ", to be marked",
        Marking::Done => ", marked",
        Marking::Waived => ", without its marks",
    };
    if !part.clipped_late.is_empty() {
        let late: Vec<String> = part.clipped_late.iter().map(u32::to_string).collect();
        words += &format!(", notch {} clipped late", late.join(", "));
    }
    words
}

/// What signals, and a way to teach another switch.
fn switches(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let taught = &view.bench.state().cuts.switches;
    ui.label(
        RichText::new("a foot switch, a key or a mouse: choose what it shall mean, then press it")
            .color(DIM),
    );
    for (signal, own) in [(Signal::GoOn, &taught.go_on), (Signal::Back, &taught.back)] {
        ui.horizontal_wrapped(|ui| {
            let name = format!("teach {}", signal.words());
            if press(&name).show(ui) {
                wishes.push(Wish::Act(Act::Teach(signal)));
            }
            if let Some(own) = own {
                ui.label(switch_words(own));
            }
        });
    }
}

/// The keys of an act in what is being done.
fn key_of(view: &PanelView, act: &KeyAct) -> String {
    let mut lines = table(view.bench.doing()).into_iter();
    let line = lines.find(|l| l.presses.iter().any(|(_, a)| a == act));
    let line = line.map(|l| match view.bench.is_cutting() {
        true => still_meant(l, &view.bench.state().cuts.switches),
        false => l,
    });
    line.map(|l| l.keys()).unwrap_or_default()
}

/// A line without the keys that were taught to mean a signal, if it is another's.
fn still_meant(mut line: Line, taught: &Switches) -> Line {
    for (signal, own) in [(Signal::GoOn, &taught.go_on), (Signal::Back, &taught.back)] {
        let Some(own) = own.as_deref().map(switch_words) else {
            continue;
        };
        let act = KeyAct::Signal(signal);
        line.presses
            .retain(|(pressed, a)| *a == act || pressed.to_string() != own);
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::work::{Key, Pressed};

    #[test]
    fn a_key_that_was_taught_is_shown_with_its_own_signal_alone() {
        let line = |keys: &[Key], act: KeyAct| Line {
            presses: keys
                .iter()
                .map(|k| (Pressed::plain(*k), act.clone()))
                .collect(),
            what: "what it does",
        };
        let go_on = || line(&[Key::Space, Key::Enter], KeyAct::Signal(Signal::GoOn));
        let back = || line(&[Key::Backspace], KeyAct::Signal(Signal::Back));
        let check = || line(&[Key::Letter('V')], KeyAct::Act(Act::Take(Item::Check)));
        let keys = |line, taught: &Switches| still_meant(line, taught).keys();
        let usual = Switches::default();
        assert_eq!(keys(go_on(), &usual), "Space  Enter");
        let taught = Switches {
            go_on: Some("key KeyV".to_owned()),
            back: Some("key Enter".to_owned()),
        };
        assert_eq!(keys(go_on(), &taught), "Space");
        assert_eq!(keys(back(), &taught), "Backspace");
        assert_eq!(keys(check(), &taught), "");
        let own = Switches {
            go_on: Some("key Enter".to_owned()),
            back: None,
        };
        assert_eq!(keys(go_on(), &own), "Space  Enter");
    }
}
