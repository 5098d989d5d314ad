//! A small part of a photo in luminance.

use crate::adjust::median;
use crate::photo::Picture;

/// Luminance of the pixels about a place.
pub(super) struct Grey {
    left: i64,
    top: i64,
    width: usize,
    height: usize,
    values: Vec<f64>,
    /// Standard deviation of a pixel's noise.
    pub noise: f64,
}

impl Grey {
    /// All pixels within `reach` px of a place, along both axes, that the photo has.
    pub fn about(picture: &Picture, [x, y]: [f64; 2], reach: f64) -> Self {
        let range = |v: f64, n: usize| {
            let low = (v - reach).floor().clamp(0.0, n as f64 - 1.0);
            let high = (v + reach).ceil().clamp(low + 1.0, n as f64);
            (low as usize, high as usize)
        };
        let ((left, right), (top, bottom)) = (range(x, picture.width), range(y, picture.height));
        let mut values = Vec::with_capacity((right - left) * (bottom - top));
        for row in top..bottom {
            for column in left..right {
                values.push(picture.luminance(column as f64 + 0.5, row as f64 + 0.5));
            }
        }
        let mut grey = Self {
            left: left as i64,
            top: top as i64,
            width: right - left,
            height: bottom - top,
            values,
            noise: 0.0,
        };
        grey.noise = grey.scatter();
        grey
    }

    /// J. Immerkær, *Fast Noise Variance Estimation* (1996), with the median in place of
    /// the mean, so that edges don't count as noise.
    fn scatter(&self) -> f64 {
        let mut all = Vec::new();
        let at = |c: usize, r: usize| self.values[r * self.width + c];
        for r in 1..self.height.saturating_sub(1) {
            for c in 1..self.width.saturating_sub(1) {
                let corners =
                    at(c - 1, r - 1) + at(c + 1, r - 1) + at(c - 1, r + 1) + at(c + 1, r + 1);
                let sides = at(c - 1, r) + at(c + 1, r) + at(c, r - 1) + at(c, r + 1);
                all.push((corners - 2.0 * sides + 4.0 * at(c, r)).abs());
            }
        }
        // The mask's weights have a square sum of 36; the median of |normal| is 0.6745.
        median(&mut all) / 6.0 / 0.6745
    }

    /// Between pixel centres, held to the part.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let hold = |v: f64, n: usize| (v - 0.5).clamp(0.0, (n - 1) as f64);
        let x = hold(x - self.left as f64, self.width);
        let y = hold(y - self.top as f64, self.height);
        let (c, r) = (x as usize, y as usize);
        let (fx, fy) = (x - c as f64, y - r as f64);
        let (c1, r1) = ((c + 1).min(self.width - 1), (r + 1).min(self.height - 1));
        let v = |c: usize, r: usize| self.values[r * self.width + c];
        let upper = v(c, r) * (1.0 - fx) + v(c1, r) * fx;
        let lower = v(c, r1) * (1.0 - fx) + v(c1, r1) * fx;
        upper * (1.0 - fy) + lower * fy
    }

    /// Whether a place lies within the part by `margin` px.
    pub fn holds(&self, x: f64, y: f64, margin: f64) -> bool {
        let (x, y) = (x - self.left as f64, y - self.top as f64);
        let within = |v: f64, n: usize| v >= margin && v <= n as f64 - margin;
        within(x, self.width) && within(y, self.height)
    }

    /// Columns and rows.
    pub fn size(&self) -> [usize; 2] {
        [self.width, self.height]
    }

    pub fn value(&self, column: usize, row: usize) -> f64 {
        self.values[row * self.width + column]
    }

    /// Middle of a pixel of the part, in the photo's px.
    pub fn centre(&self, column: usize, row: usize) -> [f64; 2] {
        [
            (self.left + column as i64) as f64 + 0.5,
            (self.top + row as i64) as f64 + 0.5,
        ]
    }

    /// The pixel that a place lies in, held to the part.
    pub fn pixel(&self, [x, y]: [f64; 2]) -> [usize; 2] {
        let hold = |v: f64, n: usize| (v.max(0.0) as usize).min(n - 1);
        [
            hold(x - self.left as f64, self.width),
            hold(y - self.top as f64, self.height),
        ]
    }
}
