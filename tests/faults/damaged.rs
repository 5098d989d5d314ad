//! Files that are cut short at every length and damaged at every byte: each is read or refused in
//! a sentence, never with a panic, and what can't be read stays as it is.

use crate::child::works_on;
use crate::shim::{Stop, is_sentence, plain};
use crate::world::{self, PANEL, POINTS, full_profile, profile, shade};
use ghostchalk::fault::Outcome;
use ghostchalk::job::{
    Job, OFFCUT_VERSION, Offcut, open_session, read_profile, read_shade, toml_text, write_shade,
};
use ghostchalk::space::Cloth;
use ghostchalk::work::Record;
use std::path::Path;

/// A file's bytes cut at every length, and with one bit turned over in every byte: in the first
/// byte the first bit, in the second the second, and so on round.
fn every_harm(bytes: &[u8]) -> impl Iterator<Item = (String, Vec<u8>)> {
    let cut = (0..bytes.len()).map(|n| (format!("cut at {n}"), bytes[..n].to_vec()));
    let damaged = (0..bytes.len()).map(|at| {
        let mut bad = bytes.to_vec();
        bad[at] ^= 1u8 << (at % 8);
        (format!("byte {at} is damaged"), bad)
    });
    cut.chain(damaged)
}

/// With every bit of every byte turned over, one at a time.
fn every_bit(bytes: &[u8]) -> impl Iterator<Item = (String, Vec<u8>)> {
    (0..8 * bytes.len()).map(|n| {
        let mut bad = bytes.to_vec();
        bad[n / 8] ^= 1u8 << (n % 8);
        (format!("bit {} of byte {} is damaged", n % 8, n / 8), bad)
    })
}

/// What is said of a file that can't be read: a sentence that names it.
fn is_told<T>(read: &Outcome<T>, path: &Path, told: &str) {
    if let Err(fault) = read {
        let said = fault.to_string();
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(is_sentence(&said) && said.contains(name), "{told}: {said}");
    }
}

/// A job with all the work of the course, in its file and in its journal.
fn finished(folder: &Path) -> std::path::PathBuf {
    let job = world::job(folder, "job");
    let said = works_on(&job, Stop::Never, None);
    assert!(said.closed, "{}", said.ran.out);
    job
}

#[test]
fn a_job_file_is_read_or_refused_and_the_journal_is_kept() {
    let folder = world::folder();
    let job = finished(folder.path());
    let file = job.join("job.toml");
    let whole = std::fs::read(&file).unwrap();
    let journal = std::fs::read(job.join("journal")).unwrap();
    let (mut read, mut refused) = (0, 0);
    for (told, bad) in every_harm(&whole) {
        std::fs::write(&file, &bad).unwrap();
        let opened = Job::open(&job);
        // A pattern's name in it may be what is damaged: then the job is named by its folder.
        is_told(&opened, &job, &told);
        if opened.is_err() {
            refused += 1;
            // Of these, some to the end.
            if refused % 150 != 1 {
                continue;
            }
            let before = world::files(&job);
            assert!(open_session::<Record>(&job).is_err(), "{told}");
            for args in [
                &["ledger", "job", "--csv", "ledger.csv"][..],
                &["tickets", "job", "-o", "tickets.pdf"],
            ] {
                let ran = plain(folder.path(), args);
                assert_eq!(ran.status.code(), Some(2), "{told}: {}", ran.err);
                drop(ran.sentence());
            }
            assert_eq!(world::files(&job), before, "{told}");
            continue;
        }
        read += 1;
        // What can be read counts, for a person may have written it; and it is told.
        if read % 10 != 1 {
            continue;
        }
        let memory = open_session::<Record>(&job).unwrap();
        assert_eq!(memory.notes.len(), 1, "{told}: {:?}", memory.notes);
        let kept = job.join("journal.1");
        assert!(memory.notes[0].contains("journal.1"), "{told}");
        memory.close().unwrap();
        assert_eq!(std::fs::read(&kept).unwrap(), journal, "{told}");
        assert_eq!(std::fs::read(&file).unwrap(), bad, "{told}");
        std::fs::rename(&kept, job.join("journal")).unwrap();
    }
    assert!(read > 10 && refused > 100, "{read} read, {refused} refused");
}

