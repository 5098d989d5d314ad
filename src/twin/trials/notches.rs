//! Notches whose light is known.

use super::canvas::Canvas;
use crate::space::{Point, Table, Vector};
use crate::twin::notch::{Notch, notch_tip};
use crate::twin::picture::Levels;
use crate::twin::rig::Rig;
use crate::twin::stats::Spread;

const LEVELS: Levels = Levels {
    dark: 0.0,
    full: 1.0,
};

/// The light of a notch, and of the guide band with its gap beside it.
fn painted(rig: &Rig, notch: &Notch, along: f64, deeper: f64, height: f64) -> Canvas {
    let Notch {
        root,
        inward,
        depth,
        width,
    } = *notch;
    let tangent = Vector::new(inward.y, -inward.x);
    let mut canvas = Canvas::of(rig);
    let mut bar = |x: [f64; 2], y: [f64; 2]| {
        let corners = [(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])];
        let polygon = corners.map(|(x, y)| {
            let p: Point<Table> = root + tangent * x + inward * y;
            rig.project(p.x, p.y, height)
        });
        canvas.add(&polygon, 1.0);
    };
    bar(
        [along - width / 2.0, along + width / 2.0],
        [0.0, depth + deeper],
    );
    bar([-30.0, -1.75], [-2.0, 0.0]);
    bar([1.75, 30.0], [-2.0, 0.0]);
    canvas
}

#[test]
fn a_notch_is_measured_where_it_is() {
    for depth in [4.0, 6.0, 10.0] {
        for (along, deeper) in [(0.0, 0.0), (0.3, -0.4), (-0.5, 0.25)] {
            let rig = Rig::workshop_with_lens();
            let (mut aside, mut deep, mut wide) = (vec![], vec![], vec![]);
            for i in 0..12 {
                let turn = 0.55 * f64::from(i);
                let notch = Notch {
                    root: Point::new(100.0 + 91.3 * f64::from(i), 700.0 - 50.7 * f64::from(i)),
                    inward: Vector::new(turn.cos(), turn.sin()),
                    depth,
                    width: 1.5,
                };
                let light = painted(&rig, &notch, along, deeper, 2.0).encoded();
                let found = notch_tip(&rig, &light, LEVELS, &notch, 2.0).expect("a notch");
                aside.push(found.along_mm - along);
                deep.push(found.depth_mm - deeper);
                wide.push(found.width_mm - 1.5);
            }
            let [aside, deep, wide] = [aside, deep, wide].map(|e| Spread::of(e).expect("notches"));
            println!(
                "depth {depth} along {along} deeper {deeper}:\n {aside:?}\n {deep:?}\n {wide:?}"
            );
            assert!(aside.worst <= 0.04, "{aside:?}");
            assert!(deep.worst <= 0.05, "{deep:?}");
            assert!(wide.worst <= 0.04, "{wide:?}");
        }
    }
}

#[test]
fn no_light_or_no_notch_is_none() {
    let rig = Rig::workshop();
    let notch = Notch {
        root: Point::new(500.0, 300.0),
        inward: Vector::new(0.0, 1.0),
        depth: 6.0,
        width: 1.5,
    };
    let light = painted(&rig, &notch, 0.0, 0.0, 0.0).encoded();
    assert!(notch_tip(&rig, &light, LEVELS, &notch, 0.0).is_some());
    let dark = Canvas::of(&rig).encoded();
    assert!(notch_tip(&rig, &dark, LEVELS, &notch, 0.0).is_none());
    for bad in [
        Notch {
            depth: 0.0,
            ..notch
        },
        Notch {
            depth: f64::NAN,
            ..notch
        },
        Notch {
            width: 1e9,
            ..notch
        },
        Notch {
            inward: Vector::zero(),
            ..notch
        },
        Notch {
            root: Point::new(f64::NAN, 0.0),
            ..notch
        },
    ] {
        assert!(
            notch_tip(&rig, &light, LEVELS, &bad, 0.0).is_none(),
            "{bad:?}"
        );
    }
}
