//! Where in the file something stands.

use std::fmt;

/// What a file is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    Line,
    Page,
    /// Of a piece that was read already.
    Stroke,
}

impl Part {
    /// As it is said of one, and of several.
    pub fn word(self, several: bool) -> &'static str {
        match (self, several) {
            (Self::Line, false) => "line",
            (Self::Line, true) => "lines",
            (Self::Page, false) => "page",
            (Self::Page, true) => "pages",
            (Self::Stroke, false) => "stroke",
            (Self::Stroke, true) => "strokes",
        }
    }
}

/// An element as a person would look for it: `line 12, path "cut"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place<'a> {
    pub part: Part,
    /// Line or page in the file, from 1.
    pub line: usize,
    pub tag: &'a str,
    pub id: Option<&'a str>,
}

impl fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}, {}", self.part.word(false), self.line, self.tag)?;
        match self.id {
            Some(id) => write!(f, " \"{}\"", excerpt(id)),
            None => Ok(()),
        }
    }
}

/// The start of `text`, short enough to quote.
pub fn excerpt(text: &str) -> String {
    const LETTERS: usize = 60;
    let mut short: String = text.chars().take(LETTERS).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}
