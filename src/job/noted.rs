//! Work that is done without standing at the table: noted in the job's journal as if it were.

use super::Job;
use super::memory::{Remembered, called, look_at, open_session};
use crate::fault::{Fault, Outcome, counted};
use crate::work::{Id, Op, Record, State, replay, since};
use std::path::Path;

/// So many steps that are not taken over are named.
const NAMED: usize = 6;

/// A job and its work as it now stands, to be read: nothing is written, but where a journal is
/// there it counts. The job has the work in it, as if it had been saved and opened again.
///
/// # Errors
/// As [`open_session`], and if the journal does not fit the job or the work not its pieces.
pub fn open_state(path: &Path) -> Outcome<(Job, State)> {
    open_state_told(path, |_| {})
}

/// The same; `tell` hears what was found of the journal that the person should know, a sentence
/// at a time.
///
/// # Errors
/// As [`open_state`].
pub fn open_state_told(path: &Path, mut tell: impl FnMut(&str)) -> Outcome<(Job, State)> {
    let memory = look_at::<Record>(path)?;
    for note in memory.told() {
        tell(&note);
    }
    let (state, _) = replayed(&memory, path)?;
    let job = memory.job.with_work(&state).map_err(|f| f.in_file(path))?;
    Ok((job, state))
}

impl Remembered<Record> {
    /// What the person should be told: the notes, and what of the work is not taken over because
    /// the journal does not belong to the job file.
    pub fn told(&self) -> Vec<String> {
        let (steps, held) = &self.aside;
        let more = not_taken_over(&self.path, &since(steps, *held));
        self.notes.iter().cloned().chain(more).collect()
    }
}

fn not_taken_over(job_file: &Path, steps: &[String]) -> Option<String> {
    let (are, them) = match steps.len() {
        0 => return None,
        1 => ("is", "it"),
        _ => ("are", "them"),
    };
    let mut named = steps[..steps.len().min(NAMED)].join("; ");
    if steps.len() > NAMED {
        named += &format!("; and {} more", steps.len() - NAMED);
    }
    Some(format!(
        "{}: {} that it did not hold yet {are} not taken over: {named}. Do {them} again. \
         Before you change the file next time, open the job at the table (`ghostchalk light`) and \
         close it: then the file holds all that was done.",
        called(job_file),
        counted(steps.len(), "step", "steps")
    ))
}

/// The work, and the greatest number that a placement ever had.
fn replayed(memory: &Remembered<Record>, path: &Path) -> Outcome<(State, Id)> {
    let mut state = memory.job.state();
    let (history, wrong) = replay(&mut state, &memory.steps, memory.replay_from);
    if let Some((_, wrong)) = wrong {
        return Err(Fault::input(
            format!("the journal does not fit the job: {wrong}"),
            "open the job at the table first",
        )
        .in_file(path));
    }
    Ok((state, history.last_id()))
}

/// A job as it now stands.
#[derive(Debug)]
pub struct Standing<'a> {
    pub job: &'a Job,
    pub state: &'a State,
    /// What was found of its journal that the person should know, one sentence each.
    pub notes: &'a [String],
    /// A number for a new placement.
    pub next: Id,
}

/// Opens a job, asks what shall be done to it as it now stands, and notes that in its journal,
/// as one step that can be undone at the table.
///
/// # Errors
/// If the job can't be opened or is in other hands, its journal does not fit it, `what` refuses,
/// or the journal can't be written. Then nothing has changed.
pub fn note<T>(path: &Path, what: impl FnOnce(&Standing) -> Outcome<(Vec<Op>, T)>) -> Outcome<T> {
    let mut memory = open_session::<Record>(path)?;
    // Who only looks on is told before anything is worked out or written.
    memory.writer()?;
    let (mut state, used) = replayed(&memory, path)?;
    let (ops, done) = what(&Standing {
        job: &memory.job,
        state: &state,
        notes: &memory.told(),
        next: state.free_id(used),
    })?;
    for op in &ops {
        // A step that does not follow would end every later replay there.
        if state.apply(op).is_err() {
            return Err(Fault::mistake(format!(
                "\"{op}\" does not follow from the job as it stands"
            )));
        }
    }
    if !ops.is_empty() {
        memory
            .writer()?
            .append(&Record::Do { ops, gesture: None })?;
    }
    memory.close()?;
    Ok(done)
}
