//! A job's memory across stops of every kind: closed, killed, torn between
//! two files, changed by hand, opened twice, on a folder that can't be written.

use ghostchalk::job::{
    Course, JobFile, Line, Remembered, course, crc32c, open_journal, open_session,
};
use proptest::prelude::*;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

fn demo() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for file in ["job.toml", "slippers.svg", "slippers.seams.toml"] {
        std::fs::copy(Path::new("demo-data").join(file), dir.path().join(file)).unwrap();
    }
    dir
}

fn open(dir: &Path) -> Remembered<f64> {
    open_session(dir).unwrap()
}

fn append(session: &mut Remembered<f64>, step: f64) {
    session.writer().unwrap().append(&step).unwrap();
}

/// The job with its first piece moved to `x`: what a step does in these tests.
fn moved(session: &Remembered<f64>, x: f64) -> JobFile {
    let mut file = session.job.file.clone();
    file.placed[0].x_mm = x;
    file
}

/// Where the first piece lies, by file and journal together.
fn place(session: &Remembered<f64>) -> f64 {
    let since = &session.steps[session.replay_from..];
    let file = session.job.file.placed[0].x_mm;
    since.last().copied().unwrap_or(file)
}

#[test]
fn what_was_done_is_there_again_saved_or_not() {
    let dir = demo();
    let mut one = open(dir.path());
    assert_eq!(
        (one.notes.len(), one.steps.len(), one.replay_from),
        (0, 0, 0)
    );
    append(&mut one, 1.0);
    append(&mut one, 2.0);
    one.close().unwrap();

    let mut two = open(dir.path());
    assert_eq!((&two.steps[..], two.replay_from), (&[1.0, 2.0][..], 0));
    let file = moved(&two, 2.0);
    two.save(&file).unwrap();
    append(&mut two, 3.0);
    two.close().unwrap();

    // The saved file stands in the journal: what came before is history.
    let mut three = open(dir.path());
    assert_eq!(three.job.file.placed[0].x_mm, 2.0);
    assert_eq!(
        (&three.steps[..], three.replay_from),
        (&[1.0, 2.0, 3.0][..], 2)
    );
    assert_eq!(three.notes, [""; 0]);
    // Saved unchanged, the file and the journal stay as they are.
    let before = std::fs::read(dir.path().join("journal")).unwrap();
    let file = three.job.file.clone();
    three.save(&file).unwrap();
    three.close().unwrap();
    assert_eq!(std::fs::read(dir.path().join("journal")).unwrap(), before);
}

#[test]
fn a_stop_between_journal_and_job_file_loses_nothing() {
    let dir = demo();
    let path = dir.path().join("job.toml");
    let mut one = open(dir.path());
    append(&mut one, 5.0);
    let old = std::fs::read(&path).unwrap();
    let file = moved(&one, 5.0);
    one.save(&file).unwrap();
    one.close().unwrap();
    // As if the power had gone before the rename.
    std::fs::write(&path, &old).unwrap();
    let mut two = open(dir.path());
    assert_eq!((place(&two), two.replay_from, two.notes.len()), (5.0, 0, 0));
    append(&mut two, 6.0);
    let file = moved(&two, 6.0);
    two.save(&file).unwrap();
    two.close().unwrap();
    let three = open(dir.path());
    assert_eq!((place(&three), three.replay_from), (6.0, 2));
    assert_eq!(three.job.file.placed[0].x_mm, 6.0);
}

#[test]
fn a_file_changed_by_hand_puts_the_journal_aside() {
    let dir = demo();
    let path = dir.path().join("job.toml");
    for k in 1..=2 {
        let mut session = open(dir.path());
        append(&mut session, f64::from(k));
        session.close().unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, format!("{text}# by hand\n")).unwrap();
        let session = open(dir.path());
        assert!(session.steps.is_empty() && session.read_only().is_none());
        assert_eq!(session.notes.len(), 1);
        assert!(
            session.notes[0].contains(&format!("journal.{k}")),
            "{:?}",
            session.notes
        );
        session.close().unwrap();
        assert_eq!(open(dir.path()).notes, [""; 0], "said once");
    }
    for k in 1..=2 {
        let aside = dir.path().join(format!("journal.{k}"));
        let kept = open_journal::<f64>(&aside, Ok(())).unwrap();
        assert!(kept.records.contains(&Line::Op(f64::from(k))));
    }
    // A journal in which nothing was done is not worth keeping.
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, format!("{text}# again\n")).unwrap();
    assert_eq!(open(dir.path()).notes, [""; 0]);
    assert!(!dir.path().join("journal.3").exists());
}

