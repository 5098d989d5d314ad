//! How true what is found in a photo of a cloth is: fifty drawn cloths that the finder was made
//! with, fifty that it was not.
//!
//! Pictures of what failed are written into a folder: truth thin, what was found thick.

use crate::table::Table as Rows;
use clap::Parser;
use ghostchalk::cloth::find::{ALL, Found, Grain, Kind, Seeds, find};
use ghostchalk::colour::{Lab, Xyz, encode_srgb};
use ghostchalk::photo::{Ground, Light, Patch};
use ghostchalk::raster::Raster;
use ghostchalk::shape::{Region, difference, intersection, pairs};
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::twin::cloths::{Above, Cloth, Shot, cloth};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::Instant;

/// Pixels of the photo, mm on the table; cells, mm; finer cells for threads.
const PX: f64 = 0.3;
const CELL: f64 = 0.5;
const FINER: f64 = 0.25;
/// The bars.
const OUTLINE: f64 = 0.98;
const HOLE: f64 = 0.7;
const LIGHTNESS: f64 = 1.0;
const GRAIN: f64 = 0.7;

#[derive(Parser)]
struct Words {
    /// Seeds, as FROM..TO; else 0..50, and 2000..2050 held out
    seeds: Vec<String>,
    /// Where pictures of failures go
    #[arg(long, default_value = "target/cloths")]
    out: PathBuf,
    /// Pictures of all
    #[arg(long)]
    pictures: bool,
    /// Not a row for each cloth
    #[arg(long)]
    only_sums: bool,
}

/// What came of one cloth.
#[derive(Default)]
struct Score {
    seed: u64,
    kind: &'static str,
    asked: bool,
    refused: Option<String>,
    iou: f64,
    holes: [usize; 3],
    lightness: f64,
    grain: Option<(f64, f64)>,
    /// Found, there, false.
    stains: [usize; 3],
    hardware: [usize; 3],
    ridges: [usize; 3],
    /// Of the period, share; NaN where none was told of stripes.
    period: Option<f64>,
    seconds: f64,
}

impl Score {
    fn holds(&self) -> bool {
        self.refused.is_none()
            && self.iou >= OUTLINE
            && self.holes[0] == self.holes[1]
            && self.lightness.abs() <= LIGHTNESS
            && self.grain.is_none_or(|g| g.0.abs() <= GRAIN)
    }
}

pub fn run(words: &[String]) {
    let words =
        Words::parse_from(std::iter::once("cloths").chain(words.iter().map(String::as_str)));
    let ranges: Vec<String> = match words.seeds.is_empty() {
        true => vec!["0..50".into(), "2000..2050".into()],
        false => words.seeds.clone(),
    };
    for range in ranges {
        let (from, to) = range.split_once("..").expect("FROM..TO");
        let (from, to): (u64, u64) = (from.parse().expect("a seed"), to.parse().expect("a seed"));
        let left = Mutex::new((from..to).rev().collect::<Vec<u64>>());
        let done = Mutex::new(Vec::new());
        let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
        std::thread::scope(|scope| {
            for _ in 0..threads {
                scope.spawn(|| {
                    loop {
                        let Some(seed) = left.lock().expect("sound").pop() else {
                            return;
                        };
                        let score = tried(seed, &words);
                        if !words.only_sums {
                            row(&score);
                        }
                        done.lock().expect("sound").push(score);
                    }
                });
            }
        });
        let done = done.into_inner().expect("sound");
        summary(&range, &done);
    }
}

