//! Photos by a camera model that is not ours (`tests/reference/tags.py`): corners against the
//! truth, and against OpenCV's on the same photos. And photos painted here.

use super::*;
use image::{GrayImage, ImageFormat, Luma};
use serde_json::Value;
use std::io::Cursor;

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");
const WAYS: [&str; 4] = ["subpix", "apriltag", "subpix_light", "apriltag_light"];

fn photo(name: &str) -> Picture {
    let path = format!("{ROOT}/tags/{name}.jpg");
    Picture::read(&std::fs::read(path).unwrap()).unwrap()
}

/// What is known of a photo's tags.
fn known(name: &str) -> Vec<Value> {
    let text = std::fs::read_to_string(format!("{ROOT}/tags.json")).unwrap();
    let all: Value = serde_json::from_str(&text).unwrap();
    let mut photos = all["photos"].as_array().unwrap().iter();
    let file = format!("{name}.jpg");
    let photo = photos.find(|p| p["file"] == file.as_str()).unwrap();
    photo["tags"].as_array().unwrap().clone()
}

fn corners(value: &Value) -> [Point<Photo>; 4] {
    let number = |k: usize, i: usize| value[k][i].as_f64().unwrap();
    std::array::from_fn(|k| Point::new(number(k, 0), number(k, 1)))
}

/// A photo of light, 0 to 1, in 4 by 4 looks a pixel, blurred a little by them, with a grain of
/// about one code.
fn painted(size: [u32; 2], light: impl Fn(f64, f64) -> f64) -> Picture {
    let picture = GrayImage::from_fn(size[0], size[1], |x, y| {
        let looks = (0..16).map(|k| {
            let look = |k: u32| f64::from(k) / 2.0 - 0.25;
            light(f64::from(x) + look(k % 4), f64::from(y) + look(k / 4)) / 16.0
        });
        let v: f64 = looks.sum();
        // IEC 61966-2-1.
        let code = 255.0 * (1.055 * v.max(0.003_130_8).powf(1.0 / 2.4) - 0.055);
        let grain = f64::from((x * 7 + y * 13 + x * y) % 5) / 2.0 - 1.0;
        Luma([(code + grain).round() as u8])
    });
    let mut bytes = Vec::new();
    let mut into = Cursor::new(&mut bytes);
    picture.write_to(&mut into, ImageFormat::Png).unwrap();
    Picture::read(&bytes).unwrap()
}

/// A tag's light at a place, its black square's upper left corner at `at`; `None` off its paper.
fn tag(id: u16, at: [f64; 2], side: f64, x: f64, y: f64) -> Option<f64> {
    let cell = side / CELLS as f64;
    let (u, v) = ((x - at[0]) / cell, (y - at[1]) / cell);
    let on = |most: f64, by: f64| (-by..most + by).contains(&u) && (-by..most + by).contains(&v);
    let n = CELLS as f64;
    if on(n, 0.0) {
        let black = black(id)?[v as usize][u as usize];
        return Some(if black { 0.04 } else { 0.75 });
    }
    on(n, 1.3).then_some(0.75)
}

#[test]
fn corners_are_true_to_a_tenth_of_a_pixel_and_nearer_than_opencvs() {
    let mut errors = Vec::new();
    let mut theirs = WAYS.map(|_| Vec::new());
    for name in ["above", "tilted", "bent"] {
        let found = find(&photo(name));
        assert_eq!(found.doubts, [], "{name}");
        let known = known(name);
        assert_eq!(found.tags.len(), known.len(), "{name}");
        for one in known {
            let id = one["id"].as_u64().unwrap();
            let tag = found.tags.iter().find(|t| u64::from(t.id) == id).unwrap();
            assert!(tag.wrong_bits == 0 && tag.margin > 0.8, "{tag:?}");
            let truth = corners(&one["corners_px"]);
            for ((at, truth), sigma) in tag.corners.iter().zip(truth).zip(tag.sigma_px) {
                let off = (*at - truth).length();
                assert!(
                    off < 4.0 * sigma && off < 0.1,
                    "{name} {id}: {off} of {sigma}"
                );
                errors.push(off);
            }
            for (way, theirs) in WAYS.iter().zip(&mut theirs) {
                if one[way].is_array() {
                    let off = corners(&one[way]).into_iter().zip(truth);
                    theirs.extend(off.map(|(a, b)| (a - b).length()));
                }
            }
        }
    }
    let mean = |all: &[f64]| all.iter().sum::<f64>() / all.len() as f64;
    let ours = mean(&errors);
    assert!(ours < 0.03, "{ours}");
    for (way, theirs) in WAYS.iter().zip(theirs) {
        assert!(
            theirs.len() >= 40 && ours < mean(&theirs),
            "{way} {}",
            mean(&theirs)
        );
    }
}

