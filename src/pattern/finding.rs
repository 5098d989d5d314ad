//! What a check of the pattern found: what is wrong, where on which piece, and what to
//! do about it. All checks report in this one shape, so that they can be listed, marked
//! in a picture and written as JSON together.

use super::piece::PatternPiece;
use crate::space::{Piece as PieceSpace, Point};
use serde::Serialize;

/// How much it matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Cut like this, the work would be spoilt.
    Spoils,
    /// It may be meant; a person should look.
    Check,
    /// It would make the work easier or surer.
    Advice,
}

/// What kind of check it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Topic {
    Seam,
    Notch,
    Ring,
    Corner,
    Grain,
    Tape,
    Piece,
    Allowance,
    /// Pairs, folds and counts.
    Count,
    /// How the file was read.
    File,
}

/// Where it is; what does not apply is left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Spot {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub piece: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge: Option<String>,
    /// A seam or a ring.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seam: Option<String>,
    /// To be marked in a picture: x, y in piece space, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_mm: Option<[f64; 2]>,
}

impl Spot {
    /// On a piece.
    pub fn piece(piece: &PatternPiece) -> Self {
        Self {
            piece: Some(piece.name.clone()),
            ..Self::default()
        }
    }

    /// In a seam or a ring.
    pub fn seam(name: &str) -> Self {
        Self {
            seam: Some(name.to_owned()),
            ..Self::default()
        }
    }

    /// The same, on that edge.
    #[must_use]
    pub fn edge(mut self, edge: &str) -> Self {
        self.edge = Some(edge.to_owned());
        self
    }

    /// The same, at that point.
    #[must_use]
    pub fn at(mut self, p: Point<PieceSpace>) -> Self {
        if p.x.is_finite() && p.y.is_finite() {
            self.at_mm = Some([p.x, p.y]);
        }
        self
    }
}

/// One thing found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    pub severity: Severity,
    pub topic: Topic,
    pub spot: Spot,
    /// What is so, in a sentence without a full stop.
    pub what: String,
    /// What to do about it, without a full stop.
    pub remedy: String,
}

impl Finding {
    pub fn new(
        severity: Severity,
        topic: Topic,
        spot: Spot,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            severity,
            topic,
            spot,
            what: what.into(),
            remedy: remedy.into(),
        }
    }
}

impl From<&crate::fault::Fault> for Finding {
    /// What can't be read or made at all.
    fn from(fault: &crate::fault::Fault) -> Self {
        let place = fault.place.join(", ");
        let what = match place.as_str() {
            "" => fault.what.clone(),
            place => format!("{place}: {}", fault.what),
        };
        Self::new(
            Severity::Spoils,
            Topic::File,
            Spot::default(),
            what,
            fault.remedy.clone(),
        )
    }
}
