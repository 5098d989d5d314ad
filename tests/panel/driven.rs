//! The panel driven from the keyboard alone, and read out.

mod drafts;
mod plan;
mod reading;
mod strips;

use crate::world::{NARROW, WINDOW, World, carrying, empty, harness, laying, one_hand};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable, by};
use ghostchalk::measure::Unit;
use ghostchalk::session::panel::{Wish, keeps};
use ghostchalk::session::photographed::PhotoWish;
use ghostchalk::work::{Act, Key, Pressed, Seek, Way};

/// The controls that Tab should reach, by name: everything that can be pressed,
/// slid or typed in, and is not switched off.
fn controls(harness: &Harness<World>) -> Vec<String> {
    use egui::accesskit::Role;
    let reachable = by().predicate(|node| {
        let role = node.role();
        let steers = matches!(
            role,
            Role::Button
                | Role::CheckBox
                | Role::RadioButton
                | Role::Tab
                | Role::Slider
                | Role::TextInput
                | Role::Canvas
        );
        steers && !node.is_disabled()
    });
    let all = harness.get_all(reachable);
    all.map(|n| n.accesskit_node().label().unwrap_or_default())
        .collect()
}

fn focused(harness: &Harness<World>) -> Option<String> {
    let node = harness.query(by().predicate(|n| n.is_focused()))?;
    node.accesskit_node().label()
}

fn tab(harness: &mut Harness<World>) {
    harness.key_press(egui::Key::Tab);
    harness.run();
}

/// Tab until the control of this name has the keyboard.
fn tab_to(harness: &mut Harness<World>, name: &str) {
    for _ in 0..400 {
        if focused(harness).as_deref() == Some(name) {
            return;
        }
        tab(harness);
    }
    panic!("Tab never came to {name}: {:?}", controls(harness));
}

fn key(harness: &mut Harness<World>, key: egui::Key) {
    harness.key_press(key);
    harness.run();
}

const LEAVES: [&str; 6] = ["pieces", "hand", "cloth", "light", "table", "keys"];

#[test]
fn every_control_has_a_name_of_its_own_and_tab_reaches_it() {
    let worlds: [fn() -> World; 3] = [laying, carrying, empty];
    for (world, leaf) in worlds.iter().flat_map(|w| LEAVES.map(|l| (w, l))) {
        let mut world = world();
        world.memory.turn_to(leaf);
        let mut harness = harness(world, NARROW, 1.0);
        let all = controls(&harness);
        let mut names = all.clone();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), all.len(), "{leaf}: {all:?}");
        assert!(all.iter().all(|n| n.len() > 2), "{leaf}: {all:?}");
        let mut reached = Vec::new();
        for _ in 0..all.len() {
            tab(&mut harness);
            reached.extend(focused(&harness));
        }
        reached.sort();
        assert_eq!(reached, names, "{leaf}");
    }
}

#[test]
fn two_of_a_hand_are_told_though_all_is_laid() {
    let says = "upper 1 in canvas: a pair needs 1 as drawn and 1 mirrored, and 2 and 0 are laid; \
                turn one of them over";
    let harness = harness(one_hand(), WINDOW, 1.0);
    for words in ["laid otherwise than ordered", says] {
        assert_eq!(harness.query_all_by_label(words).count(), 1, "{words}");
    }
    assert_eq!(harness.query_all_by_label("all is laid").count(), 0);
    // Nor is the foot silent about it.
    let foot = |words| harness.query_all_by_label_contains(words).count();
    assert_eq!(foot("nothing is wrong"), 0);
    assert_eq!(foot("not laid as ordered"), 1);
    // Nor is it said where places are sought for what is left.
    let mut world = one_hand();
    world.act(Act::Seek(Seek::Open));
    assert_eq!(world.said.unwrap().words, says);
}

#[test]
fn a_screen_reader_is_told_what_the_eye_is() {
    let harness = harness(laying(), WINDOW, 1.0);
    for words in [
        "Lay: press in a piece to hold it",
        "heel band 1",
        "across 675.1 mm",
        "up 234.3 mm",
        "turned 0.0°",
        "off grain 0.0°",
        "1 still to lay",
        "1 laid of 2",
        "table set by attic table, 3 March",
        "journal all is written",
        "warning",
    ] {
        let found = harness.query_all_by_label(words).count();
        assert!(found > 0, "{words}");
    }
    let said = "heel band 1 (canvas) and heel band 1 (canvas) lie on each other";
    assert_eq!(harness.query_all_by_label_contains(said).count(), 1);
    let plan = harness.get_by_label_contains("plan of the table");
    let told = plan.accesskit_node().label().unwrap();
    assert!(told.contains("13 pieces, heel band 1 is in hand"), "{told}");
}

