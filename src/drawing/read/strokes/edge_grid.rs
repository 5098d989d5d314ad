//! Edges of outlines by cells, so that a stroke's end asks only those near it.

use std::collections::HashMap;

use crate::drawing::read::drawn::flatten::Budget;
use crate::fault::Outcome;
use crate::pattern::Polyline;
use crate::shape::edge_foot;
use crate::space::{Piece, Point};

/// Farthest that is asked for, mm.
pub const REACH: f64 = 5.0;
/// How densely edges are looked at to find their cells, mm.
const STEP: f64 = 2.5;
/// What is within [`REACH`] of an edge is within this of a place looked at.
const CELL: f64 = REACH + STEP / 2.0;

/// Looks that one cell of an edge counts for.
const CELL_COST: usize = 40;

/// A line, the point on it, and how far off that is, mm.
pub type Foot = (usize, Point<Piece>, f64);

/// The edges of closed lines.
#[derive(Default)]
pub struct EdgeGrid {
    /// Line, and the edge's two ends.
    edges: Vec<(usize, [Point<Piece>; 2])>,
    cells: HashMap<(i64, i64), Vec<u32>>,
}

fn cell(p: Point<Piece>) -> (i64, i64) {
    ((p.x / CELL).floor() as i64, (p.y / CELL).floor() as i64)
}

impl EdgeGrid {
    /// # Errors
    ///
    /// When `budget` has too little left for the cells that the edges cross.
    pub fn add(&mut self, line: usize, ring: &Polyline, budget: &mut Budget) -> Outcome<()> {
        for (k, &a) in ring.iter().enumerate() {
            let b = ring[(k + 1) % ring.len()];
            let steps = ((b - a).length() / STEP).ceil().max(1.0) as usize;
            // A cell takes room, too: as much as several looks.
            budget.look(CELL_COST * (steps - 1))?;
            let number = self.edges.len() as u32;
            self.edges.push((line, [a, b]));
            for step in 0..=steps {
                let at = cell(a.lerp(b, step as f64 / steps as f64));
                let held = self.cells.entry(at).or_default();
                if held.last() != Some(&number) {
                    held.push(number);
                }
            }
        }
        Ok(())
    }

    /// The nearest point of any line within [`REACH`] of `p`: line, point, distance
    /// in mm.
    ///
    /// # Errors
    ///
    /// When `budget` has too little left for the edges near `p`.
    pub fn nearest(&self, p: Point<Piece>, budget: &mut Budget) -> Outcome<Option<Foot>> {
        let (column, row) = cell(p);
        let around = (-1..=1).flat_map(|x| (-1..=1).map(move |y| (column + x, row + y)));
        let held = around.filter_map(|at| self.cells.get(&at));
        budget.look(1 + held.clone().map(Vec::len).sum::<usize>())?;
        let near = held.flatten();
        let feet = near.map(|&k| {
            let (line, [a, b]) = self.edges[k as usize];
            let at = edge_foot((a, b), p);
            (line, at, (p - at).length())
        });
        let best = feet.min_by(|a, b| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)));
        Ok(best.filter(|foot| foot.2 <= REACH))
    }
}
