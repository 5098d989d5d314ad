//! Parts that have been cut: what the light no longer lies on.

use super::Face;
use serde::{Deserialize, Serialize};

/// Whether what is drawn inside a part has been transferred to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Marking {
    /// There is nothing to transfer.
    #[default]
    Nothing,
    ToDo,
    Done,
    /// The person does without.
    Waived,
}

/// One part off the cloth, as it is written in a job. Of two plies cut at once
/// there are two.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CutPart {
    /// A number of its own.
    pub id: u32,
    /// The placement that it was cut by.
    pub placed: u32,
    pub piece: String,
    pub article: String,
    pub cloth: String,
    /// The panel that it came from.
    pub panel: String,
    /// The hand: up as it is drawn, down its mirror image.
    pub face: Face,
    /// How many plies the blade went through.
    pub plies: u32,
    /// Notches that were found missing when it was laid back, and clipped then:
    /// by their place in the pattern, from 1.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub clipped_late: Vec<u32>,
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub marking: Marking,
    #[serde(default, skip_serializing_if = "super::is_false")]
    pub spoilt: bool,
    /// When and by what, if that was noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<CutBy>,
}

/// When a part was cut, and by which light.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CutBy {
    /// UTC, as RFC 3339 writes it: `2031-05-17T14:03:22Z`.
    pub when: String,
    /// The table's profile, by its file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile: Option<String>,
    /// How far the light was moved inward, mm.
    pub trim_mm: f64,
    /// The standard error of its shape as it was stated then, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub error_mm: Option<f64>,
}

fn is_nothing(m: &Marking) -> bool {
    *m == Marking::Nothing
}

impl CutPart {
    /// Its name on the table: `upper 1 (canvas, mirrored)`.
    pub fn name(&self) -> String {
        let face = match self.face {
            Face::Up => "",
            Face::Down => ", mirrored",
        };
        format!("{} {} ({}{face})", self.piece, self.article, self.cloth)
    }
}

/// How many of a part are left and how many right; parts that are no pair are
/// all counted as `up`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hands {
    pub up: u32,
    pub down: u32,
}

impl Hands {
    pub fn add(&mut self, face: Face) {
        match face {
            Face::Up => self.up += 1,
            Face::Down => self.down += 1,
        }
    }

    pub fn sum(self) -> u32 {
        self.up + self.down
    }
}

impl std::ops::Add for Hands {
    type Output = Hands;

    fn add(self, other: Hands) -> Hands {
        Hands {
            up: self.up + other.up,
            down: self.down + other.down,
        }
    }
}