#[test]
fn laid_from_the_keyboard_alone() {
    let mut harness = harness(laying(), NARROW, 1.0);
    tab_to(&mut harness, "lay sole 1 on sling");
    key(&mut harness, egui::Key::Enter);
    let world = harness.state();
    let held = &world.bench.state().placed[&world.bench.held().unwrap()];
    assert_eq!(
        (held.piece.as_str(), held.panel.as_str()),
        ("sole", "sling")
    );
    assert!(harness.query_by_label("all is laid").is_some());
    // Another is taken in hand.
    let name = "hold binding 1 in canvas, the 2nd laid (2 as drawn)";
    tab_to(&mut harness, name);
    key(&mut harness, egui::Key::Space);
    let world = harness.state();
    let held = &world.bench.state().placed[&world.bench.held().unwrap()];
    assert_eq!(held.piece, "binding");
    // And stepped on from, on the plan.
    let before = world.bench.held();
    let plan = controls(&harness)
        .into_iter()
        .find(|c| c.starts_with("plan"));
    tab_to(&mut harness, &plan.unwrap());
    key(&mut harness, egui::Key::ArrowRight);
    assert_ne!(harness.state().bench.held(), before);
    key(&mut harness, egui::Key::ArrowLeft);
    assert_eq!(harness.state().bench.held(), before);
}

#[test]
fn lit_from_the_keyboard_alone() {
    let mut harness = harness(laying(), NARROW, 1.0);
    tab_to(&mut harness, "leaf: light");
    key(&mut harness, egui::Key::Enter);
    tab_to(&mut harness, "dark");
    key(&mut harness, egui::Key::Space);
    assert_eq!(harness.state().bench.ways().way, Way::Dark);
    tab_to(&mut harness, "work light");
    for _ in 0..3 {
        key(&mut harness, egui::Key::ArrowRight);
    }
    assert_eq!(harness.state().bench.ways().work_light, 15);
    tab_to(&mut harness, "band");
    key(&mut harness, egui::Key::ArrowRight);
    assert_eq!(harness.state().bench.ways().band_mm, 3.5);
    tab_to(&mut harness, "guides");
    key(&mut harness, egui::Key::ArrowLeft);
    assert_eq!(harness.state().bench.ways().brightness, 95);
}

#[test]
fn a_cut_strip_is_typed_in_and_its_trim_turned_on_from_the_keyboard_alone() {
    let mut harness = harness(laying(), NARROW, 1.0);
    tab_to(&mut harness, "leaf: light");
    key(&mut harness, egui::Key::Enter);
    tab_to(&mut harness, "a strip was cut");
    key(&mut harness, egui::Key::Space);
    let readings = [
        ("long side, first reading", "240.9"),
        ("long side, second reading", "240.7"),
        ("short side, first reading", "60.8"),
        ("short side, second reading", "60,6"),
    ];
    for (name, text) in readings {
        tab_to(&mut harness, name);
        harness.event(egui::Event::Text(text.into()));
        harness.run();
    }
    tab_to(&mut harness, "work out what the hand leaves");
    key(&mut harness, egui::Key::Enter);
    let state = harness.state().bench.state();
    assert_eq!(state.trims.len(), 1);
    assert!(!state.trims[0].on && (state.trims[0].edge_mm - 0.33).abs() < 0.011);
    let name = format!("trim 0.33 mm in: {}", state.trims[0].of());
    tab_to(&mut harness, &name);
    key(&mut harness, egui::Key::Space);
    assert!(harness.state().bench.state().trims[0].on);
}

/// Types over what stands in the field that has the keyboard.
fn type_over(harness: &mut Harness<World>, text: &str) {
    harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    harness.run();
    harness.event(egui::Event::Text(text.into()));
    harness.run();
}

/// Types over what stands in a field.
fn retype(harness: &mut Harness<World>, name: &str, text: &str) {
    tab_to(harness, name);
    type_over(harness, text);
}

/// Gives the keyboard to a control at once, as a screen reader does.
fn go_to(harness: &mut Harness<World>, name: &str) {
    harness.get_by_label(name).focus();
    harness.run();
}

fn press(harness: &mut Harness<World>, name: &str) {
    go_to(harness, name);
    key(harness, egui::Key::Enter);
}

