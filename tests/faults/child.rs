//! What is stopped: this very program, started again. It works its way through the course and says
//! what the disk has confirmed.

use crate::shim::{Ran, Stop, run_till};
use crate::world::{Model, PANEL, STEPS, profile, shade};
use ghostchalk::fault::Outcome;
use ghostchalk::job::{Remembered, open_session, write_shade, write_toml};
use ghostchalk::work::Record;
use std::io::BufRead;
use std::path::Path;
use std::process::Command;

const JOB: &str = "FAULTS_JOB";

/// What is done between the steps.
#[derive(Debug, Clone, Copy)]
enum Task {
    /// The journal is on the disk before it goes on.
    Sync,
    /// The job file is written.
    Save,
    /// The table is measured for the so-manieth time.
    Profile(u32),
    /// A photo has told of the panel.
    Shade,
}

/// What is done after a step. Not every step waits for the disk.
fn after(k: usize) -> Vec<Task> {
    match k {
        0 | 8 => vec![],
        2 => vec![Task::Sync, Task::Profile(1)],
        3 | 7 => vec![Task::Save, Task::Sync],
        5 => vec![Task::Shade],
        9 => vec![Task::Profile(2), Task::Sync],
        10 => vec![Task::Sync, Task::Save],
        _ => vec![Task::Sync],
    }
}

/// Does it, and says so, or why not.
fn done(task: Task, memory: &mut Remembered<Record>, model: &Model, folder: &Path) -> bool {
    let steps = model.steps;
    let done: Outcome<()> = match task {
        Task::Sync => memory.writer().and_then(|w| w.sync()),
        Task::Save => {
            let file = model.file(&memory.job.file);
            memory.save(&file)
        }
        Task::Profile(time) => write_toml(&folder.join("table.toml"), &profile(time)),
        Task::Shade => write_shade(folder, PANEL, &shade()).map(drop),
    };
    match (&done, task) {
        (Ok(()), Task::Sync) => println!("sync {steps}"),
        (Ok(()), Task::Save) => println!("save {steps}"),
        (Ok(()), Task::Profile(time)) => println!("profile {time}"),
        (Ok(()), Task::Shade) => println!("shade 1"),
        (Err(fault), _) => println!("failed: {fault}"),
    }
    done.is_ok()
}

fn work(folder: &Path) {
    let mut memory = match open_session::<Record>(folder) {
        Ok(memory) => memory,
        Err(fault) => return println!("refused: {fault}"),
    };
    if let Some(why) = memory.read_only() {
        return println!("looked at: {why}");
    }
    let mut model = Model::of(&memory);
    let mut left = Vec::new();
    for k in memory.steps.len()..STEPS {
        let record = model.step(k);
        memory.writer().unwrap().append(&record).unwrap();
        for task in after(k) {
            if !done(task, &mut memory, &model, folder) {
                left.push(task);
            }
        }
    }
    if !done(Task::Save, &mut memory, &model, folder) {
        left.push(Task::Save);
    }
    // What went wrong is tried once more, with the disk as it is then.
    if let (Some(over), false) = (std::env::var_os("FAULTS_OVER"), left.is_empty()) {
        std::fs::write(over, "").unwrap();
    }
    for task in left {
        done(task, &mut memory, &model, folder);
    }
    match memory.close() {
        Ok(()) => println!("closed {STEPS}"),
        Err(fault) => println!("failed: {fault}"),
    }
}

#[test]
#[ignore = "run by the other tests, which stop it"]
fn works() {
    if let Some(folder) = std::env::var_os(JOB) {
        // The test's name stands on the line before.
        println!();
        work(Path::new(&folder));
    }
}

/// Opens the job to work on it, says what it is told, and lets it go.
#[test]
#[ignore = "run by the other tests, which stop it"]
fn opens() {
    if let Some(folder) = std::env::var_os(JOB) {
        let memory = open_session::<Record>(Path::new(&folder)).unwrap();
        println!();
        for note in &memory.notes {
            println!("note: {note}");
        }
        if let Err(fault) = memory.close() {
            println!("failed: {fault}");
        }
    }
}

/// Does a step and saves the job; once more, whatever came of that; and says how it went: `stands`
/// where that failed with the new file in its place.
#[test]
#[ignore = "run by the test of a save that is not confirmed"]
fn saves() {
    let Some(folder) = std::env::var_os(JOB) else {
        return;
    };
    let mut memory = open_session::<Record>(Path::new(&folder)).unwrap();
    let mut model = Model::of(&memory);
    let record = model.step(0);
    memory.writer().unwrap().append(&record).unwrap();
    let file = model.file(&memory.job.file);
    println!();
    for _ in 0..2 {
        match memory.save(&file) {
            Ok(()) => println!("saved"),
            Err(fault) if memory.holds(&file) => println!("stands: {fault}"),
            Err(fault) => println!("failed: {fault}"),
        }
    }
}

/// Takes the job, does a step, and holds it until a line comes in; then another step.
#[test]
#[ignore = "run by the tests of two programs"]
fn holds() {
    let Some(folder) = std::env::var_os(JOB) else {
        return;
    };
    let mut memory = open_session::<Record>(Path::new(&folder)).unwrap();
    let mut model = Model::of(&memory);
    let mut line = String::new();
    println!();
    for k in 0..2 {
        let record = model.step(k);
        let writer = memory.writer().unwrap();
        writer.append(&record).unwrap();
        writer.sync().unwrap();
        println!("holds {k}");
        std::io::stdin().lock().read_line(&mut line).unwrap();
    }
    memory.close().unwrap();
}

/// This program again, doing one of the above with a job.
pub fn child(what: &str, job: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    let name = format!("child::{what}");
    command.args(["--exact", &name, "--ignored", "--nocapture"]);
    command.env(JOB, job).env("RUST_BACKTRACE", "0");
    command
}

/// The course of work on a job, stopped somewhere.
pub fn works_on(job: &Path, stop: Stop, over: Option<&Path>) -> Said {
    let ran = run_till(child("works", job), job, stop, over);
    let mut said = Said {
        sync: 0,
        save: 0,
        profile: 0,
        shade: 0,
        closed: false,
        faults: Vec::new(),
        shut: false,
        ran,
    };
    for line in said.ran.out.lines() {
        if let Some((what, fault)) = line.split_once(": ") {
            if matches!(what, "failed" | "looked at" | "refused") {
                said.faults.push(fault.to_owned());
                said.shut |= what != "failed";
            }
            continue;
        }
        let Some((word, n)) = line.split_once(' ') else {
            continue;
        };
        let Ok(n) = n.parse::<usize>() else { continue };
        match word {
            "sync" => said.sync = n,
            "save" => said.save = n,
            "profile" => said.profile = n,
            "shade" => said.shade = n,
            "closed" => said.closed = true,
            _ => {}
        }
    }
    said
}

/// What it said before it ended.
pub struct Said {
    /// Steps that the journal, and that the job file has for certain.
    pub sync: usize,
    pub save: usize,
    /// The last profile that is on the disk for certain; how many maps of shade.
    pub profile: usize,
    pub shade: usize,
    pub closed: bool,
    /// It could not open the job, or not to work on it.
    pub shut: bool,
    pub faults: Vec<String>,
    pub ran: Ran,
}

impl Said {
    /// Steps that are kept for certain, in whichever file.
    pub fn steps(&self) -> usize {
        let closed = if self.closed { STEPS } else { 0 };
        self.sync.max(self.save).max(closed)
    }
}
