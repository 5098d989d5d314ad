//! How long it takes from a photo to the table seen from above, and how much memory; and how
//! far what is stated of marks, mapping and light is from what happens, over many draws.

use crate::draws::normal;
use crate::own::{most_memory, worked};
use crate::said;
use crate::table::Table as Rows;
use ghostchalk::photo::mark::{Look, snap};
use ghostchalk::photo::warn::{banding, blown};
use ghostchalk::photo::{Beforehand, Ground, Layout, Light, Mark, Patch, Picture, Pose, ortho};
use ghostchalk::space::{Bounds, Photo, Point, Table};
use image::codecs::jpeg::JpegEncoder;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::time::Instant;

/// The part of the table that the photo shows, mm.
const TABLE: [f64; 2] = [1300.0, 975.0];
const RUNS: usize = 5;

/// A cross's arms from its middle, and the width of its strokes, mm. Strokes much wider for
/// their arms are no cross any more: the finder wants four rings about the middle on which
/// the arms are less than 0.42, and a weave as coarse as the arms are long takes some away.
const ARM: f64 = 10.0;
const STROKE: f64 = 1.2;
/// A cross that is found so far from where it was drawn is another thing, px.
const BESIDE: f64 = 1.0;

/// `--quick`: the smaller photo, once.
pub fn run(words: &[String]) {
    let quick = said(words, "--quick");
    let (photos, runs) = if quick { (1, 1) } else { (2, RUNS) };
    println!(
        "Seconds of wall time, the least of {runs}, and in brackets of all cores' work, the median.\n"
    );
    let numbers = [
        "file, MB",
        "read",
        "12 marks",
        "fit",
        "from above",
        "light",
        "warnings",
        "read and from above",
        "most memory so far, MB",
    ];
    let mut table = Rows::new(["photo"], numbers);
    let sizes = [("12 MP", [4000, 3000]), ("48 MP", [8000, 6000])];
    for (name, size) in sizes.into_iter().take(photos) {
        let bytes = drawn(size);
        let t = timed(&bytes, size, runs);
        let both = |s: Spent| format!("{:.2} ({:.2})", s.wall, s.worked);
        let sum = Spent {
            wall: t.read.wall + t.above.wall,
            worked: t.read.worked + t.above.worked,
        };
        table.row([
            name.to_owned(),
            format!("{:.1}", bytes.len() as f64 / 1e6),
            both(t.read),
            both(t.marks),
            both(t.fit),
            both(t.above),
            both(t.light),
            both(t.warnings),
            both(sum),
            format!("{:.0}", most_memory()),
        ]);
    }
    table.print();
    println!();
    stated_by_fits(if quick { 40 } else { 400 });
}

/// Seconds by the clock, and of all cores' work.
#[derive(Debug, Clone, Copy)]
pub struct Spent {
    pub wall: f64,
    pub worked: f64,
}

/// What each step from a photo to the table takes.
#[derive(Debug, Clone, Copy)]
pub struct Times {
    pub read: Spent,
    pub marks: Spent,
    pub fit: Spent,
    pub above: Spent,
    pub light: Spent,
    pub warnings: Spent,
    /// Crosses that were clicked on and not found within a pixel of their places.
    pub missed: usize,
}

