//! How well tags are found, and how soon.
//!
//! With a folder that `tests/reference/tags.py --more FOLDER N` has made: our corners and
//! OpenCV's against the truth. Without: photos of 12 and 48 million pixels painted here, with
//! checked cloth about the tags.

use ghostchalk::photo::Picture;
use ghostchalk::photo::tags::{CELLS, Tag, black, find};
use ghostchalk::projection::Homography;
use ghostchalk::space::{Photo, Point, Table};
use image::{ExtendedColorType, ImageEncoder, codecs::jpeg::JpegEncoder};
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

pub fn run(words: &[String]) {
    match words.first() {
        Some(folder) => against_opencv(Path::new(folder)),
        None => large(),
    }
}

const WAYS: [&str; 4] = ["subpix", "apriltag", "subpix_light", "apriltag_light"];

/// Errors of one way: px, a corner each.
#[derive(Default)]
struct Errors {
    tags: usize,
    all: Vec<f64>,
}

impl Errors {
    fn add(&mut self, corners: [Point<Photo>; 4], truth: [Point<Photo>; 4]) {
        self.tags += 1;
        let off = corners.iter().zip(truth).map(|(a, b)| (*a - b).length());
        self.all.extend(off);
    }

    fn row(&mut self, name: &str, of: usize) {
        self.all.sort_by(f64::total_cmp);
        let n = self.all.len().max(1);
        let mean = self.all.iter().sum::<f64>() / n as f64;
        let at = |share: f64| self.all.get(((n - 1) as f64 * share) as usize).copied();
        println!(
            "| {name} | {} of {of} | {mean:.3} | {:.3} | {:.3} | {:.3} |",
            self.tags,
            at(0.5).unwrap_or(0.0),
            at(0.99).unwrap_or(0.0),
            at(1.0).unwrap_or(0.0)
        );
    }
}

fn corners(value: &Value) -> [Point<Photo>; 4] {
    let number = |k: usize, i: usize| value[k][i].as_f64().unwrap_or(f64::NAN);
    std::array::from_fn(|k| Point::new(number(k, 0), number(k, 1)))
}

fn against_opencv(folder: &Path) {
    let text = std::fs::read_to_string(folder.join("tags.json")).expect("tags.json");
    let all: Value = serde_json::from_str(&text).expect("sound JSON");
    let (mut ours, mut others) = (Errors::default(), WAYS.map(|_| Errors::default()));
    let (mut of, mut false_ones, mut squares, mut numbers) = (0, 0, 0.0, 0);
    for photo in all["photos"].as_array().expect("photos") {
        let file = photo["file"].as_str().expect("a name");
        let bytes = std::fs::read(folder.join(file)).expect("a photo");
        let found = find(&Picture::read(&bytes).expect("a photo"));
        let known = photo["tags"].as_array().expect("tags");
        of += known.len();
        for tag in known {
            let id = tag["id"].as_u64().unwrap_or(u64::MAX);
            let truth = corners(&tag["corners_px"]);
            for (way, errors) in WAYS.iter().zip(&mut others) {
                if tag[*way].is_array() {
                    errors.add(corners(&tag[*way]), truth);
                }
            }
            let same = |t: &&Tag| u64::from(t.id) == id;
            let Some(tag) = found.tags.iter().find(same) else {
                println!("{file}: {id} is not found; doubts: {:?}", found.doubts);
                continue;
            };
            ours.add(tag.corners, truth);
            for ((at, truth), sigma) in tag.corners.iter().zip(truth).zip(tag.sigma_px) {
                let off = *at - truth;
                squares += (off.x / sigma).powi(2) + (off.y / sigma).powi(2);
                numbers += 2;
                if off.length() > 4.0 * sigma {
                    println!(
                        "{file}: {id} is {:.3} px off, stated {sigma:.3}: {tag:?}",
                        off.length()
                    );
                }
            }
        }
        let known = |t: &&Tag| {
            let is = |k: &Value| {
                let truth = corners(&k["corners_px"]);
                k["id"].as_u64() == Some(u64::from(t.id))
                    && (truth[0] - t.corners[0]).length() < 5.0
            };
            known.iter().any(is)
        };
        for tag in found.tags.iter().filter(|t| !known(t)) {
            // By the photo's side, where the reference leaves tags out.
            let side = tag.corners.iter().any(|c| {
                let near = |v: f64, most: f64| v < 31.0 || v > most - 31.0;
                near(c.x, 1100.0) || near(c.y, 900.0)
            });
            false_ones += usize::from(!side);
        }
    }
    println!("| corners by | tags | mean, px | median | 99 of 100 | most |");
    println!("| --- | ---: | ---: | ---: | ---: | ---: |");
    ours.row("ours", of);
    for (way, errors) in WAYS.iter().zip(&mut others) {
        errors.row(way, of);
    }
    println!("\nfalse tags: {false_ones}");
    println!(
        "errors over stated standard errors, root mean square: {:.2}",
        (squares / f64::from(numbers)).sqrt()
    );
}

/// Tags in a table's frame: id, side, place of the lower left corner, mm.
type Laid = (u16, f64, [f64; 2]);

