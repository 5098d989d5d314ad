//! What goes out: sizes as people write them, JSON on standard output, pictures.

use crate::fault::{Fault, Outcome};
use crate::job::write_atomic;
use std::io::Write;
use std::path::Path;

/// A picture size as people write it, `1920x1080`.
pub fn size(text: &str) -> Result<[u32; 2], String> {
    let (w, h) = text.split_once(['x', 'X', '×']).unwrap_or((text, ""));
    match (w.trim().parse(), h.trim().parse()) {
        (Ok(w), Ok(h)) if (1..=16_384).contains(&w) && (1..=16_384).contains(&h) => Ok([w, h]),
        _ => Err("write a size in pixels as WIDTHxHEIGHT, such as 1920x1080".to_owned()),
    }
}

/// Prints a value as JSON and ends the line.
pub fn json(value: &serde_json::Value) -> Outcome<()> {
    say(&format!("{value:#}"))
}

/// Prints a line. A reader that has gone away (`| head`) is no fault.
pub fn say(text: &str) -> Outcome<()> {
    match writeln!(std::io::stdout(), "{text}") {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(Fault::ours(
            format!("the result can't be printed: {e}"),
            "send it to a file with room",
        )),
        _ => Ok(()),
    }
}

/// Refuses a path that holds something of another kind, so that a slip of the
/// hand costs nothing: `is_ours` looks at the file's first bytes.
pub fn guard(path: &Path, kind: &str, is_ours: impl Fn(&[u8]) -> bool) -> Outcome<()> {
    if !path.exists() {
        return Ok(());
    }
    let bytes = std::fs::read(path).map_err(|e| Fault::file("writing", path, &e))?;
    if is_ours(&bytes) {
        return Ok(());
    }
    Err(Fault::input(
        format!("there is a file here already, and it is not {kind}"),
        "give another name, or take that file away first",
    )
    .in_file(path))
}

/// Refuses to write a PNG over anything but a PNG.
pub fn guard_png(path: &Path) -> Outcome<()> {
    guard(path, "a PNG picture", |b| {
        b.starts_with(b"\x89PNG\r\n\x1a\n")
    })
}

/// Writes pixels as a PNG, whole or not at all.
pub fn png(
    path: &Path,
    pixels: &[u8],
    width: u32,
    height: u32,
    colour: image::ExtendedColorType,
) -> Outcome<()> {
    let bytes = crate::rehearse::encode(pixels, width, height, colour)?;
    write_atomic(path, &bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_read_as_people_write_them() {
        assert_eq!(size("1920x1080"), Ok([1920, 1080]));
        assert_eq!(size("640X480"), Ok([640, 480]));
        for bad in ["1920", "0x5", "axb", "99999x2", "-3x4", ""] {
            assert!(size(bad).is_err(), "{bad}");
        }
    }
}
