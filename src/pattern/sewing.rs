//! What is sewn to what: the seams and the closed rings of a pattern, as declared.
//! Nothing here is measured; that is the walk's.

use serde::{Deserialize, Serialize};
use std::fmt;

/// How far off a seam may be if nothing is said, mm (common practice: what a hand cuts
/// true to).
pub const SEAM_TOLERANCE: f64 = 1.0;

/// How far off a ring may be if nothing is said, mm (estimate: three seams' worth).
pub const RING_TOLERANCE: f64 = 3.0;

/// An edge of a piece. Written `upper: throat`; the text before the last colon is the
/// piece.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct EdgeName {
    pub piece: String,
    pub edge: String,
}

impl EdgeName {
    /// The edge that `text` names, or `None` if there is no colon in it with words on
    /// either side.
    pub fn parse(text: &str) -> Option<Self> {
        let (piece, edge) = text.rsplit_once(':')?;
        let (piece, edge) = (piece.trim(), edge.trim());
        (!piece.is_empty() && !edge.is_empty()).then(|| Self {
            piece: piece.to_owned(),
            edge: edge.to_owned(),
        })
    }
}

impl fmt::Display for EdgeName {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{}: {}", self.piece, self.edge)
    }
}

/// Two runs of edges that are sewn together. Either may be several edges end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Seam {
    /// Unique among the seams.
    pub name: String,
    /// In the order in which they follow one another along the seam.
    pub one: Vec<EdgeName>,
    /// From the same end of the seam.
    pub other: Vec<EdgeName>,
    /// By how much `one` is meant to be longer than `other`, mm: eased in or gathered.
    pub ease: f64,
    /// How far off the difference may be, mm, > 0.
    pub tolerance: f64,
}

/// At which side of the cloth a ring's line is measured. Written as [`FitsAt::word`].
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, Serialize)]
#[serde(try_from = "String", into = "&'static str")]
pub enum FitsAt {
    #[default]
    /// On the outside of all the cloth: a ring wants 2πt more than the body.
    Outside,
    /// In the middle of the wall: πt more.
    MidWall,
}

impl FitsAt {
    /// The word for it in a file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::MidWall => "mid-wall",
        }
    }

    /// What a file's word says, or `None` if it is neither.
    pub fn parse(word: &str) -> Option<Self> {
        let all = [Self::Outside, Self::MidWall];
        all.into_iter().find(|at| at.word() == word)
    }
}

impl From<FitsAt> for &'static str {
    fn from(at: FitsAt) -> Self {
        at.word()
    }
}

impl TryFrom<String> for FitsAt {
    type Error = &'static str;

    fn try_from(word: String) -> Result<Self, Self::Error> {
        Self::parse(&word).ok_or("a ring is measured at \"outside\" or \"mid-wall\"")
    }
}

/// A closed ring of edges that must go round something.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    /// Unique among the rings.
    pub name: String,
    /// End to end.
    pub edges: Vec<EdgeName>,
    /// The girth of what it goes round, mm, > 0.
    pub girth: f64,
    /// Wearing ease that is wanted besides, mm (negative for what must stretch).
    pub ease: f64,
    /// All the cloth between body and measured line, mm, ≥ 0.
    pub cloth: f64,
    pub at: FitsAt,
    /// mm, > 0.
    pub tolerance: f64,
    /// What the sewn ring measured, mm, if it was.
    pub sewn: Option<f64>,
}

/// All that a pattern declares of its sewing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sewing {
    pub seams: Vec<Seam>,
    pub rings: Vec<Ring>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edge_is_named_by_its_piece_and_itself() {
        let name = EdgeName::parse(" heel band : top ").unwrap();
        assert_eq!(
            (name.piece.as_str(), name.edge.as_str()),
            ("heel band", "top")
        );
        assert_eq!(name.to_string(), "heel band: top");
        assert_eq!(EdgeName::parse("a: b: 2").unwrap().piece, "a: b");
        assert_eq!(EdgeName::parse("top"), None);
        assert_eq!(EdgeName::parse(": top"), None);
    }
}