fn large() {
    println!(
        "| photo | tags | size, px | found | mean error, px | most | decoded, s | found in, s |"
    );
    println!("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    let wide = [1300.0, 975.0];
    let many: Vec<Laid> = (0..12)
        .map(|k| {
            let at = [
                60.0 + 330.0 * f64::from(k % 4),
                60.0 + 300.0 * f64::from(k / 4),
            ];
            (k as u16 * 40, 50.0, at)
        })
        .collect();
    let big: Vec<Laid> = vec![(7, 700.0, [150.0, 120.0]), (8, 250.0, [1000.0, 300.0])];
    for (name, size) in [("12 MP", [4032, 3024]), ("48 MP", [8064, 6048])] {
        for (what, tags) in [
            ("50 mm", &many),
            ("250 and 700 mm", &big),
            ("none", &Vec::new()),
        ] {
            one(&format!("{name}, {what}"), size, wide, tags);
        }
    }
}

fn one(name: &str, size: [u32; 2], wide: [f64; 2], tags: &[Laid]) {
    // The table seen from the person's side, its far side smaller; a little turned, so that the
    // looks don't fall on the tags' sides all at once.
    let [w, h] = size.map(f64::from);
    let table = [[0.0, 0.0], [wide[0], 0.0], wide, [0.0, wide[1]]].map(Point::<Table>::from);
    let seen = [
        [0.01 * w, 0.93 * h],
        [0.96 * w, 0.99 * h],
        [0.83 * w, 0.06 * h],
        [0.16 * w, 0.01 * h],
    ];
    let map = Homography::through(table, seen.map(Point::<Photo>::from)).expect("a view");
    let back = map.inverse().expect("a view");
    let bytes = painted(size, &back, tags);
    let begun = Instant::now();
    let picture = Picture::read(&bytes).expect("a photo");
    let decoded = begun.elapsed().as_secs_f64();
    let mut times = Vec::new();
    let mut found = find(&picture);
    for _ in 0..5 {
        let begun = Instant::now();
        found = std::hint::black_box(find(&picture));
        times.push(begun.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    let mut errors = Errors::default();
    let mut least = f64::INFINITY;
    for (id, side, [x, y]) in tags {
        let corners = [[0.0, 0.0], [*side, 0.0], [*side; 2], [0.0, *side]];
        let truth = corners.map(|[u, v]| map.point(Point::new(x + u, y + v)).expect("in view"));
        least = least.min((truth[2] - truth[3]).length());
        if let Some(tag) = found.tags.iter().find(|t| t.id == *id) {
            errors.add(tag.corners, truth);
        }
    }
    let n = errors.all.len().max(1) as f64;
    let sum: f64 = errors.all.iter().fold(0.0, |sum, v| sum + v);
    let most = errors.all.iter().copied().fold(0.0, f64::max);
    println!(
        "| {name} | {} | {} | {}, {} doubts | {:.3} | {most:.3} | {decoded:.2} | {:.2} |",
        tags.len(),
        if tags.is_empty() {
            "".into()
        } else {
            format!("{least:.0}")
        },
        found.tags.len(),
        found.doubts.len(),
        sum / n,
        times[2]
    );
}

/// The table as a camera writes it: three looks by three a pixel, which is blur enough, and
/// noise of a fixed rule.
fn painted(size: [u32; 2], back: &Homography<Photo, Table>, tags: &[Laid]) -> Vec<u8> {
    let cells: Vec<_> = tags.iter().map(|t| black(t.0).expect("a tag")).collect();
    let light = |p: Point<Table>| {
        for ((_, side, at), cells) in tags.iter().zip(&cells) {
            let (u, v) = (p.x - at[0], p.y - at[1]);
            let cell = side / CELLS as f64;
            let white = cell.max(8.0);
            let card = |v: f64| v > -white && v < side + white;
            if card(u) && card(v) {
                let on = |v: f64| (v > 0.0 && v < *side).then_some((v / cell) as usize);
                let black = match (on(u), on(side - v)) {
                    (Some(column), Some(row)) => cells[row.min(CELLS - 1)][column.min(CELLS - 1)],
                    _ => false,
                };
                return if black { 0.04 } else { 0.8 };
            }
        }
        let check = (p.x / 15.0).floor() as i64 + (p.y / 15.0).floor() as i64;
        if check % 2 == 0 { 0.07 } else { 0.5 }
    };
    let mut seed = 1u32;
    let mut codes = Vec::with_capacity((3 * size[0] * size[1]) as usize);
    for y in 0..size[1] {
        for x in 0..size[0] {
            let mut sum = 0.0f64;
            for k in 0..9 {
                let at = [x, y].map(f64::from);
                // Looks over two pixels each way: a blur of 0.6 px.
                let (dx, dy) = (f64::from(k % 3) / 1.5, f64::from(k / 3) / 1.5);
                let p = Point::new(at[0] - 1.0 / 6.0 + dx, at[1] - 1.0 / 6.0 + dy);
                sum += back.point(p).map_or(0.0, light) / 9.0;
            }
            // Xorshift (Marsaglia 2003): three give noise that is nearly normal.
            let mut noise = 0.0;
            for _ in 0..3 {
                seed ^= seed << 13;
                seed ^= seed >> 17;
                seed ^= seed << 5;
                noise += f64::from(seed) / f64::from(u32::MAX) - 0.5;
            }
            let v = (sum + 2.0 * noise * 0.012 * sum.sqrt()).clamp(0.0, 1.0);
            let code = 255.0 * (1.055 * v.max(0.0031308).powf(1.0 / 2.4) - 0.055);
            codes.extend([code.round() as u8; 3]);
        }
    }
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 92)
        .write_image(&codes, size[0], size[1], ExtendedColorType::Rgb8)
        .expect("a photo");
    bytes
}
