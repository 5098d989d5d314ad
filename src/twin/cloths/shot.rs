//! The camera: from above, tilted, with noise, 8 bits a colour.

use super::Cloth;
use crate::space::{Bounds, Point, Table, Vector};
use crate::twin::normal;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// How high the camera is above the table's middle, mm.
const HEIGHT: f64 = 1400.0;

/// A photo of a cloth.
#[derive(Debug, Clone)]
pub struct Shot {
    pub width: usize,
    pub height: usize,
    /// sRGB codes, row by row from the top.
    pub codes: Vec<u8>,
    light: Vec<[f32; 3]>,
    /// Table mm to px, projectively, row by row.
    pub homography: [[f64; 3]; 3],
}

/// The table straight from above: cells row by row from the smallest y.
#[derive(Debug, Clone)]
pub struct Above {
    pub bounds: Bounds<Table>,
    pub cell: f64,
    pub width: usize,
    pub height: usize,
    pub light: Vec<[f32; 3]>,
}

impl Shot {
    /// Taken with pixels of about `px` mm on the table, each of `samples` squared readings.
    pub fn of(cloth: &Cloth, px: f64, samples: usize) -> Self {
        let (h, [width, height]) = camera(cloth, px);
        let back = inverse(&h);
        let mut rng = ChaCha8Rng::seed_from_u64(cloth.seed ^ 0x5eed);
        let mut codes = Vec::with_capacity(3 * width * height);
        let mut light = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let mut sum = [0.0; 3];
                for k in 0..samples * samples {
                    let at = |k: usize| (k as f64 + 0.5) / samples as f64;
                    let q = [x as f64 + at(k % samples), y as f64 + at(k / samples)];
                    let v = cloth.light(through(&back, q));
                    sum = std::array::from_fn(|c| sum[c] + v[c]);
                }
                let share = 1.0 / (samples * samples) as f64;
                let ([a, b], [c, _]) = (normal::pair(&mut rng), normal::pair(&mut rng));
                let noise = [a, b, c];
                let read: [u8; 3] = std::array::from_fn(|k| {
                    let v = sum[k] * share;
                    // Of what reads out, and of photons.
                    let v = v + noise[k] * (0.0015f64.powi(2) + 0.00012 * v).sqrt();
                    (255.0 * encode(v.clamp(0.0, 1.0))).round() as u8
                });
                codes.extend(read);
                light.push(read.map(|c| decode(f64::from(c) / 255.0) as f32));
            }
        }
        Self {
            width,
            height,
            codes,
            light,
            homography: h,
        }
    }

    /// Where a place of the table is seen, px.
    pub fn seen(&self, p: Point<Table>) -> [f64; 2] {
        let q = through(&self.homography, [p.x, p.y]);
        [q.x, q.y]
    }

    /// Laid out in cells of `cell` mm; NaN where the photo does not reach.
    pub fn above(&self, bounds: Bounds<Table>, cell: f64) -> Above {
        let width = (bounds.width() / cell).round() as usize;
        let height = (bounds.height() / cell).round() as usize;
        let mut light = Vec::with_capacity(width * height);
        for j in 0..height {
            for i in 0..width {
                let mut sum = [0.0f32; 3];
                for k in 0..4 {
                    let s = Vector::new((k % 2) as f64, (k / 2) as f64) * 0.5;
                    let place = Vector::new(i as f64 + 0.25, j as f64 + 0.25) + s;
                    let v = self.between(self.seen(bounds.min + place * cell));
                    sum = std::array::from_fn(|c| sum[c] + v[c] / 4.0);
                }
                light.push(sum);
            }
        }
        Above {
            bounds: Bounds::new(
                bounds.min,
                bounds.min + Vector::new(width as f64, height as f64) * cell,
            ),
            cell,
            width,
            height,
            light,
        }
    }

    fn between(&self, [x, y]: [f64; 2]) -> [f32; 3] {
        let inside = x > 0.0 && y > 0.0 && x < self.width as f64 && y < self.height as f64;
        if !inside {
            return [f32::NAN; 3];
        }
        let hold = |v: f64, n: usize| (v - 0.5).clamp(0.0, n as f64 - 1.001);
        let (x, y) = (hold(x, self.width), hold(y, self.height));
        let (c, r) = (x as usize, y as usize);
        let (s, t) = ((x - c as f64) as f32, (y - r as f64) as f32);
        let at = |c: usize, r: usize| self.light[r * self.width + c];
        let [a, b, d, e] = [at(c, r), at(c + 1, r), at(c, r + 1), at(c + 1, r + 1)];
        std::array::from_fn(|k| {
            (a[k] * (1.0 - s) + b[k] * s) * (1.0 - t) + (d[k] * (1.0 - s) + e[k] * s) * t
        })
    }
}