#[test]
fn a_file_changed_while_the_job_is_open_is_not_written_over() {
    let dir = demo();
    let path = dir.path().join("job.toml");
    let mut session = open(dir.path());
    append(&mut session, 9.0);
    let text = std::fs::read_to_string(&path).unwrap() + "# by hand\n";
    std::fs::write(&path, &text).unwrap();
    let file = moved(&session, 9.0);
    let said = session.save(&file).unwrap_err().to_string();
    assert!(said.contains("changed by another program"), "{said}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
}

/// Waits, up to ten seconds, until the journal has something to say.
fn heard(session: &mut Remembered<f64>) -> String {
    let writer = session.writer().unwrap();
    for _ in 0..1000 {
        if let Some(news) = writer.news() {
            return news;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("no news");
}

/// All is on disk, and the files are looked at: that is done before the next is answered.
fn settle(session: &mut Remembered<f64>) {
    for _ in 0..2 {
        session.writer().unwrap().sync().unwrap();
    }
}

fn trouble(session: &mut Remembered<f64>) -> Option<String> {
    let trouble = session.writer().unwrap().trouble();
    trouble.map(|f| f.to_string())
}

/// Nothing but the step itself leads to it: nobody has asked whether it is on disk.
#[test]
fn a_file_changed_while_the_job_is_open_is_told_with_the_next_step_until_it_is_put_back() {
    let dir = demo();
    let path = dir.path().join("job.toml");
    let mut session = open(dir.path());
    append(&mut session, 1.0);
    settle(&mut session);
    assert_eq!(session.changed_outside(), None);
    let old = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, format!("{old}# by hand\n")).unwrap();
    append(&mut session, 2.0);
    let said = heard(&mut session);
    assert!(
        said.contains("changed by another program") && said.contains("put the file back"),
        "{said}"
    );
    assert_eq!(trouble(&mut session), Some(said));
    std::fs::write(&path, &old).unwrap();
    append(&mut session, 3.0);
    let said = heard(&mut session);
    assert!(said.contains("put right again"), "{said}");
    assert_eq!(trouble(&mut session), None);
    // What is saved here is no other program's.
    let file = moved(&session, 3.0);
    session.save(&file).unwrap();
    append(&mut session, 4.0);
    settle(&mut session);
    assert_eq!(session.writer().unwrap().news(), None);
    assert_eq!(session.changed_outside(), None);
    // Gone is as bad.
    std::fs::remove_file(&path).unwrap();
    append(&mut session, 5.0);
    let said = heard(&mut session);
    assert!(said.contains("taken away"), "{said}");
}

#[test]
fn left_with_a_changed_file_the_old_one_is_beside_it_and_the_journal_goes_with_it() {
    let dir = demo();
    let at = |name: &str| dir.path().join(name);
    let old = std::fs::read_to_string(at("job.toml")).unwrap();
    let changed = format!("{old}# by hand\n");
    for gone in [false, true] {
        let mut session = open(dir.path());
        append(&mut session, 5.0);
        std::fs::write(at("job.toml"), &changed).unwrap();
        if gone {
            std::fs::remove_file(at("job.toml")).unwrap();
        }
        let why = session.changed_outside().unwrap();
        let said = session.keep_beside(why).unwrap().to_string();
        session.close().unwrap();
        assert!(
            said.contains("job.toml.1 the name job.toml"),
            "{gone}: {said}"
        );
        assert_eq!(at("job.toml").exists(), !gone, "it is left alone");
        // It is done as it is told.
        if !gone {
            assert_eq!(std::fs::read_to_string(at("job.toml")).unwrap(), changed);
            std::fs::rename(at("job.toml"), at("theirs.toml")).unwrap();
        }
        std::fs::rename(at("job.toml.1"), at("job.toml")).unwrap();
        let again = open(dir.path());
        assert_eq!((place(&again), again.notes.len()), (5.0, 0), "{gone}");
        assert_eq!(std::fs::read_to_string(at("job.toml")).unwrap(), old);
    }
}

#[cfg(unix)]
#[test]
fn a_journal_taken_away_while_the_job_is_open_is_written_anew() {
    let dir = demo();
    let journal = dir.path().join("journal");
    let mut session = open(dir.path());
    append(&mut session, 1.0);
    settle(&mut session);
    std::fs::remove_file(&journal).unwrap();
    append(&mut session, 2.0);
    let said = heard(&mut session);
    assert!(
        said.contains("taken away") && said.contains("nothing was lost"),
        "{said}"
    );
    assert_eq!(trouble(&mut session), None);
    append(&mut session, 3.0);
    settle(&mut session);
    // As a kill would leave it.
    let left = demo();
    std::fs::copy(&journal, left.path().join("journal")).unwrap();
    assert_eq!(open(left.path()).steps, [1.0, 2.0, 3.0]);
    // Nobody does anything after it: at the end it is there again all the same.
    std::fs::remove_file(&journal).unwrap();
    session.close().unwrap();
    let again = open(dir.path());
    assert_eq!(again.steps, [1.0, 2.0, 3.0]);
    assert_eq!(again.notes, [""; 0]);
}

#[cfg(unix)]
#[test]
fn another_file_in_the_journal_s_place_is_told_and_not_written_over() {
    let dir = demo();
    let journal = dir.path().join("journal");
    let mut session = open(dir.path());
    append(&mut session, 1.0);
    settle(&mut session);
    std::fs::rename(&journal, dir.path().join("elsewhere")).unwrap();
    std::fs::write(&journal, "theirs").unwrap();
    append(&mut session, 2.0);
    let said = heard(&mut session);
    assert!(said.contains("another file stands"), "{said}");
    assert_eq!(trouble(&mut session), Some(said));
    assert_eq!(std::fs::read(&journal).unwrap(), b"theirs");
    std::fs::rename(&journal, dir.path().join("theirs")).unwrap();
    append(&mut session, 3.0);
    let said = heard(&mut session);
    assert!(said.contains("written anew"), "{said}");
    let said = heard(&mut session);
    assert!(said.contains("put right again"), "{said}");
    session.close().unwrap();
    assert_eq!(open(dir.path()).steps, [1.0, 2.0, 3.0]);
}

#[test]
fn what_was_done_is_kept_beside_a_file_that_stands_in_the_journal_s_place() {
    let dir = demo();
    let (journal, theirs) = (dir.path().join("journal"), dir.path().join("theirs"));
    let mut session = open(dir.path());
    append(&mut session, 1.0);
    session.writer().unwrap().sync().unwrap();
    std::fs::remove_file(&journal).unwrap();
    std::fs::write(&journal, "theirs").unwrap();
    append(&mut session, 2.0);
    // Another journal is not begun before this one is sure, and the table can go on.
    let refused = session.forget().unwrap_err().to_string();
    assert!(refused.contains("another file stands"), "{refused}");
    append(&mut session, 3.0);
    let said = session.close().unwrap_err().to_string();
    assert!(said.contains("journal.1"), "{said}");
    assert_eq!(std::fs::read(&journal).unwrap(), b"theirs");
    // As it is told.
    std::fs::rename(&journal, &theirs).unwrap();
    std::fs::rename(dir.path().join("journal.1"), &journal).unwrap();
    assert_eq!(open(dir.path()).steps, [1.0, 2.0, 3.0]);
}

#[test]
fn no_journal_is_begun_where_the_folder_was() {
    let dir = demo();
    let (folder, away) = (dir.path().join("job"), dir.path().join("away"));
    std::fs::create_dir(&folder).unwrap();
    for entry in std::fs::read_dir(dir.path()).unwrap() {
        let from = entry.unwrap().path();
        if from.is_file() {
            std::fs::copy(&from, folder.join(from.file_name().unwrap())).unwrap();
        }
    }
    let mut session = open(&folder);
    append(&mut session, 1.0);
    settle(&mut session);
    std::fs::rename(&folder, &away).unwrap();
    append(&mut session, 2.0);
    let said = heard(&mut session);
    assert!(said.contains("moved or renamed"), "{said}");
    assert!(!folder.exists());
    assert!(session.close().is_err());
    assert_eq!(open(&away).steps, [1.0, 2.0]);
}

#[test]
fn the_second_session_looks_and_does_not_touch() {
    let dir = demo();
    let mut first = open(dir.path());
    append(&mut first, 1.0);
    first.writer().unwrap().sync().unwrap();
    let mut second = open(dir.path());
    assert_eq!(second.steps, [1.0]);
    assert_eq!(second.notes.len(), 1);
    assert!(
        second.notes[0].contains("another Ghostchalk"),
        "{:?}",
        second.notes
    );
    assert!(second.writer().is_err());
    let file = moved(&second, 3.0);
    assert!(second.save(&file).is_err());
    first.close().unwrap();
    drop(second);
    assert!(open(dir.path()).read_only().is_none());
}

#[test]
fn a_damaged_journal_opens_to_be_looked_at_and_stays() {
    let dir = demo();
    let journal = dir.path().join("journal");
    let mut one = open(dir.path());
    for k in 1..=3 {
        append(&mut one, f64::from(k));
    }
    one.close().unwrap();
    let text = std::fs::read_to_string(&journal).unwrap();
    let bad = text.replace("{\"op\":2.0}", "{\"op\":8.0}");
    assert_ne!(bad, text);
    std::fs::write(&journal, &bad).unwrap();
    let mut two = open(dir.path());
    assert_eq!(two.steps, [1.0]);
    assert_eq!(two.notes.len(), 1);
    assert!(two.notes[0].contains("line 4"), "{:?}", two.notes);
    let file = moved(&two, 3.0);
    assert!(two.save(&file).is_err());
    drop(two);
    assert_eq!(std::fs::read_to_string(&journal).unwrap(), bad);
    // A newer program's journal may hold more than the file: nothing is shown.
    std::fs::write(&journal, "ghostchalk journal 2\n").unwrap();
    assert!(open_session::<f64>(dir.path()).is_err());
    std::fs::remove_file(&journal).unwrap();
    assert!(open(dir.path()).notes.is_empty());
}

#[test]
fn a_folder_without_a_job_is_left_clean() {
    let dir = tempfile::tempdir().unwrap();
    assert!(open_session::<f64>(dir.path()).is_err());
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 0);
}

/// Needs a user whom permissions bind: as root it says so and looks at the
/// lock's own test instead, which hands it the system's refusal.
#[cfg(unix)]
#[test]
fn a_read_only_folder_opens_to_be_looked_at() {
    use std::os::unix::fs::PermissionsExt;
    let dir = demo();
    let mut one = open(dir.path());
    append(&mut one, 4.0);
    one.close().unwrap();
    let _ = std::fs::remove_file(dir.path().join(".in-use"));
    let mode = |m| std::fs::set_permissions(dir.path(), PermissionsExt::from_mode(m)).unwrap();
    mode(0o555);
    let bound = std::fs::File::create(dir.path().join("probe")).is_err();
    if bound {
        let session = open(dir.path());
        assert_eq!(session.steps, [4.0]);
        assert!(
            session.notes[0].contains("looked at"),
            "{:?}",
            session.notes
        );
        assert!(session.read_only().is_some());
    } else {
        eprintln!("skipped: permissions do not bind this user");
    }
    mode(0o755);
}

/// A disk that is full in truth: the journal can't grow, the work goes on.
/// Needs a file system of 64 KB, which `GHOSTCHALK_SMALL_DISK` names; `.ci/run`
/// makes one where it may. `job::tail` proves the same against a seam.
#[test]
fn a_small_disk_fills_and_is_emptied() {
    let Some(small) = std::env::var_os("GHOSTCHALK_SMALL_DISK").map(PathBuf::from) else {
        eprintln!("skipped: no GHOSTCHALK_SMALL_DISK");
        return;
    };
    let path = small.join("journal");
    let mut writer = open_journal::<String>(&path, Ok(()))
        .unwrap()
        .writer
        .unwrap();
    let ballast = small.join("ballast");
    let mut file = std::fs::File::create(&ballast).unwrap();
    while file.write_all(&[0; 512]).is_ok() {}
    drop(file);
    let step = "x".repeat(5000);
    for _ in 0..8 {
        writer.append(&step).unwrap();
    }
    let said = writer.sync().unwrap_err().to_string();
    assert!(said.contains("the disk is full"), "{said}");
    std::fs::remove_file(&ballast).unwrap();
    writer.sync().unwrap();
    writer.close().unwrap();
    let there = open_journal::<String>(&path, Ok(())).unwrap();
    assert_eq!((there.records.len(), there.note), (8, None));
    drop(there.writer);
    std::fs::remove_file(&path).unwrap();
}

/// What the killed one does: appends, and says which steps are on disk.
#[test]
#[ignore = "run by `a_killed_program_loses_nothing`"]
fn appends_until_it_is_killed() {
    let Some(dir) = std::env::var_os("GHOSTCHALK_TO_BE_KILLED") else {
        return;
    };
    let mut session = open(Path::new(&dir));
    for k in 1.. {
        append(&mut session, f64::from(k));
        if k % 7 == 0 {
            session.writer().unwrap().sync().unwrap();
            println!("on disk {k}");
        }
    }
}

#[test]
fn a_killed_program_loses_nothing() {
    let dir = demo();
    let mut sure = 0;
    for round in 0..6 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "appends_until_it_is_killed",
                "--ignored",
                "--nocapture",
            ])
            .env("GHOSTCHALK_TO_BE_KILLED", dir.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut last = 0usize;
        let mut heard = 0;
        while heard < 3 + 11 * round {
            let line = said.next().expect("the child goes on").unwrap();
            if let Some((_, k)) = line.split_once("on disk ") {
                last = k.parse().unwrap();
                heard += 1;
            }
        }
        child.kill().unwrap();
        child.wait().unwrap();
        // What it still said before it died counts, too.
        for line in said.map_while(Result::ok) {
            if let Some(k) = line
                .split_once("on disk ")
                .and_then(|(_, k)| k.parse().ok())
            {
                last = k;
            }
        }
        // The lock died with it.
        let session = open(dir.path());
        assert!(session.read_only().is_none(), "{:?}", session.notes);
        let mine = &session.steps[sure..];
        assert!(mine.len() >= last, "{} of {last}", mine.len());
        for (k, step) in mine.iter().enumerate() {
            assert_eq!(*step, (k + 1) as f64);
        }
        sure = session.steps.len();
        session.close().unwrap();
    }
}

