//! Which cells of a grid a region touches, and which lie wholly in it; sets of cells as
//! bits, row by row.

use crate::shape::{Region, pairs};
use crate::space::Point;

/// What reaches into a cell by less than this share of its side does not touch it: edges
/// along the grid's lines lie in neither of the two cells.
const TOUCH: f64 = 1e-6;

/// Square cells from a corner up and to the right.
#[derive(Debug)]
pub struct Grid<S> {
    pub origin: Point<S>,
    /// Side of a cell, mm.
    pub cell: f64,
}

/// Cells `from` to before `to` of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Run {
    pub row: i32,
    pub from: i32,
    pub to: i32,
}

impl<S> Grid<S> {
    fn local(&self, p: Point<S>) -> (f64, f64) {
        let v = (p - self.origin) / self.cell;
        (v.x, v.y)
    }

    /// Runs of cells that the region's outline passes through, of the first `rows` rows
    /// from `first`.
    pub fn outline(&self, region: &Region<S>, first: i32, rows: i32) -> Vec<Run> {
        let mut runs = Vec::new();
        for (p, q) in region.rings.iter().flat_map(|r| pairs(r)) {
            let (p, q) = (self.local(p), self.local(q));
            let (low, high) = if p.1 <= q.1 { (p, q) } else { (q, p) };
            let start = ((low.1 + TOUCH).floor() as i32).max(first);
            let end = ((high.1 - TOUCH).ceil() as i32).min(first.saturating_add(rows));
            let slope = (high.0 - low.0) / (high.1 - low.1);
            for row in start..end {
                // The part of the edge in this row of cells.
                let x = |y: f64| match slope.is_finite() {
                    true => low.0 + slope * (y.clamp(low.1, high.1) - low.1),
                    false => low.0,
                };
                let (a, mut b) = (x(f64::from(row)), x(f64::from(row) + 1.0));
                if !slope.is_finite() {
                    b = high.0;
                }
                let from = (a.min(b) + TOUCH).floor() as i32;
                let to = (a.max(b) - TOUCH).ceil() as i32;
                if from < to {
                    runs.push(Run { row, from, to });
                }
            }
        }
        runs
    }

    /// Runs of cells whose middles lie in the region, of the first `rows` rows from
    /// `first`.
    pub fn middles(&self, region: &Region<S>, first: i32, rows: i32) -> Vec<Run> {
        // (row, where its middle line crosses an edge, which way the edge runs)
        let mut crossings: Vec<(i32, f64, i32)> = Vec::new();
        for (p, q) in region.rings.iter().flat_map(|r| pairs(r)) {
            let (p, q) = (self.local(p), self.local(q));
            let (low, high, way) = if p.1 <= q.1 { (p, q, 1) } else { (q, p, -1) };
            let start = ((low.1 - 0.5).ceil() as i32).max(first);
            let end = ((high.1 - 0.5).ceil() as i32).min(first.saturating_add(rows));
            for row in start..end {
                let t = (f64::from(row) + 0.5 - low.1) / (high.1 - low.1);
                crossings.push((row, low.0 + t * (high.0 - low.0), way));
            }
        }
        crossings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut runs = Vec::new();
        let mut winding = 0;
        for w in crossings.windows(2) {
            let ((row, a, way), (next, b, _)) = (w[0], w[1]);
            winding += way;
            if row != next {
                winding = 0;
                continue;
            }
            let (from, to) = ((a - 0.5).ceil() as i32, (b - 0.5).floor() as i32 + 1);
            if winding != 0 && from < to {
                runs.push(Run { row, from, to });
            }
        }
        runs
    }

    /// Runs of all cells that a region touches, merged, in order.
    pub fn touched(&self, region: &Region<S>, first: i32, rows: i32) -> Vec<Run> {
        let mut runs = self.outline(region, first, rows);
        runs.extend(self.middles(region, first, rows));
        merged(runs)
    }

