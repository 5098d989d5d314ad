//! Group codes and their values: two lines each.

use std::borrow::Cow;

use crate::drawing::read::drawn::place::excerpt;
use crate::drawing::read::letters::windows_1252;
use crate::fault::{Fault, Outcome};

/// Most pairs in a file.
const MAX_PAIRS: usize = 12_000_000;
/// Farthest that a coordinate may lie, in the file's units: farther is a slip.
const FARTHEST: f64 = 1e9;

/// One group: its code, and what stands on the line after it.
#[derive(Debug, Clone, Copy)]
pub struct Pair<'t> {
    pub code: i32,
    pub value: &'t str,
    /// Line of the value, from 1.
    pub line: usize,
}

impl Pair<'_> {
    /// The value as a number.
    ///
    /// # Errors
    ///
    /// When it is none, or absurdly far.
    pub fn number(&self) -> Outcome<f64> {
        let number = self.value.trim().parse::<f64>().ok();
        let fits = number.filter(|n| n.is_finite() && n.abs() <= FARTHEST);
        fits.ok_or_else(|| {
            Fault::input(
                format!(
                    "\"{}\" is not a number that can be used",
                    excerpt(self.value.trim())
                ),
                "save the file again, or put the number right",
            )
            .at(format!("line {}", self.line))
        })
    }

    /// The value as a whole number.
    ///
    /// # Errors
    ///
    /// When it is none.
    pub fn whole(&self) -> Outcome<i64> {
        let number = self.number()?;
        if number.fract() == 0.0 {
            Ok(number as i64)
        } else {
            Err(Fault::input(
                format!(
                    "\"{}\" should be a whole number",
                    excerpt(self.value.trim())
                ),
                "save the file again, or put the number right",
            )
            .at(format!("line {}", self.line)))
        }
    }
}

/// The file's bytes as text. What is not UTF-8 is taken as Windows-1252, as files
/// before R2007 are written in the West; it matters for names only.
///
/// # Errors
///
/// When it is empty or a binary DXF.
pub fn text(bytes: &[u8]) -> Outcome<Cow<'_, str>> {
    if bytes.trim_ascii().is_empty() {
        return Err(Fault::input(
            "the file is empty",
            "export the drawing again",
        ));
    }
    if bytes.starts_with(b"AutoCAD Binary DXF") {
        return Err(Fault::input(
            "this is a binary DXF",
            "save it as an ASCII DXF (R12 to R2018)",
        ));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if bytes.contains(&0) {
        return Err(not_dxf());
    }
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().map(|&b| windows_1252(b)).collect()),
    })
}

fn not_dxf() -> Fault {
    Fault::input("this is not a DXF", "check that it is the right file")
}

/// The pairs of `text`, comments (999) left out.
///
/// # Errors
///
/// When a group code is no number, or the file ends before its end is said.
pub fn pairs(text: &str) -> Outcome<Vec<Pair<'_>>> {
    let mut pairs: Vec<Pair> = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((at, code)) = lines.next() {
        let trimmed = code.trim();
        let Some((value_at, value)) = lines.next() else {
            if trimmed.is_empty() {
                break;
            }
            return Err(cut_short());
        };
        let Ok(code) = trimmed.parse::<i32>() else {
            if pairs.is_empty() {
                return Err(not_dxf());
            }
            return Err(Fault::input(
                format!(
                    "\"{}\" stands where a number should that says what comes next (a group code)",
                    excerpt(trimmed)
                ),
                "export the drawing again: a line is missing or damaged",
            )
            .at(format!("line {}", at + 1)));
        };
        let value = value.strip_suffix('\r').unwrap_or(value);
        if pairs.is_empty() && code != 999 && !(code == 0 && value.trim() == "SECTION") {
            return Err(not_dxf());
        }
        if code == 0 && value.trim() == "EOF" {
            return Ok(pairs);
        }
        if code != 999 {
            pairs.push(Pair {
                code,
                value,
                line: value_at + 1,
            });
        }
        if pairs.len() > MAX_PAIRS {
            return Err(Fault::input(
                "the file holds more than 12 million values",
                "take what is not pattern out of the drawing",
            ));
        }
    }
    Err(cut_short())
}

fn cut_short() -> Fault {
    Fault::input(
        "the file ends before the drawing does (its EOF is missing)",
        "it was cut short: save or copy it again",
    )
}
