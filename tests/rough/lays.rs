//! Random lays: concave pieces, turned, on irregular sheets.

use ghostchalk::shape::{Region, difference, near, offset};
use ghostchalk::space::{Point, Rigid, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

pub const COUNT: u64 = 200;

pub struct Lay {
    pub sheet: Region<Table>,
    /// Inside the cut lines.
    pub pieces: Vec<Region<Table>>,
    /// What no rough cut may touch.
    pub kept: Vec<Region<Table>>,
    pub clear: f64,
}

impl Lay {
    pub fn moved(&self, by: &Rigid<Table, Table>) -> Self {
        let all = |r: &[Region<Table>]| r.iter().map(|r| r.moved(by)).collect();
        Self {
            sheet: self.sheet.moved(by),
            pieces: all(&self.pieces),
            kept: all(&self.kept),
            clear: self.clear,
        }
    }
}

pub fn ring(points: impl IntoIterator<Item = (f64, f64)>) -> Region<Table> {
    Region::ring(points.into_iter().map(|(x, y)| Point::new(x, y)).collect())
}

/// A piece about 2 wide, counter-clockwise: an L, a T, a U, a Z, an arrow, a
/// star, a crescent or a blob.
fn shape(rng: &mut ChaCha8Rng) -> Region<Table> {
    let w = rng.random_range(0.3..0.8);
    let star = |n: u32, inner: f64| -> Vec<(f64, f64)> {
        let spike = |k: u32| {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(2 * n)).sin_cos();
            let r = if k.is_multiple_of(2) { 1.0 } else { inner };
            (r * cos, r * sin)
        };
        (0..2 * n).map(spike).collect()
    };
    let crescent = || -> Vec<(f64, f64)> {
        let out = (0..=24).map(|k| TAU * 0.4 * f64::from(k) / 24.0);
        let arc = |r: f64| move |a: f64| (r * a.cos(), r * a.sin());
        let back: Vec<f64> = out.clone().rev().collect();
        out.map(arc(1.0))
            .chain(back.into_iter().map(arc(1.0 - 0.7 * w)))
            .collect()
    };
    let blob = |s: f64| -> Vec<(f64, f64)> {
        let at = |k: u32| {
            let a = TAU * f64::from(k) / 60.0;
            let r = 0.8 + 0.25 * (2.0 * a + s).sin() + 0.15 * (3.0 * a + 2.0 * s).cos();
            (r * a.cos(), r * a.sin())
        };
        (0..60).map(at).collect()
    };
    ring(match rng.random_range(0..8) {
        0 => vec![
            (-1.0, -1.0),
            (1.0, -1.0),
            (1.0, w - 1.0),
            (w - 1.0, w - 1.0),
            (w - 1.0, 1.0),
            (-1.0, 1.0),
        ],
        1 => vec![
            (-w / 2.0, -1.0),
            (w / 2.0, -1.0),
            (w / 2.0, 1.0 - w),
            (1.0, 1.0 - w),
            (1.0, 1.0),
            (-1.0, 1.0),
            (-1.0, 1.0 - w),
            (-w / 2.0, 1.0 - w),
        ],
        2 => vec![
            (-1.0, -1.0),
            (1.0, -1.0),
            (1.0, 1.0),
            (1.0 - w, 1.0),
            (1.0 - w, w - 1.0),
            (w - 1.0, w - 1.0),
            (w - 1.0, 1.0),
            (-1.0, 1.0),
        ],
        3 => vec![
            (-1.0, -1.0),
            (w, -1.0),
            (w, 1.0 - w),
            (1.0, 1.0 - w),
            (1.0, 1.0),
            (-w, 1.0),
            (-w, w - 1.0),
            (-1.0, w - 1.0),
        ],
        4 => vec![(-1.0, -1.0), (0.0, w - 1.0), (1.0, -1.0), (0.0, 1.0)],
        5 => star(rng.random_range(4..8), w),
        6 => crescent(),
        _ => blob(rng.random_range(0.0..TAU)),
    })
}

/// About 1000 × 700: round and ragged, nearly square, an L, a U, a strip, or with a hole.
fn sheet(rng: &mut ChaCha8Rng) -> Region<Table> {
    let mut off = |r: f64| rng.random_range(-r..r);
    let mut near = |x: f64, y: f64| (x + off(25.0), y + off(25.0));
    let corners = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 700.0), (0.0, 700.0)];
    let plain = corners.map(|(x, y)| near(x, y));
    let ell = [
        (0.0, 0.0),
        (1000.0, 0.0),
        (1000.0, 380.0),
        (450.0, 400.0),
        (400.0, 700.0),
        (0.0, 700.0),
    ]
    .map(|(x, y)| near(x, y));
    let you = [
        (0.0, 0.0),
        (1000.0, 0.0),
        (1000.0, 700.0),
        (600.0, 700.0),
        (580.0, 280.0),
        (430.0, 280.0),
        (400.0, 700.0),
        (0.0, 700.0),
    ]
    .map(|(x, y)| near(x, y));
    let width = rng.random_range(80.0..250.0);
    let strip =
        [(0.0, 0.0), (1000.0, 0.0), (1000.0, width), (0.0, width)].map(|(x, y)| (x, y + 0.1 * x));
    match rng.random_range(0..6) {
        0 => ring((0..17).map(|k| {
            let (sin, cos) = (TAU * f64::from(k) / 17.0).sin_cos();
            let r = rng.random_range(0.7..1.2);
            (500.0 + 500.0 * r * cos, 350.0 + 380.0 * r * sin)
        })),
        1 => ring(plain),
        2 => ring(ell),
        3 => ring(you),
        4 => ring(strip),
        _ => {
            let mut sheet = ring(plain);
            let mut hole = Region::disc(Point::new(480.0, 330.0), rng.random_range(20.0..120.0));
            hole.rings[0].reverse();
            sheet.append(hole);
            sheet
        }
    }
}

/// The lay of a number: the same every time.
pub fn lay(seed: u64) -> Lay {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let sheet = sheet(&mut rng);
    let clear = rng.random_range(2.0..8.0);
    let band = if rng.random() { 3.0 } else { 0.0 };
    // Some lays too close to be cut apart, some roomy.
    let apart = rng.random_range(0.3..2.2) * clear + 2.0 * band;
    let most = rng.random_range(2..28);
    let size = rng.random_range(25.0..95.0);
    let mut pieces: Vec<Region<Table>> = Vec::new();
    // In some lays the first may stick out over the edge.
    let sticks_out = seed % 7 == 3;
    for _ in 0..40 * most {
        let scale = size * rng.random_range(0.5..1.6);
        let turn = rng.random_range(0.0..TAU);
        let at = Vector::new(
            rng.random_range(-50.0..1050.0),
            rng.random_range(-50.0..750.0),
        );
        let mut piece = shape(&mut rng);
        for p in piece.rings.iter_mut().flatten() {
            *p = (p.to_vector() * scale).to_point();
        }
        let piece = piece.moved(&Rigid::new(false, turn, at));
        let off = difference(&piece, &sheet).area();
        let may = sticks_out && pieces.is_empty() && off < 0.5 * piece.area();
        let room = pieces.iter().all(|p| !near(p, &piece, apart));
        if room && (off < 1e-6 || may) && pieces.len() < most {
            pieces.push(piece);
        }
    }
    let grown = |p: &Region<Table>| {
        if band > 0.0 {
            offset(p, band)
        } else {
            p.clone()
        }
    };
    Lay {
        kept: pieces.iter().map(grown).collect(),
        sheet,
        pieces,
        clear,
    }
}
