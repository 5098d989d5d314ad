//! A photo made smaller and grey, for finding tags in: each level half the one before.

use crate::photo::Picture;

/// Longest side of the finest level, px: a tag of 50 mm is 80 px there if the photo shows 1.2 m.
const FINEST: usize = 2400;
/// Shorter side of the coarsest level, px.
const COARSEST: usize = 100;
/// Half the window that a pixel is compared with, px.
const AROUND: usize = 12;
/// By how much a pixel must be darker than the mean about it to be black, of 255: noise on plain
/// ground is not.
const DARKER: i32 = 6;

/// One level.
pub(super) struct Grey {
    pub width: usize,
    pub height: usize,
    /// Photo pixels along the side of a pixel here.
    pub step: usize,
    /// Square root of linear light, 0 to 255, row by row: near to how the eye spaces greys,
    /// and noise of counted light is the same in dark and bright.
    values: Vec<u8>,
}

impl Grey {
    /// The finest level: means over squares of photo pixels. What is left over at the right
    /// and lower sides, less than a square, is not looked at.
    pub fn finest(picture: &Picture) -> Self {
        let longest = picture.width.max(picture.height);
        let step = longest.div_ceil(FINEST);
        let (width, height) = (picture.width / step, picture.height / step);
        let mut values = Vec::with_capacity(width * height);
        let mut row = vec![0.0f32; width];
        let share = 1.0 / (4 * step * step) as f32;
        for y in 0..height {
            row.fill(0.0);
            for y in y * step..(y + 1) * step {
                for (x, sum) in row.iter_mut().enumerate() {
                    for x in x * step..(x + 1) * step {
                        let [red, green, blue] = picture.light(x, y);
                        *sum += red + 2.0 * green + blue;
                    }
                }
            }
            values.extend(row.iter().map(|sum| code(sum * share)));
        }
        let level = Self {
            width,
            height,
            step,
            values,
        };
        // Where nothing was averaged, noise is taken off first.
        if step == 1 { level.smoothed() } else { level }
    }

    /// The next level, half as wide; `None` where tags would be too small to be told.
    pub fn coarser(&self) -> Option<Self> {
        let (width, height) = (self.width / 2, self.height / 2);
        if width.min(height) < COARSEST {
            return None;
        }
        let mut values = Vec::with_capacity(width * height);
        for y in 0..height {
            let upper = self.values[2 * y * self.width..].chunks_exact(2);
            let lower = self.values[(2 * y + 1) * self.width..].chunks_exact(2);
            let mean = |(a, b): (&[u8], &[u8])| {
                let square = |v: u8| u32::from(v) * u32::from(v);
                let sum: u32 = a.iter().chain(b).map(|v| square(*v)).sum();
                // Light is averaged, not its root.
                (sum as f32 / 4.0).sqrt().round() as u8
            };
            values.extend(upper.zip(lower).take(width).map(mean));
        }
        Some(Self {
            width,
            height,
            step: 2 * self.step,
            values,
        })
    }

    /// Each pixel's mean with its eight neighbours, weighed 1 2 1 either way.
    fn smoothed(self) -> Self {
        let (width, height) = (self.width, self.height);
        let mut values = Vec::with_capacity(width * height);
        for y in 0..height {
            let row = |y: usize| &self.values[y * width..(y + 1) * width];
            let [above, here, below] = [y.saturating_sub(1), y, (y + 1).min(height - 1)].map(row);
            let column =
                |x: usize| u32::from(above[x]) + 2 * u32::from(here[x]) + u32::from(below[x]);
            for x in 0..width {
                let sum =
                    column(x.saturating_sub(1)) + 2 * column(x) + column((x + 1).min(width - 1));
                values.push(((sum + 8) / 16) as u8);
            }
        }
        Self { values, ..self }
    }

