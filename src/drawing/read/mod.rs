//! Reading patterns from files. One module a format; each gives a whole
//! pattern or a fault, never a part of one.

mod drawn;
mod letters;
mod scale;
#[cfg(test)]
mod testing;

pub mod card;
pub mod correct;
pub mod dxf;
pub mod pdf;
pub mod strokes;
pub mod svg;

use std::path::Path;

pub use scale::{Largest, largest, slip};

use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::pattern::Pattern;

/// Largest file read: 64 MiB.
const MAX_BYTES: u64 = 64 << 20;

/// What a file is, by its first bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    Svg,
    Pdf,
    Dxf,
}

/// What a person says of a pattern file, whatever its format. What a format has no use
/// for is not looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadOptions {
    /// DXF: what one of its units is; none: as the file says.
    pub unit: Option<Unit>,
    /// PDF: the layers to read; none: those that are on.
    pub layers: Option<Vec<String>>,
    /// PDF: how pages are joined; none: found from what is on them.
    pub tiles: Option<pdf::Tiles>,
    /// Everything is this much larger than drawn, 0.001 to 1000.
    pub scale: f64,
    /// PDF and DXF: ends of strokes this near meet, mm, > 0.
    pub join: f64,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            unit: None,
            layers: None,
            tiles: None,
            scale: 1.0,
            join: strokes::JOIN,
        }
    }
}

/// Reads the pattern file at `path`, whatever its name ends in. The size of the largest
/// piece is among the notes.
///
/// # Errors
///
/// When the file can't be read or is none of the formats, and wherever its format's reader
/// fails; the fault names the file.
pub fn any(path: &Path, options: &ReadOptions) -> Outcome<Pattern> {
    let bytes = crate::disk::read(path, "reading", MAX_BYTES)?;
    parse(&bytes, options).map_err(|fault| fault.in_file(path))
}

/// Reads a pattern from the bytes of its file; see [`any`].
///
/// # Errors
///
/// As [`any`].
pub fn parse(bytes: &[u8], options: &ReadOptions) -> Outcome<Pattern> {
    match format(bytes)? {
        Format::Svg => {
            let others = options.unit.is_some() || options.tiles.is_some();
            if others || options.layers.is_some() {
                return Err(Fault::input(
                    "an SVG says its own layers and unit, and is read as it says",
                    "leave unit, layers and tiles out, or change the drawing itself",
                ));
            }
            let mut pattern = svg::parse_scaled(bytes, options.scale)?;
            scale::note_largest(&mut pattern);
            Ok(pattern)
        }
        Format::Pdf => pdf::parse(
            bytes,
            &pdf::Options {
                layers: options.layers.clone(),
                tiles: options.tiles,
                scale: options.scale,
                join: options.join,
            },
        ),
        Format::Dxf => dxf::parse(
            bytes,
            &dxf::Options {
                unit: options.unit,
                scale: options.scale,
                join: options.join,
            },
        ),
    }
}

/// Tells the format by the bytes.
///
/// # Errors
///
/// When it is none that is read.
pub fn format(bytes: &[u8]) -> Outcome<Format> {
    let head = &bytes[..bytes.len().min(1024)];
    let text = head
        .strip_prefix(b"\xef\xbb\xbf")
        .unwrap_or(head)
        .trim_ascii_start();
    let first = text
        .split(|&b| b == b'\n')
        .next()
        .unwrap_or_default()
        .trim_ascii();
    // Compressed or in UTF-16: the SVG reader says what to do.
    let as_svg: [&[u8]; 5] = [b"<", b"\x1f\x8b", b"\xff\xfe", b"\xfe\xff", b"\0<"];
    if head.windows(5).any(|w| w == b"%PDF-") {
        Ok(Format::Pdf)
    } else if first == b"0" || first == b"999" || text.starts_with(b"AutoCAD Binary DXF") {
        Ok(Format::Dxf)
    } else if as_svg.iter().any(|start| text.starts_with(start)) {
        Ok(Format::Svg)
    } else if text.is_empty() {
        Err(Fault::input("the file is empty", "save the drawing again"))
    } else if text.starts_with(b"\x89PNG") || text.starts_with(b"\xff\xd8\xff") {
        Err(Fault::input(
            "this is a picture, not a drawing with lines",
            "get the pattern as SVG, PDF or DXF, or trace the picture",
        ))
    } else {
        Err(Fault::input(
            "this is no SVG, PDF or DXF",
            "check that it is the right file",
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::testing::{check, file, holds};
    use super::*;

    #[test]
    fn every_format_is_known_by_its_bytes() {
        let all = [
            ("svgwrite.svg", Format::Svg),
            ("reportlab_plain.pdf", Format::Pdf),
            ("ezdxf_r12.dxf", Format::Dxf),
        ];
        let folder = tempfile::tempdir().unwrap();
        for (name, of) in all {
            assert_eq!(format(&file(name)), Ok(of));
            let path = folder.path().join("pattern.txt");
            std::fs::write(&path, file(name)).unwrap();
            let pattern = any(&path, &ReadOptions::default()).unwrap();
            check(&pattern, name);
            holds(&pattern.notes, "the largest piece");
        }
    }

    #[test]
    fn other_files_are_refused() {
        for (bytes, says) in [
            (&b""[..], "the file is empty"),
            (b"\x89PNG\r\n\x1a\n", "this is a picture"),
            (b"\x1f\x8b\x08", "the file is compressed"),
            (b"[job]\n", "this is no SVG, PDF or DXF"),
            (b"  0\r\nSECTION\r\n", "it was cut short"),
        ] {
            let fault = parse(bytes, &ReadOptions::default()).unwrap_err();
            assert!(fault.to_string().contains(says), "{fault}");
        }
        let layered = ReadOptions {
            layers: Some(vec!["39".into()]),
            ..ReadOptions::default()
        };
        assert!(parse(&file("svgwrite.svg"), &layered).is_err());
        let bad = ReadOptions {
            scale: f64::NAN,
            ..ReadOptions::default()
        };
        for name in ["ezdxf_r12.dxf", "svgwrite.svg"] {
            assert!(parse(&file(name), &bad).is_err());
        }
    }
}
