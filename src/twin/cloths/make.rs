//! From a seed to a cloth.

use super::blob::Blob;
use super::dye::{Dye, Pattern, Weave};
use super::ground::{Ground, Look};
use super::{Cloth, Eyelet, Ridge, Stain};
use crate::space::{Bounds, Point, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

type Rgb = [f64; 3];

/// Share of the light, linear, that tables and dyes give back.
const TABLES: [(Rgb, Look); 6] = [
    ([0.45, 0.30, 0.18], Look::Wood),
    ([0.20, 0.11, 0.06], Look::Wood),
    ([0.04, 0.15, 0.10], Look::Mat),
    ([0.25, 0.25, 0.26], Look::Mat),
    ([0.72, 0.72, 0.70], Look::Plain),
    ([0.30, 0.31, 0.33], Look::Plain),
];
const DYES: [Rgb; 9] = [
    [0.72, 0.66, 0.52],
    [0.03, 0.06, 0.16],
    [0.45, 0.06, 0.05],
    [0.06, 0.22, 0.10],
    [0.55, 0.33, 0.07],
    [0.25, 0.45, 0.62],
    [0.62, 0.36, 0.33],
    [0.09, 0.09, 0.10],
    [0.42, 0.44, 0.36],
];
const PALE: Rgb = [0.62, 0.59, 0.50];

/// The cloth that a seed makes, on a table of about 440 by 360 mm.
pub fn cloth(seed: u64) -> Cloth {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let r = &mut rng;
    let size = [r.random_range(420.0..480.0), r.random_range(340.0..380.0)];
    let low: Point<Table> = Point::new(r.random_range(-80.0..200.0), r.random_range(0.0..300.0));
    let table = Bounds::new(low, low + Vector::new(size[0], size[1]));
    let middle = table.center() + Vector::new(r.random_range(-8.0..8.0), r.random_range(-8.0..8.0));
    let (ground, look) = TABLES[r.random_range(0..TABLES.len())];
    // One in ten lies on a table of its own hue, and only darker.
    let alike = seed % 10 == 9;
    let fade = if r.random_bool(0.6) {
        r.random_range(0.2..0.6)
    } else {
        0.0
    };
    let colour = |r: &mut ChaCha8Rng, others: &[Rgb]| loop {
        let c = match alike {
            true => ground.map(|v| v * r.random_range(0.55..0.7)),
            false => DYES[r.random_range(0..DYES.len())],
        };
        let faded: Rgb = std::array::from_fn(|k| c[k] + 0.9 * fade * (PALE[k] - c[k]));
        let fits = alike || (apart(c, ground) && apart(faded, ground));
        if fits && (alike || others.iter().all(|o| distance(c, *o) > 0.3)) {
            return c;
        }
        // Where no dye stands off from the table, a fresh one does.
        if r.random_bool(0.02) {
            return [0.30, 0.04, 0.22];
        }
    };
    let base = colour(r, &[]);
    let mut other = colour(r, &[base]);
    if alike {
        other = base;
    }
    let which = if alike { 2 } else { seed % 5 };
    let mut weave = Weave {
        pitch: [r.random_range(0.55..1.1), 0.0],
        depth: r.random_range(0.05..0.16),
        twill: 0.0,
        skew: r.random_range(-0.03..0.03),
    };
    weave.pitch[1] = weave.pitch[0] * r.random_range(0.98..1.45);
    let (kind, pattern) = match which {
        0 => {
            let wide = r.random_range(8.0..45.0);
            (
                "even stripes",
                Pattern::Stripes(vec![(base, wide), (other, wide)]),
            )
        }
        1 => {
            let third = colour(r, &[base, other]);
            let mut wide = || r.random_range(4.0..30.0);
            let all = vec![
                (base, wide()),
                (other, wide()),
                (third, wide()),
                (other, wide()),
            ];
            ("uneven stripes", Pattern::Stripes(all))
        }
        2 => (if alike { "plain, alike" } else { "plain" }, Pattern::None),
        3 => {
            weave.twill = [3.0, 4.0][r.random_range(0..2)];
            weave.depth = r.random_range(0.08..0.2);
            ("twill", Pattern::None)
        }
        _ => {
            let every = [r.random_range(26.0..60.0), r.random_range(26.0..60.0)];
            let print = Pattern::Print {
                every,
                size: r.random_range(0.18..0.34) * every[0].min(every[1]),
                colour: other,
                leaf: r.random_bool(0.5),
            };
            ("print", print)
        }
    };
    let grain_deg: f64 = r.random_range(0.0..180.0);
    let warp = Vector::new(grain_deg.to_radians().cos(), grain_deg.to_radians().sin());
    let outline = outline(r, middle, table, grain_deg.to_radians());
    let turn = r.random_range(0.0..TAU);
    let dye = Dye {
        origin: middle,
        warp,
        base,
        pattern,
        weave,
        fade: (
            Vector::new(turn.cos(), turn.sin()) / r.random_range(200.0..400.0),
            fade,
        ),
        seed,
    };
    let mut taken: Vec<(Point<Table>, f64)> = Vec::new();
    let mut place = |r: &mut ChaCha8Rng, reach: f64| {
        (0..400).find_map(|_| {
            let x = r.random_range(table.min.x..table.max.x);
            let p = Point::new(x, r.random_range(table.min.y..table.max.y));
            let clear = taken
                .iter()
                .all(|(q, room)| (p - *q).length() > room + reach + 10.0);
            (clear && outline.depth(p) > reach + 12.0).then(|| {
                taken.push((p, reach));
                p
            })
        })
    };
    let holes: Vec<Blob> = (0..r.random_range(0..4usize))
        .filter_map(|_| {
            let size = r.random_range(5.5..22.0);
            let at = place(r, size)?;
            Some(ragged(r, at, size, 0.25))
        })
        .collect();
    let stains: Vec<Stain> = (0..r.random_range(0..3usize))
        .filter_map(|_| {
            let size = r.random_range(7.0..24.0);
            let at = place(r, size)?;
            let dark = r.random_range(0.5..0.8);
            Some(Stain {
                blob: ragged(r, at, size, 0.3),
                keeps: [
                    dark,
                    dark * r.random_range(0.8..0.97),
                    dark * r.random_range(0.6..0.9),
                ],
                soft: r.random_range(1.0..4.0),
            })
        })
        .collect();
    let eyelets: Vec<Eyelet> = (0..r.random_range(0..4usize).saturating_sub(1))
        .filter_map(|_| {
            let radius = r.random_range(5.0..9.0);
            place(r, radius).map(|at| Eyelet { at, radius })
        })
        .collect();
    let ridge = r.random_bool(0.3).then(|| {
        let turn: f64 = r.random_range(0.0..TAU);
        let along = Vector::new(turn.cos(), turn.sin()) * r.random_range(24.0..38.0);
        let width = r.random_range(1.4..2.4);
        let strength = r.random_range(0.25..0.4);
        let at = place(r, 36.0)?;
        Some(Ridge {
            from: at - along,
            to: at + along,
            width,
            strength,
        })
    });
    let lamp = r.random_range(0.0..TAU);
    let shadow = Vector::new(lamp.cos(), lamp.sin()) * r.random_range(1.0..5.0);
    let tilt_deg = r.random_range(0.0..25.0);
    let azimuth = r.random_range(0.0..TAU);
    let (takes, wide): (f64, f64) = (r.random_range(0.15..0.45), r.random_range(1.5..6.0));
    let tint: f64 = r.random_range(-0.12..0.12);
    let takes = [takes * (1.0 + tint), takes, takes * (1.0 - tint)];
    Cloth {
        seed,
        kind,
        table,
        sheets: sheets(table),
        tilt_deg,
        azimuth,
        grain_deg,
        outline,
        holes,
        stains,
        eyelets,
        ridge: ridge.flatten(),
        dye,
        ground: Ground {
            colour: ground,
            look,
            seed,
        },
        shadow: (shadow, takes, wide),
        falloff: 0.05,
    }
}

/// Paper in all four corners.
fn sheets(table: Bounds<Table>) -> Vec<Bounds<Table>> {
    let (wide, high) = (34.0, 30.0);
    let at = |x: f64, y: f64| Bounds::new(Point::new(x, y), Point::new(x + wide, y + high));
    let (left, right) = (table.min.x + 4.0, table.max.x - wide - 4.0);
    let (near, far) = (table.min.y + 4.0, table.max.y - high - 4.0);
    vec![
        at(left, near),
        at(right, near),
        at(left, far),
        at(right, far),
    ]
}

/// Four sides, not quite square, of which one or two may be selvedges: straight, along the
/// warp. The others wander, and may have lost bites.
fn outline(r: &mut ChaCha8Rng, middle: Point<Table>, table: Bounds<Table>, grain: f64) -> Blob {
    let size = table.size();
    let selvedges = r.random_range(0..3usize);
    // As large as lets it lie clear of the sheets in the corners.
    let long = r.random_range(0.30..0.36) * size.height;
    let short = r.random_range(0.24..0.31) * size.height;
    let sides: Vec<(f64, f64, bool, [f64; 4])> = (0..4usize)
        .map(|k| {
            let straight = k % 2 == 1 && k / 2 < selvedges;
            let lean = if straight {
                0.0
            } else {
                r.random_range(-0.08..0.08)
            };
            let facing = grain + TAU / 4.0 * k as f64 + lean;
            let off = if k % 2 == 0 { long } else { short };
            let wave = [
                r.random_range(0.0..3.0),
                r.random_range(20.0..50.0),
                r.random_range(0.0..TAU),
                r.random_range(0.0..1.0),
            ];
            (facing, off, straight, wave)
        })
        .collect();
    let bites: Vec<[f64; 3]> = (0..r.random_range(0..3usize))
        .map(|_| {
            let side = 2.0 * r.random_range(0..2usize) as f64;
            let at = grain + TAU / 4.0 * side + r.random_range(-0.35..0.35);
            [at, r.random_range(6.0..22.0), r.random_range(0.05..0.16)]
        })
        .collect();
    Blob::new(middle, 4096, |turn| {
        let mut least = f64::MAX;
        for (facing, off, straight, [high, long, phase, _]) in &sides {
            let cos = (turn - facing).cos();
            if cos < 0.05 {
                continue;
            }
            let along = off * (turn - facing).tan();
            let wave = if *straight {
                0.0
            } else {
                high * (TAU * along / long / 2.0 + phase).sin()
            };
            least = least.min((off + wave) / cos);
        }
        for [at, deep, wide] in &bites {
            let off = (turn - at + TAU / 2.0).rem_euclid(TAU) - TAU / 2.0;
            least -= deep * (-(off / wide).powi(2)).exp();
        }
        least
    })
}

/// A ragged disc of about this radius.
fn ragged(r: &mut ChaCha8Rng, at: Point<Table>, size: f64, rough: f64) -> Blob {
    let waves: Vec<[f64; 2]> = (0..5)
        .map(|k| {
            [
                rough * size * r.random_range(-0.5..0.5) / (1.0 + k as f64),
                r.random_range(0.0..TAU),
            ]
        })
        .collect();
    Blob::new(at, 180, |turn| {
        let add = waves
            .iter()
            .enumerate()
            .map(|(k, [a, p])| a * ((k + 2) as f64 * turn + p).sin());
        (size + add.sum::<f64>()).max(0.3 * size)
    })
}

/// Logarithms of green, of red by green and of blue by green.
fn logs(c: Rgb) -> Rgb {
    [c[1].ln(), (c[0] / c[1]).ln(), (c[2] / c[1]).ln()]
}

fn distance(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (logs(a), logs(b));
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

/// Whether a dye is told from a table and from its shadow.
fn apart(dye: Rgb, table: Rgb) -> bool {
    let (a, b) = (logs(dye), logs(table));
    let lighter = a[0] - b[0];
    (a[1] - b[1]).hypot(a[2] - b[2]) > 0.25 || !(-1.1..0.3).contains(&lighter)
}
