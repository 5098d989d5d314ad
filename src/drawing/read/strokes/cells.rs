//! Places by square cells, so that each asks only its neighbours.

use std::collections::HashMap;

use crate::space::{Piece, Point};

/// Most places kept of one cell: a crowd closer than that is no pattern's marks, and
/// would be looked at pair by pair.
const CROWD: usize = 64;

/// An index and its place.
type Held = (usize, Point<Piece>);

/// Indices by their places.
pub struct Cells {
    side: f64,
    held: HashMap<(i64, i64), Vec<Held>>,
}

impl Cells {
    /// Cells as wide as places may be apart, mm.
    pub fn new(side: f64) -> Self {
        Self {
            side,
            held: HashMap::new(),
        }
    }

    fn cell(&self, p: Point<Piece>) -> (i64, i64) {
        (
            (p.x / self.side).floor() as i64,
            (p.y / self.side).floor() as i64,
        )
    }

    pub fn add(&mut self, index: usize, p: Point<Piece>) {
        let list = self.held.entry(self.cell(p)).or_default();
        if list.len() < CROWD {
            list.push((index, p));
        }
    }

    /// Those within the cells' side of `p`, with how far each is.
    pub fn near(&self, p: Point<Piece>) -> impl Iterator<Item = (usize, f64)> + '_ {
        let (x, y) = self.cell(p);
        let around = (-1..=1).flat_map(move |dx| (-1..=1).map(move |dy| (x + dx, y + dy)));
        around
            .filter_map(|at| self.held.get(&at))
            .flatten()
            .map(move |&(index, q)| (index, (q - p).length()))
            .filter(|&(_, away)| away <= self.side)
    }
}
