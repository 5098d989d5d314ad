//! Work that is done without standing at the table: noted in the job's journal as if it were.

use super::Job;
use super::memory::{Remembered, look_at, open_session};
use crate::fault::{Fault, Outcome};
use crate::work::{Id, Op, Record, State, replay};
use std::path::Path;

/// A job and its work as it now stands, to be read: nothing is written, but where a journal is
/// there it counts.
///
/// # Errors
/// As [`open_session`], and if the journal does not fit the job.
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
    for note in &memory.notes {
        tell(note);
    }
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
        notes: &memory.notes,
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