#[test]
fn what_is_covered_cut_too_close_or_mirrored_is_said_and_not_measured_from() {
    let found = find(&photo("hidden"));
    let ids: Vec<u16> = found.tags.iter().map(|t| t.id).collect();
    assert_eq!(ids, [31]);
    let mut doubts: Vec<_> = found.doubts.iter().map(|d| (d.id, d.why)).collect();
    doubts.sort_by_key(|d| d.0);
    let covered = |id| (Some(id), Why::Covered);
    assert_eq!(
        doubts,
        [covered(30), covered(32), (Some(33), Why::Mirrored)]
    );
}

#[test]
fn large_and_small_tags_are_found_wherever_they_lie() {
    let laid = [
        (3, [150.3, 60.7], 640.0),
        (44, [930.2, 60.4], 62.0),
        (45, [925.6, 400.1], 44.0),
    ];
    // Turned a little, so that the looks don't fall on the sides all at once.
    let (sin, cos) = 0.11f64.sin_cos();
    let turned = |x: f64, y: f64| [cos * x + sin * y, cos * y - sin * x];
    let picture = painted([1120, 1000], |x, y| {
        let [x, y] = turned(x, y - 140.0);
        let lies = |&(id, at, side): &(u16, [f64; 2], f64)| tag(id, at, side, x, y);
        laid.iter().find_map(lies).unwrap_or(0.3)
    });
    let found = find(&picture);
    assert_eq!(found.tags.len(), 3, "{found:?}");
    for (tag, (id, at, side)) in found.tags.iter().zip(laid) {
        assert_eq!(tag.id, id);
        let [x, y] = at;
        let (right, low) = (x + side, y + side);
        let truth = [[x, low], [right, low], [right, y], [x, y]];
        for (at, truth) in tag.corners.iter().zip(truth) {
            let at = turned(at.x, at.y - 140.0);
            assert!((at[0] - truth[0]).hypot(at[1] - truth[1]) < 0.1, "{tag:?}");
        }
    }
}

#[test]
fn patterned_cloth_is_no_tag() {
    let checks = |x: f64, y: f64, size: f64| ((x / size).floor() + (y / size).floor()) % 2.0 == 0.0;
    let stripes = |x: f64, size: f64| (x / size).floor() % 2.0 == 0.0;
    let frames = |x: f64, y: f64, size: f64| {
        // Squares with a border of their eighth, and checks within, on white.
        let (u, v) = (
            8.0 * (x / size).fract() - 1.2,
            8.0 * (y / size).fract() - 1.2,
        );
        let on = |v: f64, from: f64, to: f64| v > from && v < to;
        let within = on(u, 0.8, 4.8) && on(v, 0.8, 4.8);
        on(u, 0.0, 5.6) && on(v, 0.0, 5.6) && !(within && checks(u - 0.8, v - 0.8, 0.7))
    };
    let turned = |x: f64, y: f64| (0.8 * x + 0.6 * y + 700.0, 0.8 * y - 0.6 * x + 700.0);
    type Cloth<'a> = &'a dyn Fn(f64, f64) -> bool;
    let cloths: [Cloth; 8] = [
        &|x, y| checks(x, y, 7.0),
        &|x, y| checks(x, y, 41.3),
        &|x, y| {
            let (u, v) = turned(x, y);
            checks(u, v, 60.0)
        },
        &|x, _| stripes(x, 13.0),
        &|x, y| stripes(x, 61.0) && stripes(y, 47.0),
        &|x, y| frames(x, y, 96.0),
        &|x, y| {
            let (u, v) = turned(x, y);
            frames(u, v, 160.0)
        },
        &|x, y| ((x * 0.11).sin() + (y * 0.13).sin() + (x * y * 0.002).sin()) > 0.3,
    ];
    for (k, cloth) in cloths.iter().enumerate() {
        let picture = painted([640, 520], |x, y| if cloth(x, y) { 0.06 } else { 0.7 });
        let found = find(&picture);
        assert!(found.tags.is_empty(), "{k} {found:?}");
    }
}

#[test]
fn a_frame_with_bits_that_are_no_code_is_doubted() {
    let size = [300, 280];
    let picture = painted(size, |x, y| {
        let light = tag(9, [80.0, 70.0], 120.0, x, y).unwrap_or(0.3);
        // The middle four cells the other way round.
        let middle = |v: f64, from: f64| (from + 45.0..from + 75.0).contains(&v);
        if middle(x, 80.0) && middle(y, 70.0) {
            0.79 - light
        } else {
            light
        }
    });
    let found = find(&picture);
    assert!(found.tags.is_empty(), "{found:?}");
    let [doubt] = found.doubts[..] else {
        panic!("{found:?}")
    };
    assert!((doubt.at - Point::new(140.0, 130.0)).length() < 2.0);
    assert!(matches!(doubt.why, Why::Covered | Why::Unknown));
}
