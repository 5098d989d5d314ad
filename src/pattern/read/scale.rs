//! A file of the wrong scale is the costliest mistake: sizes are always said.

use crate::fault::{Fault, Outcome, short};
use crate::pattern::piece::{Pattern, PatternPiece};
use crate::pattern::read::drawn::place::excerpt;
use crate::space::Bounds;

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

/// Notes how large the largest piece is, for the person to say whether that is right.
pub fn note_largest(pattern: &mut Pattern) {
    let size = |piece: &PatternPiece| {
        let b = Bounds::from_points(piece.cut.iter().flatten());
        (b.width(), b.height())
    };
    let all = pattern.pieces.iter().map(|piece| (piece, size(piece)));
    let largest = all.max_by(|(_, a), (_, b)| (a.0 * a.1).total_cmp(&(b.0 * b.1)));
    if let Some((piece, (width, height))) = largest {
        let round = |mm: f64| short((mm * 10.0).round() / 10.0);
        pattern.notes.push(format!(
            "the largest piece, \"{}\", is {} mm by {} mm: check that this is its true size.",
            excerpt(&piece.name),
            round(width),
            round(height)
        ));
    }
}
