//! The lay: which piece lies where on which panel. Places live in cloth
//! space, because light stays on the table when the cloth moves.

mod account;
mod alike;
mod carried;
mod check;
mod cut_order;
mod cut_part;
mod drop_place;
pub mod fit;
mod free_place;
mod join;
mod mistaken;
pub mod place;
mod plies;
mod rough;
mod seat;
mod sheets;
mod square;
mod stock;
mod takes;
mod trim;
pub mod wish;

pub use crate::pattern::is_its_own_mirror;
pub use alike::look_alikes;
pub use carried::{Agreement, Carried, Pointing, Sighting, carried};
pub use check::{Checked, GRAIN_TOLERANCE, Ground, Trouble, Wrong, grounds, inside};
pub use cut_order::{HOLDS, cut_order, remainder_is_whole};
pub use cut_part::{CutBy, CutPart, Hands, Marking};
pub use drop_place::{RADIUS as DROP_RADIUS, drop_places};
pub use free_place::{Room, inside_of};
pub use join::{Position, Step, expected_step, worst_step};
pub use mistaken::Mistake;
pub use plies::{Layer, Ply};
pub use rough::{RoughCut, RoughPlan, rough_cuts};
pub use seat::is_seated;
pub use sheets::{Sheet, sheets};
pub use square::{Along, NEAREST, askew, edge_from, off_grain, squared, warp_from};
pub use stock::{Count, Stock};
pub use trim::{MOST_TRIM, Trim, trim_on};

use crate::pattern::PatternPiece;
use crate::space::{Cloth, Piece, Rigid, Table, Vector};
use serde::{Deserialize, Serialize};

/// Which side of the cloth's piece is up: face down mirrors it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Face {
    #[default]
    Up,
    Down,
}

impl Face {
    /// The other one.
    pub fn other(self) -> Face {
        match self {
            Face::Up => Face::Down,
            Face::Down => Face::Up,
        }
    }
}

/// One piece laid on a panel, as it is written in a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// A number of its own, by which the journal knows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<u32>,
    pub piece: String,
    pub article: String,
    pub panel: String,
    /// Where the piece's origin (the middle of its cut line's bounding box)
    /// lies in cloth space, mm.
    pub x_mm: f64,
    pub y_mm: f64,
    /// Counter-clockwise, degrees.
    #[serde(default)]
    pub turn_deg: f64,
    #[serde(default)]
    pub face: Face,
    /// Not to be moved by mistake.
    #[serde(default, skip_serializing_if = "is_false")]
    pub locked: bool,
}

fn is_false(b: &bool) -> bool {
    !b
}

impl Placement {
    /// Piece to cloth: turned over if face down, then turned, then shifted.
    pub fn pose(&self) -> Rigid<Piece, Cloth> {
        Rigid::new(
            self.face == Face::Down,
            self.turn_deg.to_radians(),
            Vector::new(self.x_mm, self.y_mm),
        )
    }
}

/// A piece where it lies on the table, with all that the light has to know.
#[derive(Debug, Clone)]
pub struct Laid<'a> {
    pub piece: &'a PatternPiece,
    pub article: &'a str,
    pub cloth: &'a str,
    pub panel: &'a str,
    /// `cut 2, a pair`.
    pub cut_note: String,
    pub face: Face,
    pub pose: Rigid<Piece, Table>,
    /// Height of the cloth's top above the table, mm.
    pub height: f64,
    /// It is cut: there is a hole.
    pub is_cut: bool,
    /// Its light is moved inward by this at every edge, mm: what the hand leaves there.
    pub trim: f64,
}

impl std::fmt::Display for Laid<'_> {
    /// As a person would point at it: `upper 1 (canvas, mirrored)`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let face = match self.face {
            Face::Up => "",
            Face::Down => ", mirrored",
        };
        write!(
            f,
            "{} {} ({}{face})",
            self.piece.name, self.article, self.cloth
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::OnTable;
    use crate::space::Point;

    #[test]
    fn a_piece_goes_through_the_cloth_to_the_table() {
        let placed = Placement {
            id: None,
            locked: false,
            piece: "upper".into(),
            article: "1".into(),
            panel: "sling".into(),
            x_mm: 100.0,
            y_mm: 0.0,
            turn_deg: 90.0,
            face: Face::Down,
        };
        let panel = OnTable {
            x_mm: 10.0,
            y_mm: 20.0,
            turn_deg: 90.0,
        };
        // (1, 0) → mirrored (−1, 0) → turned (0, −1) → (100, −1) on the cloth
        // → turned (1, 100) → (11, 120) on the table.
        let at = placed
            .pose()
            .then(&panel.pose())
            .point(Point::new(1.0, 0.0));
        assert!((at - Point::new(11.0, 120.0)).length() < 1e-9);
    }
}
