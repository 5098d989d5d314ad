//! What cutting has come to, as it is written in a job: parts off the cloth, the
//! person's own order, sheets cut apart, the switches that signal.

use crate::lay::CutPart;
use serde::{Deserialize, Serialize};

/// All that cutting changes.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cuts {
    /// Placements in the order that the person wants, before all others.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub first: Vec<u32>,
    /// Panels that are roughly cut apart.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub apart: Vec<String>,
    #[serde(default, skip_serializing_if = "Switches::is_usual")]
    pub switches: Switches,
    #[serde(default, rename = "part", skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<CutPart>,
    /// Notches that the pattern is to have from the next time on.
    #[serde(default, rename = "notch", skip_serializing_if = "Vec::is_empty")]
    pub notches: Vec<AddedNotch>,
}

/// A notch that was found wanting at the table. Piece space, mm; it is snapped to
/// the cut line when the job is opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AddedNotch {
    pub piece: String,
    pub x_mm: f64,
    pub y_mm: f64,
}

/// What the person signals with: a key or a mouse button by its name; `None` for
/// the usual keys.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Switches {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub go_on: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back: Option<String>,
}

impl Switches {
    fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

impl Cuts {
    /// Whether nothing is cut, ordered or taught yet.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// A part by its number.
    pub fn part(&self, id: u32) -> Option<&CutPart> {
        self.parts.iter().find(|p| p.id == id)
    }

    /// The parts that a placement was cut into.
    pub fn of(&self, placed: u32) -> impl Iterator<Item = &CutPart> {
        self.parts.iter().filter(move |p| p.placed == placed)
    }

    /// Whether a placement has been cut.
    pub fn has(&self, placed: u32) -> bool {
        self.of(placed).next().is_some()
    }

    /// The largest number of a part.
    pub fn last(&self) -> u32 {
        self.parts.iter().map(|p| p.id).max().unwrap_or(0)
    }
}
