//! Jobs at odd places: names with spaces, umlauts and quotes, as long as a name can be, of bytes
//! that are no text; by way of links.

use crate::child::works_on;
use crate::killed::{all_is_there, found};
use crate::shim::{Stop, plain};
use crate::world::{self, PAD, PANEL, POINTS};
use ghostchalk::job::open_session;
use ghostchalk::work::Record;
use std::ffi::{OsStr, OsString};
use std::os::unix::ffi::{OsStrExt, OsStringExt};
use std::os::unix::fs::symlink;
use std::path::Path;

/// The longest name that a file can have, bytes.
const LONGEST: usize = 255;

fn longest(end: &str) -> OsString {
    let mut name = "ü".repeat((LONGEST - end.len()) / 2);
    // Each of those letters is two bytes.
    while name.len() + end.len() < LONGEST {
        name.insert(0, 'x');
    }
    (name + end).into()
}

fn names() -> Vec<OsString> {
    vec![
        "mit Leerzeichen  und Umläuten äöüß ".into(),
        "it's \"$HOME\" & (so) on; *".into(),
        "two\nlines: a note".into(),
        "-o".into(),
        longest(""),
        OsString::from_vec(b"M\xe4rz".to_vec()),
    ]
}

/// Every command that writes beside the job, or into it, with its report as JSON.
fn commands(job: &Path, pad: &Path) -> Vec<Vec<OsString>> {
    let [points, table] = ["points.csv", "table.toml"].map(|n| job.join(n));
    let put = |name: OsString| job.join(name).into_os_string();
    let word = |text: &str| OsString::from(text);
    let here = || job.as_os_str().to_owned();
    let json = || word("--json");
    vec![
        vec![
            word("calibrate"),
            word("--points"),
            points.into(),
            word("--projector"),
            word("1920x1080"),
            word("-o"),
            table.into(),
            json(),
        ],
        vec![
            word("tickets"),
            here(),
            word("-o"),
            put(longest(".pdf")),
            json(),
        ],
        vec![
            word("ledger"),
            here(),
            word("--csv"),
            put(longest(".csv")),
            json(),
        ],
        vec![
            word("offcut"),
            here(),
            word("--panel"),
            word(PANEL),
            word("--to"),
            put(word("Reste")),
            json(),
        ],
        vec![
            word("begin"),
            pad.as_os_str().to_owned(),
            word("--job"),
            put(longest("")),
            json(),
        ],
        vec![word("sheets"), word("--out"), put(word("Bögen")), json()],
    ]
}

#[test]
fn a_job_at_an_odd_place_is_like_any_other() {
    let states = world::states();
    for name in names() {
        let folder = world::folder();
        let job = world::job(folder.path(), &name);
        let told = format!("{}", job.display());
        let said = works_on(&job, Stop::Never, None);
        assert!(
            said.closed && said.faults.is_empty(),
            "{told}: {}",
            said.ran.out
        );
        all_is_there(&job, &states, &told);
        drop(found(&job, &said, &states, &told));
        std::fs::write(job.join("points.csv"), POINTS).unwrap();
        let pad = folder.path().join("pad.svg");
        std::fs::write(&pad, PAD).unwrap();
        for args in commands(&job, &pad) {
            let ran = plain(folder.path(), &args);
            let told = format!("{told}: {:?}: {}", args[0], ran.err);
            assert_eq!(ran.status.code(), Some(0), "{told}");
            let json: Result<serde_json::Value, _> = serde_json::from_str(&ran.out);
            assert!(json.is_ok(), "{told}: {}", ran.out);
        }
    }
}

#[test]
fn a_name_that_is_too_long_is_refused() {
    let folder = world::folder();
    let at = folder.path();
    std::fs::write(at.join("pad.svg"), PAD).unwrap();
    let mut name = longest(".svg").as_bytes().to_vec();
    name.insert(0, b'x');
    let name = OsStr::from_bytes(&name);
    for args in [
        [
            OsStr::new("read"),
            OsStr::new("pad.svg"),
            OsStr::new("-o"),
            name,
        ],
        [
            OsStr::new("begin"),
            OsStr::new("pad.svg"),
            OsStr::new("--job"),
            name,
        ],
        [
            OsStr::new("begin"),
            name,
            OsStr::new("--job"),
            OsStr::new("new"),
        ],
    ] {
        let ran = plain(at, &args);
        assert_eq!(ran.status.code(), Some(2), "{args:?}: {}", ran.err);
        let said = ran.sentence();
        assert!(said.contains("the name is too long"), "{said}");
        assert!(!said.contains("os error"), "{said}");
    }
    assert_eq!(world::files(at).len(), 1, "something was written");
}

#[test]
fn by_way_of_links_the_files_that_they_name_are_written() {
    let states = world::states();
    let folder = world::folder();
    let at = folder.path();
    let real = world::job(at, "real");
    // The job file lies elsewhere, and the folder is gone to by another name.
    let elsewhere = at.join("elsewhere.toml");
    std::fs::rename(real.join("job.toml"), &elsewhere).unwrap();
    symlink(&elsewhere, real.join("job.toml")).unwrap();
    let link = at.join("link");
    symlink(&real, &link).unwrap();
    let said = works_on(&link, Stop::Never, None);
    assert!(said.closed && said.faults.is_empty(), "{}", said.ran.out);
    for way in [&link, &real] {
        all_is_there(way, &states, "by a link");
    }
    assert!(real.join("job.toml").is_symlink(), "the link is gone");
    let text = std::fs::read_to_string(&elsewhere).unwrap();
    assert!(text.contains("cutting"), "{text}");
    // The two ways are one job.
    let memory = open_session::<Record>(&link).unwrap();
    let other = open_session::<Record>(&real).unwrap();
    assert!(memory.read_only().is_none() && other.read_only().is_some());
}
