//! Where the piece fits in one turn, by cells: surely, and perhaps.

use super::cells::{Cells, Grid, Run};
use super::fits::Free;
use crate::shape::Region;
use crate::space::{Cloth, Point};

/// Where a piece fits in one turn.
#[derive(Debug)]
pub struct Room {
    /// All the cells that the piece touches are free.
    surely: Corners,
    /// No cell that it covers whole is wholly taken: all places where it fits, and some
    /// more.
    perhaps: Corners,
}

/// The cells at which the corner of the piece's cells may lie.
#[derive(Debug)]
struct Corners {
    cells: Cells,
    /// From the piece's origin to that corner.
    from: (i32, i32),
}

impl Corners {
    fn of((runs, from): (Vec<Run>, (i32, i32)), free: &Free) -> Self {
        let (width, height) = (free.cells().width, free.cells().height);
        let wide = runs.iter().map(|r| r.to).max().unwrap_or(0);
        let cells = match wide as usize <= width {
            true => free.erode(&runs),
            false => Cells::none(width, height, 0),
        };
        Self { cells, from }
    }

    fn has(&self, i: i32, j: i32) -> bool {
        self.cells.has(i + self.from.0, j + self.from.1)
    }
}

impl Room {
    /// The room of a piece turned as it shall lie, its origin on a corner of the grid.
    pub fn of(piece: &Region<Cloth>, cell: f64, surely: &Free, perhaps: &Free) -> Self {
        let (width, height) = (surely.cells().width as f64, surely.cells().height as f64);
        let b = piece.bounds().unwrap_or_default();
        // What is larger than the grid by more than cells can tell has none, and its cells
        // need not be found.
        let large = b.width() / cell > width + 2.0 || b.height() / cell > height + 2.0;
        let empty = Region::default();
        let piece = if large { &empty } else { piece };
        let whole = covered(piece, cell);
        // Of a piece so thin that it covers no cell whole, none that it touches is taken.
        let whole = match whole.0.is_empty() {
            true => touched(piece, cell),
            false => whole,
        };
        Self {
            surely: Corners::of(touched(piece, cell), surely),
            perhaps: Corners::of(whole, perhaps),
        }
    }

    /// Whether it surely fits with its origin on a corner of the grid.
    pub fn surely(&self, i: i32, j: i32) -> bool {
        self.surely.has(i, j)
    }

    /// Whether cells can't tell that it does not.
    pub fn perhaps(&self, i: i32, j: i32) -> bool {
        self.perhaps.has(i, j)
    }

    /// All places where it perhaps fits, row by row.
    pub fn all(&self) -> impl Iterator<Item = (i32, i32)> + '_ {
        let Corners { cells, from } = &self.perhaps;
        (0..cells.height).flat_map(move |y| {
            let words = cells.row(y).iter().enumerate();
            words.flat_map(move |(w, &word)| {
                let bits = std::iter::successors(Some(word), |b| Some(b & b.wrapping_sub(1)));
                bits.take_while(|b| *b != 0).map(move |b| {
                    let x = 64 * w as i32 + b.trailing_zeros() as i32;
                    (x - from.0, y as i32 - from.1)
                })
            })
        })
    }

    /// One place of each block of `side` × `side` cells in which there is one: the nearest
    /// to the block's middle, of those where it surely fits if there are any.
    pub fn one_a_block(&self, side: usize) -> Vec<(i32, i32)> {
        let from = self.perhaps.from;
        let across = self.perhaps.cells.width.div_ceil(side);
        let mut best: Vec<Option<(usize, i32, i32)>> = vec![None; across];
        let mut all = Vec::new();
        let mut band = 0;
        for (i, j) in self.all() {
            let (x, y) = ((i + from.0) as usize, (j + from.1) as usize);
            if y / side != band {
                all.extend(best.iter_mut().filter_map(Option::take));
                band = y / side;
            }
            let off = |v: usize| (v % side).abs_diff(side / 2);
            let unsure = 2 * side * usize::from(!self.surely(i, j));
            let far = off(x) + off(y) + unsure;
            let here = &mut best[x / side];
            if here.is_none_or(|(least, ..)| far < least) {
                *here = Some((far, i, j));
            }
        }
        all.extend(best.iter_mut().filter_map(Option::take));
        all.into_iter().map(|(_, i, j)| (i, j)).collect()
    }
}

fn about_origin(cell: f64) -> Grid<Cloth> {
    Grid {
        origin: Point::zero(),
        cell,
    }
}

/// The cells that a piece touches: from (0, 0), and where that is from its origin.
pub fn touched(piece: &Region<Cloth>, cell: f64) -> (Vec<Run>, (i32, i32)) {
    from_corner(about_origin(cell).touched(piece, i32::MIN / 2, i32::MAX))
}

/// The same of the cells that it covers whole.
fn covered(piece: &Region<Cloth>, cell: f64) -> (Vec<Run>, (i32, i32)) {
    from_corner(about_origin(cell).within(piece, i32::MIN / 2, i32::MAX))
}

/// Runs moved so that their rows and columns begin at 0, and where they began.
pub fn from_corner(mut runs: Vec<Run>) -> (Vec<Run>, (i32, i32)) {
    let low = |of: fn(&Run) -> i32| runs.iter().map(of).min().unwrap_or(0);
    let corner = (low(|r| r.from), low(|r| r.row));
    for run in &mut runs {
        run.row -= corner.1;
        run.from -= corner.0;
        run.to -= corner.0;
    }
    (runs, corner)
}
