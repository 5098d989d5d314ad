//! The photo at a size at which regions are looked for: each cell is the mean of a square
//! of pixels.

use crate::colour::luminance_f32;
use crate::photo::Picture;

/// Cells along the longer side, at most.
const CELLS: usize = 800;

/// Cells of `step` by `step` pixels, linear light.
pub struct Coarse {
    pub step: usize,
    pub width: usize,
    pub height: usize,
    pub light: Vec<[f32; 3]>,
}

impl Coarse {
    pub fn of(picture: &Picture) -> Self {
        let step = picture.width.max(picture.height).div_ceil(CELLS).max(1);
        let (width, height) = (picture.width / step, picture.height / step);
        let share = 1.0 / (step * step) as f32;
        let mut light = Vec::with_capacity(width * height);
        for row in 0..height {
            for column in 0..width {
                let mut sum = [0.0; 3];
                for y in row * step..(row + 1) * step {
                    for x in column * step..(column + 1) * step {
                        let l = picture.light(x, y);
                        for (sum, l) in sum.iter_mut().zip(l) {
                            *sum += l * share;
                        }
                    }
                }
                light.push(sum);
            }
        }
        Self {
            step,
            width,
            height,
            light,
        }
    }

    /// The photo's px at a cell's middle.
    pub fn middle(&self, cell: usize) -> [f64; 2] {
        let half = |k: usize| (k as f64 + 0.5) * self.step as f64;
        [half(cell % self.width), half(cell / self.width)]
    }

    /// The cell that covers a place in the photo, if one does.
    pub fn cell(&self, px: [f64; 2]) -> Option<usize> {
        let (x, y) = (px[0] / self.step as f64, px[1] / self.step as f64);
        let inside = x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64;
        inside.then(|| y as usize * self.width + x as usize)
    }

    /// How bright each cell is to the eye.
    pub fn luminance(&self) -> Vec<f32> {
        self.light.iter().map(|&l| luminance_f32(l)).collect()
    }
}

/// Cells that hang together by their sides.
#[derive(Debug)]
pub struct Component {
    pub cells: Vec<usize>,
    /// Whether one of them lies at the picture's edge.
    pub at_edge: bool,
}

/// The components of the cells for which `is` holds, largest first.
pub fn components(width: usize, height: usize, is: &[bool]) -> Vec<Component> {
    let mut left = is.to_vec();
    let mut found = Vec::new();
    for start in 0..left.len() {
        if !std::mem::take(&mut left[start]) {
            continue;
        }
        let mut component = Component {
            cells: vec![start],
            at_edge: false,
        };
        let mut next = 0;
        while let Some(&cell) = component.cells.get(next) {
            next += 1;
            let (x, y) = (cell % width, cell / width);
            component.at_edge |= x == 0 || y == 0 || x + 1 == width || y + 1 == height;
            let beside = [
                (x > 0).then(|| cell - 1),
                (x + 1 < width).then_some(cell + 1),
                (y > 0).then(|| cell - width),
                (y + 1 < height).then_some(cell + width),
            ];
            for cell in beside.into_iter().flatten() {
                if std::mem::take(&mut left[cell]) {
                    component.cells.push(cell);
                }
            }
        }
        found.push(component);
    }
    found.sort_by_key(|c| std::cmp::Reverse(c.cells.len()));
    found
}

/// Grown (`by` > 0) or shrunk by so many cells, in a square; beyond the picture nothing is.
pub fn grown(width: usize, height: usize, is: &[bool], by: usize, shrink: bool) -> Vec<bool> {
    // One pass along rows, one along columns: a square is both.
    let pass =
        |from: &[bool], along: usize, across: usize, index: &dyn Fn(usize, usize) -> usize| {
            let mut out = vec![false; from.len()];
            for line in 0..across {
                // How many of the wanted kind lie within reach.
                let wanted = |k: usize| from[index(line, k)] != shrink;
                let mut count = (0..by.min(along)).filter(|&k| wanted(k)).count();
                for k in 0..along {
                    if k + by < along && wanted(k + by) {
                        count += 1;
                    }
                    if k > by && wanted(k - by - 1) {
                        count -= 1;
                    }
                    out[index(line, k)] = (count > 0) != shrink;
                }
            }
            out
        };
    let rows = pass(is, width, height, &|line, k| line * width + k);
    pass(&rows, height, width, &|line, k| k * width + line)
}