/// Whatever became of it, it says what it said or nothing.
#[test]
fn a_profile_is_read_as_it_was_or_refused_and_not_written_over() {
    let folder = world::folder();
    let at = folder.path();
    let file = at.join("table.toml");
    std::fs::write(at.join("points.csv"), POINTS).unwrap();
    let again = [
        "calibrate",
        "--points",
        "points.csv",
        "--projector",
        "1920x1080",
        "-o",
    ];
    let again = [&again[..], &["table.toml"]].concat();
    for profile in [profile(1), full_profile()] {
        let whole = toml_text(&profile).unwrap();
        let harms = every_harm(whole.as_bytes());
        // All of the small one, for each takes its time.
        let bits = every_bit(whole.as_bytes()).filter(|_| profile.lens.is_none());
        let (mut read, mut refused) = (0, 0);
        for (told, bad) in harms.chain(bits) {
            std::fs::write(&file, &bad).unwrap();
            let found = read_profile(&file);
            is_told(&found, &file, &told);
            if let Ok(found) = found {
                assert!(found == profile, "{told}: it says something else");
                read += 1;
                continue;
            }
            refused += 1;
            // Of these, some to the end.
            if refused % 400 == 1 {
                let ran = plain(at, &again);
                assert_eq!(ran.status.code(), Some(2), "{told}: {}", ran.err);
                assert!(ran.sentence().contains("table.toml"), "{told}");
                assert_eq!(std::fs::read(&file).unwrap(), bad, "{told}");
            }
        }
        // Without the end of its last line it says the same.
        assert!(read > 0 && refused > whole.len(), "{read}, {refused}");
    }
}

/// A digit for a digit, which is still a number: the light would lie elsewhere.
#[test]
fn a_changed_digit_of_a_profile_is_refused() {
    let folder = world::folder();
    let file = folder.path().join("table.toml");
    let whole = toml_text(&full_profile()).unwrap();
    let mut changed = 0;
    for (at, digit) in whole.char_indices().filter(|(_, c)| c.is_ascii_digit()) {
        for other in ('0'..='9').filter(|d| *d != digit) {
            let mut bad = whole.clone();
            bad.replace_range(at..=at, &other.to_string());
            std::fs::write(&file, &bad).unwrap();
            // At the end of a long number some digits say the same.
            if let Ok(found) = read_profile(&file) {
                assert!(found == full_profile(), "{other} for {digit} at {at}");
            }
            changed += 1;
        }
    }
    assert!(changed > 900, "{changed}");
    // Such as this one, which can be read by all but its checksum.
    let bad = whole.replacen("1820.5", "1820.6", 1);
    std::fs::write(&file, bad).unwrap();
    let said = read_profile(&file).unwrap_err().to_string();
    assert!(
        is_sentence(&said) && said.contains("changed since Ghostchalk wrote it"),
        "{said}"
    );
}

#[test]
fn an_offcut_is_read_or_refused() {
    let folder = world::folder();
    let job = Job::open(&world::job(folder.path(), "job")).unwrap();
    let file = folder.path().join("sheet.toml");
    let offcut = Offcut {
        ghostchalk_offcut: OFFCUT_VERSION,
        from: "Vorhang".to_owned(),
        area_cm2: 2400.0,
        cloth: job.file.cloths[0].clone(),
        panel: job.file.panels[0].clone(),
    };
    let whole = toml_text(&offcut).unwrap();
    for (told, bad) in every_harm(whole.as_bytes()) {
        std::fs::write(&file, &bad).unwrap();
        is_told(&Offcut::read(&file), &file, &told);
    }
}

#[test]
fn a_map_of_shade_is_read_or_refused() {
    let folder = world::folder();
    let name = write_shade(folder.path(), PANEL, &shade()).unwrap();
    let about = folder.path().join(name);
    let picture = about.with_extension("png");
    for file in [&about, &picture] {
        let whole = std::fs::read(file).unwrap();
        for (told, bad) in every_harm(&whole) {
            std::fs::write(file, &bad).unwrap();
            let read = read_shade::<Cloth>(&about);
            is_told(&read, &about, &told);
            // The lines have the picture's checksum.
            assert!(read.is_err() || file == &about, "{told}: the picture");
        }
        std::fs::write(file, &whole).unwrap();
    }
    assert!(read_shade::<Cloth>(&about).is_ok());
}
