//! The low pass: what is finer than the window is passed over.
//!
//! Twice a box of the window's width in x and in y (together a tent of that width at half its
//! height), over light and over where there is cloth, the one divided by the other. Stripes
//! along x or y whose repeat is the window vanish; at 45°, where they do worst, 1/60 of their
//! contrast is left: sinc²(1/√2)². Boxes come from running sums, read between cells.

use super::map::{Cell, ShadeMap};
use crate::colour::{Lab, Xyz, ciede2000};
use crate::raster::Raster;

/// Share of the tent that must lie on cloth: under it a stripe may be cut in two, and count.
/// A straight edge of the cloth is that near at 0.3 windows.
const COVER: f32 = 0.75;

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Smooth {
    pub lab: Lab,
    /// Variance of this colour by noise that differs from cell to cell, CIEDE2000².
    pub noise2: f64,
    /// From the cell's middle to the middle of the cloth that spoke for it, mm.
    pub off: [f64; 2],
}

/// Share of a difference between noisy cells at which it is measured: CIEDE2000 makes little
/// of what is far, and means are near.
const NEARER: f64 = 0.1;

/// Rows of values, several at each place.
struct Grid<const N: usize> {
    width: usize,
    values: Vec<[f32; N]>,
}

/// The tent: how wide it is, and where it is taken.
#[derive(Clone, Copy)]
struct Tent {
    /// Half the window, in cells.
    half: f64,
    /// Every so many cells.
    step: usize,
}

/// Low-passed shade on cells of a quarter of the window, or of the map's if those are coarser.
pub(super) fn smooth<S>(map: &ShadeMap<S>, window: f64) -> Raster<Option<Smooth>, S> {
    let cells = &map.cells;
    let side = cells.cell();
    let tent = Tent {
        half: window / side / 2.0,
        step: ((window / 4.0 / side) as usize).max(1),
    };
    let (width, height) = (cells.width(), cells.height());
    // Light, cloth, and places of cloth (column, row), counted from the middle for single
    // precision's sake.
    let low = Grid {
        width,
        values: cells
            .values()
            .iter()
            .enumerate()
            .map(|(at, cell)| {
                if !cell.is_cloth() {
                    return [0.0; 6];
                }
                let Xyz { x, y, z } = cell.colour();
                let column = (at % width) as f32 + 0.5 - width as f32 / 2.0;
                let row = (at / width) as f32 + 0.5 - height as f32 / 2.0;
                [x as f32, y as f32, z as f32, 1.0, column, row]
            })
            .collect(),
    };
    let low = low.low(tent).low(tent);
    let mut coarse = Raster::over(cells.bounds(), side * tent.step as f64, |column, row, _| {
        let v = low.values.get(row * low.width + column)?;
        let cover = v[3];
        if cover < COVER {
            return None;
        }
        let of = |k: usize| f64::from(v[k]) / f64::from(cover);
        let off = |mean: f64, at: usize, count: usize| {
            let place = (at as f64 + 0.5) * tent.step as f64 - count as f64 / 2.0;
            (mean - place) * side
        };
        Some(Smooth {
            lab: Lab::from_xyz(Xyz::new(of(0), of(1), of(2))),
            noise2: 0.0,
            off: [off(of(4), column, width), off(of(5), row, height)],
        })
    });
    let noise = noise(cells, &coarse).low(tent).low(tent);
    // A tent speaks for as many cells as 1 / ∫k²: 1.5 windows each way.
    let full = (3.0 * tent.half).powi(2);
    let covers = low.values.iter().map(|v| f64::from(v[3]));
    let places = coarse.values_mut().iter_mut().zip(covers);
    for ((place, cover), [sum, known]) in places.zip(noise.values) {
        // Where no noise is known, nothing is: it takes four cells of cloth together.
        *place = place.filter(|_| known > 0.0).map(|s| Smooth {
            noise2: f64::from(sum) / f64::from(known) / (cover * full).max(1.0),
            ..s
        });
    }
    coarse
}

