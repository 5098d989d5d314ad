//! A draft typed in from the keyboard alone.

use super::{controls, fill, key, press, retype, tab_to};
use crate::world::{NARROW, World, drafting, harness};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use ghostchalk::draft::{Part, Row};
use ghostchalk::session::panel::Wish;
use ghostchalk::session::proving::DraftWish;

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
    tab_to(&mut harness, "keep it: write the draft, and lay from it");
    key(&mut harness, egui::Key::Enter);
    assert_eq!(
        harness.state().wishes.last(),
        Some(&Wish::Draft(DraftWish::Keep))
    );
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
