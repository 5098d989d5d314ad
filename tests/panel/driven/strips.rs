//! The strips at the top, below the plan and at the foot: as high as what they say.

use crate::world::{WINDOW, World, harness, laying};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use ghostchalk::session::panel::{Bad, LEAST};

fn place(harness: &Harness<World>, words: &str) -> egui::Rect {
    let found = harness.query_all_by_label_contains(words).next();
    found.unwrap_or_else(|| panic!("{words}")).rect()
}

#[test]
fn what_a_strip_has_more_to_say_is_in_sight_at_once_and_an_idle_panel_is_still() {
    let mut harness = harness(laying(), WINDOW, 1.0);
    assert_eq!(harness.run(), 1, "nothing happens");
    let world = harness.state_mut();
    let bad = world.wrong[0].clone();
    let more = ["off the grain", "off the cloth", "on a bad place"].map(|how| Bad {
        sentence: format!("upper 1 (canvas) lies {how}"),
        ..bad.clone()
    });
    world.wrong.extend(more);
    harness.run();
    let last = "upper 1 (canvas) lies on a bad place";
    let at = place(&harness, last);
    let foot = place(&harness, "Deck-chair slippers");
    assert!(at.bottom() < foot.top(), "{at:?} {foot:?}");
    assert_eq!(harness.run(), 1, "it has been laid out anew already");
    assert_eq!(place(&harness, last), at);
    // The head is cut off until it is laid out anew.
    harness.state_mut().facts.keyboard_elsewhere = true;
    assert!(harness.run() > 1, "the head has a line more");
    assert_eq!(harness.run(), 1);
    // And what is no more gives its room back.
    let world = harness.state_mut();
    world.wrong.clear();
    world.facts.keyboard_elsewhere = false;
    assert!(harness.run() > 1, "less is said");
    assert_eq!(harness.run(), 1);
}

#[test]
fn the_least_window_has_room_for_the_plan() {
    let harness = harness(laying(), LEAST, 1.0);
    let plan = place(&harness, "plan of the table");
    let hand = place(&harness, "across 675.1 mm");
    assert!(plan.height() >= 120.0 && plan.bottom() < hand.top());
    let foot = place(&harness, "all is written");
    assert!(foot.bottom() < LEAST[1], "{foot:?}");
}
