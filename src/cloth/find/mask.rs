//! Which cells of a raster are meant, and what hangs together among them.

/// Row by row, like the raster's cells.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mask {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) on: Vec<bool>,
}

impl Mask {
    pub(super) fn new(width: usize, height: usize, of: impl FnMut(usize) -> bool) -> Self {
        Self {
            width,
            height,
            on: (0..width * height).map(of).collect(),
        }
    }

    pub(super) fn not(&self) -> Self {
        Self::new(self.width, self.height, |k| !self.on[k])
    }

    /// Cells that share a side hang together: a number for each cell, 0 where there is none,
    /// and how many cells each number has ([0] is of those that are off).
    pub(super) fn parts(&self) -> (Vec<u32>, Vec<usize>) {
        let mut number = vec![0u32; self.on.len()];
        let mut counts = vec![0usize];
        let mut open = Vec::new();
        for first in 0..self.on.len() {
            if !self.on[first] {
                counts[0] += 1;
                continue;
            }
            if number[first] > 0 {
                continue;
            }
            let own = counts.len() as u32;
            counts.push(0);
            number[first] = own;
            open.push(first);
            while let Some(at) = open.pop() {
                counts[own as usize] += 1;
                let (c, r) = (at % self.width, at / self.width);
                let near = [
                    (c > 0).then(|| at - 1),
                    (c + 1 < self.width).then(|| at + 1),
                    (r > 0).then(|| at - self.width),
                    (r + 1 < self.height).then(|| at + self.width),
                ];
                for next in near.into_iter().flatten() {
                    if self.on[next] && number[next] == 0 {
                        number[next] = own;
                        open.push(next);
                    }
                }
            }
        }
        (number, counts)
    }

    /// With all that it encloses.
    pub(super) fn filled(&self) -> Self {
        let outside = self.not();
        let (number, counts) = outside.parts();
        let mut rim = vec![false; counts.len()];
        for (k, n) in number.iter().enumerate() {
            let (c, r) = (k % self.width, k / self.width);
            let at_rim = c == 0 || r == 0 || c + 1 == self.width || r + 1 == self.height;
            rim[*n as usize] |= at_rim && *n > 0;
        }
        Self::new(self.width, self.height, |k| {
            self.on[k] || !rim[number[k] as usize]
        })
    }

    /// From each cell that is on to the nearest that is off, in cells; beyond the raster all is
    /// off. By 5, 7 and 11 over 5 (G. Borgefors, *Distance transformations in digital images*,
    /// 1986): at most 2 % off.
    pub(super) fn depth(&self) -> Vec<f32> {
        self.to_off(0)
    }

    /// [`Self::depth`], with so much at what lies beyond the raster, in fifths of a cell.
    fn to_off(&self, beyond: u32) -> Vec<f32> {
        let (w, h) = (self.width as i64, self.height as i64);
        let far = u32::MAX / 2;
        let mut d: Vec<u32> = self.on.iter().map(|on| if *on { far } else { 0 }).collect();
        let half = [(-1, 0, 5), (0, -1, 5), (-1, -1, 7), (1, -1, 7)];
        let knight = [(-2, -1, 11), (2, -1, 11), (-1, -2, 11), (1, -2, 11)];
        let mut sweep = |backward: bool| {
            for k in 0..w * h {
                let at = if backward { w * h - 1 - k } else { k };
                if d[at as usize] == 0 {
                    continue;
                }
                let (c, r) = (at % w, at / w);
                for (dc, dr, by) in half.into_iter().chain(knight) {
                    let (dc, dr) = if backward { (-dc, -dr) } else { (dc, dr) };
                    let (c, r) = (c + dc, r + dr);
                    let inside = c >= 0 && r >= 0 && c < w && r < h;
                    let near = if inside {
                        d[(r * w + c) as usize]
                    } else {
                        beyond
                    };
                    d[at as usize] = d[at as usize].min(near + by);
                }
            }
        };
        sweep(false);
        sweep(true);
        d.into_iter().map(|v| v as f32 / 5.0).collect()
    }

    /// Without what is within `cells` of its edge.
    pub(super) fn shrunk(&self, cells: f32) -> Self {
        let depth = self.depth();
        Self::new(self.width, self.height, |k| depth[k] > cells)
    }

    pub(super) fn grown(&self, cells: f32) -> Self {
        let depth = self.not().to_off(u32::MAX / 2);
        Self::new(self.width, self.height, |k| depth[k] <= cells)
    }
}

/// Means over squares of `2 reach + 1` cells, of the cells that are numbers; NaN where there are
/// none.
pub(super) fn mean_about(values: &[f32], width: usize, reach: usize) -> Vec<f32> {
    let height = values.len() / width;
    let mut sums = vec![(0f64, 0u32); (width + 1) * (height + 1)];
    for r in 0..height {
        let mut line = (0f64, 0u32);
        for c in 0..width {
            let v = values[r * width + c];
            if v.is_finite() {
                line = (line.0 + f64::from(v), line.1 + 1);
            }
            let below = sums[r * (width + 1) + c + 1];
            sums[(r + 1) * (width + 1) + c + 1] = (below.0 + line.0, below.1 + line.1);
        }
    }
    let mut out = Vec::with_capacity(values.len());
    for r in 0..height {
        let (low, high) = (r.saturating_sub(reach), (r + reach + 1).min(height));
        for c in 0..width {
            let (left, right) = (c.saturating_sub(reach), (c + reach + 1).min(width));
            let at = |c: usize, r: usize| sums[r * (width + 1) + c];
            let (a, b, x, y) = (
                at(right, high),
                at(left, low),
                at(left, high),
                at(right, low),
            );
            let count = (a.1 + b.1) - (x.1 + y.1);
            let sum = a.0 + b.0 - x.0 - y.0;
            out.push(if count == 0 {
                f32::NAN
            } else {
                (sum / f64::from(count)) as f32
            });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring() -> Mask {
        Mask::new(30, 20, |k| {
            let (x, y) = ((k % 30) as f64 - 14.0, (k / 30) as f64 - 9.0);
            (4.0..8.0).contains(&x.hypot(y))
        })
    }

    #[test]
    fn a_ring_is_one_part_and_encloses_its_middle() {
        let (number, counts) = ring().parts();
        assert_eq!(counts.len(), 2);
        assert_eq!(number[9 * 30 + 14], 0);
        let full = ring().filled();
        assert!(full.on[9 * 30 + 14] && !full.on[0]);
    }

    #[test]
    fn depth_is_about_euclid_s() {
        let disc = ring().filled();
        let depth = disc.depth()[9 * 30 + 14];
        assert!((depth - 8.0).abs() < 0.3, "{depth}");
        assert_eq!(disc.grown(1.0).shrunk(1.0), disc);
    }

    #[test]
    fn means_pass_over_what_is_no_number() {
        let v = [1.0, f32::NAN, 3.0, 5.0];
        assert_eq!(mean_about(&v, 4, 1), [1.0, 2.0, 4.0, 4.0]);
    }
}
