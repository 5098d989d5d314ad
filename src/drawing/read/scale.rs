//! A file of the wrong scale is the costliest mistake: sizes are always said.

use crate::drawing::read::drawn::place::excerpt;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::{Pattern, PatternPiece};
use crate::space::Bounds;

/// How the note on the largest piece begins.
pub const LARGEST: &str = "the largest piece";

/// The largest piece of a pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Largest {
    pub piece: String,
    /// Its box along x and y of piece space, mm.
    pub size: [f64; 2],
}

/// A scale that a person gave.
///
/// # Errors
///
/// When it is not within 0.001 to 1000.
pub fn checked(scale: f64) -> Outcome<f64> {
    if (1e-3..=1e3).contains(&scale) {
        Ok(scale)
    } else {
        Err(Fault::input(
            format!("the scale {} is not one", short(scale)),
            "give one from 0.001 to 1000; 1 is full size",
        ))
    }
}

/// The piece whose box is the largest, and that.
pub fn largest(pieces: &[PatternPiece]) -> Option<Largest> {
    let size = |piece: &PatternPiece| {
        let b = Bounds::from_points(piece.cut.iter().flatten());
        [b.width(), b.height()]
    };
    let all = pieces.iter().map(|piece| (piece, size(piece)));
    let largest = all.max_by(|(_, a), (_, b)| (a[0] * a[1]).total_cmp(&(b[0] * b[1])));
    largest.map(|(piece, size)| Largest {
        piece: piece.name.clone(),
        size,
    })
}

/// Slips by which files come out at another scale: what they are multiplied by to be right,
/// and why; then the other way round.
const SLIPS: [(f64, &str, &str); 6] = [
    (
        25.4,
        "inches were read as millimetres",
        "millimetres were read as inches",
    ),
    (
        10.0,
        "centimetres were read as millimetres",
        "millimetres were read as centimetres",
    ),
    (
        2.54,
        "inches were read as centimetres",
        "centimetres were read as inches",
    ),
    (
        96.0 / 72.0,
        "72nds of an inch were read as 96ths",
        "96ths of an inch were read as 72nds",
    ),
    (
        90.0 / 72.0,
        "72nds of an inch were read as 90ths",
        "90ths of an inch were read as 72nds",
    ),
    (
        96.0 / 90.0,
        "90ths of an inch were read as 96ths",
        "96ths of an inch were read as 90ths",
    ),
];

/// A scale within this share of a slip's is likely that.
const NEAR: f64 = 0.02;

/// The common slip that `scale` is near to, with its exact scale; either way round.
/// (common practice; inch = 25.4 mm, px = 1/96 in, pt = 1/72 in, and 1/90 in of older
/// editors)
pub fn slip(scale: f64) -> Option<(f64, &'static str)> {
    let near = |exact: f64| (scale / exact - 1.0).abs() <= NEAR;
    let both = SLIPS.into_iter();
    let both = both.flat_map(|(s, why, back)| [(s, why), (1.0 / s, back)]);
    let mut near: Vec<_> = both.filter(|(exact, _)| near(*exact)).collect();
    near.sort_by(|a, b| (scale - a.0).abs().total_cmp(&(scale - b.0).abs()));
    near.first().copied()
}

/// Notes how large the largest piece is, for the person to say whether that is right.
pub fn note_largest(pattern: &mut Pattern) {
    if let Some(Largest { piece, size }) = largest(&pattern.pieces) {
        let round = |mm: f64| short((mm * 10.0).round() / 10.0);
        pattern.notes.push(format!(
            "{LARGEST}, \"{}\", is {} mm by {} mm: check that this is its true size.",
            excerpt(&piece),
            round(size[0]),
            round(size[1])
        ));
    }
}
