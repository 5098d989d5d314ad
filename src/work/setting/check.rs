//! The check by tape: its verdict, and what is done again because of it.

use super::typed::ASKED;
use super::{Known, Setting, SettingReply, Step};
use crate::calibration::CheckedFile;
use crate::calibration::check_picture::{Cause, Finding};
use crate::calibration::fit::LENS;
use crate::calibration::table_marks::Span;
use crate::fault::Outcome;

/// What can be done after a verdict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Redo {
    /// Measure the marks on the table.
    Measure,
    /// Set this mark's light, from 0; `None` for all four.
    SetMark(Option<usize>),
    /// Lay the tape on the check picture; on this line first.
    Tape(Option<Span>),
    /// Keep it as it is.
    Keep,
}

impl Redo {
    pub fn words(self) -> String {
        match self {
            Redo::Measure => "measure the marks on the table again".to_owned(),
            Redo::SetMark(Some(k)) => format!("set mark {} again", k + 1),
            Redo::SetMark(None) => "set all four marks again".to_owned(),
            Redo::Tape(_) => "lay the measuring tape on the check picture again".to_owned(),
            Redo::Keep => "keep it all the same".to_owned(),
        }
    }
}

impl Setting {
    /// The check's readings are typed.
    pub(super) fn check_done(&mut self) -> Outcome<SettingReply> {
        let square = self.square()?;
        let judged = square.judge(&self.typed.checked())?;
        let right = judged.right();
        let mut known = Known {
            judged: Some(judged),
            ..self.known.clone()
        };
        self.note_check(&mut known);
        self.go(Step::Verdict, known);
        let said = self.verdict_words().unwrap_or_default();
        Ok(if right {
            SettingReply::saying(said)
        } else {
            SettingReply::warning(said)
        })
    }

    /// The verdict in words; if all is right, with what so few marks can't tell.
    pub(super) fn verdict_words(&self) -> Option<String> {
        let judged = self.known.judged.as_ref()?;
        let marks = self.known.profile.as_ref().map_or(4, |p| p.marks.len());
        let blind = judged.right() && marks < LENS;
        Some(match blind {
            false => judged.to_string(),
            true => format!(
                "{judged}; what the lens bends, commonly 1 to 4 mm, {marks} marks can't tell: for \
                 what must fit closely set more, {LENS} at least"
            ),
        })
    }

    /// Writes what the check came to into the profile.
    pub(super) fn note_check(&self, known: &mut Known) {
        let checked = known.judged.as_ref().map(|j| CheckedFile {
            furthest_mm: j.worst.1,
            tolerance_mm: j.tolerance,
            readings: j.readings,
        });
        if let Some(profile) = &mut known.profile {
            profile.checked = checked;
        }
    }

    /// What the verdict leaves to do, the likeliest first. Empty if all is right.
    pub(super) fn redos(&self) -> Vec<Redo> {
        let Some(judged) = &self.known.judged else {
            return Vec::new();
        };
        let of = |cause: &Cause| match cause {
            Cause::Width(_) | Cause::Depth(_) | Cause::Skew(_) => vec![Redo::Measure],
            Cause::Size(_) => vec![Redo::Measure, Redo::SetMark(None)],
            Cause::Mark(k, _) => vec![Redo::SetMark(Some(*k))],
            Cause::Slip(span, _) => vec![Redo::Tape(Some(*span))],
        };
        let mut all = match &judged.finding {
            Finding::Right => return Vec::new(),
            Finding::Because(cause) => of(cause),
            Finding::Either(causes) => causes.iter().flat_map(of).collect(),
            Finding::CantTell => vec![Redo::Tape(None), Redo::Measure, Redo::SetMark(None)],
        };
        if !all.iter().any(|r| matches!(r, Redo::Tape(_))) {
            all.push(Redo::Tape(None));
        }
        all.push(Redo::Keep);
        let mut once: Vec<Redo> = Vec::new();
        for redo in all {
            if !once.contains(&redo) {
                once.push(redo);
            }
        }
        once
    }

    /// Enter after a verdict: done, or the first thing to do again.
    pub(super) fn verdict_done(&mut self) -> Outcome<SettingReply> {
        if self.redos().is_empty() {
            let known = self.known.clone();
            self.go(Step::Done, known);
            return Ok(SettingReply::default());
        }
        self.choose_redo(0)
    }

    pub(super) fn choose_redo(&mut self, n: usize) -> Outcome<SettingReply> {
        let redos = self.redos();
        match redos.get(n).copied() {
            None => {}
            Some(Redo::Measure) => self.again(Step::Tape),
            Some(Redo::SetMark(mark)) => {
                self.again(Step::Fine);
                self.mark = mark.unwrap_or(0);
            }
            Some(Redo::Tape(span)) => {
                self.again(Step::Check);
                let at = span.and_then(|s| ASKED.iter().position(|a| *a == s));
                self.field = at.unwrap_or(0);
            }
            Some(Redo::Keep) => {
                let known = self.known.clone();
                self.go(Step::Done, known);
                return Ok(SettingReply::warning(
                    "kept, though the check is not within tolerance",
                ));
            }
        }
        Ok(SettingReply::default())
    }
}
