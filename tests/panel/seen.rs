//! Pictures of the panel. A person looks at them whenever they are made anew:
//! `UPDATE_SNAPSHOTS=1 cargo test --test panel`.

use crate::world::{
    NARROW, WINDOW, World, carrying, correcting, cutting, drafting, empty, harness, laying,
    photographed,
};
use egui_kittest::{SnapshotOptions, SnapshotResults};
use ghostchalk::colour::Tint;
use ghostchalk::drawing::read::correct::Correction;
use ghostchalk::measure::Unit;
use ghostchalk::session::reading::ReadWish;
use ghostchalk::stand::Side;
use ghostchalk::work::{Act, CutStrip, Way};

/// What a picture may differ by from the stored one: letters' edges are drawn
/// alike by every driver but for rounding. In `kittest`'s measure (squared
/// distance of colours), and how many pixels may lie beyond it.
const TOLERANCE: (f32, usize) = (1.0, 40);

fn pictured(world: World, size: [f32; 2], scale: f32, name: &str) -> SnapshotResults {
    let mut harness = harness(world, size, scale);
    let (threshold, pixels) = TOLERANCE;
    let options = SnapshotOptions::new()
        .threshold(threshold)
        .max_failed_pixels(pixels);
    harness.snapshot_options(name, &options);
    harness.take_snapshot_results()
}

#[test]
fn seen_while_laying() {
    let world = laying();
    assert_eq!(world.wrong.len(), 1, "{:?}", world.wrong);
    pictured(world, WINDOW, 1.0, "laying");
}

#[test]
fn seen_while_carrying() {
    pictured(carrying(), WINDOW, 1.0, "carrying");
}

#[test]
fn seen_with_nothing_there() {
    pictured(empty(), WINDOW, 1.0, "empty");
}

#[test]
fn seen_narrow_at_twice_the_scale_from_the_left() {
    let mut world = laying();
    world.act(Act::Stand(Side::Left));
    world.act(Act::Way(Way::Finished));
    world.facts.unit = Unit::Inch;
    world.facts.keyboard_elsewhere = true;
    world.memory.turn_to("light");
    pictured(world, NARROW, 2.0, "narrow");
}

#[test]
fn seen_while_cutting() {
    pictured(cutting(), WINDOW, 1.0, "leaf-cut");
}

#[test]
fn seen_leaf_by_leaf() {
    let mut all = SnapshotResults::new();
    for leaf in ["hand", "cloth", "table"] {
        let mut world = laying();
        world.memory.turn_to(leaf);
        all.extend(pictured(world, WINDOW, 1.0, &format!("leaf-{leaf}")));
    }
    let mut world = laying();
    world.act(Act::CutStrip(Box::new(CutStrip {
        tool: "shears".into(),
        cloth: "canvas".into(),
        plies: 1,
        length: ["240.8".into(), "240.6".into()],
        width: ["60.8".into(), "60.6".into()],
        unit: Unit::Mm,
    })));
    world.act(Act::Trim { at: 0, on: true });
    world.act(Act::Colour(Tint::Green));
    world.act(Act::Creep(true));
    world.memory.turn_to("light");
    // As high as the leaf.
    all.extend(pictured(world, [1280.0, 1240.0], 1.0, "leaf-light"));
    all.extend(pictured(
        photographed(),
        [1280.0, 1300.0],
        1.0,
        "leaf-photo",
    ));
    let mut world = drafting();
    let World {
        proving,
        job,
        bench,
        ..
    } = &mut world;
    proving.prove(job, bench.state());
    all.extend(pictured(world, WINDOW, 1.0, "leaf-pattern"));
    all.extend(pictured(
        drafting(),
        [1280.0, 1000.0],
        1.0,
        "leaf-pattern-draft",
    ));
    let mut world = correcting();
    let reading = &mut world.proving.readings[0];
    reading.grant(&ReadWish::Correct(Correction::TurnGrain { piece: 1 }));
    world.memory.look_at(0, 1, Some(3));
    all.extend(pictured(world, [1280.0, 1000.0], 1.0, "leaf-pattern-read"));
}
