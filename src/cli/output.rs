//! What goes out: sizes as people write them, JSON on standard output, pictures.

use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{self, Job, Standing};
use crate::measure::{parse_sides, split_sides, two_ways};
use crate::work::{Op, State};
use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;
use std::str::FromStr;
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
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(Fault::printing(&e)),
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
    apart(&[path], &[from])?;
    guard_own(path)
}

/// Refuses to write over anything that we have not written.
pub fn guard_own(path: &Path) -> Outcome<()> {
    guard(path, "one that this program wrote", |b| {
        String::from_utf8_lossy(b).contains(STAMP)
    })
}

/// Refuses a path that is one of the job's own files: its pattern, its journal, the cloth's photo.
/// `at` is the path by which the job was opened.
pub fn guard_job(path: &Path, at: &Path, job: &Job) -> Outcome<()> {
    match job.owns(at, path) {
        Some(what) => Err(Fault::input(
            format!("this is {what}, and it would be lost"),
            "give another name",
        )
        .in_file(path)),
        None => Ok(()),
    }
}

/// Refuses two things to be written into one file, and one to be written over what is read.
pub fn apart(written: &[&Path], read: &[&Path]) -> Outcome<()> {
    for (k, path) in written.iter().enumerate() {
        let same = |other: &&Path| disk::real(other) == disk::real(path);
        let what = if read.iter().any(same) {
            "this is the file that is read"
        } else if written[..k].iter().any(same) {
            "two things would be written here, and the first be lost"
        } else {
            continue;
        };
        return Err(Fault::input(what, "give another name").in_file(path));
    }
    Ok(())
}

/// The kind of file that a name's ending says, in small letters; none if it says none. Without
/// a letter in it, as in `upper 1.5`, it is no ending.
pub fn ending(path: &Path) -> Option<String> {
    let text = path.extension()?.to_string_lossy().to_lowercase();
    text.contains(char::is_alphabetic).then_some(text)
}

/// Refuses a name that says another kind of file than would be written: `kind`, whose names end
/// in a point and `own`. One that says none is taken.
pub fn guard_ending(path: &Path, kind: &str, own: &str) -> Outcome<()> {
    match ending(path) {
        Some(said) if said != own => Err(otherwise(path, kind, own)),
        _ => Ok(()),
    }
}

fn otherwise(path: &Path, kind: &str, own: &str) -> Fault {
    Fault::input(
        format!("what is written is {kind}, and the name says otherwise"),
        format!("give a name that ends in .{own}"),
    )
    .in_file(path)
}

/// Refuses a name for a picture that does not say that it is an SVG.
pub fn is_svg(path: &Path) -> Outcome<()> {
    match ending(path).as_deref() {
        Some("svg") => Ok(()),
        _ => Err(otherwise(path, "an SVG picture", "svg")),
    }
}