/// The homography, and a picture that holds the whole table.
fn camera(cloth: &Cloth, px: f64) -> ([[f64; 3]; 3], [usize; 2]) {
    let tilt = cloth.tilt_deg.to_radians();
    let middle = cloth.table.center();
    let (sin, cos) = cloth.azimuth.sin_cos();
    // Right, down and forward of a camera that looks at the table's middle, leaning towards
    // the azimuth.
    let forward = [-tilt.sin() * cos, -tilt.sin() * sin, -tilt.cos()];
    let right = {
        let r = [
            1.0 - forward[0] * forward[0],
            -forward[0] * forward[1],
            -forward[0] * forward[2],
        ];
        let n = r.iter().map(|v| v * v).sum::<f64>().sqrt();
        r.map(|v| v / n)
    };
    let down = [
        forward[1] * right[2] - forward[2] * right[1],
        forward[2] * right[0] - forward[0] * right[2],
        forward[0] * right[1] - forward[1] * right[0],
    ];
    let focal = HEIGHT / px;
    let row = |axis: [f64; 3], scale: f64, depth: f64| {
        let shift = -(axis[0] * middle.x + axis[1] * middle.y);
        [scale * axis[0], scale * axis[1], scale * shift + depth]
    };
    let mut h = [
        row(right, focal, 0.0),
        row(down, focal, 0.0),
        row(forward, 1.0, HEIGHT),
    ];
    let b = cloth.table;
    let corners = [
        [b.min.x, b.min.y],
        [b.max.x, b.min.y],
        [b.max.x, b.max.y],
        [b.min.x, b.max.y],
    ];
    let seen = corners.map(|c| through(&h, c));
    let least = |of: fn(&Point<Table>) -> f64| seen.iter().map(of).fold(f64::MAX, f64::min) - 2.0;
    let most = |of: fn(&Point<Table>) -> f64| seen.iter().map(of).fold(f64::MIN, f64::max) + 2.0;
    let (x, y) = (least(|p| p.x), least(|p| p.y));
    let size = [
        (most(|p| p.x) - x).ceil() as usize,
        (most(|p| p.y) - y).ceil() as usize,
    ];
    let last = h[2];
    for k in 0..3 {
        h[0][k] -= x * last[k];
        h[1][k] -= y * last[k];
    }
    (h, size)
}

fn through(h: &[[f64; 3]; 3], [x, y]: [f64; 2]) -> Point<Table> {
    let [a, b, c] = h.map(|r| r[0] * x + r[1] * y + r[2]);
    Point::new(a / c, b / c)
}

fn inverse(m: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let c = |i: usize, j: usize| {
        let (a, b, p, q) = ((i + 1) % 3, (i + 2) % 3, (j + 1) % 3, (j + 2) % 3);
        m[a][p] * m[b][q] - m[a][q] * m[b][p]
    };
    let det = (0..3).map(|j| m[0][j] * c(0, j)).sum::<f64>();
    std::array::from_fn(|i| std::array::from_fn(|j| c(j, i) / det))
}

fn encode(v: f64) -> f64 {
    if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    }
}

fn decode(v: f64) -> f64 {
    if v <= 0.040_45 {
        v / 12.92
    } else {
        ((v + 0.055) / 1.055).powf(2.4)
    }
}
