//! What the person is in the middle of. Lost with the program, and nothing
//! missed: nothing of it is work until it is finished.

use super::act::Task;
use super::cutting::{Cutting, Phase};
use super::offering::Offering;
use super::ruler::Laying;
use super::signals::Signal;
use crate::space::{Cloth, Point, Table};

/// What the pointer's button means now.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Doing {
    /// Pieces are taken hold of.
    #[default]
    Laying,
    /// An outline, corner by corner; `keep_out` if it is a place to keep out of.
    Drawing {
        panel: String,
        keep_out: bool,
        corners: Vec<Point<Table>>,
    },
    /// Each press gives a panel a mark.
    Marking { panel: String },
    /// The marks of a panel that has moved are pointed at one after another.
    Carrying {
        panel: String,
        /// Where each mark is now; `None` if not yet pointed at, or passed over.
        now: Vec<Option<Point<Table>>>,
        /// The mark that is asked for.
        at: usize,
        /// It was said that the cloth is no longer what it was.
        warned: bool,
        /// In the middle of cutting: the two signals work it.
        full_hands: bool,
    },
    /// Two points along the warp.
    Warp {
        panel: String,
        from: Option<Point<Table>>,
    },
    /// Two points along a mat's edge.
    Edge { from: Option<Point<Table>> },
    /// A tape of light.
    Tape {
        from: Option<Point<Table>>,
        to: Option<Point<Table>>,
    },
    /// Sample guides lie on the cloth from here to the right; the first that is
    /// seen well is picked.
    Samples { at: Point<Table> },
    /// The strip of the cut test lies about here.
    Strip { at: Point<Table> },
    /// The table's marks are pointed at, in any order: which, from 0, and where.
    Checking { seen: Vec<(usize, Point<Table>)> },
    /// Pieces are cut, by two signals.
    Cutting(Cutting),
    /// What is cut by length lies along a ruler of light.
    Lengths(Laying),
    /// Places are sought, and offered one after another.
    Offering(Box<Offering>),
    /// The switch for a signal is taught by pressing it.
    Teaching { signal: Signal },
}

impl Doing {
    pub fn is_laying(&self) -> bool {
        *self == Doing::Laying
    }

    pub fn cutting(&self) -> Option<&Cutting> {
        match self {
            Doing::Cutting(cutting) => Some(cutting),
            _ => None,
        }
    }

    pub(super) fn begun(task: Task, marks: usize) -> Self {
        match task {
            Task::Outline(panel) => Doing::Drawing {
                panel,
                keep_out: false,
                corners: Vec::new(),
            },
            Task::KeepOut(panel) => Doing::Drawing {
                panel,
                keep_out: true,
                corners: Vec::new(),
            },
            Task::Marks(panel) => Doing::Marking { panel },
            Task::Moved(panel) => Doing::Carrying {
                panel,
                now: vec![None; marks],
                at: 0,
                warned: false,
                full_hands: false,
            },
            Task::Warp(panel) => Doing::Warp { panel, from: None },
            Task::Edge => Doing::Edge { from: None },
            Task::Tape => Doing::Tape {
                from: None,
                to: None,
            },
            Task::Samples => Doing::Samples {
                at: Point::origin(),
            },
            Task::Strip => Doing::Strip {
                at: Point::origin(),
            },
            Task::Check => Doing::Checking { seen: Vec::new() },
        }
    }

    /// While the light is checked: the marks pointed at so far, from 0, and where.
    pub fn seen_marks(&self) -> Option<&[(usize, Point<Table>)]> {
        match self {
            Doing::Checking { seen } => Some(seen),
            Doing::Cutting(Cutting {
                phase: Phase::Check { seen, .. },
                ..
            }) => Some(seen),
            _ => None,
        }
    }

    pub(super) fn seen_marks_mut(&mut self) -> Option<&mut Vec<(usize, Point<Table>)>> {
        match self {
            Doing::Checking { seen } => Some(seen),
            Doing::Cutting(Cutting {
                phase: Phase::Check { seen, .. },
                ..
            }) => Some(seen),
            _ => None,
        }
    }

    /// The panel it is about.
    pub fn panel(&self) -> Option<&str> {
        match self {
            Doing::Drawing { panel, .. }
            | Doing::Marking { panel }
            | Doing::Carrying { panel, .. }
            | Doing::Warp { panel, .. } => Some(panel),
            _ => None,
        }
    }

    /// What the person is asked to do now, for the light and the panel.
    pub fn asks(&self, marks: &[(String, Point<Cloth>)]) -> String {
        match self {
            Doing::Laying => "lay: press in a piece to hold it".into(),
            Doing::Drawing {
                keep_out, corners, ..
            } => {
                let what = if *keep_out { "bad place" } else { "outline" };
                match corners.len() {
                    n @ 0..3 => format!("{what}: press at its corners, in order ({n} so far)"),
                    n => format!("{what}: {n} corners; Enter, or press at the next"),
                }
            }
            Doing::Marking { .. } => {
                format!(
                    "press at a mark of the cloth that you will find again, such as a stitch hole: \
                     two or more, far apart ({})",
                    crate::fault::counted(marks.len(), "mark so far", "marks so far")
                )
            }
            Doing::Carrying {
                now,
                at,
                full_hands,
                ..
            } => match marks.get(*at) {
                Some(_) if *full_hands && now.iter().all(Option::is_none) => {
                    "slide the cloth until its marks lie in the crosses, and go on; or press \
                     where the ringed one is now (back: leave it)"
                        .into()
                }
                Some((name, _)) => format!("press where mark {name} is now"),
                None => {
                    let n = now.iter().flatten().count();
                    let marks = crate::fault::counted(n, "mark", "marks");
                    format!("{marks} pointed at: go on (Enter), and the lay follows")
                }
            },
            Doing::Warp { from: None, .. } => "warp: press at one thread".into(),
            Doing::Warp { .. } => "warp: press further along the same thread".into(),
            Doing::Edge { from: None } => "edge: press at one end of the edge".into(),
            Doing::Edge { .. } => "edge: press at its other end".into(),
            Doing::Tape { from: None, .. } => "how far: press where it begins".into(),
            Doing::Tape { .. } => "how far: press where it ends".into(),
            Doing::Checking { seen } => match seen.len() {
                0 => "check the light: does each cross lie on its mark? Then Enter; if not, press \
                      where each mark is"
                    .into(),
                n => {
                    let marks = crate::fault::counted(n, "mark", "marks");
                    format!("check the light: {marks} pointed at; press at the next, or Enter")
                }
            },
            // The ruler has words of its own, in the person's unit.
            Doing::Lengths(_) => "lay the length along the ruler of light".into(),
            Doing::Offering(offering) => offering.asks(),
            Doing::Cutting(_) => "cut: go on, or back; hold back for more".into(),
            Doing::Teaching { signal } => match signal {
                Signal::GoOn => "press the switch that shall mean go on".into(),
                Signal::Back => "press the switch that shall mean back".into(),
            },
            Doing::Strip { .. } => {
                "press where a scrap of cloth lies; cut the strip out as always, measure both \
                 sides twice, and type that in the laptop's window, leaf light"
                    .into()
            }
            Doing::Samples { .. } => "press in the first sample whose lines you see well".into(),
        }
    }
}
