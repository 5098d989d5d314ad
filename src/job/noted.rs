//! Work that is done without standing at the table: noted in the job's journal as if it were.

use super::memory::JOURNAL;
use super::memory::{Remembered, open_session};
use super::{Job, file_of};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::work::{Id, Op, Record, State, replay};
use std::path::Path;

/// A job and its work as it now stands, to be read: nothing is written, but where a journal is
/// there it counts.
///
/// # Errors
/// As [`open_session`], and if the journal does not fit the job.
pub fn open_state(path: &Path) -> Outcome<(Job, State)> {
    if !disk::folder_of(&file_of(path)).join(JOURNAL).exists() {
        let job = Job::open(path)?;
        let state = job.state();
        return Ok((job, state));
    }
    let memory = open_session::<Record>(path)?;
    let (state, _) = replayed(&memory, path)?;
    Ok((memory.job, state))
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
        next: state.free_id(used),
    })?;
    for op in &ops {
        // A step that does not follow would end every later replay there.
        if state.apply(op).is_err() {
            return Err(Fault::ours(
                format!("\"{op}\" does not follow from the job as it stands"),
                "report this",
            ));
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
