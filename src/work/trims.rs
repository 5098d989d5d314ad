//! The cut test at the table: what a hand leaves at every edge, and whether the light is
//! corrected by it. Found is one thing, on is another: only the person turns it on.

use super::act::{Reply, Touched};
use super::bench::Bench;
use super::op::Op;
use super::state::State;
use crate::calibration::cut_test::{MeasuredTrim, cut_test};
use crate::fault::Outcome;
use crate::lay::{MOST_TRIM, Trim};
use crate::measure::{Unit, parse_length};

/// A strip that was cut out along its light, and measured.
#[derive(Debug, Clone, PartialEq)]
pub struct CutStrip {
    pub tool: String,
    pub cloth: String,
    /// Cut at once.
    pub plies: u32,
    /// Each read twice, as typed.
    pub length: [String; 2],
    pub width: [String; 2],
    /// What is meant where no unit is typed.
    pub unit: Unit,
}

impl CutStrip {
    fn read(&self) -> Outcome<MeasuredTrim> {
        let mm = |text: &String| parse_length(text, self.unit);
        let both = |[a, b]: &[String; 2]| Ok([mm(a)?, mm(b)?]);
        cut_test(both(&self.length)?, both(&self.width)?)
    }
}

impl State {
    /// Notes a trim. One of the same tool, cloth and plies gives way to it.
    pub fn noting(&self, trim: Trim) -> Op {
        let same = |t: &Trim| t.tool == trim.tool && t.rivals(&trim);
        let at = self.trims.iter().position(same);
        Op::Trim {
            at: at.unwrap_or(self.trims.len()),
            from: at.map(|k| self.trims[k].clone()),
            to: Some(trim),
        }
    }
}

impl Bench {
    /// Works out a cut strip and notes the trim, off. One of the same tool, cloth and
    /// plies gives way to it.
    pub(super) fn note_strip(&mut self, strip: &CutStrip) -> Reply {
        let found = match strip.read() {
            Ok(found) => found,
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        if found.is_out_of_scale() {
            return Reply::refused(
                "the strip's length is off by more than its edges explain: the light is the wrong \
                 size, or the cloth stretched under the blade; check the light on its marks (V)",
            );
        }
        let trim = Trim {
            tool: strip.tool.trim().to_owned(),
            cloth: strip.cloth.clone(),
            plies: strip.plies,
            // As finely as a rule is read.
            edge_mm: (found.edge * 100.0).round() / 100.0,
            error_mm: (found.errors()[0] * 100.0).round() / 100.0,
            on: false,
        };
        if self.goods.stock().cloth(&trim.cloth).is_none() || trim.tool.is_empty() {
            return Reply::refused(
                "choose the cloth that the strip was cut from, and type what it was cut with",
            );
        }
        if !trim.is_sound() {
            return Reply::refused(format!(
                "more than {MOST_TRIM} mm at an edge is not the hand alone: check what was typed, \
                 and the light on its marks"
            ));
        }
        let side = if trim.edge_mm < 0.0 {
            "inside"
        } else {
            "outside"
        };
        let worth = if found.is_worth_it() {
            "turn its trim on if that is wanted"
        } else {
            "a ruler is misread by as much: leave its trim off"
        };
        let said = format!(
            "{}: {:.2} mm {side} each edge, give or take {:.2}; {worth}",
            trim.of(),
            trim.edge_mm.abs(),
            trim.error_mm
        );
        let op = self.state.noting(trim);
        self.does(vec![op]);
        Reply::touching(Touched::All).saying(said)
    }

    /// Lights a trim, or no longer. Another of the same cloth and plies goes off.
    pub(super) fn trim(&mut self, at: usize, on: bool) -> Reply {
        let Some(own) = self.state.trims.get(at) else {
            return Reply::refused("there is no such trim");
        };
        let rival = |k: usize, t: &Trim| k != at && t.on && t.rivals(own);
        let mut ops = Vec::new();
        for (k, t) in self.state.trims.iter().enumerate() {
            let to = if k == at {
                on
            } else {
                t.on && !(on && rival(k, t))
            };
            if to != t.on {
                ops.push(Op::Trim {
                    at: k,
                    from: Some(t.clone()),
                    to: Some(Trim {
                        on: to,
                        ..t.clone()
                    }),
                });
            }
        }
        let Some(said) = ops.last().map(Op::to_string) else {
            return Reply::default();
        };
        self.does(ops);
        Reply::touching(Touched::All).saying(said)
    }

    pub(super) fn drop_trim(&mut self, at: usize) -> Reply {
        let Some(from) = self.state.trims.get(at).cloned() else {
            return Reply::refused("there is no such trim");
        };
        let op = Op::Trim {
            at,
            from: Some(from),
            to: None,
        };
        let said = op.to_string();
        self.does(vec![op]);
        Reply::touching(Touched::All).saying(said)
    }
}
