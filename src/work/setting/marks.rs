//! The four marks: their places by tape, their readings, the profile they make.

use super::typed::{Length, NEEDED, Reading};
use super::{Known, Setting, SettingReply, Step};
use crate::calibration::table_marks::survey;
use crate::calibration::{MarkRow, Profile};
use crate::fault::{Fault, Outcome};
use crate::projection::{Orientation, from_marks};
use crate::space::{Point, Projector, Table};

impl Setting {
    /// The edges or places are typed.
    pub(super) fn taped(&mut self) -> Outcome<SettingReply> {
        if self.typed.by_places {
            if let Some(k) = self.typed.places.iter().position(Option::is_none) {
                self.field = k;
            }
            let marks = self.typed.marks()?;
            self.marks_known(marks, None);
            return Ok(SettingReply::saying("the marks are where you say"));
        }
        let surveyed = survey(&self.typed.tape());
        if surveyed.is_err() {
            let needed = self.typed.edges.iter().take(NEEDED);
            self.field = needed
                .clone()
                .position(Option::is_none)
                .unwrap_or(self.field);
        }
        let surveyed = surveyed?;
        let account = surveyed.account(self.unit());
        if !surveyed.closes && !self.doubt {
            self.doubt = true;
            return Ok(SettingReply::warning(account));
        }
        if !surveyed.closes {
            return Err(Fault::input(
                account,
                "type what you measured anew, or choose to go on all the same",
            ));
        }
        self.marks_known(surveyed.marks, Some(surveyed.error));
        Ok(SettingReply::saying(account))
    }

    fn marks_known(&mut self, marks: [Point<Table>; 4], error: Option<f64>) {
        let known = Known {
            marks: Some(marks),
            tape_error: error,
            ..self.known.clone()
        };
        self.go(Step::HowToRead, known);
    }

    pub(super) fn choose_tape(&mut self, n: usize) -> Outcome<SettingReply> {
        match self.tape_choices()[n] {
            TapeChoice::ByPlaces(by) => {
                self.typed.by_places = by;
                self.field = 0;
                self.refused.clear();
                self.doubt = false;
            }
            TapeChoice::AsBefore => {
                if let Some(marks) = self.earlier.as_ref().and_then(places) {
                    let unit = self.unit();
                    for (k, mark) in marks.iter().enumerate() {
                        for (j, mm) in mark.to_array().into_iter().enumerate() {
                            self.typed.places[2 * k + j] = Some(Length::known(mm, unit));
                        }
                    }
                    self.more_as_before();
                    self.marks_known(marks, None);
                    return Ok(SettingReply::saying("the marks are where they were"));
                }
            }
            TapeChoice::AllTheSame => {
                let surveyed = survey(&self.typed.tape())?;
                self.marks_known(surveyed.marks, Some(surveyed.error.max(surveyed.closure)));
                return Ok(SettingReply::warning(
                    "gone on, though the readings do not go together: check what comes of it",
                ));
            }
        }
        Ok(SettingReply::default())
    }

    /// What can be chosen while the marks are measured.
    pub(super) fn tape_choices(&self) -> Vec<TapeChoice> {
        let mut all = vec![TapeChoice::ByPlaces(!self.typed.by_places)];
        if self.earlier.as_ref().and_then(places).is_some() {
            all.push(TapeChoice::AsBefore);
        }
        if self.doubt {
            all.push(TapeChoice::AllTheSame);
        }
        all
    }

    /// A reading is typed; returns it, said back.
    pub(super) fn read_mark(&mut self, mark: usize, text: &str) -> Outcome<Option<String>> {
        let on = self.upright();
        if text.is_empty() {
            self.typed.readings[mark] = None;
            return Ok(None);
        }
        let now = &self.typed.readings[mark];
        if now.as_ref().is_some_and(|r| r.shown(on) == text) {
            return Ok(None);
        }
        let reading = Reading::read(text, on).map_err(|f| f.at(format!("mark {}", mark + 1)))?;
        let shown = reading.shown(on);
        let parts: Vec<&str> = shown.split(' ').collect();
        let said = match parts[..] {
            [cell, across, down] => format!(
                "mark {}: in cell {cell}, {across} lines across and {down} towards you",
                mark + 1
            ),
            _ => shown,
        };
        self.typed.readings[mark] = Some(reading);
        Ok(Some(said))
    }

    /// The readings of the earlier profile, to begin from.
    pub(super) fn read_as_before(&mut self) {
        let on = self.upright();
        self.refused.clear();
        if let Some(earlier) = &self.earlier {
            for (k, mark) in earlier.marks.iter().take(4).enumerate() {
                self.typed.readings[k] = Reading::of(Point::from(mark.projector_px), on);
            }
        }
    }

