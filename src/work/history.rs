//! What was done, undone and done again. The journal is a list of [`Record`]s;
//! undo knows no limit, and reaches across restarts because the journal is read
//! back into the same history.

use super::op::{Id, Op};
use super::state::{Mismatch, State};
use serde::{Deserialize, Serialize};

/// One line of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "did", rename_all = "snake_case")]
pub enum Record {
    /// Changes that are undone together. Those of one `gesture` (a drag is
    /// written every quarter of a second) join into one step.
    Do {
        ops: Vec<Op>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gesture: Option<u64>,
    },
    Undo,
    Redo,
}

/// Changes that are undone together.
#[derive(Debug, Clone, PartialEq)]
struct Step {
    ops: Vec<Op>,
    gesture: Option<u64>,
}

/// The way here, and the way back to what was undone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct History {
    done: Vec<Step>,
    undone: Vec<Step>,
}

impl History {
    /// Takes in a record and says which changes it makes, in order.
    /// Undo and redo with nothing left make none.
    pub fn take(&mut self, record: &Record) -> Vec<Op> {
        match record {
            Record::Do { ops, gesture } => {
                self.undone.clear();
                self.join(ops, *gesture);
                ops.clone()
            }
            Record::Undo => {
                let Some(step) = self.done.pop() else {
                    return Vec::new();
                };
                let back = step.ops.iter().rev().map(Op::inverse).collect();
                self.undone.push(step);
                back
            }
            Record::Redo => {
                let Some(step) = self.undone.pop() else {
                    return Vec::new();
                };
                let again = step.ops.clone();
                // What follows is a gesture of its own.
                self.done.push(Step {
                    gesture: None,
                    ..step
                });
                again
            }
        }
    }

    /// Adds changes to the last step if they go on with it, or as a new step.
    fn join(&mut self, ops: &[Op], gesture: Option<u64>) {
        if let Some(last) = self.done.last_mut()
            && gesture.is_some()
            && last.gesture == gesture
            && last.ops.len() == ops.len()
        {
            let pairs = last.ops.iter().zip(ops);
            let merged: Option<Vec<Op>> = pairs.map(|(a, b)| a.merged(b)).collect();
            if let Some(merged) = merged {
                last.ops = merged;
                return;
            }
        }
        self.done.push(Step {
            ops: ops.to_vec(),
            gesture,
        });
    }

    /// The last change that can be undone, in words.
    pub fn last(&self) -> Option<String> {
        self.done
            .last()
            .and_then(|s| s.ops.first())
            .map(Op::to_string)
    }

    /// How many steps can be undone.
    pub fn depth(&self) -> usize {
        self.done.len()
    }

    /// Whether the last change is one that signals make.
    pub fn last_is_cutting(&self) -> bool {
        let ops = self.done.last().map(|s| &s.ops[..]).unwrap_or_default();
        let cuts = |op: &Op| {
            matches!(
                op,
                Op::Cut { .. }
                    | Op::Part { .. }
                    | Op::Apart { .. }
                    | Op::First { .. }
                    | Op::NextNotch { .. }
                    | Op::Spread { .. }
                    | Op::Lie { .. }
                    | Op::Lay { .. }
            )
        };
        ops.iter().any(cuts)
    }

    /// The next change that can be done again, in words.
    pub fn next(&self) -> Option<String> {
        let step = self.undone.last();
        step.and_then(|s| s.ops.first()).map(Op::to_string)
    }

    /// The largest number of a piece that can be undone or done again.
    pub fn last_id(&self) -> Id {
        let ops = self.done.iter().chain(&self.undone).flat_map(|s| &s.ops);
        let ids = ops.filter_map(|op| match op {
            Op::Lay { id, .. } | Op::TakeAway { id, .. } => Some(*id),
            _ => None,
        });
        ids.max().unwrap_or(0)
    }

    /// The largest gesture number so far.
    pub fn last_gesture(&self) -> u64 {
        let steps = self.done.iter().chain(&self.undone);
        steps.filter_map(|s| s.gesture).max().unwrap_or(0)
    }
}

/// Reads a journal back: all of `records` into the history, those from `start`
/// on into the state (what came before is in it already). A record that does
/// not fit ends it: its number from 0 and what is wrong are returned, and the
/// state and the history are as they were before it.
pub fn replay(
    state: &mut State,
    records: &[Record],
    start: usize,
) -> (History, Option<(usize, Mismatch)>) {
    let mut history = History::default();
    for (k, record) in records.iter().enumerate() {
        let ops = history.take(record);
        if k < start {
            continue;
        }
        if let Err(wrong) = apply_all(state, &ops) {
            let mut before = History::default();
            for earlier in &records[..k] {
                before.take(earlier);
            }
            return (before, Some((k, wrong)));
        }
    }
    (history, None)
}

/// Makes several changes, or none of them.
///
/// # Errors
/// As [`State::apply`].
pub fn apply_all(state: &mut State, ops: &[Op]) -> Result<(), Mismatch> {
    for (k, op) in ops.iter().enumerate() {
        if let Err(wrong) = state.apply(op) {
            for made in ops[..k].iter().rev() {
                state.apply(&made.inverse())?;
            }
            return Err(wrong);
        }
    }
    Ok(())
}
