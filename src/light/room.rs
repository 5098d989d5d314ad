//! Where a rectangle finds room: a grid of free cells, summed so that any
//! rectangle is looked up in four reads (summed-area table; Crow, SIGGRAPH 1984).

use crate::shape::{Region, pairs};
use crate::space::{Bounds, Point, Table};

/// Free and taken cells over a part of the table.
#[derive(Debug)]
pub struct Room {
    origin: Point<Table>,
    cell: f64,
    columns: usize,
    rows: usize,
    taken: Vec<bool>,
    /// Taken cells left of and below each grid corner.
    sums: Vec<u32>,
}

impl Room {
    /// A grid over `area` with cells of `cell` mm, all taken.
    pub fn new(area: Bounds<Table>, cell: f64) -> Self {
        let count = |length: f64| ((length / cell).ceil().max(1.0) as usize).min(4000);
        let (columns, rows) = (count(area.width()), count(area.height()));
        Self {
            origin: area.min,
            cell,
            columns,
            rows,
            taken: vec![true; columns * rows],
            sums: Vec::new(),
        }
    }

    /// Marks every cell whose middle lies in `region` as free or taken. A cell
    /// counts by its middle, so give regions shrunk or grown by [`Room::slack`]
    /// where a cell must be free whole.
    pub fn mark(&mut self, region: &Region<Table>, free: bool) {
        let mut crossings: Vec<(f64, i32)> = Vec::new();
        let Some(b) = region.bounds() else { return };
        let row_of = |y: f64| ((y - self.origin.y) / self.cell - 0.5).clamp(0.0, self.rows as f64);
        let (first, last) = (
            row_of(b.min.y).floor() as usize,
            row_of(b.max.y).ceil() as usize,
        );
        for row in first..last.min(self.rows.saturating_sub(1)) + 1 {
            if row >= self.rows {
                break;
            }
            let y = self.origin.y + (row as f64 + 0.5) * self.cell;
            crossings.clear();
            for (p, q) in region.rings.iter().flat_map(|r| pairs(r)) {
                if (p.y <= y) != (q.y <= y) {
                    let x = p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y));
                    crossings.push((x, if p.y <= y { 1 } else { -1 }));
                }
            }
            crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut winding = 0;
            for w in crossings.windows(2) {
                winding += w[0].1;
                if winding != 0 {
                    let column = |x: f64| {
                        ((x - self.origin.x) / self.cell - 0.5)
                            .ceil()
                            .clamp(0.0, self.columns as f64) as usize
                    };
                    let base = row * self.columns;
                    self.taken[base + column(w[0].0)..base + column(w[1].0)].fill(!free);
                }
            }
        }
        self.sums.clear();
    }

    /// Half a cell's diagonal: how far a cell reaches from its middle.
    pub fn slack(cell: f64) -> f64 {
        cell * std::f64::consts::FRAC_1_SQRT_2
    }

    fn sum_up(&mut self) {
        let wide = self.columns + 1;
        self.sums = vec![0; wide * (self.rows + 1)];
        for row in 0..self.rows {
            let mut run = 0;
            for column in 0..self.columns {
                run += u32::from(self.taken[row * self.columns + column]);
                self.sums[(row + 1) * wide + column + 1] = self.sums[row * wide + column + 1] + run;
            }
        }
    }

    /// The middle of a free rectangle of the given size, as near to `wish` as
    /// the grid tells.
    pub fn place(&mut self, width: f64, height: f64, wish: Point<Table>) -> Option<Point<Table>> {
        if self.sums.is_empty() {
            self.sum_up();
        }
        let cells = |length: f64| (length / self.cell).ceil().max(1.0) as usize;
        let (w, h) = (cells(width), cells(height));
        if w > self.columns || h > self.rows {
            return None;
        }
        let wide = self.columns + 1;
        let mut best: Option<(f64, Point<Table>)> = None;
        for row in 0..=self.rows - h {
            for column in 0..=self.columns - w {
                let at = |r: usize, c: usize| self.sums[r * wide + c];
                let taken = at(row + h, column + w) + at(row, column)
                    - at(row, column + w)
                    - at(row + h, column);
                if taken == 0 {
                    let middle = Point::new(
                        self.origin.x + (column as f64 + w as f64 / 2.0) * self.cell,
                        self.origin.y + (row as f64 + h as f64 / 2.0) * self.cell,
                    );
                    let far = (middle - wish).square_length();
                    if best.is_none_or(|(old, _)| far < old) {
                        best = Some((far, middle));
                    }
                }
            }
        }
        best.map(|(_, middle)| middle)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_is_put_beside_what_is_taken() {
        let area = Bounds::new(Point::new(0.0, 0.0), Point::new(100.0, 60.0));
        let mut room = Room::new(area, 1.0);
        let all = Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(100.0, 0.0),
            Point::new(100.0, 60.0),
            Point::new(0.0, 60.0),
        ]);
        room.mark(&all, true);
        room.mark(&Region::disc(Point::new(50.0, 30.0), 10.0), false);
        let at = room.place(20.0, 10.0, Point::new(50.0, 30.0)).unwrap();
        assert!(
            at.x.mul_add(1.0, -50.0).abs() >= 15.0 || (at.y - 30.0).abs() >= 14.0,
            "{at:?}"
        );
        assert!((at - Point::new(50.0, 30.0)).length() < 21.0);
        assert!(room.place(99.0, 59.0, Point::new(50.0, 30.0)).is_none());
    }
}