    /// The readings are typed.
    pub(super) fn readings_done(&mut self) -> Outcome<SettingReply> {
        let mut at = [Point::origin(); 4];
        for (k, slot) in at.iter_mut().enumerate() {
            let Some(reading) = &self.typed.readings[k] else {
                self.field = k;
                return Err(Fault::input(
                    format!("the reading of mark {} is missing", k + 1),
                    "read it in the grid of light: H12 3.5 7.2",
                ));
            };
            *slot = reading.at;
        }
        let orientation = self.orientation(at)?;
        // A fine move is kept while the reading it began at stands.
        for (k, now) in at.into_iter().enumerate() {
            if self.read[k] != now {
                self.crosses[k] = now;
                self.read[k] = now;
            }
        }
        self.mark = 0;
        if (orientation == Orientation::Mirrored) == self.known.mirror {
            return self.profile_known(Step::Fine, self.known.mirror);
        }
        let known = self.known.clone();
        self.go(Step::Mirror, known);
        Ok(SettingReply::default())
    }

    /// Whether the marks turn the picture over, by their readings.
    pub(super) fn orientation(&self, at: [Point<Projector>; 4]) -> Outcome<Orientation> {
        let rows = self.rows(at).ok_or_else(unmeasured)?;
        let fit = from_marks(rows.map(|r| r.table), rows.map(|r| r.projector));
        fit.map(|(_, orientation)| orientation)
            .map_err(|fault| match inside(&at) {
                Some(k) => {
                    let others = (1..=4)
                        .filter(|n| *n != k + 1)
                        .map(|n: usize| n.to_string());
                    Fault::input(
                        format!(
                            "mark {} lies inside the triangle of marks {}, and a corner can't",
                            k + 1,
                            others.collect::<Vec<String>>().join(", ")
                        ),
                        "read it again",
                    )
                }
                None => fault,
            })
    }

    /// The person says whether the light goes over a mirror.
    pub(super) fn choose_mirror(&mut self, mirror: bool) -> Outcome<SettingReply> {
        let found = self.orientation(self.read)? == Orientation::Mirrored;
        if mirror != found {
            self.again(Step::Read);
            return Ok(SettingReply::warning(if found {
                "then two marks are exchanged: read the four again, mark 1 front left, 2 front right, \
                 3 back right, 4 back left"
            } else {
                "over a mirror the marks would turn the picture over, and they do not: read the four \
                 again, mark 1 front left, 2 front right, 3 back right, 4 back left"
            }));
        }
        self.profile_known(Step::Fine, mirror)
    }

    /// The fine moves are done.
    pub(super) fn moves_done(&mut self) -> Outcome<SettingReply> {
        let mirrored = self.orientation(self.crosses)? == Orientation::Mirrored;
        if mirrored != self.known.mirror {
            return Err(Fault::input(
                "moved like this the marks turn the picture over",
                "set each cross on its own mark",
            ));
        }
        self.profile_known(Step::Check, mirrored)
    }

    /// Makes the profile of the crosses, and goes on.
    fn profile_known(&mut self, to: Step, mirror: bool) -> Outcome<SettingReply> {
        let rows: [MarkRow; 4] = self.rows(self.crosses).ok_or_else(unmeasured)?;
        let profile = Profile {
            output: Some(self.start.output.clone()),
            effective_px: self.known.effective,
            least_code: self.known.least_code,
            colour_lines_clean: self.known.colours_clean,
            ..Profile::of_four(&rows, self.start.picture, mirror)?
        };
        // Marks can be right, and light fall nowhere that is of use.
        profile.mapping()?;
        let known = Known {
            mirror,
            profile: Some(profile),
            judged: None,
            ..self.known.clone()
        };
        self.go(to, known);
        Ok(SettingReply::default())
    }
}

/// What can be chosen while the marks are measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TapeChoice {
    /// Places are typed instead of edges, or edges again.
    ByPlaces(bool),
    /// The marks of the earlier profile.
    AsBefore,
    /// The tape does not close.
    AllTheSame,
}

/// The point, from 0, that lies inside the triangle of the others, clear of its
/// sides by a tenth of its height.
fn inside(p: &[Point<Projector>; 4]) -> Option<usize> {
    (0..4).find(|&k| {
        let [a, b, c] = [(k + 1) % 4, (k + 2) % 4, (k + 3) % 4].map(|j| p[j]);
        let whole = (b - a).cross(c - a);
        let parts = [(a, b), (b, c), (c, a)].map(|(s, e)| (e - s).cross(p[k] - s) / whole);
        parts.iter().all(|part| *part > 0.1)
    })
}

fn unmeasured() -> Fault {
    Fault::input(
        "the marks' places are not measured",
        "go back and measure them",
    )
}

/// The places of marks 1 to 4 in a profile, if it holds them.
fn places(profile: &Profile) -> Option<[Point<Table>; 4]> {
    let all: Vec<Point<Table>> = profile.marks.iter().map(|m| m.table_mm.into()).collect();
    all.get(..4)?.try_into().ok()
}
