//! What was done, to be undone or done again, and what of it waits for the journal.

use super::history::{History, Record, apply_all};
use super::op::Op;
use super::state::{Mismatch, State};

/// While a piece is dragged its place is written this often, seconds.
pub const WRITTEN_EVERY: f64 = 0.25;

/// Ops done but not yet in the outbox: a drag under way.
#[derive(Debug, Clone, PartialEq)]
struct Pending {
    ops: Vec<Op>,
    gesture: u64,
    since: f64,
}

/// All that was done at the table. Only through it does the state change by ops, so that
/// nothing is done that the journal does not hear of.
#[derive(Debug, Clone)]
pub(super) struct Log {
    history: History,
    /// The last gesture's number.
    gestures: u64,
    pending: Option<Pending>,
    outbox: Vec<Record>,
    /// Goes up with every change of the work.
    revision: u64,
    /// Something was to go where no job can hold it.
    too_far: bool,
}

impl Log {
    pub(super) fn new(history: History) -> Self {
        Self {
            gestures: history.last_gesture(),
            history,
            pending: None,
            outbox: Vec::new(),
            revision: 0,
            too_far: false,
        }
    }

    /// Goes on from another way here. Gestures and changes are counted on.
    pub(super) fn begin(&mut self, history: History) {
        self.history = history;
        self.pending = None;
        self.outbox.clear();
    }

    pub(super) fn history(&self) -> &History {
        &self.history
    }

    pub(super) fn revision(&self) -> u64 {
        self.revision
    }

    /// The work has changed otherwise than by ops.
    pub(super) fn count_change(&mut self) {
        self.revision += 1;
    }

    /// A number for a new gesture.
    pub(super) fn next_gesture(&mut self) -> u64 {
        self.gestures += 1;
        self.gestures
    }

    /// Whether something was to go too far since this was last asked.
    pub(super) fn take_too_far(&mut self) -> bool {
        std::mem::take(&mut self.too_far)
    }

    /// What was done since this was last asked.
    pub(super) fn take_records(&mut self) -> Vec<Record> {
        std::mem::take(&mut self.outbox)
    }

    /// When the drag under way wants to be written, if one is (seconds).
    pub(super) fn written_by(&self) -> Option<f64> {
        self.pending.as_ref().map(|p| p.since + WRITTEN_EVERY)
    }

    /// Writes a drag under way if it is due.
    pub(super) fn tick(&mut self, now: f64) {
        if self.written_by().is_some_and(|due| now >= due) {
            self.write();
        }
    }

    /// Writes a drag under way, if one is.
    pub(super) fn write(&mut self) {
        if let Some(p) = self.pending.take() {
            self.outbox.push(Record::Do {
                ops: p.ops,
                gesture: Some(p.gesture),
            });
        }
    }

    /// Makes changes to the state, all or none, and says whether it did. With a
    /// gesture's number they join what that gesture has done so far, and are written
    /// now and then instead of at once.
    pub(super) fn does(
        &mut self,
        state: &mut State,
        ops: Vec<Op>,
        gesture: Option<u64>,
        now: f64,
    ) -> bool {
        if !ops.iter().all(Op::is_sound) {
            self.too_far = true;
            return false;
        }
        if ops.is_empty() || apply_all(state, &ops).is_err() {
            return false;
        }
        let record = Record::Do {
            ops: ops.clone(),
            gesture,
        };
        self.history.take(&record);
        self.revision += 1;
        if let Some(gesture) = gesture {
            self.join(ops, gesture, now);
        } else {
            self.write();
            self.outbox.push(record);
        }
        true
    }

    /// Undoes or does again; says by which ops.
    ///
    /// # Errors
    /// If they don't begin at the state.
    pub(super) fn retrace(
        &mut self,
        state: &mut State,
        record: Record,
    ) -> Result<Vec<Op>, Mismatch> {
        let ops = self.history.take(&record);
        // Each op was made from this very state, so its way back fits.
        apply_all(state, &ops)?;
        self.outbox.push(record);
        self.revision += 1;
        Ok(ops)
    }

    /// Adds to the drag under way, or begins another.
    fn join(&mut self, ops: Vec<Op>, gesture: u64, now: f64) {
        let joined = self.pending.as_ref().and_then(|p| {
            let same = p.gesture == gesture && p.ops.len() == ops.len();
            let pairs = same.then(|| p.ops.iter().zip(&ops))?;
            pairs.map(|(a, b)| a.merged(b)).collect::<Option<Vec<_>>>()
        });
        match (joined, &mut self.pending) {
            (Some(joined), Some(p)) => p.ops = joined,
            _ => {
                self.write();
                self.pending = Some(Pending {
                    ops,
                    gesture,
                    since: now,
                });
            }
        }
    }
}
