//! The plan of the table, and what is drawn on it.

use super::{key, tab_to};
use crate::world::{NARROW, WINDOW, carrying, harness, laying};
use egui_kittest::kittest::Queryable;
use ghostchalk::session::panel::Wish;
use ghostchalk::stand::Side;
use ghostchalk::work::{Act, Task};

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
