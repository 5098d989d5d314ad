//! Two programs on one job: the second is told whose it is, and writes nothing; and of many that
//! come at once each has its turn or is told.

use crate::child::child;
use crate::shim::{Ran, plain, program};
use crate::world::{self, Model, PANEL};
use ghostchalk::cloth::Panel;
use ghostchalk::job::{Job, OFFCUT_VERSION, Offcut, open_session, open_state, open_state_told};
use ghostchalk::work::Record;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

/// Another program that has the job.
pub struct Holder {
    child: Child,
    input: ChildStdin,
    lines: std::io::Lines<BufReader<ChildStdout>>,
}

impl Holder {
    /// It has done its first step when this returns.
    pub fn of(job: &Path) -> Self {
        let mut child = child("holds", job)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let input = child.stdin.take().unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut holder = Self {
            child,
            input,
            lines,
        };
        holder.hears("holds 0");
        holder
    }

    pub fn id(&self) -> u32 {
        self.child.id()
    }

    fn hears(&mut self, word: &str) {
        let found = self.lines.any(|line| line.unwrap() == word);
        assert!(found, "it never said {word}");
    }

    /// Another step, and then it lets the job go.
    pub fn ends(mut self) {
        self.input.write_all(b"\n").unwrap();
        self.hears("holds 1");
        self.input.write_all(b"\n").unwrap();
        assert!(self.child.wait().unwrap().success());
    }
}

/// A shop with a job, and a sheet of cloth that can be taken into it.
pub fn shop() -> tempfile::TempDir {
    let shop = world::folder();
    let job = Job::open(&world::job(shop.path(), "job")).unwrap();
    let offcut = Offcut {
        ghostchalk_offcut: OFFCUT_VERSION,
        from: "Vorhang".to_owned(),
        area_cm2: 2400.0,
        cloth: job.file.cloths[0].clone(),
        panel: Panel {
            name: "Vorhang 1".to_owned(),
            ..job.file.panels[0].clone()
        },
    };
    offcut.write(&shop.path().join("sheet.toml")).unwrap();
    shop
}

pub const SPREAD: [&str; 4] = ["spread", "sheet.toml", "--job", "job"];

#[test]
fn the_second_is_told_whose_the_job_is_and_writes_nothing() {
    let states = world::states();
    let shop = shop();
    let at = shop.path();
    let job = at.join("job");
    let first = Holder::of(&job);
    let before = world::files(at);
    let ran = plain(at, &SPREAD);
    assert_eq!(ran.status.code(), Some(2), "{}", ran.err);
    let said = ran.sentence();
    let whose = format!("process {}", first.id());
    assert!(
        said.contains("another Ghostchalk") && said.contains(&whose),
        "{said}"
    );
    // Who only looks is not kept from it, and sees what has been done so far.
    let looks = plain(at, &["ledger", "job"]);
    assert!(
        looks.status.success() && looks.err.is_empty(),
        "{}",
        looks.err
    );
    assert!(open_state(&job).unwrap().1 == states[1]);
    let mut second = open_session::<Record>(&job).unwrap();
    assert!(Model::of(&second).state == states[1]);
    assert_eq!(second.notes.len(), 1, "{:?}", second.notes);
    assert!(second.notes[0].contains("another Ghostchalk"));
    let file = second.job.file.clone();
    assert!(second.writer().is_err() && second.save(&file).is_err());
    second.close().unwrap();
    assert_eq!(world::files(at), before);
    first.ends();
    let memory = open_session::<Record>(&job).unwrap();
    assert_eq!(memory.notes, [""; 0]);
    assert!(Model::of(&memory).state == states[2]);
    memory.close().unwrap();
    let ran = plain(at, &SPREAD);
    assert!(ran.status.success(), "{}", ran.err);
}

/// Adds the beginning of a line to a job's journal, as it is seen while the line is being written.
fn half_a_line(job: &Path) {
    let mut journal = std::fs::read(job.join("journal")).unwrap();
    journal.extend_from_slice(b"9 0123");
    std::fs::write(job.join("journal"), journal).unwrap();
}

#[test]
fn a_line_that_another_program_is_writing_is_no_damage() {
    let states = world::states();
    let shop = shop();
    let at = shop.path();
    let job = at.join("job");
    let told = || {
        let mut notes = Vec::new();
        let (_, state) = open_state_told(&job, |n| notes.push(n.to_owned())).unwrap();
        (notes, state)
    };
    let first = Holder::of(&job);
    half_a_line(&job);
    let before = world::files(at);
    let (notes, state) = told();
    assert_eq!(notes, [""; 0]);
    assert!(state == states[1]);
    let looks = plain(at, &["ledger", "job"]);
    assert!(
        looks.status.success() && looks.err.is_empty(),
        "{}",
        looks.err
    );
    // Who would work on it is told of nothing but that it is taken.
    let second = open_session::<Record>(&job).unwrap();
    assert_eq!(second.notes.len(), 1, "{:?}", second.notes);
    assert!(second.notes[0].contains("another Ghostchalk"));
    drop(second);
    assert_eq!(world::files(at), before);
    // The line is written to its end.
    first.ends();
    let (notes, state) = told();
    assert_eq!(notes, [""; 0]);
    assert!(state == states[2]);
    // With nobody there who writes it, it is what a stop has left.
    half_a_line(&job);
    let (notes, state) = told();
    assert_eq!(notes.len(), 1, "{notes:?}");
    assert!(notes[0].contains("unfinished"), "{notes:?}");
    assert!(state == states[2]);
}

#[test]
fn of_many_at_once_each_has_its_turn_or_is_told() {
    let shop = shop();
    let at = shop.path();
    let started: Vec<(String, Child)> = (0..12)
        .map(|k| {
            let name = format!("Rest {k}");
            let mut command: Command = {
                let args = [&SPREAD[..], &["--as", &name]].concat();
                program(at, &args)
            };
            command.stdout(Stdio::piped()).stderr(Stdio::piped());
            let child = command.spawn().unwrap();
            (name, child)
        })
        .collect();
    let mut kept = vec![PANEL.to_owned()];
    for (name, child) in started {
        let done = child.wait_with_output().unwrap();
        let ran = Ran {
            status: done.status,
            out: String::new(),
            err: String::from_utf8_lossy(&done.stderr).into_owned(),
            calls: Vec::new(),
        };
        ran.ended_well(&name);
        match ran.sentence() {
            said if said.is_empty() => kept.push(name),
            said => assert!(said.contains("another Ghostchalk"), "{said}"),
        }
    }
    assert!(kept.len() > 1, "none had its turn");
    let memory = open_session::<Record>(&at.join("job")).unwrap();
    assert_eq!(memory.notes, [""; 0]);
    let state = Model::of(&memory).state;
    let mut there: Vec<String> = state.panels.into_iter().map(|p| p.name).collect();
    there.sort();
    kept.sort();
    assert_eq!(there, kept);
}
