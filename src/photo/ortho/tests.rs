use super::*;
use crate::photo::{Beforehand, Mark, snap};
use serde_json::Value;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/");

fn reference() -> (Value, Picture) {
    let text = std::fs::read_to_string(format!("{FOLDER}photo.json")).unwrap();
    let bytes = std::fs::read(format!("{FOLDER}photo/table.jpg")).unwrap();
    (
        serde_json::from_str(&text).unwrap(),
        Picture::read(&bytes).unwrap(),
    )
}

fn pair(v: &Value) -> [f64; 2] {
    [v[0].as_f64().unwrap(), v[1].as_f64().unwrap()]
}

fn mark(table: [f64; 2], px: [f64; 2]) -> Mark {
    Mark {
        name: format!("the mark at {table:?}"),
        table: table.into(),
        px: px.into(),
        px_error: 0.05,
        table_error: 0.0,
    }
}

fn code(v: f32) -> f64 {
    let v = f64::from(v).clamp(0.0, 1.0);
    255.0
        * if v <= 0.003_130_8 {
            12.92 * v
        } else {
            1.055 * v.powf(1.0 / 2.4) - 0.055
        }
}

/// Straight from above, `scale` px/mm, the table's origin at the lower left.
fn straight(size: [usize; 2], scale: f64) -> Pose {
    let [w, h] = size.map(|v| v as f64);
    let marks = [
        [10.0, 10.0],
        [w - 10.0, 12.0],
        [w - 9.0, h - 8.0],
        [11.0, h - 9.0],
    ]
    .map(|px| mark([px[0] / scale, (h - px[1]) / scale], px));
    Pose::fit(&marks, size, &Beforehand::default()).unwrap()
}

fn go(_: f64) -> bool {
    true
}

#[test]
fn it_is_opencvs_picture() {
    let (reference, picture) = reference();
    let above = &reference["above"];
    let corners = (0..4).map(|k| mark(pair(&above["table"][k]), pair(&above["px"][k])));
    let corners: Vec<Mark> = corners.collect();
    let pose = Pose::fit(&corners, picture.size(), &Beforehand::default()).unwrap();
    let b = |k: usize| above["box"][k].as_f64().unwrap();
    let layout = Layout {
        bounds: Bounds::new(Point::new(b(0), b(1)), Point::new(b(2), b(3))),
        cell: above["cell"].as_f64().unwrap(),
        height: 0.0,
    };
    let raster = ortho(&picture, &pose, &layout, &mut go).unwrap().unwrap();
    let bytes = std::fs::read(format!("{FOLDER}photo/above.png")).unwrap();
    let truth = image::load_from_memory(&bytes).unwrap().into_rgb8();
    assert_eq!(
        (raster.width(), raster.height()),
        (truth.width() as usize, truth.height() as usize)
    );
    let (mut sum, mut worst, mut count) = (0.0, 0.0f64, 0.0);
    for (x, y, rgb) in truth.enumerate_pixels() {
        // Rows run upwards here and downwards there.
        let row = raster.height() - 1 - y as usize;
        let own = raster.get(x as usize, row).unwrap();
        for k in 0..3 {
            let off = (code(own[k]) - f64::from(rgb[k])).abs();
            sum += off;
            worst = worst.max(off);
            count += 1.0;
        }
    }
    let mean = sum / count;
    println!("against OpenCV: mean {mean:.3} codes, worst {worst:.1}");
    assert!(mean < 1.0, "{mean}");
}

#[test]
fn known_marks_come_to_their_places() {
    let (reference, picture) = reference();
    let marks = reference["marks"].as_array().unwrap();
    let found: Vec<Mark> = marks
        .iter()
        .map(|m| {
            let snapped = snap(&picture, pair(&m["px"]).into(), 12.0, None).unwrap();
            mark(pair(&m["table"]), snapped.px.to_array())
        })
        .collect();
    for (k, left) in found.iter().enumerate() {
        // By all marks but the one that is looked at.
        let mut others = found.clone();
        others.remove(k);
        let pose = Pose::fit(&others, picture.size(), &Beforehand::default()).unwrap();
        let (p, half) = (left.table, 24.9);
        let bounds = Bounds::new(
            Point::new(p.x - half - 0.13, p.y - half + 0.21),
            Point::new(p.x + half, p.y + half),
        );
        let layout = Layout {
            bounds,
            cell: 0.24,
            height: 0.0,
        };
        let raster = ortho(&picture, &pose, &layout, &mut go).unwrap().unwrap();
        // The same finder, in the picture from above.
        let rows = (0..raster.height()).rev();
        let codes = rows.flat_map(|r| (0..raster.width()).map(move |c| (c, r)));
        let codes =
            codes.flat_map(|(c, r)| raster.get(c, r).unwrap().map(|v| code(v).round() as u8));
        let seen = Picture::from_srgb(raster.width(), raster.height(), codes.collect()).unwrap();
        let middle = Point::new(half / 0.24, half / 0.24);
        let at = snap(&seen, middle, 10.0, None).unwrap().px;
        let top = raster.bounds().max.y;
        let place = Point::new(raster.bounds().min.x + at.x * 0.24, top - at.y * 0.24);
        let off = (place - p).length();
        println!("{}: {off:.3} mm", left.name);
        assert!(off < 0.15, "{}: {off} mm", left.name);
    }
}

