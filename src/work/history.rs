//! What was done, undone and done again. The journal is a list of [`Record`]s;
//! undo knows no limit, and reaches across restarts because the journal is read
//! back into the same history.

use super::op::{Id, Op};
use super::state::{Mismatch, State};
use crate::fault::counted;
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

impl Step {
    /// What it changed, to be read after "undone: ".
    fn words(&self) -> String {
        let first = self.ops.first().map(Op::to_string).unwrap_or_default();
        match self.ops.len() {
            0 | 1 => first,
            n => format!(
                "{first} and {}",
                counted(n - 1, "more change", "more changes")
            ),
        }
    }
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

/// What a journal's records from `start` on have come to, in words, a step each: what they took
/// back of what was done before, and what they did. What they did and took back is nothing.
pub fn since(records: &[Record], start: usize) -> Vec<String> {
    let (before, after) = records.split_at(start.min(records.len()));
    let mut history = History::default();
    for record in before {
        history.take(record);
    }
    let held = history.done.clone();
    for record in after {
        history.take(record);
    }
    let both = held.iter().zip(&history.done);
    let same = both.take_while(|(a, b)| a.ops == b.ops).count();
    let (held, done) = (&held[same..], &history.done[same..]);
    // A drag that goes on is one step, and nothing of it was taken back.
    let goes_on = held.first().zip(done.first());
    let goes_on = goes_on.is_some_and(|(a, b)| a.gesture.is_some() && a.gesture == b.gesture);
    let back = held.iter().skip(usize::from(goes_on)).rev();
    let back = back.map(|s| format!("undone: {}", s.words()));
    back.chain(done.iter().map(Step::words)).collect()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::OnTable;

    fn on(x_mm: f64) -> OnTable {
        OnTable {
            x_mm,
            y_mm: 0.0,
            turn_deg: 0.0,
        }
    }

    fn lie(from: f64, to: f64) -> Op {
        Op::Lie {
            panel: "felt".to_owned(),
            from: on(from),
            to: on(to),
        }
    }

    fn spread(to: bool) -> Op {
        Op::Spread {
            panel: "felt".to_owned(),
            from: !to,
            to,
        }
    }

    fn done(ops: &[Op], gesture: Option<u64>) -> Record {
        Record::Do {
            ops: ops.to_vec(),
            gesture,
        }
    }

    #[test]
    fn what_was_done_since_is_told_a_step_each() {
        let (undo, redo) = (Record::Undo, Record::Redo);
        let put_away = done(&[spread(false)], None);
        let two = done(&[spread(true), lie(0.0, 1.0)], None);
        let drag = |from: f64| done(&[lie(from, from + 1.0)], Some(7));
        let told = |records: &[&Record], start: usize| {
            let records: Vec<Record> = records.iter().map(|r| (*r).clone()).collect();
            since(&records, start)
        };
        let none: [&str; 0] = [];
        assert_eq!(told(&[], 0), none);
        assert_eq!(told(&[&put_away, &two], 2), none);
        // Never beyond its end.
        assert_eq!(told(&[&put_away], 3), none);
        assert_eq!(
            told(&[&put_away, &two], 0),
            ["felt put away", "felt spread and 1 more change"]
        );
        assert_eq!(
            told(&[&put_away, &two, &undo], 2),
            ["undone: felt spread and 1 more change"]
        );
        assert_eq!(told(&[&put_away, &two, &undo, &redo], 2), none);
        assert_eq!(told(&[&put_away, &two, &undo], 1), none);
        // Another thing is done in place of the last two.
        let other = done(&[lie(0.0, 9.0)], None);
        assert_eq!(
            told(&[&put_away, &two, &undo, &undo, &other], 2),
            [
                "undone: felt spread and 1 more change",
                "undone: felt put away",
                "felt moved on the table"
            ]
        );
        // A drag is one step, before and after.
        let drags = [&put_away, &drag(0.0), &drag(1.0)];
        assert_eq!(told(&drags, 1), ["felt moved on the table"]);
        assert_eq!(told(&drags, 2), ["felt moved on the table"]);
    }
}
