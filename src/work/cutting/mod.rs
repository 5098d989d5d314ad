//! Cutting with full hands: what is asked for now, and what the two signals do.
//! What has been cut is work ([`crate::work::Cuts`]); where the person is among it
//! follows from that, and is found again after any stop.

mod again;
mod answer;
mod list;
mod marks;
mod plan;
mod prompt;

pub use list::Item;
pub use marks::to_transfer;
pub(super) use plan::Plan;
pub use prompt::{Beside, Prompt};

use super::op::{Id, Spot};
use crate::lay::RoughCut;

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
}

/// What the person is asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Phase {
    /// Taken up again: has the cloth moved meanwhile?
    Returned,
    /// Another sheet is to be spread.
    Stack { panel: String },
    /// A sheet is cut apart along the rough cuts.
    Apart { panel: String },
    /// A piece is cut.
    Piece { id: Id },
    /// Notch by notch, from 0: of a piece still in the sheet, or of a part that
    /// lies in its light.
    Notches { of: Of, at: usize },
    /// What is drawn inside a part is transferred to it.
    Marks { part: u32 },
    /// A part lies in its light again; `over`: wrong side up.
    LaidBack { part: u32, over: bool },
    /// Which part? The latest first, from 0.
    Choose { to: Errand, at: usize },
    /// A spoilt part is to be cut again: here?
    Again {
        part: u32,
        places: Vec<Spot>,
        at: usize,
    },
    /// Does the light still fall on the table's marks?
    Check,
    /// All that can be cut is cut.
    Over,
}

/// What has notches.
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
        }
    }

    /// The part that lies in its light now, and whether wrong side up.
    pub fn lies_back(&self) -> Option<(u32, bool)> {
        match self.phase {
            Phase::LaidBack { part, over } => Some((part, over)),
            // Marks are made on the wrong side.
            Phase::Marks { part } => Some((part, true)),
            Phase::Notches {
                of: Of::Part(part), ..
            } => Some((part, false)),
            _ => None,
        }
    }
}