    /// Runs of the cells that lie wholly in a region, in order.
    pub fn within(&self, region: &Region<S>, first: i32, rows: i32) -> Vec<Run> {
        let holes = merged(self.outline(region, first, rows));
        let mut left = Vec::new();
        let mut at = 0;
        for mut run in merged(self.middles(region, first, rows)) {
            while at < holes.len() && (holes[at].row, holes[at].to) <= (run.row, run.from) {
                at += 1;
            }
            let mut k = at;
            while k < holes.len() && holes[k].row == run.row && holes[k].from < run.to {
                if holes[k].from > run.from {
                    left.push(Run {
                        to: holes[k].from,
                        ..run
                    });
                }
                run.from = holes[k].to;
                k += 1;
            }
            if run.from < run.to {
                left.push(run);
            }
        }
        left
    }
}

fn merged(mut runs: Vec<Run>) -> Vec<Run> {
    runs.sort_unstable();
    let mut out: Vec<Run> = Vec::with_capacity(runs.len());
    for run in runs {
        match out.last_mut() {
            Some(last) if last.row == run.row && run.from <= last.to => {
                last.to = last.to.max(run.to);
            }
            _ => out.push(run),
        }
    }
    out
}

/// A set of cells: a bit each, 64 to a word, rows padded with empty words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cells {
    pub width: usize,
    pub height: usize,
    /// Words from one row to the next.
    pub stride: usize,
    pub words: Vec<u64>,
}

impl Cells {
    /// No cells, with `pad` words that stay empty after each row.
    pub fn none(width: usize, height: usize, pad: usize) -> Self {
        let stride = width.div_ceil(64) + pad;
        Self {
            width,
            height,
            stride,
            words: vec![0; stride * height],
        }
    }

    /// Puts the cells of a run in, or takes them out; what lies outside is left away.
    pub fn put(&mut self, run: Run, is: bool) {
        let Ok(row) = usize::try_from(run.row) else {
            return;
        };
        let held = |x: i32| (x.max(0) as usize).min(self.width);
        let (from, to) = (held(run.from), held(run.to));
        if row >= self.height || from >= to {
            return;
        }
        let words = &mut self.words[row * self.stride..(row + 1) * self.stride];
        for (w, word) in words
            .iter_mut()
            .enumerate()
            .take(to.div_ceil(64))
            .skip(from / 64)
        {
            let low = from.saturating_sub(64 * w).min(63);
            let high = (to - 64 * w).min(64);
            let mask = (u64::MAX << low) & (u64::MAX >> (64 - high));
            if is {
                *word |= mask;
            } else {
                *word &= !mask;
            }
        }
    }

    /// Whether a cell is in the set; no cell outside is.
    pub fn has(&self, x: i32, y: i32) -> bool {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else {
            return false;
        };
        let word = || self.words[y * self.stride + x / 64];
        x < self.width && y < self.height && word() >> (x % 64) & 1 == 1
    }

    /// How many of a row's cells from `from` to before `to` are in the set.
    pub fn count_in(&self, row: i32, from: i32, to: i32) -> u32 {
        let Ok(y) = usize::try_from(row) else {
            return 0;
        };
        let held = |x: i32| (x.max(0) as usize).min(self.width);
        let (from, to) = (held(from), held(to));
        if y >= self.height || from >= to {
            return 0;
        }
        let words = (from / 64)..to.div_ceil(64);
        words
            .map(|w| {
                let low = from.saturating_sub(64 * w).min(63);
                let high = (to - 64 * w).min(64);
                let mask = (u64::MAX << low) & (u64::MAX >> (64 - high));
                (self.words[y * self.stride + w] & mask).count_ones()
            })
            .sum()
    }

    pub fn row(&self, y: usize) -> &[u64] {
        &self.words[y * self.stride..(y + 1) * self.stride]
    }

    /// Only those that are in the other set too, which has the same shape.
    pub fn keep(&mut self, other: &Cells) {
        for (own, other) in self.words.iter_mut().zip(&other.words) {
            *own &= other;
        }
    }
}