fn tried(seed: u64, words: &Words) -> Score {
    let c = cloth(seed);
    let shot = Shot::of(&c, PX, 1);
    let mut light = raster(&shot.above(c.table, CELL));
    let patches: Vec<Patch> = c
        .sheets
        .iter()
        .map(|b| Patch {
            bounds: b.inflate(-2.0, -2.0),
            ground: Ground::White,
        })
        .collect();
    Light::fit(&light, &patches)
        .expect("white sheets")
        .even(&mut light);
    let mut seen = light.clone();
    let w = seen.width();
    for k in 0..seen.values().len() {
        let p = seen.centre(k % w, k / w);
        if c.sheets.iter().any(|s| s.inflate(2.0, 2.0).contains(p)) {
            seen.values_mut()[k] = [f32::NAN; 3];
        }
    }
    let mut close = |bounds| Some(raster(&shot.above(bounds, FINER)));
    let mut score = Score {
        seed,
        kind: c.kind,
        ..Score::default()
    };
    let from = Instant::now();
    let mut found = find(&seen, &mut close, &Seeds::default());
    if found.is_err() {
        // As a person answers who is asked: one place on the cloth, one on the table.
        score.asked = true;
        found = find(&seen, &mut close, &answer(&c));
    }
    score.seconds = from.elapsed().as_secs_f64();
    match &found {
        Ok(found) => judge(&mut score, &c, found, &light),
        Err(fault) => score.refused = Some(fault.to_string()),
    }
    if words.pictures || !score.holds() {
        std::fs::create_dir_all(&words.out).expect("a folder");
        let file = words.out.join(format!("{seed}.png"));
        draw(&file, &c, found.as_ref().ok(), &light);
    }
    score
}

fn answer(c: &Cloth) -> Seeds {
    let size = c.table.size();
    let at = |k: usize| {
        let by = Vector::new(
            (k % 40) as f64 / 40.0 * size.width,
            (k / 40) as f64 / 40.0 * size.height,
        );
        c.table.min + by
    };
    let ring = |p: Point<Table>, r: f64| {
        (0..12).map(move |k| {
            let (sin, cos) = (f64::from(k) * std::f64::consts::FRAC_PI_6).sin_cos();
            p + Vector::new(cos, sin) * r
        })
    };
    let clear = |p: &Point<Table>| ring(*p, 8.0).chain(ring(*p, 4.0)).all(|q| c.is_cloth(q));
    let bare = |p: &Point<Table>| {
        ring(*p, 14.0).all(|q| !c.is_cloth(q))
            && !c.sheets.iter().any(|s| s.inflate(8.0, 8.0).contains(*p))
    };
    Seeds {
        cloth: (0..1600).map(at).filter(clear).take(1).collect(),
        table: (0..1600).map(at).filter(bare).skip(60).take(1).collect(),
    }
}

fn raster(a: &Above) -> Raster<[f32; 3], Table> {
    Raster::over(a.bounds, a.cell, |c, r, _| {
        let inside = c < a.width && r < a.height;
        if inside {
            a.light[r * a.width + c]
        } else {
            [f32::NAN; 3]
        }
    })
}

fn iou(a: &Region<Table>, b: &Region<Table>) -> f64 {
    let both = intersection(a, b).area();
    both / (a.area() + b.area() - both)
}

fn middle(ring: &[Point<Table>]) -> Point<Table> {
    let sum = ring.iter().fold(Vector::zero(), |a, p| a + p.to_vector());
    (sum / ring.len() as f64).to_point()
}