/// Goes all the way with a photo that [`drawn`] made, so many times.
pub fn timed(bytes: &[u8], size: [usize; 2], runs: usize) -> Times {
    let timed = |f: &mut dyn FnMut()| {
        let mut all: Vec<(f64, f64)> = (0..runs)
            .map(|_| {
                let (from, cpu) = (Instant::now(), worked());
                f();
                (from.elapsed().as_secs_f64(), worked() - cpu)
            })
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        Spent {
            wall: all[0].0,
            worked: all[runs / 2].1,
        }
    };
    let mut picture = None;
    let read = timed(&mut || {
        picture = None;
        picture = Some(Picture::read(bytes).expect("a sound photo"));
    });
    let picture = picture.expect("it was read");
    let (mut marks, mut missed) = (Vec::new(), 0);
    let snapped = timed(&mut || {
        missed = 0;
        marks = places()
            .map(|p| {
                let q = px(p, size);
                let click = Point::new(q.x + 6.0, q.y - 5.0);
                match snap(&picture, click, 20.0, Some(Look::Cross)) {
                    Ok(found) if (found.px - q).length() < BESIDE => {
                        mark(p, found.px, found.error.max(0.05), 0.3)
                    }
                    _ => {
                        missed += 1;
                        mark(p, q, 0.5, 0.3)
                    }
                }
            })
            .collect();
    });
    let mut pose = None;
    let fitted = timed(&mut || pose = Some(Pose::fit(&marks, size, &Beforehand::default())));
    let pose = pose.expect("fitted").expect("sound marks");
    let layout = Layout {
        bounds: Bounds::new(Point::new(50.0, 50.0), Point::new(1250.0, 850.0)),
        cell: 0.5,
        height: 0.0,
    };
    let mut above = None;
    let laid = timed(&mut || {
        above = None;
        let mut told = |_| true;
        above = ortho(&picture, &pose, &layout, &mut told).expect("sound");
    });
    let above = above.expect("not stopped");
    let lit = timed(&mut || {
        let mut raster = above.clone();
        Light::fit(&raster, &sheets())
            .expect("sheets")
            .even(&mut raster);
    });
    let warned = timed(&mut || {
        assert!(blown(&picture).is_none());
        assert!(banding(&picture).is_none());
    });
    Times {
        read,
        marks: snapped,
        fit: fitted,
        above: laid,
        light: lit,
        warnings: warned,
        missed,
    }
}

/// Where the marks are on the table.
fn places() -> impl Iterator<Item = Point<Table>> {
    let at = |k: usize, n: usize, far: f64| 80.0 + (far - 160.0) * k as f64 / (n - 1) as f64;
    (0..12).map(move |k| Point::new(at(k % 4, 4, TABLE[0]), at(k / 4, 3, TABLE[1])))
}

/// Seen a little from the side.
fn px(p: Point<Table>, [w, h]: [usize; 2]) -> Point<Photo> {
    let (u, v) = (p.x / TABLE[0], 1.0 - p.y / TABLE[1]);
    let depth = 1.0 + 0.06 * v - 0.04 * u;
    Point::new(
        w as f64 * (0.01 + 0.94 * u) / depth,
        h as f64 * (0.01 + 0.98 * v) / depth,
    )
}

fn mark(table: Point<Table>, px: Point<Photo>, px_error: f64, table_error: f64) -> Mark {
    Mark {
        name: format!("({:.0}, {:.0})", table.x, table.y),
        table,
        px,
        px_error,
        table_error,
    }
}

fn sheets() -> Vec<Patch> {
    let spots = [
        [100.0, 120.0],
        [1100.0, 120.0],
        [100.0, 600.0],
        [1100.0, 600.0],
    ];
    spots
        .map(|[x, y]| Patch {
            bounds: Bounds::new(Point::new(x, y), Point::new(x + 100.0, y + 140.0)),
            ground: Ground::Other(0),
        })
        .to_vec()
}

/// A mottled table with crosses, as JPEG.
pub fn drawn([w, h]: [usize; 2]) -> Vec<u8> {
    let mut seed = 1u32;
    let mut codes = vec![0u8; 3 * w * h];
    for (k, pixel) in codes.chunks_exact_mut(3).enumerate() {
        let (x, y) = ((k % w) as f64 / w as f64, (k / w) as f64 / h as f64);
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let noise = f64::from(seed >> 24) / 16.0;
        let weave = 12.0 * ((x * 900.0).sin() + (y * 700.0).sin());
        let light = 120.0 + 50.0 * x + noise + weave;
        for (k, v) in pixel.iter_mut().enumerate() {
            *v = (light - 12.0 * k as f64) as u8;
        }
    }
    for place in places() {
        cross(&mut codes, w, px(place, [w, h]), w as f64 / TABLE[0]);
    }
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, 90);
    image::ImageEncoder::write_image(
        encoder,
        &codes,
        w as u32,
        h as u32,
        image::ExtendedColorType::Rgb8,
    )
    .expect("written to memory");
    bytes
}

