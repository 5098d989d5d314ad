//! The names of a draft, and what a text that names a point or a line means.

use std::cell::Cell;
use std::collections::BTreeMap;

use crate::fault::{Fault, Outcome};

/// A point: its piece, its place among the piece's points.
pub type PointRef = (usize, usize);

/// A run along which one can measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Path {
    /// Straight from one point to another.
    Between(PointRef, PointRef),
    Line(usize, usize),
    /// An edge as it is drawn; of a mirrored piece, in the drawn half.
    Edge(usize, usize),
    /// An edge's mirror image, in a mirrored piece.
    Image(usize, usize),
    /// An edge with its mirror image, across the middle of a mirrored piece.
    Whole(usize, usize),
}

/// The names in one piece.
#[derive(Debug, Default)]
pub struct PieceNames {
    pub name: String,
    pub points: BTreeMap<String, usize>,
    pub point_list: Vec<String>,
    /// As its own rows know them.
    pub paths: BTreeMap<String, Path>,
    /// As other pieces and seams know them: with the mirrored half.
    pub outer: BTreeMap<String, Path>,
    /// Of each notch: its name and its edge's.
    pub notches: Vec<(String, String)>,
}

/// All names of a draft.
#[derive(Debug, Default)]
pub struct Names {
    pub measures: Vec<String>,
    pub lengths: Vec<String>,
    pub pieces: Vec<PieceNames>,
    /// How many formulas have been read.
    pub formulas: Cell<usize>,
}

/// Where a text stands: names without a piece are those of `here`.
#[derive(Clone, Copy)]
pub struct Scope<'a> {
    pub names: &'a Names,
    pub here: Option<usize>,
}

impl Scope<'_> {
    fn piece<'t>(&self, text: &'t str) -> Outcome<(usize, &'t str, bool)> {
        let text = text.trim();
        if let Some((piece, name)) = text.rsplit_once(':') {
            let (piece, name) = (piece.trim(), name.trim());
            let found = self.names.pieces.iter().position(|p| p.name == piece);
            return found.map(|k| (k, name, true)).ok_or_else(|| {
                Fault::input(
                    format!("there is no piece named \"{piece}\""),
                    "check the name before the colon",
                )
            });
        }
        match self.here {
            Some(k) => Ok((k, text, false)),
            None => Err(Fault::input(
                format!("\"{text}\" does not say of which piece"),
                format!("write the piece before it: upper: {text}"),
            )),
        }
    }

    /// The point that `text` names: `toe`, or `sole: toe` of another piece.
    ///
    /// # Errors
    /// If there is none.
    pub fn point(&self, text: &str) -> Outcome<PointRef> {
        let (piece, name, _) = self.piece(text)?;
        let names = &self.names.pieces[piece];
        let found = names.points.get(name).map(|&k| (piece, k));
        found.ok_or_else(|| {
            Fault::input(
                format!("there is no point named \"{name}\" in \"{}\"", names.name),
                "check the name, or add the point",
            )
        })
    }

    /// The run that `text` names: two points (`a, b`), an edge or line of this piece, or
    /// of another (`sole: outer`).
    ///
    /// # Errors
    /// If there is none.
    pub fn path(&self, text: &str) -> Outcome<Path> {
        if let Some((a, b)) = text.split_once(',') {
            return Ok(Path::Between(self.point(a)?, self.point(b)?));
        }
        let (piece, name, said) = self.piece(text)?;
        let names = &self.names.pieces[piece];
        let known = if said && self.here != Some(piece) {
            &names.outer
        } else {
            &names.paths
        };
        let found = known.get(name).or_else(|| names.outer.get(name)).copied();
        found.ok_or_else(|| {
            Fault::input(
                format!(
                    "there is no edge or line named \"{name}\" in \"{}\"",
                    names.name
                ),
                "check the name, or write two points: a, b",
            )
        })
    }
}
