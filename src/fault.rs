//! The one fault type: what is wrong, where, and what to do about it.
//!
//! Every room reports through [`Fault`], and only `cli` turns one into an
//! exit code. A fault is one sentence a person at the table can act on.

mod system;

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

    /// A mistake in this program: whoever meets it can only tell of it. `what` has gone wrong.
    pub fn mistake(what: impl Into<String>) -> Self {
        Self::ours(
            what,
            "this is a mistake in Ghostchalk: keep the files as they are, and tell those who gave \
             you the program what you did; send them the command, the job's folder and what \
             `ghostchalk --version` says",
        )
    }

    /// What a library of ours says of a text that it can't read, in plain words. `from` is
    /// the byte of `text` where that stands; its line is the fault's place.
    pub fn in_text(said: &str, text: &str, from: Option<usize>) -> Self {
        let (what, remedy) = plainly(&said.replace('`', "\"").replace('\n', " "));
        let fault = Self::input(what, remedy);
        match from {
            Some(from) => {
                let before = text.as_bytes().iter().take(from);
                let line = 1 + before.filter(|b| **b == b'\n').count();
                fault.at(format!("line {line}"))
            }
            None => fault,
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

    /// A file that could not be read or written. A full or failing disk is the machine's fault.
    pub fn file(doing: &str, path: &Path, error: &std::io::Error) -> Self {
        let (kind, what, remedy) = system::told(error);
        Self {
            kind,
            ..Self::input(format!("{doing} failed: {what}"), remedy)
        }
        .in_file(path)
    }

    /// Standard output that could not be written to.
    pub fn printing(error: &std::io::Error) -> Self {
        let (_, what, remedy) = system::told(error);
        Self::ours(format!("the result can't be printed: {what}"), remedy)
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

/// What is wrong in a file of keys and values, and what to do, from a library's words.
fn plainly(said: &str) -> (String, &'static str) {
    let split = |start: &str, between: &str| {
        let (found, wanted) = said.strip_prefix(start)?.split_once(between)?;
        Some((found.to_owned(), wanted.to_owned()))
    };
    if let Some((found, wanted)) =
        split("invalid type: ", ", expected ").or(split("invalid value: ", ", expected "))
    {
        let what = format!(
            "{} stands there, and {} belongs there",
            kind(&found),
            kind(&wanted)
        );
        return (what, "write it so");
    }
    if let Some((key, known)) = split("unknown field ", ", expected ") {
        let known = known.trim_start_matches("one of ");
        return (
            format!("the key {key} is not known there (known are {known})"),
            "check its spelling, or take it out",
        );
    }
    if let Some((word, known)) = split("unknown variant ", ", expected ") {
        let known = known.trim_start_matches("one of ");
        return (
            format!("the word {word} is not known there (known are {known})"),
            "write one of them",
        );
    }
    if let Some(key) = said.strip_prefix("missing field ") {
        return (format!("the key {key} is missing"), "add it");
    }
    if said.starts_with("duplicate key") {
        let what = "the same key stands there twice";
        return (what.to_owned(), "take one of them out");
    }
    if said.starts_with("data did not match any variant") {
        let what = "this is written in none of the ways that are known";
        return (what.to_owned(), "write it as in an example");
    }
    // What the library says of the way it is written; all else are sentences of our own.
    let written = [
        "invalid",
        "expected",
        "unexpected",
        "key with",
        "unclosed",
        "missing",
        "extra",
    ];
    if written.iter().any(|start| said.starts_with(start)) {
        return (
            format!("this can't be read ({said})"),
            "mend that line: a key, =, and its value; a text in quotes, a list in [ ]",
        );
    }
    (said.to_owned(), "put that right and try again")
}

/// A kind of value, as a person calls it.
fn kind(said: &str) -> String {
    if let Some(text) = said.strip_prefix("string ") {
        return format!("the text {text}");
    }
    for (start, plain) in [
        ("floating point ", "the number "),
        ("integer ", "the number "),
        ("boolean ", "the word "),
    ] {
        if let Some(rest) = said.strip_prefix(start) {
            return format!("{plain}{}", rest.trim_matches('"'));
        }
    }
    let plain = match said {
        "f64" | "f32" => "a number",
        "u8" => "a whole number from 0 to 255",
        "u16" | "u32" | "u64" | "usize" => "a whole number from 0 up",
        "i32" | "i64" => "a whole number",
        "a string" => "a text in quotes",
        "a boolean" => "true or false",
        "sequence" | "a sequence" => "a list",
        "map" | "a map" => "a table of keys",
        _ if said.starts_with("struct ") => "a table of keys",
        _ => said,
    };
    plain.to_owned()
}

/// So many of a thing: `1 part`, `3 parts`.
pub fn counted(n: usize, one: &str, many: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        _ => format!("{n} {many}"),
    }
}

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
    fn what_a_library_says_of_a_text_is_told_plainly_and_with_its_line() {
        let said = |words: &str| Fault::in_text(words, "a = 1\nb = 2\n", Some(6)).to_string();
        for (words, plain) in [
            (
                "invalid type: floating point `1.5`, expected u32",
                "line 2: the number 1.5 stands there, and a whole number from 0 up belongs there; write it so.",
            ),
            (
                "unknown field `nmae`, expected one of `name`, `count`",
                "line 2: the key \"nmae\" is not known there (known are \"name\", \"count\"); \
                 check its spelling, or take it out.",
            ),
            (
                "unknown variant `up`, expected `left` or `right`",
                "line 2: the word \"up\" is not known there (known are \"left\" or \"right\"); \
                 write one of them.",
            ),
            (
                "missing field `name`",
                "line 2: the key \"name\" is missing; add it.",
            ),
            (
                "duplicate key",
                "line 2: the same key stands there twice; take one of them out.",
            ),
        ] {
            assert_eq!(said(words), plain);
        }
        let other = said("key with no value, expected `=`");
        assert!(other.contains("expected \"=\"); mend that line"), "{other}");
        assert!(Fault::in_text("duplicate key", "", None).place.is_empty());
    }

    #[test]
    fn one_is_not_told_as_many() {
        assert_eq!(counted(1, "part", "parts"), "1 part");
        assert_eq!(counted(0, "part", "parts"), "0 parts");
        assert_eq!(counted(2, "part", "parts"), "2 parts");
    }

    #[test]
    fn numbers_in_faults_are_short() {
        assert_eq!(short(12.0), "12");
        assert_eq!(short(0.1254), "0.125");
        assert_eq!(short(1e9), "1e9");
        assert_eq!(short(f64::NAN), "NaN");
    }
}