/// A dark cross on codes of `w` px a row, at a place to the fraction of a pixel; `scale` is px
/// to a mm. A pixel is as dark as the share of it that the strokes cover, so that a small
/// photo shows the very cross that a large one does.
fn cross(codes: &mut [u8], w: usize, at: Point<Photo>, scale: f64) {
    let (long, half) = (ARM * scale, STROKE / 2.0 * scale);
    // How much of a pixel lies within so far of the middle, along one axis.
    let share = |k: usize, middle: f64, reach: f64| {
        let (low, high) = (k as f64, k as f64 + 1.0);
        (high.min(middle + reach) - low.max(middle - reach)).max(0.0)
    };
    let span = |middle: f64| (middle - long) as usize..=(middle + long) as usize;
    for y in span(at.y) {
        for x in span(at.x) {
            let [across, wide] = [long, half].map(|reach| share(x, at.x, reach));
            let [along, deep] = [long, half].map(|reach| share(y, at.y, reach));
            let dark = across * deep + along * wide - wide * deep;
            for code in &mut codes[3 * (y * w + x)..][..3] {
                let light = f64::from(*code);
                *code = (light + (25.0 - light) * dark) as u8;
            }
        }
    }
}

/// Root mean square of what happens by what is stated, over many draws of marks and lenses.
fn stated_by_fits(draws: u32) {
    let numbers = [
        "marks",
        "off by stated, middle",
        "corner",
        "mean stated, mm: middle",
        "corner",
        "a mark 6 σ off is named alone, of 100",
        "a sound one is named, of 100",
    ];
    let mut table = Rows::new([], numbers);
    let size = [4000, 3000];
    let mut rng = ChaCha8Rng::seed_from_u64(17);
    for n in [4usize, 6, 8, 12, 24] {
        let (mut ratio, mut mean) = ([0.0; 2], [0.0; 2]);
        let (mut named, mut falsely) = (0, 0);
        for _ in 0..draws {
            let lens = [0.01 * normal(&mut rng), 0.005 * normal(&mut rng)];
            let (c, half) = ([2000.0, 1500.0], 2500.0);
            let look = |p: Point<Table>| {
                let q = px(p, size);
                let d = [(q.x - c[0]) / half, (q.y - c[1]) / half];
                let r2 = d[0] * d[0] + d[1] * d[1];
                let by = 1.0 + r2 * (lens[0] + r2 * lens[1]);
                Point::<Photo>::new(c[0] + half * d[0] * by, c[1] + half * d[1] * by)
            };
            let mut marks: Vec<Mark> = (0..n)
                .map(|k| {
                    let spot = |a: f64, far: f64| 60.0 + (far - 120.0) * a;
                    let corners = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
                    let own = match corners.get(k) {
                        Some(c) => *c,
                        None => [rng.random(), rng.random()],
                    };
                    let p = Point::new(spot(own[0], TABLE[0]), spot(own[1], TABLE[1]));
                    let moved =
                        Point::new(p.x + 0.5 * normal(&mut rng), p.y + 0.5 * normal(&mut rng));
                    let q = look(moved);
                    let q = Point::new(q.x + 0.3 * normal(&mut rng), q.y + 0.3 * normal(&mut rng));
                    mark(p, q, 0.3, 0.5)
                })
                .collect();
            let Ok(pose) = Pose::fit(&marks, size, &Beforehand::default()) else {
                continue;
            };
            for (k, p) in [Point::new(600.0, 300.0), Point::new(1240.0, 60.0)]
                .into_iter()
                .enumerate()
            {
                let Some(off) = pose
                    .place(look(p), 0.0)
                    .map(|q| (q - p).square_length() / 2.0)
                else {
                    continue;
                };
                let Some(sure) = pose.sure(p, 0.0) else {
                    continue;
                };
                ratio[k] += off / sure.total().powi(2) / f64::from(draws);
                mean[k] += sure.total() / f64::from(draws);
            }
            falsely += usize::from(!pose.wrong().is_empty());
            marks[n - 1].table.x += 3.0;
            if let Ok(pose) = Pose::fit(&marks, size, &Beforehand::default()) {
                named += usize::from(pose.wrong() == [n - 1]);
            }
        }
        let share = |k: usize| 100.0 * k as f64 / f64::from(draws);
        let two = |v: f64| format!("{v:.2}");
        table.row([
            n.to_string(),
            two(ratio[0].sqrt()),
            two(ratio[1].sqrt()),
            two(mean[0]),
            two(mean[1]),
            format!("{:.0}", share(named)),
            format!("{:.1}", share(falsely)),
        ]);
    }
    table.print();
}
