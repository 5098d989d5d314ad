//! Reading a pattern drawn as DXF, ASCII, R12 to R2018.
//!
//! `pairs` parts the text into group codes and values by line, `file` finds header,
//! layers, blocks and entities, `shape` draws an entity, `expand` follows inserts, and
//! `sewn` reads the sewn-products layers of ASTM D6673, one block a piece. Other
//! drawings are loose strokes.

mod curve;
mod expand;
mod file;
mod pairs;
mod sewn;
mod shape;
mod units;

#[cfg(test)]
mod tests;

use std::path::Path;

use super::drawn::left_out::LeftOut;
use super::{scale, strokes};
use crate::fault::Outcome;
use crate::measure::Unit;
use crate::pattern::Pattern;

/// Largest file read: 64 MiB.
const MAX_BYTES: u64 = 64 << 20;

/// What a person says of a DXF file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// What one of its units is; none: as the file says.
    pub unit: Option<Unit>,
    /// Everything is this much larger than drawn, > 0.
    pub scale: f64,
    /// Ends of strokes this near meet, mm, > 0.
    pub join: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            unit: None,
            scale: 1.0,
            join: strokes::JOIN,
        }
    }
}

/// Reads the DXF pattern file at `path`.
///
/// # Errors
///
/// When the file can't be read, and wherever [`parse`] fails; the fault names the file.
pub fn read(path: &Path, options: &Options) -> Outcome<Pattern> {
    let bytes = crate::disk::read(path, "reading", MAX_BYTES)?;
    parse(&bytes, options).map_err(|fault| fault.in_file(path))
}

/// Reads a DXF pattern from the bytes of its file: millimetres at full size, every line
/// within 0.02 mm of what is drawn.
///
/// # Errors
///
/// An input fault, placed by line, when the bytes are no ASCII DXF within the limits, a
/// number can't be read, blocks hold themselves, nothing says what its unit is, it has
/// no closed line, or pieces are not sound. What could not be told is listed in
/// [`Pattern::left_out`], and all that was guessed in [`Pattern::notes`].
pub fn parse(bytes: &[u8], options: &Options) -> Outcome<Pattern> {
    let text = pairs::text(bytes)?;
    let pairs = pairs::pairs(&text)?;
    let file = file::File::of(&pairs)?;
    let (mm, mut notes) = units::mm(&file, options.unit)?;
    let mm = mm * scale::checked(options.scale)?;
    let given = strokes::Given {
        join: options.join,
        scale: options.scale,
    };
    let mut left_out = LeftOut::default();
    let mut pattern = if sewn::is_sewn(&file, &mut notes) {
        sewn::pattern(&file, mm, notes, left_out)?
    } else {
        let sheet = expand::sheet(&file, mm, &mut notes, &mut left_out)?;
        strokes::pieces(&sheet, given, notes, left_out)?
    };
    scale::note_largest(&mut pattern);
    Ok(pattern)
}