fn judge(score: &mut Score, c: &Cloth, found: &Found, light: &Raster<[f32; 3], Table>) {
    let truth = Region::ring(c.outline());
    let own = Region::ring(found.outline.clone());
    score.iou = iou(&truth, &own);
    let there: Vec<Region<Table>> = c.holes().into_iter().map(Region::ring).collect();
    let seen: Vec<Region<Table>> = found
        .holes
        .iter()
        .map(|h| Region::ring(h.outline.clone()))
        .collect();
    let across = |r: &Region<Table>| 2.0 * (r.area() / std::f64::consts::PI).sqrt();
    let large: Vec<&Region<Table>> = there.iter().filter(|h| across(h) >= ALL).collect();
    let hit = large
        .iter()
        .filter(|h| seen.iter().any(|f| iou(h, f) >= HOLE))
        .count();
    let wrong = seen
        .iter()
        .filter(|f| !there.iter().any(|h| iou(h, f) > 0.3))
        .count();
    score.holes = [hit, large.len(), wrong];
    let mut good = own;
    for hole in &seen {
        good = difference(&good, hole);
    }
    let (mut sum, mut n) = ([0.0; 3], 0.0);
    for (k, v) in light.values().iter().enumerate() {
        let p = light.centre(k % light.width(), k / light.width());
        if good.contains(p) {
            sum = std::array::from_fn(|c| sum[c] + f64::from(v[c]));
            n += 1.0;
        }
    }
    let lightness = |v: [f64; 3]| Lab::from_xyz(Xyz::from_linear_srgb(v)).l;
    score.lightness = lightness(sum.map(|v| v / n)) - lightness(c.mean());
    if let Grain::Told { deg, error, .. } = found.grain {
        let off = (deg - c.grain_deg + 90.0).rem_euclid(180.0) - 90.0;
        score.grain = Some((off, error));
    }
    score.period = c.repeat().map(|true_| {
        let told = found.stripes.and_then(|s| s.repeat);
        told.map_or(f64::NAN, |r| r.period / true_ - 1.0)
    });
    let stains: Vec<Region<Table>> = c.stains().into_iter().map(Region::ring).collect();
    score.stains[1] = stains.len();
    score.hardware[1] = c.eyelets.len();
    score.ridges[1] = usize::from(c.ridge.is_some());
    for candidate in &found.candidates {
        let at = middle(&candidate.outline);
        let (of, right) = match candidate.kind {
            Kind::Stain => (&mut score.stains, stains.iter().any(|s| s.contains(at))),
            Kind::Hardware => (
                &mut score.hardware,
                c.eyelets.iter().any(|e| (e.at - at).length() < e.radius),
            ),
            Kind::Ridge => {
                let near = |r: &ghostchalk::twin::cloths::Ridge| {
                    (r.from.lerp(r.to, 0.5) - at).length() < 20.0
                };
                (&mut score.ridges, c.ridge.as_ref().is_some_and(near))
            }
        };
        of[if right { 0 } else { 2 }] += 1;
    }
}

fn row(s: &Score) {
    let grain = s.grain.map_or("can't tell".to_owned(), |(off, error)| {
        format!("{off:+.2} (± {error:.2})")
    });
    let of = |[found, there, wrong]: [usize; 3]| format!("{found}/{there} +{wrong}");
    println!(
        "{:5} {:15} {} outline {:.4}, holes {}, L* {:+.2}, grain {grain}, period {}, stains {}, hardware {}, ridges {}, {:.1} s{}{}",
        s.seed,
        s.kind,
        if s.holds() { "  " } else { "NO" },
        s.iou,
        of(s.holes),
        s.lightness,
        s.period
            .map_or("–".to_owned(), |p| format!("{:+.2} %", 100.0 * p)),
        of(s.stains),
        of(s.hardware),
        of(s.ridges),
        s.seconds,
        if s.asked { ", after asking" } else { "" },
        s.refused
            .as_ref()
            .map_or(String::new(), |r| format!(": {r}")),
    );
}

