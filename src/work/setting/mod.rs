//! Setting the table, from the first light to a checked profile, as a machine of
//! steps: it knows no window, light, clock or disk.
//!
//! Each step asks ([`Setting::asks`]), the person answers ([`SettingAct`]), and
//! what follows is said. Going back takes back what a step concluded, and keeps
//! what was typed.
//!
//! Everything of the mapping is in pixels as they are *sent*. A projector that
//! rescales the picture adds an affine step between sent and shown pixels, and
//! the homography of the marks holds it. What the measured effective pixel
//! changes is how fine light can be: the profile keeps it, and the least band,
//! the check's tolerance and the stated error are that much wider.

mod answer;
mod asks;
mod board;
mod check;
mod keys;
mod marks;
mod more;
mod step;
#[cfg(test)]
mod tests;
mod typed;

pub use asks::{Ask, Field, MOVED_TO, READ_TO};
pub use keys::{act_of, choosing, sheet};
pub use step::{Pace, Step};

use super::act::Said;
use crate::calibration::check_picture::{CheckSquare, Judged, check_square};
use crate::calibration::{MarkRow, Off, Profile, most_off};
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::projection::{Mapping, Upright};
use crate::space::{Point, Projector, Table};
use crate::stand::{Hand, Side};
use std::collections::BTreeMap;
use typed::Typed;

/// What setting begins with.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// The projector's picture, px.
    pub picture: [u32; 2],
    /// The name of its output.
    pub output: String,
    /// Lengths are typed and said in inches.
    pub inches: bool,
    /// The side of the table where the person stands, and the hand that cuts.
    pub stands: Side,
    pub cuts: Hand,
    /// The light goes over a mirror.
    pub mirror_rig: bool,
    /// Cautions are shown.
    pub first_time: bool,
}

/// What the person does.
#[derive(Debug, Clone, PartialEq)]
pub enum SettingAct {
    /// The step is done.
    GoOn,
    /// Back to the step before; at the first, leaves.
    Back,
    /// This text for the field in hand.
    Typed(String),
    /// One of the choices, from 0.
    Choose(usize),
    /// Another field is in hand, from 0.
    Field(usize),
    /// The mark in hand goes so far, px, as the person sees it.
    Nudge {
        right: f64,
        away: f64,
    },
    Step(Pace),
    /// The mark in hand goes there.
    Drag(Point<Projector>),
    /// Another mark is in hand, from 1.
    PickMark(u32),
    SetSide(Side),
    SetHand(Hand),
    /// The words of light make a quarter turn.
    TurnWords,
    Mirror(bool),
    Inches(bool),
    /// Lit vernier scales about the cross, for vernier marks, or the cross alone.
    Scales,
    /// Away from setting; nothing is kept.
    Leave,
}

/// What comes of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SettingReply {
    /// A sentence for the panel.
    pub said: Option<Said>,
    /// Setting is over.
    pub ended: Option<Ended>,
}

impl SettingReply {
    /// What stands in the panel after `act`, where `before` stood: another field in
    /// hand is no answer, so that a refusal is not wiped by it.
    pub fn standing(self, act: &SettingAct, before: Option<Said>) -> Option<Said> {
        match act {
            SettingAct::Field(_) => self.said.or(before),
            _ => self.said,
        }
    }
}

/// How setting ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Left: nothing is to be kept.
    Left,
    /// [`Setting::profile`] is to be kept, and lit by.
    Set,
}

/// What the steps so far have come to.
#[derive(Debug, Clone, PartialEq, Default)]
struct Known {
    /// The length of a projector's pixel along the picture's width and height,
    /// in sent pixels.
    effective: Option<[f64; 2]>,
    least_code: Option<u8>,
    colours_clean: Option<bool>,
    mirror: bool,
    marks: Option<[Point<Table>; 4]>,
    /// The standard error of the marks' places by tape, mm.
    tape_error: Option<f64>,
    profile: Option<Profile>,
    judged: Option<Judged>,
}

/// Setting the table, under way.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    start: Start,
    /// An earlier profile of this picture on this output.
    earlier: Option<Profile>,
    /// The side of the *picture* that is nearest to the reader.
    reads: Side,
    step: Step,
    known: Known,
    /// The steps before, and what was known when each began.
    past: Vec<(Step, Known)>,
    typed: Typed,
    field: usize,
    /// What was typed into a field of this step and could not be taken: it stands
    /// there until it is put right.
    refused: BTreeMap<usize, String>,
    /// The page of a step that is words, from 0, and how many there are.
    sheet: usize,
    sheets: usize,
    /// The marks' crosses, and the readings they began at.
    crosses: [Point<Projector>; 4],
    read: [Point<Projector>; 4],
    mark: usize,
    pace: Pace,
    /// The tape does not close, and the person has been told.
    doubt: bool,
    /// Marks beyond the four; while more are set, the last is in hand.
    more: Vec<more::More>,
    /// The mapping of all marks, as it was worked out last.
    refined: more::Kept,
    /// Where such marks lay in the earlier profile, if the four lie as they did.
    more_before: Vec<Point<Table>>,
    /// Vernier scales are lit about the cross.
    scales: bool,
    board: board::Board,
}

