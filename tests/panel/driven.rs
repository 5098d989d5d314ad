//! The panel driven from the keyboard alone, and read out.

use crate::world::{
    NARROW, WINDOW, World, carrying, correcting, drafting, empty, harness, laying, photographed,
};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable, by};
use ghostchalk::draft::{Part, Row};
use ghostchalk::drawing::read::correct::Taken;
use ghostchalk::measure::Unit;
use ghostchalk::pattern::NotchKind;
use ghostchalk::session::panel::{Wish, keeps};
use ghostchalk::session::photographed::PhotoWish;
use ghostchalk::session::proving::DraftWish;
use ghostchalk::stand::Side;
use ghostchalk::work::{Act, Key, Pressed, Task, Way};

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
    tab_to(&mut harness, "what does the hand leave");
    key(&mut harness, egui::Key::Enter);
    let state = harness.state().bench.state();
    assert_eq!(state.trims.len(), 1);
    assert!(!state.trims[0].on && (state.trims[0].edge_mm - 0.33).abs() < 0.011);
    let name = format!("trim 0.33 mm in: {}", state.trims[0].of());
    tab_to(&mut harness, &name);
    key(&mut harness, egui::Key::Space);
    assert!(harness.state().bench.state().trims[0].on);
}

/// The sole's net line as it is drafted now: how long.
fn sole(world: &World) -> f64 {
    let drawn = world.proving.drafts[0].desk.drawn().unwrap();
    let net = drawn
        .pieces
        .iter()
        .find(|p| p.piece.name == "sole")
        .unwrap();
    let points = net.piece.net[0].points.iter().copied();
    ghostchalk::shape::bounds(points).unwrap().height()
}

