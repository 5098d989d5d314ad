//! Sums over rectangles of cells in constant time: the summed-area table (Crow, *Summed-area
//! tables for texture mapping*, SIGGRAPH 1984).

use super::Raster;

/// Running sums of a raster's cells and how many of them count.
#[derive(Debug, Clone)]
pub struct Sums {
    width: usize,
    height: usize,
    /// (sum, count) of all cells left of and below each corner of cells.
    corners: Vec<(f64, u32)>,
}

impl Sums {
    /// Sums what `of` says of each cell; `None`, and what is no number, does not count.
    pub fn of<T, S>(raster: &Raster<T, S>, of: impl Fn(&T) -> Option<f64>) -> Self {
        let (width, height) = (raster.width(), raster.height());
        let mut corners = vec![(0.0, 0); (width + 1) * (height + 1)];
        for (row, cells) in raster.values().chunks(width).enumerate() {
            let mut line = (0.0, 0);
            for (column, cell) in cells.iter().enumerate() {
                if let Some(v) = of(cell).filter(|v| v.is_finite()) {
                    line = (line.0 + v, line.1 + 1);
                }
                let below = corners[row * (width + 1) + column + 1];
                corners[(row + 1) * (width + 1) + column + 1] =
                    (below.0 + line.0, below.1 + line.1);
            }
        }
        Self {
            width,
            height,
            corners,
        }
    }

    /// Sum and count over columns and rows `from` up to but not with `to`, held to the raster.
    pub fn over(&self, from: [usize; 2], to: [usize; 2]) -> (f64, u32) {
        let hold = |[c, r]: [usize; 2]| [c.min(self.width), r.min(self.height)];
        let ([l, b], [r, t]) = (hold(from), hold(to));
        if l >= r || b >= t {
            return (0.0, 0);
        }
        let at = |c: usize, r: usize| self.corners[r * (self.width + 1) + c];
        let (all, left, below, both) = (at(r, t), at(l, t), at(r, b), at(l, b));
        (
            all.0 - left.0 - below.0 + both.0,
            all.1 + both.1 - left.1 - below.1,
        )
    }

    /// Mean over the square of `2 reach + 1` cells about a cell; `None` if none counts there.
    pub fn mean_about(&self, column: usize, row: usize, reach: usize) -> Option<f64> {
        let from = [column.saturating_sub(reach), row.saturating_sub(reach)];
        let (sum, count) = self.over(from, [column + reach + 1, row + reach + 1]);
        (count > 0).then(|| sum / f64::from(count))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Bounds, Point, Table};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn sums_are_those_of_the_cells_one_by_one(
            cells in prop::collection::vec(prop::option::of(-9.0..9.0f64), 35),
            from in prop::array::uniform2(0usize..8), to in prop::array::uniform2(0usize..9),
        ) {
            let bounds: Bounds<Table> = Bounds::new(Point::zero(), Point::new(7.0, 5.0));
            let raster = Raster::over(bounds, 1.0, |c, r, _| cells[r * 7 + c]);
            let sums = Sums::of(&raster, |v| *v);
            let within = |c: usize, r: usize| (from[0]..to[0]).contains(&c) && (from[1]..to[1]).contains(&r);
            let all = (0..5).flat_map(|r| (0..7).map(move |c| (c, r)));
            let counted: Vec<f64> = all.filter(|&(c, r)| within(c, r)).filter_map(|(c, r)| cells[r * 7 + c]).collect();
            let (sum, count) = sums.over(from, to);
            prop_assert_eq!(count as usize, counted.len());
            prop_assert!((sum - counted.iter().sum::<f64>()).abs() < 1e-9);
        }
    }
}