#[test]
fn fine_patterns_become_their_mean_in_light() {
    // Stripes of one px, black and white: half the light, which is code 188 and not 128.
    let codes = (0..3 * 300 * 240).map(|k| if (k / 3) % 2 == 0 { 255 } else { 0 });
    let picture = Picture::from_srgb(300, 240, codes.collect()).unwrap();
    let pose = straight([300, 240], 4.0);
    let layout = Layout {
        // No cell's middle lies between two stripes, where a single reading has both.
        bounds: Bounds::new(Point::new(5.1, 5.1), Point::new(70.0, 55.0)),
        cell: 1.0,
        height: 0.0,
    };
    let raster = ortho(&picture, &pose, &layout, &mut go).unwrap().unwrap();
    for v in raster.values() {
        assert!((v[1] - 0.5).abs() < 0.02, "{v:?}");
    }
}

#[test]
fn a_ramp_of_light_stays_where_it_was() {
    // Sixteen levels along x, wide enough to have even middles; y up.
    let codes = (0..240usize).flat_map(|y| {
        (0..320usize).flat_map(move |x| [(x / 20) as u8 * 10 + 50, (y / 20) as u8 * 15 + 40, 90])
    });
    let picture = Picture::from_srgb(320, 240, codes.collect()).unwrap();
    let pose = straight([320, 240], 2.0);
    for cell in [0.2, 0.5, 1.0, 2.5] {
        let layout = Layout {
            bounds: Bounds::new(Point::new(0.0, 0.0), Point::new(160.0, 120.0)),
            cell,
            height: 0.0,
        };
        let raster = ortho(&picture, &pose, &layout, &mut go).unwrap().unwrap();
        for (column, row) in [(0, 0), (7, 11), (15, 5), (3, 2)] {
            let p = Point::new(f64::from(column) * 10.0 + 5.0, f64::from(row) * 10.0 + 5.0);
            let v = raster.at(p).unwrap();
            let truth = [
                f64::from(column) * 10.0 + 50.0,
                f64::from(11 - row) * 15.0 + 40.0,
            ];
            assert!(
                (code(v[0]) - truth[0]).abs() < 0.01,
                "{cell}: {v:?} {truth:?}"
            );
            assert!(
                (code(v[1]) - truth[1]).abs() < 0.01,
                "{cell}: {v:?} {truth:?}"
            );
        }
    }
}

#[test]
fn cloth_of_a_thickness_comes_to_its_place() {
    let (reference, picture) = reference();
    let marks = reference["marks"].as_array().unwrap();
    let marks: Vec<Mark> = marks
        .iter()
        .map(|m| mark(pair(&m["table"]), pair(&m["px"])))
        .collect();
    let known = Beforehand {
        focal: reference["focal"].as_f64(),
        height: None,
    };
    let pose = Pose::fit(&marks, picture.size(), &known).unwrap();
    let layout = Layout {
        bounds: Bounds::new(Point::new(95.0, 75.0), Point::new(105.0, 85.0)),
        cell: 0.5,
        height: 4.0,
    };
    // A cell shows what the camera sees there at that height.
    let raster = ortho(&picture, &pose, &layout, &mut go).unwrap().unwrap();
    let q = pose.pixel(raster.centre(10, 10), 4.0).unwrap();
    let seen = picture.between(q.x, q.y);
    let own = raster.get(10, 10).unwrap();
    assert!(
        (f64::from(own[1]) - seen[1]).abs() < 0.02,
        "{own:?} {seen:?}"
    );
    let truth = Point::from(pair(&reference["tall"][0]["px"]));
    assert!((pose.pixel(Point::new(100.0, 80.0), 4.0).unwrap() - truth).length() < 0.5);
}

#[test]
fn it_tells_how_far_it_is_and_can_be_stopped() {
    let picture = Picture::from_srgb(300, 240, vec![90; 3 * 300 * 240]).unwrap();
    let pose = straight([300, 240], 1.0);
    let layout = |bounds, cell| Layout {
        bounds,
        cell,
        height: 0.0,
    };
    let all = Bounds::new(Point::new(-50.0, 0.0), Point::new(300.0, 240.0));
    let mut told = Vec::new();
    let raster = ortho(&picture, &pose, &layout(all, 1.0), &mut |share| {
        told.push(share);
        true
    });
    let raster = raster.unwrap().unwrap();
    assert!(told.windows(2).all(|w| w[0] < w[1]) && told.last() == Some(&1.0));
    // Outside the photo there is nothing, and that is no black.
    assert!(raster.at(Point::new(-10.0, 50.0)).unwrap()[0].is_nan());
    assert!(raster.at(Point::new(10.0, 50.0)).unwrap()[0] > 0.0);
    let stopped = ortho(&picture, &pose, &layout(all, 1.0), &mut |_| false);
    assert!(stopped.unwrap().is_none());
    let said = |l: Layout| ortho(&picture, &pose, &l, &mut go).unwrap_err().to_string();
    let far = Bounds::new(Point::new(1e3, 1e3), Point::new(1.1e3, 1.1e3));
    assert!(said(layout(far, 1.0)).contains("shows nothing"));
    let vast = Bounds::new(Point::zero(), Point::new(1e5, 1e5));
    assert!(said(layout(vast, 0.5)).contains("more than fits into memory"));
    assert!(said(layout(all, 0.0)).contains("no size"));
    let none = Bounds::new(Point::new(f64::NAN, 0.0), Point::new(1.0, 1.0));
    assert!(said(layout(none, 0.5)).contains("no size"));
}
