//! The one fault type: what is wrong, where, and what to do about it.
//!
//! Every room reports through [`Fault`], and only `cli` turns one into an
//! exit code. A fault is one sentence a person at the table can act on.

use std::fmt;
use std::path::Path;

/// Who has to act, which decides the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// What was given can't be used: exit code 2.
    Input,
    /// Something of ours, or of the machine, went wrong: exit code 3.
    Ours,
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    pub kind: Kind,
    /// What is wrong, without a full stop.
    pub what: String,
    /// Where, outermost first: file, then line or element.
    pub place: Vec<String>,
    /// What the person can do about it, without a full stop.
    pub remedy: String,
}

/// The result type of everything that can fail.
pub type Outcome<T> = Result<T, Fault>;

impl Fault {
    /// Bad input: `what` is wrong, `remedy` puts it right.
    pub fn input(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            kind: Kind::Input,
            what: what.into(),
            place: Vec::new(),
            remedy: remedy.into(),
        }
    }

    /// A fault of the program or the machine, not of the input.
    pub fn ours(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            kind: Kind::Ours,
            ..Self::input(what, remedy)
        }
    }

    /// The same fault, placed inside `place` (a file, a line, an element).
    /// Called from the inside out, so each call goes in front of the last; the same
    /// place is not said twice in a row.
    #[must_use]
    pub fn at(mut self, place: impl fmt::Display) -> Self {
        let place = place.to_string();
        if self.place.first() != Some(&place) {
            self.place.insert(0, place);
        }
        self
    }

    /// The same fault, placed in a file.
    #[must_use]
    pub fn in_file(self, path: &Path) -> Self {
        self.at(path.display())
    }

    /// A file that could not be read or written.
    pub fn file(doing: &str, path: &Path, error: &std::io::Error) -> Self {
        use std::io::ErrorKind as K;
        let (what, remedy) = match error.kind() {
            K::NotFound => ("there is no such file", "check the name and the folder"),
            K::PermissionDenied => ("access is denied", "check the file's permissions"),
            K::IsADirectory => ("this is a folder, not a file", "name a file inside it"),
            K::NotADirectory => (
                "a part of the path is a file, not a folder",
                "check the path",
            ),
            K::InvalidData => ("the file is not text", "check that it is the right file"),
            K::ReadOnlyFilesystem => ("the disk is read-only", "use a disk that can be written"),
            K::StorageFull => ("the disk is full", "make room, then try again"),
            _ => {
                return Self::input(
                    format!("{doing} failed: {error}"),
                    "check the file and the disk",
                )
                .in_file(path);
            }
        };
        Self::input(format!("{doing} failed: {what}"), remedy).in_file(path)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for p in &self.place {
            write!(f, "{p}: ")?;
        }
        write!(f, "{}; {}.", self.what, self.remedy)
    }
}

impl std::error::Error for Fault {}

/// A number as text within a fault: short, and never in scientific notation
/// unless it has to be.
pub fn short(value: f64) -> String {
    if value.is_finite() && value.abs() < 1e7 && (value == 0.0 || value.abs() >= 1e-3) {
        let text = format!("{value:.3}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        format!("{value:e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_reads_as_one_sentence_from_the_outside_in() {
        let fault = Fault::input("the cut line crosses itself", "redraw it without the loop")
            .at("line 12")
            .in_file(Path::new("slippers.svg"));
        assert_eq!(
            fault.to_string(),
            "slippers.svg: line 12: the cut line crosses itself; redraw it without the loop."
        );
    }

    #[test]
    fn one_place_is_not_said_twice_in_a_row() {
        let piece = "piece \"heel\"";
        let fault = Fault::input("it crosses itself", "redraw it")
            .at(piece)
            .at(piece);
        let said = "a.svg: piece \"heel\": it crosses itself; redraw it.";
        assert_eq!(fault.at("a.svg").to_string(), said);
    }

    #[test]
    fn numbers_in_faults_are_short() {
        assert_eq!(short(12.0), "12");
        assert_eq!(short(0.1254), "0.125");
        assert_eq!(short(1e9), "1e9");
        assert_eq!(short(f64::NAN), "NaN");
    }
}