#[test]
fn a_draft_is_drawn_as_it_is_typed_and_proven_from_the_keyboard_alone() {
    let mut harness = harness(drafting(), NARROW, 1.0);
    let before = sole(harness.state());
    retype(&mut harness, "measure foot length", "270mm");
    assert!((sole(harness.state()) / before - 270.0 / 265.0).abs() < 1e-3);
    // What can't be taken stays in its field, and is told.
    retype(&mut harness, "measure foot length", "270 ells");
    let world = harness.state();
    let fault = world.proving.drafts[0].desk.fault().unwrap().to_owned();
    assert!(fault.contains("ells"), "{fault}");
    assert!((sole(world) / before - 270.0 / 265.0).abs() < 1e-3);
    retype(&mut harness, "measure foot length", "270mm");
    retype(&mut harness, "up of tip of sole", "foot length * 1.1");
    let longer = sole(harness.state());
    assert!(longer > before * 270.0 / 265.0 + 5.0, "{longer}");
    tab_to(&mut harness, "prove the pattern");
    key(&mut harness, egui::Key::Enter);
    assert!(harness.state().proving.proof.as_ref().unwrap().seams.len() == 8);
    assert!(!harness.state().proving.is_stale());
    tab_to(&mut harness, "one more point");
    key(&mut harness, egui::Key::Enter);
    let rows = harness.state().proving.drafts[0].desk.rows(Part::Points);
    let new = |r: &Row| r.at.piece == 0 && r.name() == "point 1";
    assert!(rows.iter().any(new));
    assert!(harness.state().proving.is_stale());
    tab_to(&mut harness, "keep it: write the draft, and lay by it");
    key(&mut harness, egui::Key::Enter);
    assert_eq!(
        harness.state().wishes.last(),
        Some(&Wish::Draft(DraftWish::Keep))
    );
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

/// Every kind of row: shown, filled in, told otherwise, added and taken out, and what is
/// wrong is said at its row.
#[test]
fn all_of_a_draft_is_edited_with_the_keyboard() {
    let mut harness = harness(drafting(), NARROW, 1.0);
    let desk = |harness: &Harness<World>| harness.state().proving.drafts[0].desk.text();
    for (part, field, text, written) in [
        (
            "lengths",
            "is of length tread",
            "foot length / 2.6",
            "tread = \"foot length / 2.6\"",
        ),
        (
            "piece",
            "allowance of piece sole",
            "7mm",
            "allowance = \"7mm\"",
        ),
        ("notches", "at of notch 2 of sole", "0.4", "at = 0.4"),
        (
            "seams",
            "ease of seam toe, inner side",
            "toe ease * 1.5",
            "ease = \"toe ease * 1.5\"",
        ),
        (
            "rings",
            "tolerance of ring top line",
            "2mm",
            "tolerance = \"2mm\"",
        ),
        (
            "measures",
            "step of measure foot length",
            "10mm",
            "step = \"10mm\"",
        ),
        (
            "points",
            "up of tip of sole",
            "foot length * 1.05",
            "up = \"foot length * 1.05\"",
        ),
    ] {
        press(&mut harness, &format!("rows: {part} of draft 1"));
        let mut names = controls(&harness);
        names.sort();
        let all = names.len();
        names.dedup();
        assert_eq!(names.len(), all, "{part}: {names:?}");
        fill(&mut harness, field, text);
        assert!(
            desk(&harness).contains(written),
            "{part}: {}",
            desk(&harness)
        );
        let fault = harness.state().proving.drafts[0]
            .desk
            .fault()
            .map(str::to_owned);
        assert_eq!(fault, None, "{part}");
    }
    // A new piece, its edge told as a curve, with a direction at its start.
    press(&mut harness, "rows: piece of draft 1");
    press(&mut harness, "one more piece");
    press(&mut harness, "draft of piece 1");
    press(&mut harness, "rows: edges of draft 1");
    press(&mut harness, "more words for edge top of piece 1");
    press(&mut harness, "edge top of piece 1 is told: curve");
    press(&mut harness, "+ start for edge top of piece 1");
    fill(&mut harness, "start of edge top of piece 1", "135°");
    let text = desk(&harness);
    assert!(
        text.contains("{ edge = \"top\", curve = [\"c\", \"d\"], start = \"135°\" }"),
        "{text}"
    );
    press(&mut harness, "+ fold for edge top of piece 1");
    assert!(desk(&harness).contains("start = \"135°\", fold = true"));
    press(&mut harness, "fold of edge top of piece 1");
    assert!(!desk(&harness).contains("start = \"135°\", fold"));
    // What can't be is said at its row, and stays as it was typed until it is put right.
    fill(
        &mut harness,
        "curve of edge top of piece 1",
        "c; nowhere; d",
    );
    let said = "there is no point named \"nowhere\" in \"piece 1\"";
    assert_eq!(harness.query_all_by_label_contains(said).count(), 1);
    assert_eq!(desk(&harness), text);
    fill(&mut harness, "curve of edge top of piece 1", "c; d");
    assert_eq!(harness.query_all_by_label_contains(said).count(), 0);
    press(&mut harness, "take out edge top of piece 1");
    let fault = harness.state().proving.drafts[0]
        .desk
        .fault()
        .map(str::to_owned);
    assert!(fault.is_some_and(|f| f.contains("piece 1")));
}

#[test]
fn what_was_read_is_corrected_with_the_keyboard() {
    let mut harness = harness(correcting(), NARROW, 1.0);
    let mut names = controls(&harness);
    names.sort();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all, "{names:?}");
    // The size is asked for until it is said to be true, and so is the tab's sign.
    let asks = "Is that its true size?";
    assert_eq!(harness.query_all_by_label_contains(asks).count(), 1);
    assert!(harness.state().proving.is_unconfirmed());
    press(&mut harness, "the size of plain.pdf is true");
    assert_eq!(harness.query_all_by_label_contains(asks).count(), 0);
    assert!(!harness.state().proving.is_unconfirmed());
    let made = |harness: &Harness<World>, name: &str| {
        let made = harness.state().proving.readings[0].desk.made().clone();
        made.pieces.into_iter().find(|p| p.name == name)
    };
    let was = made(&harness, "heel band").unwrap();
    press(&mut harness, "piece heel band of plain.pdf");
    press(&mut harness, "stroke 3 notch, slit");
    press(&mut harness, "stroke 3 is: notch, double");
    fill(&mut harness, "name of heel band", "counter");
    tab(&mut harness);
    press(&mut harness, "heel band is cut left and right");
    let fault = harness.state().proving.readings[0]
        .desk
        .fault()
        .map(str::to_owned);
    assert!(fault.is_some_and(|f| f.contains("an even one for pairs")));
    fill(&mut harness, "how many of heel band", "2");
    let grain = harness.state().proving.readings[0].desk.strokes(1);
    let grain = grain.iter().position(|s| s.taken == Taken::Grain).unwrap() + 1;
    press(&mut harness, &format!("stroke {grain} grain line"));
    press(&mut harness, "turn the grain round");
    let now = made(&harness, "counter").unwrap();
    assert_eq!(now.notches[0].kind, NotchKind::Double);
    assert_eq!((now.cut_count, now.pair), (2, true));
    let ([tail, head], [t, h]) = (was.grain.unwrap(), now.grain.unwrap());
    assert!((tail - h).length() < 0.01 && (head - t).length() < 0.01);
    // A guess is turned down, and that is taken back.
    press(&mut harness, &format!("stroke {grain} is: left out"));
    assert_eq!(made(&harness, "counter").unwrap().grain, None);
    press(
        &mut harness,
        &format!("take back: heel band: stroke {grain} is left out"),
    );
    assert!(made(&harness, "counter").unwrap().grain.is_some());
    press(&mut harness, "piece sole of plain.pdf");
    press(&mut harness, "sole is no piece");
    assert!(made(&harness, "sole").is_none());
    press(&mut harness, "sole is a piece after all");
    assert!(made(&harness, "sole").is_some());
    // A stroke is chosen on the picture as well.
    let picture = harness.get_by_label_contains("picture of sole").rect();
    harness.hover_at(picture.center());
    harness.drag_at(picture.center());
    harness.drop_at(picture.center());
    harness.run();
    press(
        &mut harness,
        "keep it: write what is corrected beside the file, and lay by it",
    );
    assert_eq!(
        harness.state().wishes.last(),
        Some(&Wish::Draft(DraftWish::Keep))
    );
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
fn a_keep_out_is_renamed_and_an_outline_begun_from_the_keyboard_alone() {
    let mut harness = harness(laying(), NARROW, 1.0);
    tab_to(&mut harness, "leaf: cloth");
    key(&mut harness, egui::Key::Enter);
    tab_to(&mut harness, "names of what is on sling");
    key(&mut harness, egui::Key::Enter);
    tab_to(&mut harness, "name of bad place tear of sling");
    key(&mut harness, egui::Key::End);
    harness.event(egui::Event::Text(" at the rail".into()));
    harness.run();
    assert!(harness.state().wishes.is_empty(), "while it is typed");
    key(&mut harness, egui::Key::Enter);
    let outs = &harness
        .state()
        .bench
        .state()
        .panel("sling")
        .unwrap()
        .keep_out;
    assert_eq!(outs[2].name, "tear at the rail");
    tab_to(&mut harness, "felt: draw its outline");
    key(&mut harness, egui::Key::Enter);
    let begun = Act::Begin(Task::Outline("felt".into()));
    assert_eq!(harness.state().wishes.last(), Some(&Wish::Act(begun)));
    // What is begun is left again from the top of the panel.
    tab_to(&mut harness, "leave it");
    key(&mut harness, egui::Key::Enter);
    assert!(harness.state().bench.doing().is_laying());
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

/// Pressing on the plan holds what is drawn there, also where it is turned.
#[test]
fn every_piece_can_be_pressed_on_the_plan() {
    for side in [Side::Front, Side::Left] {
        let mut world = laying();
        world.act(Act::Stand(side));
        let mut harness = harness(world, WINDOW, 1.0);
        let plan = harness.get_by_label_contains("plan of the table").rect();
        let (mut held, mut let_go) = (std::collections::BTreeSet::new(), false);
        for k in 0..1200 {
            let (i, j) = (k % 40, k / 40);
            let at = egui::vec2((i as f32 + 0.5) / 40.0, (j as f32 + 0.5) / 30.0);
            let at = plan.min + at * plan.size();
            harness.hover_at(at);
            harness.drag_at(at);
            harness.drop_at(at);
            harness.step();
            match harness.state().wishes.last() {
                Some(Wish::Act(Act::Hold(id))) => held.insert(*id),
                last => {
                    let_go |= last == Some(&Wish::Act(Act::LetGo));
                    false
                }
            };
        }
        let all = harness.state().bench.state().placed.keys().copied();
        assert_eq!(held, all.collect(), "{side:?}");
        assert!(let_go, "{side:?}");
    }
}

/// A laptop of 1080 lines at twice the scale leaves 960 by 540 points.
#[test]
fn the_plan_keeps_its_room_on_a_small_screen() {
    for world in [laying(), carrying()] {
        let harness = harness(world, [960.0, 540.0], 2.0);
        let plan = harness.get_by_label_contains("plan of the table").rect();
        assert!(plan.height() >= 200.0 && plan.width() >= 400.0, "{plan}");
        let foot = harness.get_by_label_contains("journal").rect();
        assert!(foot.max.y <= 540.0, "{foot}");
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
    assert!(!kept(&harness, Pressed::ctrl(Key::Letter('Q'))));
    key(&mut harness, egui::Key::Escape);
    assert!(!kept(&harness, plain(Key::Letter('G'))));
}

/// Marks of the table, of a cloth that is shown turned over, and places of cloth and table are
/// clicked on in the photo, where they are.
#[test]
fn a_photo_is_clicked_on_and_read_as_it_was_clicked() {
    let mut harness = harness(photographed(), [1280.0, 1300.0], 1.0);
    let size = harness.state().photo.as_ref().unwrap();
    let [w, h] = size.small.as_ref().unwrap().size.map(|n| n as f32);
    let click = |harness: &mut Harness<World>, x: f32, y: f32| {
        let photo = harness.get_by_label_contains("the photo: click on").rect();
        let at = photo.min + egui::vec2(x / w, y / h) * photo.size();
        harness.hover_at(at);
        harness.drag_at(at);
        harness.drop_at(at);
        harness.run();
    };
    let read = "read the photo";
    assert!(!controls(&harness).contains(&read.to_owned()));
    let corners = [
        (60.0, 1300.0),
        (1900.0, 1310.0),
        (1800.0, 160.0),
        (150.0, 190.0),
    ];
    for (x, y) in corners {
        click(&mut harness, x, y);
    }
    let asked = |harness: &mut Harness<World>| {
        press(harness, read);
        match harness.state().wishes.last() {
            Some(Wish::Photo(PhotoWish::Read(ask))) => ask.clone(),
            other => panic!("{other:?}"),
        }
    };
    let near = |[x, y]: [f64; 2], (a, b): (f32, f32)| {
        // A point of the panel is a few px of the photo.
        (x - f64::from(a)).hypot(y - f64::from(b)) < 6.0
    };
    let ask = asked(&mut harness);
    let numbers: Vec<usize> = ask.clicks.iter().map(|c| c.0).collect();
    assert_eq!(numbers, [1, 2, 3, 4]);
    assert!(
        ask.clicks.iter().zip(corners).all(|(c, at)| near(c.1, at)),
        "{ask:?}"
    );
    assert_eq!((&ask.own, &ask.panel), (&None, &None));
    // The cloth is looked for, and where it is like the table, both are shown.
    press(&mut harness, "look for the cloth of felt");
    press(&mut harness, "the next click is on cloth");
    click(&mut harness, 1300.0, 1000.0);
    press(&mut harness, "the next click is on table");
    click(&mut harness, 200.0, 900.0);
    let ask = asked(&mut harness);
    assert_eq!(ask.panel.as_deref(), Some("felt"));
    assert!(near(ask.cloth_at[0], (1300.0, 1000.0)) && near(ask.table_at[0], (200.0, 900.0)));
    // A panel shown turned over is read alone, by two marks of its own at least.
    press(&mut harness, "remnant is shown turned over");
    press(&mut harness, "the cloth's mark cross");
    click(&mut harness, 700.0, 800.0);
    assert!(!controls(&harness).contains(&read.to_owned()));
    press(&mut harness, "the cloth's mark patch");
    click(&mut harness, 400.0, 600.0);
    let ask = asked(&mut harness);
    assert_eq!((ask.own.as_deref(), &ask.panel), (Some("remnant"), &None));
    let named: Vec<&str> = ask.own_clicks.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(named, ["cross", "patch"]);
    assert!(near(ask.own_clicks[1].1, (400.0, 600.0)), "{ask:?}");
    press(&mut harness, "take back all clicks");
    assert!(!controls(&harness).contains(&read.to_owned()));
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