proptest! {
    /// Saving, stopping at any point of it, stepping and opening again, in any
    /// order: file and journal together always say where the piece is. The
    /// files' texts stand for themselves.
    #[test]
    fn the_course_finds_the_state_wherever_it_stopped(
        events in prop::collection::vec((0u8..4, 0u8..4), 1..40),
    ) {
        let crc = |state: u8| crc32c(&[state]);
        let mut file = 0u8;
        let mut state = 0u8;
        // The job file that a record names, or the states that a step leads
        // from and to.
        let mut records = vec![(Some(crc(0)), (0, 0))];
        for (event, value) in events {
            match event {
                0 | 1 => {
                    records.push((None, (state, value)));
                    state = value;
                }
                2 => {
                    records.push((Some(crc(state)), (0, 0)));
                    file = state;
                }
                // Stopped after the journal was told, before the rename.
                _ => records.push((Some(crc(state)), (0, 0))),
            }
            let stamps: Vec<Option<u32>> = records.iter().map(|r| r.0).collect();
            let Course::Replay(from) = course(crc(file), &stamps) else {
                return Err(TestCaseError::fail("the file is known"));
            };
            let mut replayed = file;
            for (_, (before, after)) in records[from..].iter().filter(|r| r.0.is_none()) {
                prop_assert_eq!(*before, replayed, "a step from another state");
                replayed = *after;
            }
            prop_assert_eq!(replayed, state);
        }
    }
}

#[test]
fn a_strange_file_is_told_from_a_new_journal() {
    assert_eq!(course(7, &[]), Course::Begin);
    assert_eq!(course(7, &[Some(6), Some(5)]), Course::Begin);
    assert_eq!(course(7, &[Some(6), None]), Course::PutAside);
    assert_eq!(course(7, &[Some(7), None, Some(8)]), Course::Replay(1));
    assert_eq!(
        course(7, &[Some(7), None, Some(7), None]),
        Course::Replay(3)
    );
}
