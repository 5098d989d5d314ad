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

    /// The place, as near to `wish` as the grid tells, about which all of
    /// `boxes` (given about the origin) are free.
    pub fn place(&mut self, boxes: &[Bounds<Table>], wish: Point<Table>) -> Option<Point<Table>> {
        if self.sums.is_empty() {
            self.sum_up();
        }
        // Each box as cells from the place's own cell: left, bottom, right, top.
        let down = |v: f64| (v / self.cell - 0.5).floor() as i64;
        let up = |v: f64| (v / self.cell + 0.5).ceil() as i64;
        let boxes: Vec<[i64; 4]> = boxes
            .iter()
            .map(|b| [down(b.min.x), down(b.min.y), up(b.max.x), up(b.max.y)])
            .collect();
        let reach = |k: usize| boxes.iter().map(move |b| b[k]);
        let (left, bottom) = (reach(0).min()?, reach(1).min()?);
        let (right, top) = (reach(2).max()?, reach(3).max()?);
        let wide = self.columns + 1;
        let sum = |column: i64, row: i64| self.sums[row as usize * wide + column as usize];
        let taken = |[l, b, r, t]: [i64; 4], c: i64, y: i64| {
            sum(c + r, y + t) + sum(c + l, y + b) - sum(c + r, y + b) - sum(c + l, y + t)
        };
        let mut best: Option<(f64, Point<Table>)> = None;
        for row in -bottom..=self.rows as i64 - top {
            for column in -left..=self.columns as i64 - right {
                // The middle of the cell that stands right and above of the corner.
                let place =
                    self.origin + euclid::vec2(column as f64 + 0.5, row as f64 + 0.5) * self.cell;
                let far = (place - wish).square_length();
                if best.is_none_or(|(old, _)| far < old)
                    && boxes.iter().all(|&b| taken(b, column, row) == 0)
                {
                    best = Some((far, place));
                }
            }
        }
        best.map(|(_, place)| place)
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
        let of = |w: f64, h: f64| {
            [Bounds::new(
                Point::new(-w / 2.0, -h / 2.0),
                Point::new(w / 2.0, h / 2.0),
            )]
        };
        let wish = Point::new(50.0, 30.0);
        let at = room.place(&of(20.0, 10.0), wish).unwrap();
        assert!(
            (at.x - 50.0).abs() >= 15.0 || (at.y - 30.0).abs() >= 14.0,
            "{at:?}"
        );
        assert!((at - wish).length() < 21.0);
        assert!(room.place(&of(99.0, 59.0), wish).is_none());
        // Two boxes, one to either side of the disc, find room about it.
        let beside = |x: f64| Bounds::new(Point::new(x - 4.0, -5.0), Point::new(x + 4.0, 5.0));
        let at = room.place(&[beside(-17.0), beside(17.0)], wish).unwrap();
        assert!((at - wish).length() < 1.5, "{at:?}");
    }
}
