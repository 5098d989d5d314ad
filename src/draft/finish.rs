//! A drawn draft made ready to be cut: each piece with its allowance.

use super::Drawn;
use crate::fault::Outcome;
use crate::pattern::allowance::add;
use crate::pattern::{Pattern, Sewing};

impl Drawn {
    /// The pieces with their cut lines, and what is sewn to what.
    ///
    /// # Errors
    /// As [`add`]; the fault names the piece.
    pub fn finished(self) -> Outcome<(Pattern, Sewing)> {
        let mut pattern = Pattern {
            pieces: Vec::new(),
            left_out: Vec::new(),
            notes: self.notes,
        };
        for net in &self.pieces {
            let name = &net.piece.name;
            let allowed = add(net)?;
            let notes = allowed.notes.iter();
            pattern
                .notes
                .extend(notes.map(|n| format!("piece \"{name}\": {n}")));
            pattern.pieces.push(allowed.piece);
        }
        Ok((pattern, self.sewing))
    }
}
