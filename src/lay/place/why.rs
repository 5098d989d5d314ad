//! Why no place was found.

use super::cells::{Cells, Grid};
use super::{Ask, Bed};
use crate::lay::inside_of;
use crate::lay::wish::nap_way;
use crate::space::{Cloth, Piece, Rigid, Vector};
use std::f64::consts::FRAC_PI_2;
use std::fmt;

/// Cells that are looked through for the largest free place, at most.
const MOST: f64 = 2e6;

/// Free places thinner than this, mm, are none.
const THIN: f64 = 5.0;

/// There is no place for the piece.
#[derive(Debug, Clone, PartialEq)]
pub struct NoPlace {
    pub piece: String,
    /// The piece's box as it lies: along the warp and across it, mm.
    pub needs: [f64; 2],
    /// The largest free rectangle, along the warp and across it, mm: where every point
    /// keeps the gap. `None` if nothing is free.
    pub largest: Option<[f64; 2]>,
    /// If there was room, why the lay's checks refused the last place.
    pub refused: Option<String>,
}

impl NoPlace {
    pub(super) fn of(ask: &Ask, refused: Option<String>) -> Self {
        let hand = &ask.hand;
        let bed = ask.bed;
        let all = super::turns::turns(hand, bed.warp_deg, nap_way(ask.wishes), &ask.limits);
        // As it lies on the grain, seen with the warp upright.
        let upright = FRAC_PI_2 - bed.warp_deg.to_radians();
        let least = all
            .iter()
            .min_by(|a, b| a.off.abs().total_cmp(&b.off.abs()));
        let turn = least.map_or(hand.turn_deg, |t| t.deg).to_radians() + upright;
        let mirrored = hand.face == crate::lay::Face::Down;
        let pose: Rigid<Piece, Cloth> = Rigid::new(mirrored, turn, Vector::zero());
        let own = inside_of(hand.piece)
            .moved(&pose)
            .bounds()
            .unwrap_or_default();
        Self {
            piece: hand.piece.name.clone(),
            needs: [own.height(), own.width()],
            largest: largest_free(&bed.turned(upright), ask.limits.step_mm),
            refused,
        }
    }
}

impl fmt::Display for NoPlace {
    /// One sentence, without a full stop.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [along, across] = self.needs;
        let piece = &self.piece;
        match (&self.refused, self.largest) {
            (Some(why), _) => write!(f, "no place for {piece}: {why}"),
            (None, None) => write!(f, "no room: no good cloth is free for {piece}"),
            (None, Some([a, b])) => write!(
                f,
                "no room: the largest free place is {a:.0} × {b:.0} mm, and {piece} takes \
                 {along:.0} × {across:.0} (along the warp × across)"
            ),
        }
    }
}

/// The largest free rectangle with an upright warp: height and width, mm.
fn largest_free(bed: &Bed, step: f64) -> Option<[f64; 2]> {
    let bounds = bed.bounds()?;
    let cell = step.max((bounds.area() / MOST).sqrt());
    let grid = Grid {
        origin: bounds.min,
        cell,
    };
    let count = |length: f64| (length / cell).ceil() as usize;
    let (width, height) = (count(bounds.width()), count(bounds.height()));
    let [across, up] = largest_rectangle(&bed.free(&grid, width, height, 0));
    let size = [up as f64 * cell, across as f64 * cell];
    (size[0].min(size[1]) >= THIN).then_some(size)
}

/// Columns and rows of the largest rectangle in a set of cells: over each row the columns
/// are as high as cells of the set lie below each other, and the largest rectangle under
/// such heights is had with a stack (as in Vandevoorde, *The maximal rectangle problem*,
/// Dr. Dobb's Journal 23(4), 1998).
pub(super) fn largest_rectangle(cells: &Cells) -> [usize; 2] {
    let mut heights = vec![0usize; cells.width + 1];
    let mut best = [0, 0];
    let mut open: Vec<(usize, usize)> = Vec::new();
    for y in 0..cells.height {
        let row = cells.row(y);
        for (x, h) in heights.iter_mut().enumerate().take(cells.width) {
            *h = if row[x / 64] >> (x % 64) & 1 == 1 {
                *h + 1
            } else {
                0
            };
        }
        open.clear();
        // The last height is 0, and closes all.
        for (x, &h) in heights.iter().enumerate() {
            let mut from = x;
            while let Some(&(start, tall)) = open.last().filter(|(_, tall)| *tall >= h) {
                if (x - start) * tall > best[0] * best[1] {
                    best = [x - start, tall];
                }
                from = start;
                open.pop();
            }
            open.push((from, h));
        }
    }
    best
}
