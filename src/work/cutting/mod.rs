//! Cutting with full hands: what is asked for now, and what the two signals do.
//! What has been cut is work ([`crate::work::Cuts`]); where the person is among it
//! follows from that, and is found again after any stop.

mod again;
mod answer;
mod back;
mod before;
mod choice;
mod course;
mod list;
mod marks;
mod notches;
mod parts;
mod plan;
mod prompt;
mod sheets;
mod stack;
mod stamp;
mod walk;
mod worked_out;

pub use back::Lying;
pub(super) use course::Course;
pub use list::Item;
pub use marks::to_transfer;
pub use prompt::{Beside, Prompt, hand, side_up};
pub use stamp::Stamp;
pub(super) use worked_out::WorkedOut;

use super::op::{Id, Spot};
use crate::cloth::Panel;
use crate::lay::RoughCut;
use crate::space::{Point, Table};

/// Cutting, under way.
#[derive(Debug, Clone, PartialEq)]
pub struct Cutting {
    pub phase: Phase,
    /// The list that held *back* opens, and the item in sight.
    pub list: Option<usize>,
    /// What lies on the table uncut, in the order it is to be cut.
    pub order: Vec<Id>,
    /// The rough cuts of the sheet in hand.
    pub rough: Vec<RoughCut>,
    /// Pieces that are lit on the table to lay parts into.
    pub lies: Vec<Lying>,
    /// Where parts are dropped.
    pub drops: Vec<DropSite>,
    /// What is to be transferred to the part in hand.
    pub(super) transfer: Vec<String>,
    /// The panels as they will be when the sheet that is asked for is spread.
    coming: Option<Vec<Panel>>,
    /// What these three were worked out from.
    pub(super) settled: Option<(Phase, u64)>,
}

/// A place to drop parts on.
#[derive(Debug, Clone, PartialEq)]
pub struct DropSite {
    pub article: String,
    pub cloth: String,
    /// Its middle.
    pub at: Point<Table>,
}

/// What the person is asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Phase {
    /// Taken up again: has the cloth moved meanwhile?
    Returned,
    /// Another sheet is to be spread under its light, and cut apart.
    Stack { panel: String },
    /// A sheet is cut apart along the rough cuts.
    Apart { panel: String },
    /// A piece is cut.
    Piece { id: Id },
    /// Notch by notch, from 0: of a piece still in the sheet, or of a part that
    /// lies in its light.
    Notches { of: Of, at: usize, over: bool },
    /// What is drawn inside a part is transferred to it.
    Marks { part: u32 },
    /// A part, cut or not, is lit whole; `over`: wrong side up.
    LaidBack { of: Of, over: bool },
    /// Edge by edge, from 0, of what is laid back; then, with it, one edge after
    /// another that it may be sewn to.
    Walk {
        of: Of,
        edge: usize,
        to: Option<usize>,
        over: bool,
    },
    /// Which part? The latest first, from 0.
    Choose { to: Errand, at: usize },
    /// A spoilt part is to be cut again: here?
    Again {
        part: u32,
        places: Vec<Spot>,
        at: usize,
    },
    /// Does the light still fall on the table's marks? `off`: it does not, and
    /// cutting waits; the marks pointed at are `seen`, from 0.
    Check {
        off: bool,
        seen: Vec<(usize, Point<Table>)>,
    },
    /// All that can be cut is cut.
    Over,
}

/// A piece in its sheet, or a part that is off it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    Piece(Id),
    Part(u32),
}

/// What a part is chosen for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Errand {
    LayBack,
    Spoilt,
}

impl Cutting {
    pub(super) fn at(phase: Phase) -> Self {
        Self {
            phase,
            list: None,
            order: Vec::new(),
            rough: Vec::new(),
            lies: Vec::new(),
            drops: Vec::new(),
            transfer: Vec::new(),
            coming: None,
            settled: None,
        }
    }

    /// The panels as they will be when the sheet that is asked for is spread; it is lit
    /// as if it were.
    pub fn coming(&self) -> Option<&[Panel]> {
        let asked = matches!(self.phase, Phase::Stack { .. });
        self.coming.as_deref().filter(|_| asked)
    }

    /// Whether it is at what the plan says: there it goes on with a new plan.
    pub(super) fn is_planned(&self) -> bool {
        !matches!(
            self.phase,
            Phase::Returned | Phase::Choose { .. } | Phase::Check { .. }
        ) && (self.lies_back().is_none() || matches!(self.phase, Phase::Marks { .. }))
    }

    /// What lies in its light now, and whether wrong side up.
    pub fn lies_back(&self) -> Option<(Of, bool)> {
        match self.phase {
            Phase::LaidBack { of, over } => Some((of, over)),
            // Marks are made on the wrong side.
            Phase::Marks { part } => Some((Of::Part(part), true)),
            Phase::Notches {
                of: of @ Of::Part(_),
                over,
                ..
            }
            | Phase::Walk { of, over, .. } => Some((of, over)),
            _ => None,
        }
    }
}
