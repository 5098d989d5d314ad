//! From the file to the table, all the way.

use super::warn::{banding, blown, cast, moved, tone};
use super::{Beforehand, Ground, Layout, Light, Mark, Patch, Picture, Pose, ortho, snap};
use crate::space::{Bounds, Point};
use serde_json::Value;

fn numbers(v: &Value) -> Vec<f64> {
    serde_json::from_value(v.clone()).unwrap()
}

#[test]
fn a_photo_becomes_what_lies_on_the_table() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/");
    let text = std::fs::read_to_string(format!("{folder}photo.json")).unwrap();
    let reference: Value = serde_json::from_str(&text).unwrap();
    let bytes = std::fs::read(format!("{folder}photo/table.jpg")).unwrap();
    let picture = Picture::read(&bytes).unwrap();
    let marks = reference["marks"].as_array().unwrap().iter().map(|m| {
        let (table, px) = (numbers(&m["table"]), numbers(&m["px"]));
        // Clicked beside it.
        let click = Point::new(px[0] + 5.0, px[1] - 3.0);
        let found = snap(&picture, click, 12.0, None).unwrap();
        Mark {
            name: format!("the mark at ({}, {})", table[0], table[1]),
            table: Point::new(table[0], table[1]),
            px: found.px,
            px_error: found.error,
            table_error: 0.05,
        }
    });
    let marks: Vec<Mark> = marks.collect();
    let pose = Pose::fit(&marks, picture.size(), &Beforehand::default()).unwrap();
    assert!(
        pose.wrong().is_empty() && pose.lens().is_some(),
        "{:?}",
        pose.notes()
    );
    let layout = Layout {
        bounds: Bounds::new(Point::new(0.0, 0.0), Point::new(600.0, 400.0)),
        cell: 1.0,
        height: 0.0,
    };
    let mut told = |_: f64| true;
    let mut above = ortho(&picture, &pose, &layout, &mut told).unwrap().unwrap();
    let sheets = reference["sheets"].as_array().unwrap().iter().map(|s| {
        let s = numbers(s);
        Patch {
            bounds: Bounds::new(Point::new(s[0], s[1]), Point::new(s[2], s[3])),
            ground: Ground::White,
        }
    });
    let sheets: Vec<Patch> = sheets.collect();
    let light = Light::fit(&above, &sheets).unwrap();
    // A sound photo has nothing to be warned of.
    let all = layout.bounds;
    let warnings = [blown(&picture), banding(&picture), cast(&light, all)];
    let more = [tone(&above, &sheets, &light), moved(&above, &above, 0.5)];
    for warning in warnings.into_iter().chain(more) {
        assert_eq!(warning, None);
    }
    light.even(&mut above);
    // The sheets there give back 0.86; all else by that.
    for spot in reference["there"].as_array().unwrap() {
        let (at, truth) = (numbers(&spot["table"]), numbers(&spot["light"]));
        let p = Point::new(at[0], at[1]);
        // Ten mm of it, for weave and noise.
        let mut seen = [0.0; 3];
        for (dx, dy) in (0..25).map(|k| (f64::from(k % 5 - 2), f64::from(k / 5 - 2))) {
            let v = above.at(Point::new(p.x + dx, p.y + dy)).unwrap();
            for k in 0..3 {
                seen[k] += f64::from(v[k]) / 25.0;
            }
        }
        for k in 0..3 {
            let off = seen[k] / super::even::SHEET / (truth[k] / 0.86) - 1.0;
            // JPEG's colours are coarse: 1.5 %.
            let stated = light.error(p)[k];
            assert!(
                off.abs() < 3.0 * stated.max(0.015),
                "{at:?}: {seen:?} {truth:?} {stated}"
            );
        }
    }
}
