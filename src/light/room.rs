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
        // Where an edge crosses a row's middle: the row, x, and which way.
        let mut crossings: Vec<(usize, f64, i32)> = Vec::new();
        let row_of = |y: f64| ((y - self.origin.y) / self.cell - 0.5).clamp(0.0, self.rows as f64);
        for (p, q) in region.rings.iter().flat_map(|r| pairs(r)) {
            // One row more on each side: rounding has no say.
            let first = (row_of(p.y.min(q.y)) as usize).saturating_sub(1);
            let end = (row_of(p.y.max(q.y)) as usize + 2).min(self.rows);
            for row in first..end {
                let y = self.origin.y + (row as f64 + 0.5) * self.cell;
                if (p.y <= y) != (q.y <= y) {
                    let x = p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y));
                    crossings.push((row, x, if p.y <= y { 1 } else { -1 }));
                }
            }
        }
        crossings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let column = |x: f64| {
            let steps = (x - self.origin.x) / self.cell - 0.5;
            steps.ceil().clamp(0.0, self.columns as f64) as usize
        };
        // In each row it comes back to nought.
        let mut winding = 0;
        for w in crossings.windows(2) {
            winding += w[0].2;
            if winding != 0 {
                let base = w[0].0 * self.columns;
                self.taken[base + column(w[0].1)..base + column(w[1].1)].fill(!free);
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
        // Each box as cells from the place's own cell, in the middle of which the origin is: its
        // first column and row, and those after its last.
        let down = |v: f64| (v / self.cell + 0.5).floor() as i64;
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
        // The middle of the cell that stands right and above of the corner.
        let middle = |column: i64, row: i64| {
            self.origin + euclid::vec2(column as f64 + 0.5, row as f64 + 0.5) * self.cell
        };
        let (first, last) = (-left, self.columns as i64 - right);
        let start = ((wish.y - self.origin.y) / self.cell) as i64;
        // Of places as near as each other the lowest row counts, and in it the leftmost.
        let mut best: Option<(f64, i64, Point<Table>)> = None;
        // Rows from the wish outwards: what is found early leaves little to look at.
        for row in outwards(start, -bottom, self.rows as i64 - top) {
            let (mut from, mut to) = (first, last);
            if let Some((least, ..)) = best {
                let aside = least - (middle(0, row).y - wish.y).powi(2);
                if aside < 0.0 {
                    continue;
                }
                let column = (wish.x - self.origin.x) / self.cell;
                let half = aside.sqrt() / self.cell + 1.0;
                from = from.max((column - half).floor() as i64);
                to = to.min((column + half).ceil() as i64);
            }
            for column in from..=to {
                let place = middle(column, row);
                let far = (place - wish).square_length();
                let better =
                    best.is_none_or(|(least, at, _)| far < least || (far == least && row < at));
                if better && boxes.iter().all(|&b| taken(b, column, row) == 0) {
                    best = Some((far, row, place));
                }
            }
        }
        best.map(|(.., place)| place)
    }
}

/// The whole numbers from `first` to `last`, beginning near `from`.
fn outwards(from: i64, first: i64, last: i64) -> impl Iterator<Item = i64> {
    let from = from.max(first).min(last);
    (0..=last - first)
        .flat_map(move |k| [from - k, from + k + 1])
        .filter(move |n| (first..=last).contains(n))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Every cell tried, and every point of it asked of the outline: what the quick ways
    /// must come to.
    #[test]
    fn the_nearest_room_is_found_as_by_trying_all() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let area = Bounds::new(Point::new(-3.0, 5.0), Point::new(57.0, 45.0));
        let mut found = 0;
        for _ in 0..200 {
            let mut room = Room::new(area, 1.0);
            room.taken.fill(false);
            let discs: Vec<(Point<Table>, f64)> = (0..3)
                .map(|_| {
                    let at = Point::new(rng.random_range(0.0..60.0), rng.random_range(5.0..45.0));
                    (at, rng.random_range(2.0..14.0))
                })
                .collect();
            for (at, r) in &discs {
                room.mark(&Region::disc(*at, *r), false);
            }
            for row in 0..room.rows {
                for column in 0..room.columns {
                    let p = area.min + euclid::vec2(column as f64 + 0.5, row as f64 + 0.5);
                    let depth = discs.iter().map(|(at, r)| r - (p - *at).length());
                    let depth = depth.fold(f64::NEG_INFINITY, f64::max);
                    if depth.abs() > 0.02 {
                        assert_eq!(
                            room.taken[row * room.columns + column],
                            depth > 0.0,
                            "{p:?}"
                        );
                    }
                }
            }
            let (w, h) = (rng.random_range(1.0..24.0), rng.random_range(1.0..18.0));
            let own = Bounds::new(Point::new(-w, -h / 2.0), Point::new(w / 3.0, h));
            let wish = Point::new(rng.random_range(-20.0..80.0), rng.random_range(-10.0..60.0));
            let free = |p: Point<Table>| {
                let cell = |v: f64| v.floor() as i64;
                let rows = cell(p.y - h / 2.0 - area.min.y)..=cell(p.y + h - area.min.y);
                rows.into_iter().all(|row| {
                    let columns = cell(p.x - w - area.min.x)..=cell(p.x + w / 3.0 - area.min.x);
                    columns.into_iter().all(|column| {
                        (0..room.rows as i64).contains(&row)
                            && (0..room.columns as i64).contains(&column)
                            && !room.taken[row as usize * room.columns + column as usize]
                    })
                })
            };
            let mut best: Option<(f64, Point<Table>)> = None;
            for row in 0..40 {
                for column in 0..60 {
                    let p = area.min + euclid::vec2(f64::from(column) + 0.5, f64::from(row) + 0.5);
                    let far = (p - wish).square_length();
                    if best.is_none_or(|(least, _)| far < least) && free(p) {
                        best = Some((far, p));
                    }
                }
            }
            assert_eq!(room.place(&[own], wish), best.map(|(_, p)| p));
            found += usize::from(best.is_some());
        }
        assert!((100..200).contains(&found), "{found}");
    }

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