fn summary(range: &str, all: &[Score]) {
    let told: Vec<&Score> = all.iter().filter(|s| s.refused.is_none()).collect();
    let least = told.iter().map(|s| s.iou).fold(1.0, f64::min);
    let most = |of: &dyn Fn(&Score) -> f64| told.iter().map(|s| of(s).abs()).fold(0.0, f64::max);
    let sum = |of: &dyn Fn(&Score) -> [usize; 3]| {
        let all = told
            .iter()
            .map(|s| of(s))
            .fold([0; 3], |a, b| [a[0] + b[0], a[1] + b[1], a[2] + b[2]]);
        format!("{} of {}, {} false", all[0], all[1], all[2])
    };
    let grains: Vec<(f64, f64)> = told.iter().filter_map(|s| s.grain).collect();
    let chi = grains
        .iter()
        .map(|(off, error)| (off / error).powi(2))
        .sum::<f64>()
        / grains.len().max(1) as f64;
    let periods: Vec<f64> = told.iter().filter_map(|s| s.period).collect();
    let known: Vec<f64> = periods
        .iter()
        .copied()
        .filter(|p| p.is_finite())
        .map(f64::abs)
        .collect();
    let head = format!("seeds {range}");
    let mut table = Rows::new([head.as_str(), ""], []);
    let mut row = |what: &str, said: String| table.row([what.to_owned(), said]);
    let of_all = |count: usize, all: usize| format!("{count} of {all}");
    row(
        "all bars held",
        of_all(all.iter().filter(|s| s.holds()).count(), all.len()),
    );
    row(
        "asked for a place on cloth and table",
        all.iter().filter(|s| s.asked).count().to_string(),
    );
    row("refused", (all.len() - told.len()).to_string());
    let mean = told.iter().map(|s| s.iou).sum::<f64>() / told.len() as f64;
    row("outline IoU, least; mean", format!("{least:.4}; {mean:.4}"));
    row("holes of 10 mm and more", sum(&|s| s.holes));
    row(
        "mean L*, furthest off",
        format!("{:.2}", most(&|s| s.lightness)),
    );
    let turned = grains.iter().map(|g| g.0.abs()).fold(0.0, f64::max);
    row(
        "grain told; furthest off; mean square of off by stated",
        format!(
            "{}; {turned:.2}°; {chi:.2}",
            of_all(grains.len(), told.len())
        ),
    );
    let stretched = 100.0 * known.iter().copied().fold(0.0, f64::max);
    row(
        "period of stripes told; furthest off",
        format!("{}; {stretched:.2} %", of_all(known.len(), periods.len())),
    );
    row("stains", sum(&|s| s.stains));
    row("hardware", sum(&|s| s.hardware));
    row("ridges", sum(&|s| s.ridges));
    row("seconds, longest", format!("{:.1}", most(&|s| s.seconds)));
    println!();
    table.print();
    println!();
}

fn draw(file: &Path, c: &Cloth, found: Option<&Found>, light: &Raster<[f32; 3], Table>) {
    let (w, h) = (light.width(), light.height());
    let mut picture = image::RgbImage::from_fn(w as u32, h as u32, |x, y| {
        let v = light
            .get(x as usize, h - 1 - y as usize)
            .copied()
            .unwrap_or([0.0; 3]);
        image::Rgb(v.map(|v| {
            let v = if v.is_finite() {
                f64::from(v).clamp(0.0, 1.0)
            } else {
                0.0
            };
            (255.0 * encode_srgb(v)).round() as u8
        }))
    });
    let mut line = |ring: &[Point<Table>], colour: [u8; 3], thick: i64| {
        for (a, b) in pairs(ring) {
            let n = ((b - a).length() / 0.25) as usize + 1;
            for p in (0..=n).map(|k| a.lerp(b, k as f64 / n as f64)) {
                let Some((x, y)) = light.cell_at(p) else {
                    continue;
                };
                for k in 0..thick * thick {
                    let (x, y) = (x as i64 + k % thick, (h - 1 - y) as i64 + k / thick);
                    if x < w as i64 && y < h as i64 {
                        picture.put_pixel(x as u32, y as u32, image::Rgb(colour));
                    }
                }
            }
        }
    };
    if let Some(found) = found {
        line(&found.outline, [255, 0, 255], 2);
        for hole in &found.holes {
            line(&hole.outline, [255, 128, 0], 2);
        }
        for candidate in &found.candidates {
            line(&candidate.outline, [0, 255, 255], 2);
        }
    }
    line(&c.outline(), [255, 255, 0], 1);
    for hole in c.holes() {
        line(&hole, [255, 255, 0], 1);
    }
    let pixels = picture.into_raw();
    let bytes = ghostchalk::disk::png(&pixels, w as u32, h as u32, image::ExtendedColorType::Rgb8);
    std::fs::write(file, bytes.expect("a picture")).expect("written");
}