fn fill(harness: &mut Harness<World>, name: &str, text: &str) {
    go_to(harness, name);
    type_over(harness, text);
}

#[test]
fn notes_are_read_when_they_are_wanted_and_new_ones_show_themselves() {
    let mut world = laying();
    let was = "left out: a dotted line in slippers.svg";
    world.facts.notes = vec![was.to_owned()];
    let mut harness = harness(world, WINDOW, 1.0);
    let count = |harness: &Harness<World>, words: &str| harness.query_all_by_label(words).count();
    assert_eq!(count(&harness, was), 0);
    tab_to(&mut harness, "notes");
    key(&mut harness, egui::Key::Enter);
    assert_eq!(count(&harness, was), 1);
    key(&mut harness, egui::Key::Enter);
    assert_eq!(count(&harness, was), 0);
    let new = "the shade of sling is not known";
    harness.state_mut().facts.notes.push(new.to_owned());
    harness.run();
    assert_eq!(count(&harness, new), 1);
}

#[test]
fn what_is_not_the_lay_is_asked_for() {
    let mut harness = harness(empty(), NARROW, 1.0);
    tab_to(&mut harness, "set the table now");
    key(&mut harness, egui::Key::Enter);
    assert_eq!(harness.state().wishes, [Wish::BeginSetting]);
    let mut world = laying();
    world.memory.turn_to("table");
    let mut harness = self::harness(world, NARROW, 1.0);
    let asked = [
        (
            "send the light to eDP-1",
            Wish::ChooseOutput("eDP-1".into()),
        ),
        ("show lengths in inches", Wish::Unit(Unit::Inch)),
        ("rehearse on a simulated table", Wish::Rehearse(true)),
        ("the keys, as light", Wish::KeySheet),
        ("cautions", Wish::Cautions),
        ("end", Wish::Quit),
    ];
    for (name, wish) in asked {
        tab_to(&mut harness, name);
        key(&mut harness, egui::Key::Enter);
        assert_eq!(harness.state().wishes.last(), Some(&wish), "{name}");
    }
}

#[test]
fn keys_go_to_the_table_unless_a_control_wants_them() {
    let mut harness = harness(laying(), NARROW, 1.0);
    let plain = |key| Pressed::plain(key);
    let kept = |harness: &Harness<World>, pressed| keeps(&harness.ctx, pressed);
    assert!(kept(&harness, plain(Key::Tab)));
    assert!(!kept(&harness, plain(Key::Up)) && !kept(&harness, plain(Key::Enter)));
    tab_to(&mut harness, "leaf: cloth");
    assert!(kept(&harness, plain(Key::Up)) && kept(&harness, plain(Key::Enter)));
    assert!(!kept(&harness, plain(Key::Letter('G'))));
    key(&mut harness, egui::Key::Enter);
    tab_to(&mut harness, "names of what is on sling");
    key(&mut harness, egui::Key::Enter);
    tab_to(&mut harness, "name of bad place tear of sling");
    assert!(kept(&harness, plain(Key::Letter('G'))));
    // What is held with Ctrl is about the words, not about the lay.
    for letter in ['A', 'C', 'F', 'V', 'X', 'Y', 'Z'] {
        assert!(kept(&harness, Pressed::ctrl(Key::Letter(letter))));
    }
    assert!(kept(&harness, Pressed::both(Key::Letter('Z'))));
    assert!(kept(&harness, Pressed::ctrl(Key::Left)));
    assert!(!kept(&harness, Pressed::ctrl(Key::Letter('Q'))));
    key(&mut harness, egui::Key::Escape);
    assert!(!kept(&harness, plain(Key::Letter('G'))));
    assert!(!kept(&harness, Pressed::ctrl(Key::Letter('Z'))));
}

#[test]
fn a_field_that_is_clicked_is_typed_into() {
    let mut harness = harness(laying(), [1280.0, 1300.0], 1.0);
    tab_to(&mut harness, "leaf: cloth");
    key(&mut harness, egui::Key::Enter);
    press(&mut harness, "a photo of the table");
    let at = harness.get_by_label("photo's file").rect().center();
    harness.hover_at(at);
    harness.drag_at(at);
    harness.drop_at(at);
    harness.run();
    assert_eq!(focused(&harness).as_deref(), Some("photo's file"));
    harness.event(egui::Event::Text("table.jpg".into()));
    harness.run();
    press(&mut harness, "open the photo");
    let open = PhotoWish::Open("table.jpg".into());
    assert_eq!(harness.state().wishes.last(), Some(&Wish::Photo(open)));
}
