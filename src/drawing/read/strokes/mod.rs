//! From loose strokes to pieces: the one step that every file without piece
//! groups goes through.
//!
//! `ring` joins strokes end to end into closed lines, `sort` finds which of those are
//! pieces and what lies in each, `looks` tells notches, grain, net lines and drill
//! points by their looks, and `naming` finds names among the texts. All that was
//! guessed is a note, and all that was dropped is listed.

mod cells;
mod edge_grid;
mod looks;
mod naming;
mod ring;
mod single;
mod sort;
mod square;

#[cfg(test)]
mod tests;

use kurbo::{BezPath, Point};

use super::drawn::assemble;
use super::drawn::left_out::LeftOut;
use super::drawn::place::{Part, Place};
use super::drawn::roles::Role;
use crate::fault::Outcome;
use crate::pattern::{NotchKind, Pattern};

pub use super::drawn::drawing::on_page;
pub use square::{Check, check_square};

/// Most strokes in a file.
pub const MAX_STROKES: usize = 500_000;

/// Ends this near were meant to meet, unless the reader says otherwise, mm.
pub const JOIN: f64 = 0.1;

/// Where in the file a stroke stands.
#[derive(Debug, Clone)]
pub struct Where {
    pub part: Part,
    /// Line or page, from 1.
    pub number: usize,
    /// What it is: `LINE`, `path at x 20 mm, y 31 mm`.
    pub what: String,
}

impl Where {
    pub fn place(&self) -> Place<'_> {
        Place {
            part: self.part,
            line: self.number,
            tag: &self.what,
            id: None,
        }
    }
}

/// One thing drawn, of one or more sub-paths.
#[derive(Debug, Clone)]
pub struct Stroke {
    /// mm at full size, y down; curves as they are drawn.
    pub path: BezPath,
    pub dashed: bool,
    pub layer: Option<String>,
    /// What the file says it is.
    pub told: Option<Role>,
    pub notch: NotchKind,
    pub place: Where,
}

/// A text of one line.
#[derive(Debug, Clone)]
pub struct Text {
    /// Where it begins, on the base line; mm, y down.
    pub at: Point,
    pub words: String,
    /// Of its letters, mm.
    pub height: f64,
    pub place: Where,
}

/// All that is drawn in a file, loosely.
#[derive(Debug, Default)]
pub struct Sheet {
    pub strokes: Vec<Stroke>,
    pub texts: Vec<Text>,
}

/// What a person said of the file.
#[derive(Debug, Clone, Copy)]
pub struct Given {
    /// Ends this near meet, mm, > 0.
    pub join: f64,
    /// The strokes are this much larger than drawn, > 0.
    pub scale: f64,
}

/// The pieces of `sheet`.
///
/// # Errors
///
/// When there is no closed line, none of them is a sound piece, a printed check square
/// is not of the size that it says, or there is more than the limits let in.
pub fn pieces(
    sheet: &Sheet,
    given: Given,
    mut notes: Vec<String>,
    mut left_out: LeftOut,
) -> Outcome<Pattern> {
    let mut drawing = sort::drawing(sheet, given, &mut left_out)?;
    notes.append(&mut drawing.notes);
    drawing.notes = notes;
    assemble::pattern(drawing, left_out)
}
