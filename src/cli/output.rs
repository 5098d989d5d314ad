//! What goes out: sizes as people write them, JSON on standard output, pictures.

use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{self, Job, Standing};
use crate::measure::{parse_sides, split_sides};
use crate::work::{Op, State};
use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// A picture size as people write it, `1920x1080`.
pub fn size(text: &str) -> Result<[u32; 2], String> {
    let (w, h) = split_sides(text).unwrap_or((text, ""));
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

/// Tells how far something long is by the share of it that is done, 0 to 1, in tenths; nobody
/// if `quiet`. It is never to be left off: always true.
pub fn progress(quiet: bool) -> impl FnMut(f64) -> bool {
    let mut told = 0;
    move |share| {
        let now = (share * 10.0) as u32;
        if now > told && !quiet {
            told = now;
            tell(&format!("{} %", now * 10));
        }
        true
    }
}

/// Tells the person something beside the result. If standard error is gone
/// there is nobody to tell.
pub fn tell(text: &str) {
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// Tells a note, unless it was told: a command may open its job more than once.
fn tell_once(note: &str) {
    static TOLD: Mutex<BTreeSet<String>> = Mutex::new(BTreeSet::new());
    let mut told = TOLD.lock().unwrap_or_else(PoisonError::into_inner);
    if told.insert(note.to_owned()) {
        tell(&format!("note: {note}"));
    }
}

/// A job and its work as it now stands; what was found of its journal is told.
pub fn open_state(path: &Path) -> Outcome<(Job, State)> {
    job::open_state_told(path, tell_once)
}

/// As [`job::note`]; what was found of the job's journal is told.
pub fn note<T>(path: &Path, what: impl FnOnce(&Standing) -> Outcome<(Vec<Op>, T)>) -> Outcome<T> {
    job::note(path, |at| {
        for note in at.notes {
            tell_once(note);
        }
        what(at)
    })
}

/// How much of a file tells what kind it is, bytes.
const TELLING: u64 = 4096;

/// Refuses a path that holds something of another kind, so that a slip of the
/// hand costs nothing: `is_ours` looks at the file's first bytes.
pub fn guard(path: &Path, kind: &str, is_ours: impl Fn(&[u8]) -> bool) -> Outcome<()> {
    match disk::beginning(path, TELLING)? {
        Some(bytes) if !is_ours(&bytes) => Err(Fault::input(
            format!("there is a file here already, and it is not {kind}"),
            "give another name, or take that file away first",
        )
        .in_file(path)),
        _ => Ok(()),
    }
}

/// What we write is told by this in its first lines, so that nothing else is written over.
pub const STAMP: &str = "Written by Ghostchalk";

/// Refuses to write over `from`, or over anything that we have not written.
pub fn guard_ours(path: &Path, from: &Path) -> Outcome<()> {
    let same = |p: &Path| std::fs::canonicalize(p).ok();
    if same(path).is_some() && same(path) == same(from) {
        return Err(
            Fault::input("this is the file that is read", "give another name").in_file(path),
        );
    }
    guard(path, "one that this program wrote", |b| {
        String::from_utf8_lossy(b).contains(STAMP)
    })
}

/// Refuses a name for a picture that says another kind of file than it would be.
pub fn is_svg(path: &Path) -> Outcome<()> {
    if path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("svg"))
    {
        return Ok(());
    }
    Err(Fault::input(
        "the picture is an SVG, and its name says otherwise",
        "give a name that ends in .svg",
    )
    .in_file(path))
}

/// Refuses to write a PNG over anything but a PNG.
pub fn guard_png(path: &Path) -> Outcome<()> {
    guard(path, "a PNG picture", |b| {
        b.starts_with(b"\x89PNG\r\n\x1a\n")
    })
}

/// A table's size in mm.
pub fn table(text: &str) -> Result<[f64; 2], String> {
    let sides = parse_sides(text).map_err(|f| f.to_string())?;
    match sides.iter().all(|mm| (10.0..=1e5).contains(mm)) {
        true => Ok(sides),
        false => Err("a table's sides are 10 mm to 100 m".to_owned()),
    }
}

/// A number as people write it.
pub fn number(text: &str) -> Result<f64, String> {
    let value: Option<f64> = text.trim().parse().ok();
    value
        .filter(|v| v.is_finite())
        .ok_or_else(|| "write a number, such as 0.5".to_owned())
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