impl<const N: usize> Grid<N> {
    /// Low-passed along rows, thinned to every `step` cells, and turned: its rows become columns.
    fn low(&self, Tent { half, step }: Tent) -> Self {
        let pad = half.ceil();
        let wide = self.boxed(self.width + 2 * pad as usize, half, |k| {
            k as f64 - pad + 0.5
        });
        let count = self.width.div_ceil(step);
        let thin = wide.boxed(count, half, |k| pad + (k as f64 + 0.5) * step as f64);
        let height = thin.values.len() / count;
        Grid {
            width: height,
            values: (0..count * height)
                .map(|at| thin.values[at % height * count + at / height])
                .collect(),
        }
    }

    /// Means over `half` cells to either side, along rows, at `count` places `at` in cells.
    fn boxed(&self, count: usize, half: f64, at: impl Fn(usize) -> f64) -> Self {
        let mut sums = vec![[0f64; N]; self.width + 1];
        let end = self.width as f64;
        // Where to read the running sum: a cell and how much of it.
        let place = |x: f64| {
            let x = x.clamp(0.0, end);
            let whole = (x as usize).min(self.width - 1);
            (whole, x - whole as f64)
        };
        let reads: Vec<_> = (0..count)
            .map(|k| (place(at(k) - half), place(at(k) + half)))
            .collect();
        let mut values = Vec::with_capacity(self.values.len() / self.width * count);
        for row in self.values.chunks_exact(self.width) {
            let mut sum = [0f64; N];
            for (value, kept) in row.iter().zip(&mut sums[1..]) {
                for (sum, v) in sum.iter_mut().zip(value) {
                    *sum += f64::from(*v);
                }
                *kept = sum;
            }
            values.extend(reads.iter().map(|&((a, fa), (b, fb))| -> [f32; N] {
                std::array::from_fn(|k| {
                    let to = sums[b][k] + (sums[b + 1][k] - sums[b][k]) * fb;
                    let from = sums[a][k] + (sums[a + 1][k] - sums[a][k]) * fa;
                    ((to - from) / (2.0 * half)) as f32
                })
            }));
        }
        Grid {
            width: count,
            values,
        }
    }
}

/// Variance of each cell's colour, CIEDE2000² near the low-passed colour there, and 1 where it
/// is known. It is had of four cells together, one diagonal against the other: a slope, or an
/// edge along rows or columns, cancels; noise that differs from cell to cell, and the weave, do
/// not. Noise that is alike over several cells is not seen.
fn noise<S>(cells: &Raster<Cell, S>, low: &Raster<Option<Smooth>, S>) -> Grid<2> {
    let width = cells.width();
    let mut values = vec![[0.0; 2]; cells.values().len()];
    for row in (0..cells.height().saturating_sub(1)).step_by(2) {
        for column in (0..width.saturating_sub(1)).step_by(2) {
            let four = [(0, 0), (1, 1), (1, 0), (0, 1)].map(|(c, r)| {
                let cell = cells.get(column + c, row + r);
                cell.filter(|cell| cell.is_cloth()).map(Cell::colour)
            });
            let near = low.at(cells.centre(column, row)).copied().flatten();
            let ([Some(a), Some(d), Some(b), Some(c)], Some(near)) = (four, near) else {
                continue;
            };
            let (one, two) = (Lab::from_xyz(mean(a, d)), Lab::from_xyz(mean(b, c)));
            let off = Lab::new(
                near.lab.l + NEARER * (two.l - one.l),
                near.lab.a + NEARER * (two.a - one.a),
                near.lab.b + NEARER * (two.b - one.b),
            );
            let apart = ciede2000(near.lab, off) / NEARER;
            for at in [0, 1, width, width + 1] {
                values[row * width + column + at] = [(apart * apart) as f32, 1.0];
            }
        }
    }
    Grid { width, values }
}

fn mean(a: Xyz, b: Xyz) -> Xyz {
    Xyz::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0, (a.z + b.z) / 2.0)
}
