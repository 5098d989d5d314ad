//! A journal that is cut short or damaged, beside a job file that has a part of the work. What is
//! whole is there, the rest is told, and no byte is lost that was not a half line.

use crate::world::{self, Model, STEPS};
use ghostchalk::job::{open_session, open_state};
use ghostchalk::work::{Record, State};
use std::path::{Path, PathBuf};

/// The steps that are in the job file.
const SAVED: usize = 4;

/// A job with all its steps in the journal, and the first few in its file.
struct Job {
    _folder: tempfile::TempDir,
    path: PathBuf,
    journal: Vec<u8>,
    /// Where each line ends, the first of the file included.
    ends: Vec<usize>,
    /// The line by which the job file is known, from 0.
    known: usize,
    states: Vec<State>,
}

impl Job {
    fn new() -> Self {
        let folder = world::folder();
        let path = world::job(folder.path(), "job");
        let mut memory = open_session::<Record>(&path).unwrap();
        let mut model = Model::of(&memory);
        for k in 0..STEPS {
            let record = model.step(k);
            memory.writer().unwrap().append(&record).unwrap();
            if k + 1 == SAVED {
                let file = model.file(&memory.job.file);
                memory.save(&file).unwrap();
            }
        }
        memory.close().unwrap();
        let journal = std::fs::read(path.join("journal")).unwrap();
        let ends = (1..=journal.len()).filter(|at| journal[at - 1] == b'\n');
        Self {
            _folder: folder,
            path,
            ends: ends.collect(),
            journal,
            // The first line of the file, the base, and the steps come before it.
            known: SAVED + 2,
            states: world::states(),
        }
    }

    /// Where no line of interest is passed over: every place of the last lines, some of others.
    fn places(&self) -> impl Iterator<Item = usize> {
        let last = self.ends[self.ends.len() - 4];
        (0..self.journal.len()).filter(move |at| *at >= last || at.is_multiple_of(5))
    }

    /// Puts a journal there, and nothing else.
    fn with(&self, journal: &[u8]) {
        for name in ["journal.1", "journal.2"] {
            drop(std::fs::remove_file(self.path.join(name)));
        }
        std::fs::write(self.path.join("journal"), journal).unwrap();
    }

    /// The state with so many whole lines left.
    fn state(&self, lines: usize) -> &State {
        // What follows the job file's own line are steps.
        let since = lines.saturating_sub(self.known + 1);
        &self.states[SAVED + since]
    }

    fn read(&self, name: &str) -> Option<Vec<u8>> {
        std::fs::read(self.path.join(name)).ok()
    }
}

/// One who only looks sees the same, and changes nothing.
fn looks(job: &Path, state: &State, told: &str) {
    let before = world::files(job);
    assert!(open_state(job).unwrap().1 == *state, "{told}");
    assert_eq!(world::files(job), before, "{told}");
}

#[test]
fn cut_at_any_length_it_has_its_whole_lines() {
    let job = Job::new();
    for length in job.places() {
        let told = format!("cut at {length}");
        let cut = &job.journal[..length];
        job.with(cut);
        let lines = job.ends.iter().filter(|end| **end <= length).count();
        let good = lines.checked_sub(1).map_or(0, |last| job.ends[last]);
        looks(&job.path, job.state(lines), &told);
        let memory = open_session::<Record>(&job.path).unwrap();
        assert!(memory.read_only().is_none(), "{told}: {:?}", memory.notes);
        assert!(Model::of(&memory).state == *job.state(lines), "{told}");
        let half = good < length;
        // Steps of which the job file is not known to hold any.
        let strange = (3..=job.known).contains(&lines);
        let notes = usize::from(half) + usize::from(strange);
        assert_eq!(memory.notes.len(), notes, "{told}: {:?}", memory.notes);
        memory.close().unwrap();
        let kept = match strange {
            true => job.read("journal.1"),
            false => job.read("journal"),
        };
        let kept = kept.unwrap_or_default();
        assert!(kept.starts_with(&cut[..good]), "{told}: lines are lost");
    }
}

#[test]
fn a_damaged_byte_is_told_and_nothing_is_written_over() {
    let job = Job::new();
    for at in job.places() {
        let told = format!("byte {at} is damaged");
        let mut bad = job.journal.clone();
        bad[at] ^= 1u8 << (at % 8);
        job.with(&bad);
        let lines = job.ends.iter().filter(|end| **end <= at).count();
        let Ok(memory) = open_session::<Record>(&job.path) else {
            assert_eq!(lines, 0, "{told}: it is a journal still");
            assert_eq!(job.read("journal").as_ref(), Some(&bad), "{told}");
            continue;
        };
        assert!(lines > 0, "{told}: it is no journal of ours");
        assert!(Model::of(&memory).state == *job.state(lines), "{told}");
        assert!(!memory.notes.is_empty(), "{told}: not a word");
        assert!(memory.notes.iter().all(|n| n.ends_with('.')), "{told}");
        let only_looked_at = memory.read_only().is_some();
        memory.close().unwrap();
        let left = job.read("journal").unwrap();
        if left == bad {
            continue;
        }
        assert!(!only_looked_at, "{told}: it was written to");
        let copied = job.read("journal.1").as_ref() == Some(&bad);
        let half = !bad.ends_with(b"\n") && left == bad[..left.len()];
        assert!(copied || half, "{told}: what can't be read is gone");
    }
}
