//! The hand on crosses that are drawn exactly.

use super::canvas::Canvas;
use crate::space::{Point, Projector};
use crate::twin::hand::{Hand, seen_cross};
use crate::twin::picture::Picture;
use crate::twin::rig::Rig;
use crate::twin::stats::Spread;

/// A cross with arms of 15 px and bars `width` px wide.
fn cross(rig: &Rig, at: Point<Projector>, width: f64) -> Canvas {
    let bar = |x: f64, y: f64| {
        [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| Point::new(at.x + x, at.y + y))
    };
    let mut canvas = Canvas::of(rig);
    canvas.add(&bar(15.0, width / 2.0), 1.0);
    canvas.add(&bar(width / 2.0, 15.0), 1.0);
    canvas.add(&bar(width / 2.0, width / 2.0), -1.0);
    canvas
}

/// Crossings all over the picture, at all places within a pixel.
fn places() -> impl Iterator<Item = Point<Projector>> {
    (0..24).map(|i| {
        let i = f64::from(i);
        Point::new(60.0 + (i * 787.137) % 1800.0, 60.0 + (i * 397.711) % 960.0)
    })
}

#[test]
fn the_eye_has_no_bias_of_its_own() {
    for rig in [Rig::workshop(), Rig::workshop_with_lens()] {
        for width in [1.0, 2.0, 3.0] {
            let off = places().flat_map(|at| {
                let picture = cross(&rig, at, width).exact();
                // The eye is led to the cross from some way off.
                let near = Point::new(at.x - 3.0, at.y + 2.0);
                let seen = seen_cross(&rig, &picture, near).expect("a cross");
                let off = rig.project(seen.x, seen.y, 0.0) - at;
                [off.x, off.y]
            });
            let off = Spread::of(off).expect("crosses");
            println!("eye, bars {width}: {off:?}");
            assert!(off.worst <= 0.002, "{off:?}");
        }
    }
}

#[test]
fn a_steady_hand_sets_the_cross_to_the_steps_of_the_codes() {
    for rig in [Rig::workshop(), Rig::workshop_with_lens()] {
        let mut hand = Hand::new(0.0, 1);
        let off = places().flat_map(|goal| {
            let mark = rig.land(goal, 0.0).expect("a mark");
            let start = Point::new(goal.x + 5.0, goal.y - 4.0);
            let mut show = |at| cross(&rig, at, 3.0).encoded();
            let set = hand.set_cross(&rig, mark, start, &mut show).expect("set");
            [set.x - goal.x, set.y - goal.y]
        });
        let off = Spread::of(off).expect("crosses");
        println!("hand: {off:?}");
        assert!(off.mean.abs() <= 0.002 && off.rms <= 0.004, "{off:?}");
        assert!(off.worst <= 0.012, "{off:?}");
    }
}

#[test]
fn what_the_program_draws_wrong_is_in_the_answer() {
    let rig = Rig::workshop();
    let goal = Point::new(700.3, 500.8);
    let mark = rig.land(goal, 0.0).expect("a mark");
    let mut show = |at: Point<_>| cross(&rig, Point::new(at.x + 0.5, at.y), 3.0).encoded();
    let set = Hand::new(0.0, 1).set_cross(&rig, mark, goal, &mut show);
    let off = set.expect("set") - goal;
    assert!(
        (off.x + 0.5).abs() < 0.012 && off.y.abs() < 0.012,
        "{off:?}"
    );
}

#[test]
fn an_unsteady_hand_is_as_unsteady_as_it_is_told_and_repeats() {
    let rig = Rig::workshop();
    let goal = Point::new(700.5, 500.5);
    let mark = rig.land(goal, 0.0).expect("a mark");
    // The cross is on its mark at once, so one picture serves.
    let picture = cross(&rig, goal, 3.0).encoded();
    let draw = |seed: u64| -> Vec<Point<Projector>> {
        let mut hand = Hand::new(0.4, seed);
        let mut show = |_| picture.clone();
        (0..100)
            .map(|_| hand.set_cross(&rig, mark, goal, &mut show).expect("set"))
            .collect()
    };
    let set = draw(5);
    let off = Spread::of(set.iter().flat_map(|s| [s.x - goal.x, s.y - goal.y]));
    let off = off.expect("crosses");
    assert!(
        (off.rms - 0.4).abs() < 0.07 && off.mean.abs() < 0.12,
        "{off:?}"
    );
    assert_eq!(set, draw(5));
    assert_ne!(set, draw(6));
}

#[test]
fn where_there_is_no_cross_none_is_set() {
    let rig = Rig::workshop();
    let dark = Canvas::of(&rig).encoded();
    let mark = Point::new(600.0, 400.0);
    let mut hand = Hand::new(0.0, 1);
    for start in [(900.0, 500.0), (1e18, 0.0), (f64::NAN, 1.0), (-3e9, 5.0)] {
        let start = Point::new(start.0, start.1);
        let set = hand.set_cross(&rig, mark, start, &mut |_| dark.clone());
        assert_eq!(set, None);
    }
    // The room's light is no cross.
    let grey = dark.in_room_light(0.2);
    let start = rig.project(mark.x, mark.y, 0.0);
    assert_eq!(
        hand.set_cross(&rig, mark, start, &mut |_| grey.clone()),
        None
    );
    // Nor with a cross that will not move.
    let stuck: Picture = cross(&rig, Point::new(400.0, 400.0), 3.0).encoded();
    let start = Point::new(400.0, 400.0);
    assert_eq!(
        hand.set_cross(&rig, mark, start, &mut |_| stuck.clone()),
        None
    );
}