    /// Between pixel centres, held to the level. `x` and `y` in this level's pixels, the first
    /// pixel's centre at (0.5, 0.5).
    pub fn between(&self, x: f64, y: f64) -> f64 {
        let hold = |v: f64, n: usize| (v - 0.5).clamp(0.0, (n - 1) as f64);
        let (x, y) = (hold(x, self.width), hold(y, self.height));
        let (column, row) = (x as usize, y as usize);
        let (fx, fy) = (x - column as f64, y - row as f64);
        let right = (column + 1).min(self.width - 1);
        let low = (row + 1).min(self.height - 1);
        let at = |x: usize, y: usize| f64::from(self.values[y * self.width + x]);
        let upper = at(column, row) * (1.0 - fx) + at(right, row) * fx;
        let lower = at(column, low) * (1.0 - fx) + at(right, low) * fx;
        upper * (1.0 - fy) + lower * fy
    }

    /// Calls `row` with each row's number and which of its pixels are darker than what is
    /// about them: a window of 25 px, less of it at the sides.
    pub fn dark_rows(&self, mut row: impl FnMut(usize, &[bool])) {
        let (width, height) = (self.width, self.height);
        // Sums down each column over the window's rows.
        let mut down = vec![0u32; width];
        let mut dark = vec![false; width];
        let line = |y: usize| &self.values[y * width..(y + 1) * width];
        let mut rows = 0u32;
        for y in 0..AROUND.min(height) {
            rows += 1;
            for (sum, v) in down.iter_mut().zip(line(y)) {
                *sum += u32::from(*v);
            }
        }
        for y in 0..height {
            if y + AROUND < height {
                rows += 1;
                for (sum, v) in down.iter_mut().zip(line(y + AROUND)) {
                    *sum += u32::from(*v);
                }
            }
            if y > AROUND {
                rows -= 1;
                for (sum, v) in down.iter_mut().zip(line(y - AROUND - 1)) {
                    *sum -= u32::from(*v);
                }
            }
            let mut sum: u32 = down.iter().take(AROUND.min(width)).sum();
            let mut columns = AROUND.min(width) as u32;
            for (x, (dark, v)) in dark.iter_mut().zip(line(y)).enumerate() {
                if let Some(more) = down.get(x + AROUND) {
                    sum += more;
                    columns += 1;
                }
                if x > AROUND {
                    sum -= down[x - AROUND - 1];
                    columns -= 1;
                }
                let count = (rows * columns) as i32;
                *dark = (i32::from(*v) + DARKER) * count < sum as i32;
            }
            row(y, &dark);
        }
    }
}

fn code(light: f32) -> u8 {
    (light.sqrt() * 255.0).round() as u8
}

#[cfg(test)]
impl Grey {
    pub fn painted(width: usize, height: usize, of: impl Fn(usize, usize) -> u8) -> Self {
        let values = (0..width * height).map(|k| of(k % width, k / width));
        Self {
            width,
            height,
            step: 1,
            values: values.collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dark_is_what_a_plain_count_says() {
        // Noise of a fixed rule, over a ramp.
        let of = |x: usize, y: usize| ((x * x * 31 + y * 17 + x * y * 7) % 90 + x) as u8;
        let grey = Grey::painted(70, 41, of);
        let mut seen = 0;
        grey.dark_rows(|y, dark| {
            for (x, dark) in dark.iter().enumerate() {
                let (mut sum, mut count) = (0, 0);
                for v in y.saturating_sub(AROUND)..(y + AROUND + 1).min(41) {
                    for u in x.saturating_sub(AROUND)..(x + AROUND + 1).min(70) {
                        sum += i32::from(of(u, v));
                        count += 1;
                    }
                }
                assert_eq!(*dark, (i32::from(of(x, y)) + DARKER) * count < sum);
                seen += usize::from(*dark);
            }
        });
        assert!(seen > 500);
    }

    #[test]
    fn halving_averages_light() {
        // Half black and half white is half the light: √½ of 255.
        let stripes = Grey::painted(300, 260, |x, _| if x % 2 == 0 { 0 } else { 255 });
        let half = stripes.coarser().unwrap();
        assert_eq!((half.width, half.height, half.step), (150, 130, 2));
        assert!(half.values.iter().all(|v| *v == 180));
        assert!(half.coarser().is_none());
    }
}
