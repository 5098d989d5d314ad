//! Reading a pattern printed as PDF (ISO 32000), at its true size.
//!
//! `page` says where a page's drawing lies on paper, `layers` which optional content
//! shows, `unpack` counts what streams hold, by `inflate`, in the `way` that is `told` by
//! dictionaries spelt as in `lex`, `rows` says how long rows may be, and `watched` how long
//! it takes, `interpret` follows the operators, `paint` gathers what they paint, `font`
//! turns codes to letters, `clip` cuts lines where the page or a clip ends, and `tiles`
//! joins pages that were parted for printing: as `seams` finds, or as given, which `joints`
//! checks. What is drawn are loose strokes.

mod again;
mod clip;
mod cmap;
mod cost;
mod font;
mod glyphs;
mod inflate;
mod interpret;
mod joints;
mod layers;
mod lex;
mod operands;
mod page;
mod paint;
mod rows;
mod seams;
mod state;
mod tiles;
mod told;
mod unpack;
mod watched;
mod way;
mod words;

#[cfg(test)]
mod tests;

use std::path::Path;

use hayro_syntax::object::Dict;
use hayro_syntax::{DecryptionError, LoadPdfError, Pdf};

use super::drawn::left_out::LeftOut;
use super::{scale, strokes};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Pattern;

pub use layers::LayerInfo;
pub use tiles::{Order, Tiles};

/// Largest file read: 64 MiB.
const MAX_BYTES: usize = 64 << 20;
/// Most pages.
const MAX_PAGES: usize = 500;

/// What a person says of a PDF file.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// The layers to read, by name, and no others; none: those that are on.
    pub layers: Option<Vec<String>>,
    /// How the pages are joined; none: found from what is on them.
    pub tiles: Option<Tiles>,
    /// Everything is this much larger than drawn, > 0.
    pub scale: f64,
    /// Ends of strokes this near meet, mm, > 0.
    pub join: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            layers: None,
            tiles: None,
            scale: 1.0,
            join: strokes::JOIN,
        }
    }
}

/// Reads the PDF pattern file at `path`.
///
/// # Errors
///
/// When the file can't be read, and wherever [`parse`] fails; the fault names the file.
pub fn read(path: &Path, options: &Options) -> Outcome<Pattern> {
    let bytes = crate::disk::read(path, "reading", MAX_BYTES as u64)?;
    parse(&bytes, options).map_err(|fault| fault.in_file(path))
}

/// Reads a PDF pattern from the bytes of its file: millimetres at full size, every line
/// within 0.02 mm of what is drawn.
///
/// # Errors
///
/// An input fault when the bytes are no PDF within the limits, it wants a password, it
/// takes minutes to read, holds pictures only, a repeated part draws itself, a layer or a way to
/// join pages that was asked for does not fit, it has no closed line, or a check square is
/// not of the size that it says. What could not be told is listed in [`Pattern::left_out`], and all that was
/// guessed in [`Pattern::notes`].
pub fn parse(bytes: &[u8], options: &Options) -> Outcome<Pattern> {
    let options = options.clone();
    watched::watched(bytes, watched::LONGEST, move |bytes| whole(bytes, &options))
}

fn whole(bytes: &[u8], options: &Options) -> Outcome<Pattern> {
    let pdf = open(bytes)?;
    let by = scale::checked(options.scale)?;
    let shown = layers::Shown::of(&pdf, options.layers.as_deref())?;
    let mut left_out = LeftOut::default();
    let mut notes = shown.notes();
    notes.extend(miscounted(&pdf));
    let pages = interpret::pages(&pdf, &shown, by, &mut left_out)?;
    let joined = tiles::join(pages, options.tiles.as_ref(), &mut notes, &mut left_out)?;
    // Where pages meet, printers and programs round.
    let join = if joined.parted {
        options.join.max(tiles::SEAM)
    } else {
        options.join
    };
    let given = strokes::Given { join, scale: by };
    let mut pattern = strokes::pieces(&joined.sheet, given, notes, left_out)?;
    scale::note_largest(&mut pattern);
    Ok(pattern)
}

/// The layers of a PDF by name, in its order, and whether each is on.
///
/// # Errors
///
/// When the bytes are no PDF that can be opened.
pub fn layers(bytes: &[u8]) -> Outcome<Vec<LayerInfo>> {
    watched::watched(bytes, watched::LONGEST, |bytes| {
        Ok(layers::all(&open(bytes)?))
    })
}

/// Says so where the file counts other pages than were found.
fn miscounted(pdf: &Pdf) -> Option<String> {
    let root: Dict = pdf.xref().get(pdf.xref().root_id())?;
    let count = root.get::<Dict>("Pages")?.get::<f64>("Count")?;
    let found = pdf.pages().len();
    (count != found as f64).then(|| {
        format!(
            "the PDF says that it has {} pages, and {found} were found: some may be missing.",
            short(count)
        )
    })
}

fn open(bytes: &[u8]) -> Outcome<Pdf> {
    const AGAIN: &str = "save or copy it again";
    if bytes.is_empty() {
        return Err(Fault::input("the file is empty", AGAIN));
    }
    if bytes.len() > MAX_BYTES {
        return Err(Fault::input(
            "the file is larger than 64 MiB",
            "take pictures and pages that are not pattern out of it",
        ));
    }
    let head = &bytes[..bytes.len().min(1024)];
    if !head.windows(5).any(|w| w == b"%PDF-") {
        return Err(Fault::input(
            "this is not a PDF",
            "check that it is the right file",
        ));
    }
    let mut bytes = bytes.to_vec();
    unpack::guard(&mut bytes)?;
    let pdf = Pdf::new(bytes).map_err(|error| match error {
        LoadPdfError::Decryption(DecryptionError::PasswordProtected) => Fault::input(
            "the file wants a password to be opened",
            "open it in a viewer and save it without one",
        ),
        LoadPdfError::Decryption(_) => Fault::input(
            "the file is encrypted in a way that is not known",
            "open it in a viewer and save it unencrypted",
        ),
        LoadPdfError::Invalid => Fault::input(
            "the PDF is damaged, and has no page that can be read",
            AGAIN,
        ),
    })?;
    match pdf.pages().len() {
        0 => Err(Fault::input("the PDF has no page", AGAIN)),
        n if n > MAX_PAGES => Err(Fault::input(
            format!("the PDF has {n} pages, more than {MAX_PAGES}"),
            "keep the pages of one pattern",
        )),
        _ => Ok(pdf),
    }
}