impl Setting {
    /// At the first step. An earlier profile counts if it is of this picture
    /// and output: the words lie as it says, and the person may keep what it
    /// knows.
    pub fn new(start: Start, earlier: Option<&Profile>) -> Self {
        let earlier = earlier.filter(|p| p.fits(&start.output, start.picture).is_none());
        let on = earlier.and_then(|p| {
            let mapping = p.mapping().ok()?;
            Upright::through(&mapping, start.picture, start.stands)
        });
        let on = on.unwrap_or(Upright::new(start.picture, start.stands, start.mirror_rig));
        let step = if start.first_time {
            Step::Cautions
        } else {
            Step::SwitchOff
        };
        Self {
            earlier: earlier.cloned(),
            reads: on.side,
            step,
            known: Known {
                mirror: on.mirror_rig,
                ..Known::default()
            },
            past: Vec::new(),
            typed: Typed::default(),
            field: 0,
            refused: BTreeMap::new(),
            sheet: 0,
            sheets: 1,
            crosses: [Point::origin(); 4],
            read: [Point::origin(); 4],
            mark: 0,
            pace: Pace::default(),
            doubt: false,
            more: Vec::new(),
            refined: more::Kept::default(),
            more_before: Vec::new(),
            scales: false,
            board: board::Board::default(),
            start,
        }
    }

    pub fn step(&self) -> Step {
        self.step
    }

    /// The projector's picture, px.
    pub fn picture(&self) -> [u32; 2] {
        self.start.picture
    }

    pub fn unit(&self) -> Unit {
        if self.start.inches {
            Unit::Inch
        } else {
            Unit::Mm
        }
    }

    /// Lengths are typed and said in inches.
    pub fn inches(&self) -> bool {
        self.start.inches
    }

    pub fn stands(&self) -> Side {
        self.start.stands
    }

    pub fn cuts(&self) -> Hand {
        self.start.cuts
    }

    /// How words of light lie: as the marks say once they are set, before that
    /// as the person has turned them.
    pub fn upright(&self) -> Upright {
        let set = self.mapping().and_then(|m| {
            let on = Upright::through(&m, self.start.picture, self.start.stands)?;
            (on.mirror_rig == self.known.mirror).then_some(on)
        });
        set.unwrap_or(Upright::new(
            self.start.picture,
            self.reads,
            self.known.mirror,
        ))
    }

    /// Whether stripes along this axis of the picture (0 its width, 1 its
    /// height) are counted from left to right as the reader sees them, and not
    /// from the far edge to the near one.
    pub fn counted_across(&self, axis: usize) -> bool {
        let upright = matches!(self.upright().side, Side::Front | Side::Back);
        upright == (axis == 0)
    }

    /// The page of a step that is words, from 0.
    pub fn sheet(&self) -> usize {
        self.sheet
    }

    /// How many pages of light the words of this step take: told by whoever
    /// lays them out, so that none is passed over.
    pub fn takes_sheets(&mut self, sheets: usize) {
        self.sheets = sheets.max(1);
        self.sheet = self.sheet.min(self.sheets - 1);
    }

    /// The mark in hand, from 1, where its cross is, and how far a press moves it.
    pub fn cross(&self) -> (u32, Point<Projector>, Pace) {
        match self.more.last() {
            Some(more) if self.step == Step::More => {
                (self.more_in_hand() as u32, more.at, self.pace)
            }
            _ => match self.board.crosses.get(self.board.corner) {
                Some(at) if self.step == Step::Board => {
                    (self.board.corner as u32 + 1, *at, self.pace)
                }
                _ => (self.mark as u32 + 1, self.crosses[self.mark], self.pace),
            },
        }
    }

    /// Where vernier scales are lit: about the place that the cross in hand lights, if
    /// they were asked for.
    pub fn scales(&self) -> Option<Point<Table>> {
        let sets = matches!(self.step, Step::Fine | Step::More);
        let (_, at, _) = self.cross();
        self.mapping()?.place(at).filter(|_| self.scales && sets)
    }

    /// The mapping of the marks, once they are read.
    pub fn mapping(&self) -> Option<Mapping> {
        self.known.profile.as_ref()?.mapping().ok()
    }

    /// The square of the check picture.
    ///
    /// # Errors
    /// If the marks are not read, or none fits between them.
    pub fn square(&self) -> Outcome<CheckSquare> {
        match &self.known.profile {
            Some(profile) => check_square(profile, self.unit()),
            None => Err(Fault::input("the marks are not read yet", "go back")),
        }
    }

    /// What the tape on the check picture came to.
    pub fn judged(&self) -> Option<&Judged> {
        self.known.judged.as_ref()
    }

    /// The furthest that light between the marks is off if each mark was set to
    /// within `px`; mm are of the finest light. `None` before they are read.
    pub fn off(&self, px: f64) -> Option<Off> {
        let profile = self.known.profile.as_ref()?;
        let rows: Vec<MarkRow> = profile.marks.iter().map(MarkRow::from).collect();
        let off = most_off(&rows.try_into().ok()?, px)?;
        Some(Off {
            mm: off.mm * profile.finest(),
            ..off
        })
    }

    /// The profile, once the marks are read; `made` is today, `2031-05-17`.
    pub fn profile(&self, made: &str) -> Option<Profile> {
        let mut profile = self.known.profile.clone()?;
        profile.made = Some(made.to_owned());
        Some(profile)
    }

    fn rows(&self, pixels: [Point<Projector>; 4]) -> Option<[MarkRow; 4]> {
        let marks = self.known.marks?;
        Some(std::array::from_fn(|k| MarkRow {
            table: marks[k],
            projector: pixels[k],
        }))
    }
}
