//! Where the lens is, for thick cloth: a board of known thickness is laid into its outline
//! of light, and crosses are set on its upper corners.

use super::typed::Length;
use super::{Known, Setting, SettingReply, Step};
use crate::calibration::LensPlaceFile;
use crate::calibration::fit::{HAND_PX, MARKS_MM, Sighted};
use crate::calibration::raised::from_board;
use crate::fault::{Fault, Outcome};
use crate::projection::{LensPlace, Mapping};
use crate::space::{Point, Projector, Table, Vector};

/// Until it is known, the lens is looked for so high above the board's middle, mm.
const GUESSED: f64 = 1500.0;

/// What is typed of the board, in the order of asking.
pub(super) const ASKED: [&str; 3] = [
    "the board's width, along marks 1 and 2",
    "its depth",
    "its thickness",
];

/// The board, and how far setting it has come.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Board {
    /// As in [`ASKED`].
    pub typed: [Option<Length>; 3],
    /// Its upper corners' crosses, from the front left round; empty before it lies.
    pub crosses: Vec<Point<Projector>>,
    pub corner: usize,
}

impl Setting {
    pub(super) fn begin_board(&mut self) -> Outcome<SettingReply> {
        self.board.crosses.clear();
        self.board.corner = 0;
        let known = self.known.clone();
        self.go(Step::Board, known);
        Ok(SettingReply::default())
    }

    /// Where the board is to lie, corner by corner; `None` before its size is typed.
    pub fn board_outline(&self) -> Option<[Point<Table>; 4]> {
        let mm = |k: usize| self.board.typed[k].as_ref().map(|l| l.mm);
        let half: Vector<Table> = Vector::new(mm(0)? / 2.0, mm(1)? / 2.0);
        let marks = self.known.marks?;
        let sum = marks.iter().fold(Vector::zero(), |s, m| s + m.to_vector());
        let middle: Point<Table> = (sum / 4.0).to_point();
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        Some(corners.map(|(x, y)| middle + Vector::new(x * half.x, y * half.y)))
    }

    /// The corner whose cross is in hand, from 0; `None` while the board is laid.
    pub fn board_corner(&self) -> Option<usize> {
        (!self.board.crosses.is_empty()).then_some(self.board.corner)
    }

    pub(super) fn board_words(&self) -> Vec<String> {
        let own = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect::<Vec<String>>();
        match self.board_corner() {
            None => own(&[
                "on thick cloth light lands nearer to the lens; a board on the table tells where the lens is",
                "take a flat board or a stack of books, three times as thick as the thickest \
                 stack of cloth or more, and type its size",
                "lay it into its outline of light, its lower edge on the line, and go on",
            ]),
            Some(k) => vec![format!(
                "move the cross onto the board's upper corner, {}, by drag or arrows; then go on",
                super::asks::corner(k)
            )],
        }
    }

    /// The board lies, or one more of its corners is set.
    pub(super) fn board_done(&mut self) -> Outcome<SettingReply> {
        match self.board_corner() {
            None => self.board_lies(),
            Some(k) if k + 1 < 4 => {
                self.board.corner += 1;
                self.pace = super::Pace::default();
                Ok(SettingReply::default())
            }
            Some(_) => self.board_seen(),
        }
    }

    fn board_lies(&mut self) -> Outcome<SettingReply> {
        if let Some(k) = self.board.typed.iter().position(Option::is_none) {
            self.field = k;
            return Err(Fault::input(
                format!("{} is missing", ASKED[k]),
                "measure it and type it",
            ));
        }
        let missing = || Fault::input("the marks are not set yet", "go back and read them");
        let outline = self.board_outline().ok_or_else(missing)?;
        let thick = self.board.typed[2].as_ref().map_or(0.0, |l| l.mm);
        let sum = outline
            .iter()
            .fold(Vector::zero(), |s, p| s + p.to_vector());
        let guess = Mapping {
            lens_place: Some(LensPlace {
                foot: (sum / 4.0).to_point(),
                height: GUESSED.max(4.0 * thick),
            }),
            ..self.mapping().ok_or_else(missing)?
        };
        let [w, h] = self.start.picture.map(f64::from);
        let lit = |p: &Point<Table>| {
            let q = guess.pixel(*p, thick)?;
            (q.x > 0.0 && q.y > 0.0 && q.x < w && q.y < h).then_some(q)
        };
        let crosses: Option<Vec<_>> = outline.iter().map(lit).collect();
        self.board.crosses = crosses.ok_or_else(|| {
            Fault::input(
                "the board reaches out of the light",
                "take a smaller one, or type its size anew",
            )
        })?;
        self.board.corner = 0;
        self.field = 0;
        self.pace = super::Pace::default();
        Ok(SettingReply::default())
    }

    fn board_seen(&mut self) -> Outcome<SettingReply> {
        let missing = || Fault::input("the marks are not set yet", "go back and read them");
        let outline = self.board_outline().ok_or_else(missing)?;
        let profile = self.known.profile.clone().ok_or_else(missing)?;
        let (_, _, fit) = profile.refit().ok_or_else(missing)?;
        let marks: Vec<Sighted> = (outline.iter().zip(&self.board.crosses).enumerate())
            .map(|(k, (p, q))| Sighted {
                name: format!("corner {}", k + 1),
                table: *p,
                pixel: *q,
            })
            .collect();
        let thick = self.board.typed[2].as_ref().map_or(0.0, |l| l.mm);
        let found = from_board(&fit, &marks, thick, [HAND_PX, MARKS_MM])?;
        let [foot, height] = found.errors();
        let place = found.place;
        let mut profile = profile;
        profile.lens_place = Some(LensPlaceFile {
            foot_mm: place.foot.to_array(),
            height_mm: place.height,
        });
        profile.mapping()?;
        let known = Known {
            profile: Some(profile),
            ..self.known.clone()
        };
        self.past.pop();
        self.step = Step::Done;
        self.known = known;
        self.field = 0;
        // What is left on cloth a third as thick, the thickest it is good for.
        let cloth = thick / crate::calibration::raised::TIMES;
        let far = outline.iter().map(|p| found.height_error(*p, cloth));
        let mut worst: [f64; 2] = [0.0; 2];
        for error in far {
            let error = error?;
            worst = [worst[0].max(error.displaced), worst[1].max(error.left)];
        }
        let unit = self.unit();
        Ok(SettingReply::saying(format!(
            "the lens hangs {} above the table (give or take {}), its foot to {}; on cloth of {} \
             light would be {} off, and is true to {}",
            unit.show(place.height),
            unit.show(height),
            unit.show(foot),
            unit.show(cloth),
            self.show_error(worst[0]),
            self.show_error(worst[1])
        )))
    }
}
