//! Reading a pattern drawn as SVG, at its true physical size.
//!
//! The way through: `guard` and `doctype` make the bytes safe to parse,
//! `walk` finds every drawn shape and lays it on the page in millimetres,
//! `roles` says what each is, and `drawn` makes pieces of them.
//! Nothing outside the file is ever followed.

mod doctype;
mod follow;
mod guard;
mod page;
mod path_data;
mod place;
mod roles;
mod shapes;
mod sheet;
mod sort;
mod style;
mod transform;
mod units;
mod viewbox;
mod walk;
mod words;

use std::fs::File;
use std::io::Read;
use std::path::Path;

use super::drawn::{self, assemble, drawing, left_out};
use crate::fault::{Fault, Outcome};
use crate::pattern::Pattern;

/// Reads the SVG pattern file at `path`.
///
/// # Errors
///
/// When the file can't be opened, and wherever [`parse`] fails; the fault
/// names the file.
pub fn read(path: &Path) -> Outcome<Pattern> {
    let failed = |error| Fault::file("reading", path, &error);
    let mut bytes = Vec::new();
    // One byte past the limit is enough for `parse` to refuse the file, so an
    // endless one can't fill the memory.
    File::open(path)
        .map_err(failed)?
        .take(guard::MAX_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    parse(&bytes).map_err(|fault| fault.in_file(path))
}

/// Reads an SVG pattern from the bytes of its file: millimetres at full size,
/// every line within 0.02 mm of what is drawn.
///
/// # Errors
///
/// An input fault, placed by line and element, when the bytes are not an SVG
/// within the limits of size and nesting, a measure or a path can't be read, a
/// piece has no usable outline or one of more than 20 000 points, a notch or a
/// fold is more than 1 mm off the cut line, or a pair is asked for in an odd
/// number. What merely could not be told, or could not be lit, is listed in
/// [`Pattern::left_out`] instead, and what the person should check, such as a
/// size in px, in [`Pattern::notes`].
pub fn parse(bytes: &[u8]) -> Outcome<Pattern> {
    parse_scaled(bytes, 1.0)
}

/// The same, all of it `scale` times as large as the drawing says, 0.001 to 1000.
///
/// # Errors
///
/// As [`parse`], and when the scale is not one.
pub fn parse_scaled(bytes: &[u8], scale: f64) -> Outcome<Pattern> {
    let scale = super::scale::checked(scale)?;
    let text = doctype::settle(guard::text(bytes)?)?;
    guard::scan(&text)?;
    let options = roxmltree::ParsingOptions {
        allow_dtd: false,
        nodes_limit: guard::MAX_NODES,
        ..Default::default()
    };
    let document =
        roxmltree::Document::parse_with_options(&text, options).map_err(guard::xml_fault)?;
    let lines = place::Lines::of(&text);
    let mut left_out = left_out::LeftOut::default();
    let css = sheet::gather(&document, &lines, &mut left_out);
    let styles = style::Styles::parse(&css)?;
    let drawing = walk::walk(&document, &lines, &styles, scale, &mut left_out)?;
    assemble::pattern(drawing, left_out)
}

#[cfg(test)]
mod tests;