/// Refuses to write a PNG over anything but a PNG, or under the name of another kind.
pub fn guard_png(path: &Path) -> Outcome<()> {
    guard_ending(path, "a PNG picture", "png")?;
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

/// A name: there is something to be read in it.
pub fn name(text: &str) -> Result<String, String> {
    match text.trim().is_empty() {
        true => Err("it is blank; write a name".to_owned()),
        false => Ok(text.to_owned()),
    }
}

/// A whole number from 0 up.
pub fn whole<T: FromStr>(text: &str) -> Result<T, String> {
    text.trim()
        .parse()
        .map_err(|_| "write a whole number, such as 2".to_owned())
}

/// So many seconds, of an hour at most.
pub fn seconds(text: &str) -> Result<u64, String> {
    let read = text.trim().parse::<u64>().ok();
    read.filter(|s| (1..=3600).contains(s))
        .ok_or_else(|| "write whole seconds, from 1 to 3600".to_owned())
}

/// A number as people write it, with a point or a comma before what is less than one.
pub fn number(text: &str) -> Result<f64, String> {
    let text = text.trim();
    if two_ways(text.trim_start_matches(['-', '+'])) {
        return Err(
            "its comma can be read two ways; write 1.25, or 1250 without a comma".to_owned(),
        );
    }
    let value: Option<f64> = text.replace(',', ".").parse().ok();
    value
        .filter(|v| v.is_finite())
        .ok_or_else(|| "write a number, such as 0.5".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::PathBuf;

    #[test]
    fn sizes_are_read_as_people_write_them() {
        assert_eq!(size("1920x1080"), Ok([1920, 1080]));
        assert_eq!(size("640X480"), Ok([640, 480]));
        for bad in ["1920", "0x5", "axb", "99999x2", "-3x4", ""] {
            assert!(size(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn what_is_written_is_kept_apart_from_all_else() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        std::fs::write(at.join("there"), "").unwrap();
        let said = |written: &[&str], read: &[&str]| {
            let paths = |all: &[&str]| all.iter().map(|n| at.join(n)).collect::<Vec<_>>();
            let (written, read) = (paths(written), paths(read));
            let written: Vec<&Path> = written.iter().map(PathBuf::as_path).collect();
            let read: Vec<&Path> = read.iter().map(PathBuf::as_path).collect();
            apart(&written, &read).map_err(|f| f.what)
        };
        assert_eq!(said(&["a", "b"], &["there", "c"]), Ok(()));
        for read in ["there", "./there"] {
            let told = said(&["a", "there"], &[read]).unwrap_err();
            assert!(told.contains("that is read"), "{told}");
        }
        for second in ["a", "./a", "."] {
            let told = said(&["a", ".", second], &[]).unwrap_err();
            assert!(told.contains("two things"), "{told}");
        }
    }

    #[test]
    fn a_name_says_its_kind_or_none() {
        for (name, kind) in [
            ("a/x.PNG", Some("png")),
            ("upper.v2", Some("v2")),
            ("a.d/x", None),
            ("upper 1.5", None),
            (".png", None),
            ("x.", None),
        ] {
            assert_eq!(ending(Path::new(name)).as_deref(), kind, "{name}");
        }
        let said = |name: &str| guard_png(Path::new(name)).map_err(|f| f.to_string());
        for fine in [
            "no/such/x.png",
            "no/such/x.Png",
            "no/such/x",
            "no/such/upper 1.5",
        ] {
            assert_eq!(said(fine), Ok(()), "{fine}");
        }
        assert_eq!(
            said("no/such/x.jpg").unwrap_err(),
            "no/such/x.jpg: what is written is a PNG picture, and the name says otherwise; give a \
             name that ends in .png."
        );
        assert!(is_svg(Path::new("x.svg")).is_ok());
        assert!(is_svg(Path::new("x")).is_err() && is_svg(Path::new("x.pdf")).is_err());
    }

    #[test]
    fn names_and_whole_numbers_are_read_as_people_write_them() {
        assert_eq!(name("the awning"), Ok("the awning".to_owned()));
        for bad in ["", "  ", "\t"] {
            assert!(name(bad).is_err(), "{bad:?}");
        }
        assert_eq!(seconds(" 20 "), Ok(20));
        for bad in ["0", "3601", "1e99", "2.5", "-1", "NaN", ""] {
            assert!(seconds(bad).unwrap_err().contains("1 to 3600"), "{bad}");
        }
        for (text, value) in [
            ("0,5", 0.5),
            (" 1.2", 1.2),
            ("-1,25", -1.25),
            ("0,125", 0.125),
        ] {
            assert_eq!(number(text), Ok(value));
        }
        for bad in ["1,250", "-1,250", "1,2,3", "1.000,5", "inf", "NaN", "", ","] {
            assert!(number(bad).is_err(), "{bad}");
        }
        assert_eq!(whole::<u32>("7"), Ok(7));
        assert!(whole::<u32>("-7").is_err() && whole::<usize>("1e3").is_err());
    }
}
