//! A part of a raster about some cells, so that what is small costs little.

use super::mask::Mask;
use crate::raster::Raster;
use crate::space::{Bounds, Vector};

#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    /// Width of the whole.
    whole: usize,
    low: [usize; 2],
    size: [usize; 2],
}

impl Window {
    /// About cells of a raster of so many columns and rows, and `margin` cells more to each side
    /// as far as there are any.
    pub(super) fn about(cells: &[usize], [width, height]: [usize; 2], margin: usize) -> Self {
        let mut columns = cells.iter().map(|k| k % width);
        let mut rows = cells.iter().map(|k| k / width);
        let span = |all: &mut dyn Iterator<Item = usize>, most: usize| {
            let (low, high) = all.fold((most, 0), |(a, b), v| (a.min(v), b.max(v)));
            let low = low.saturating_sub(margin);
            (low, (high + margin + 1).min(most).saturating_sub(low))
        };
        let (c, w) = span(&mut columns, width);
        let (r, h) = span(&mut rows, height);
        Self {
            whole: width,
            low: [c, r],
            size: [w, h],
        }
    }

    /// The whole's number of a cell of the window.
    fn cell(&self, k: usize) -> usize {
        let (c, r) = (k % self.size[0], k / self.size[0]);
        (r + self.low[1]) * self.whole + c + self.low[0]
    }

    pub(super) fn mask(&self, of: impl Fn(usize) -> bool) -> Mask {
        Mask::new(self.size[0], self.size[1], |k| of(self.cell(k)))
    }

    /// Cells where the whole has them; `of` is told the window's own number and the whole's.
    pub(super) fn raster<T, S>(
        &self,
        whole: &Raster<T, S>,
        of: impl Fn(usize, usize) -> f32,
    ) -> Raster<f32, S> {
        let cell = whole.cell();
        let low = whole.bounds().min + Vector::new(self.low[0] as f64, self.low[1] as f64) * cell;
        let size = Vector::new(self.size[0] as f64, self.size[1] as f64) * cell;
        Raster::over(Bounds::new(low, low + size), cell, |c, r, _| {
            let own = r * self.size[0] + c;
            of(own, self.cell(own))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Point, Table};

    #[test]
    fn a_window_has_the_whole_s_cells_where_the_whole_has_them() {
        let bounds: Bounds<Table> = Bounds::new(Point::new(3.0, 4.0), Point::new(13.0, 9.0));
        let whole = Raster::over(bounds, 1.0, |c, r, _| (10 * r + c) as f32);
        let window = Window::about(&[23, 35], [10, 5], 1);
        let part = window.raster(&whole, |_, k| whole.values()[k]);
        assert_eq!((part.width(), part.height()), (5, 4));
        for r in 0..4 {
            for c in 0..5 {
                assert_eq!(whole.at(part.centre(c, r)), part.get(c, r));
            }
        }
        assert_eq!(
            window.mask(|k| k == 23).on.iter().position(|on| *on),
            Some(6)
        );
    }
}
