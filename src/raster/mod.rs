//! Square cells over a plane in mm: what is known of a surface place by place, such as its
//! light, its shade, or whether there is cloth.

mod sums;

pub use sums::Sums;

use crate::space::{Bounds, Point, Vector};

/// One value a cell. Cells lie row by row from the smallest y up, in a row from the smallest
/// x up: cell (0, 0) covers `origin` to `origin` + (`cell`, `cell`).
#[derive(Debug, Clone, PartialEq)]
pub struct Raster<T, S> {
    origin: Point<S>,
    cell: f64,
    width: usize,
    height: usize,
    values: Vec<T>,
}

impl<T, S> Raster<T, S> {
    /// Cells over a rectangle at least: as many of `cell` mm as are needed to cover it, each
    /// with what `of` says of its column, row and centre.
    ///
    /// # Panics
    /// If the cell's side is not positive or the rectangle not finite.
    pub fn over(
        bounds: Bounds<S>,
        cell: f64,
        mut of: impl FnMut(usize, usize, Point<S>) -> T,
    ) -> Self {
        assert!(cell > 0.0 && bounds.min.is_finite() && bounds.max.is_finite());
        // A rectangle of whole cells stays one, whatever division makes of it.
        let count = |length: f64| ((length / cell - 1e-9).ceil() as usize).max(1);
        let (width, height) = (count(bounds.width()), count(bounds.height()));
        let mut raster = Self {
            origin: bounds.min,
            cell,
            width,
            height,
            values: Vec::with_capacity(width * height),
        };
        for row in 0..height {
            for column in 0..width {
                let value = of(column, row, raster.centre(column, row));
                raster.values.push(value);
            }
        }
        raster
    }

    /// The same cells with other values.
    pub fn map<U>(&self, of: impl FnMut(&T) -> U) -> Raster<U, S> {
        Raster {
            origin: self.origin,
            cell: self.cell,
            width: self.width,
            height: self.height,
            values: self.values.iter().map(of).collect(),
        }
    }

    /// Side of a cell, mm.
    pub fn cell(&self) -> f64 {
        self.cell
    }

    /// Cells in a row.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> usize {
        self.height
    }

    /// All that the cells cover.
    pub fn bounds(&self) -> Bounds<S> {
        let size = Vector::new(self.width as f64, self.height as f64) * self.cell;
        Bounds::new(self.origin, self.origin + size)
    }

    /// Middle of a cell, which need not exist.
    pub fn centre(&self, column: usize, row: usize) -> Point<S> {
        self.origin + Vector::new(column as f64 + 0.5, row as f64 + 0.5) * self.cell
    }

    /// The cell that a place lies in.
    pub fn cell_at(&self, p: Point<S>) -> Option<(usize, usize)> {
        let v = (p - self.origin) / self.cell;
        let within = v.x >= 0.0 && v.y >= 0.0;
        let (column, row) = (v.x as usize, v.y as usize);
        (within && column < self.width && row < self.height).then_some((column, row))
    }

    /// A cell's value; `None` outside.
    pub fn get(&self, column: usize, row: usize) -> Option<&T> {
        if column >= self.width {
            return None;
        }
        self.values.get(row * self.width + column)
    }

    /// A cell's value, to be changed; `None` outside.
    pub fn get_mut(&mut self, column: usize, row: usize) -> Option<&mut T> {
        if column >= self.width {
            return None;
        }
        self.values.get_mut(row * self.width + column)
    }

    /// The value at a place; `None` outside.
    pub fn at(&self, p: Point<S>) -> Option<&T> {
        let (column, row) = self.cell_at(p)?;
        self.get(column, row)
    }

    /// All values, row by row.
    pub fn values(&self) -> &[T] {
        &self.values
    }

    /// All values, row by row, to be changed.
    pub fn values_mut(&mut self) -> &mut [T] {
        &mut self.values
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    fn numbered() -> Raster<usize, Table> {
        let bounds = Bounds::new(Point::new(-1.0, 2.0), Point::new(0.5, 3.0));
        Raster::over(bounds, 0.5, |column, row, _| 10 * row + column)
    }

    #[test]
    fn cells_run_from_the_lower_left() {
        let r = numbered();
        assert_eq!((r.width(), r.height()), (3, 2));
        assert_eq!(r.values(), [0, 1, 2, 10, 11, 12]);
        assert_eq!(r.centre(0, 0), Point::new(-0.75, 2.25));
        assert_eq!(r.at(Point::new(0.4, 2.9)), Some(&12));
        assert_eq!(r.at(Point::new(0.6, 2.9)), None);
        assert_eq!(r.at(Point::new(-1.01, 2.9)), None);
        assert_eq!(r.get(3, 0), None);
    }

    #[test]
    fn cells_cover_the_rectangle_and_no_cell_more() {
        let bounds: Bounds<Table> = Bounds::new(Point::zero(), Point::new(0.3, 0.31));
        let r = Raster::over(bounds, 0.1, |_, _, _| ());
        assert_eq!((r.width(), r.height()), (3, 4));
        assert!(r.bounds().contains_box(&bounds) || (r.bounds().max.x - 0.3).abs() < 1e-12);
    }
}
