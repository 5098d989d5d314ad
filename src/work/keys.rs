//! What the keys do in each activity: one table, from which both the act and
//! the words of the key sheet are taken, so that they can't disagree.
//!
//! The sense of it: **arrows** move, **letters** are what the hand does, the
//! **row of digits** is the light, **F keys** are about the program. Shift makes
//! a step ten times finer, Ctrl a hundred times.

mod always;
mod cutting;
mod laying;
mod pointing;

use super::act::Act;
use super::doing::Doing;
use super::key::{Key, Pressed};
use super::meant::Relative;
use super::signals::Signal;

/// What a key asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum KeyAct {
    /// An act as it stands.
    Act(Act),
    /// An act that follows from how things are: [`Relative::act`].
    Relative(Relative),
    /// Nothing of the lay: for whoever runs the windows.
    Outside(Outside),
    /// A switch that is down until it comes up.
    Signal(Signal),
}

/// What keys ask of the windows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outside {
    /// Flash the piece in hand, to find it.
    Flash,
    /// Throw the key sheet onto the table, or take it away.
    KeySheet,
    /// Set the table: projector, marks, check.
    Setting,
    Cautions,
    /// The keyboard goes to the panel, or back to the table.
    Panel,
    Quit,
}

/// One line of the table: keys that belong together, and what they do.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub presses: Vec<(Pressed, KeyAct)>,
    pub what: &'static str,
}

impl Line {
    /// The keys in words: `Shift+arrows`, `L  R`.
    pub fn keys(&self) -> String {
        let first = self.presses.first().map(|(p, _)| *p);
        let arrows = [Key::Left, Key::Right, Key::Up, Key::Down];
        let all = self.presses.iter().map(|(p, _)| p.key);
        match first {
            Some(p) if all.eq(arrows) => format!("{}arrows", p.held()),
            _ => {
                let each: Vec<String> = self.presses.iter().map(|(p, _)| p.to_string()).collect();
                each.join("  ")
            }
        }
    }
}

/// What a press does in an activity, if anything.
pub fn act_of(pressed: Pressed, doing: &Doing) -> Option<KeyAct> {
    // On many keyboards + is itself a shifted key.
    let pressed = match pressed.key {
        Key::Plus | Key::Minus => Pressed {
            shift: false,
            ..pressed
        },
        _ => pressed,
    };
    let mut all = table(doing).into_iter().flat_map(|l| l.presses);
    all.find(|(p, _)| *p == pressed).map(|(_, act)| act)
}

/// The key sheet of an activity: keys, and what they do.
pub fn sheet(doing: &Doing) -> Vec<(String, &'static str)> {
    let lines = table(doing).into_iter();
    lines.map(|l| (l.keys(), l.what)).collect()
}

/// The table of an activity, what it is about first.
pub fn table(doing: &Doing) -> Vec<Line> {
    let mut lines = match doing {
        Doing::Laying => laying::laying(),
        Doing::Cutting(at) => cutting::cutting(&at.phase),
        Doing::Offering(at) => pointing::offering(at),
        Doing::Lengths(_) => pointing::lengths(),
        Doing::Teaching { .. } => return pointing::teaching(),
        Doing::Carrying {
            full_hands: true, ..
        } => cutting::carrying_with_full_hands(),
        _ => pointing::pointing(doing),
    };
    lines.extend(always::light());
    lines.extend(always::always());
    lines
}

fn one(pressed: Pressed, act: impl Into<KeyAct>, what: &'static str) -> Line {
    Line {
        presses: vec![(pressed, act.into())],
        what,
    }
}

fn many<const N: usize>(presses: [(Pressed, KeyAct); N], what: &'static str) -> Line {
    Line {
        presses: presses.into(),
        what,
    }
}

fn letter(c: char) -> Pressed {
    Pressed::plain(Key::Letter(c))
}

fn digit(d: u8) -> Pressed {
    Pressed::plain(Key::Digit(d))
}

impl From<Act> for KeyAct {
    fn from(act: Act) -> Self {
        KeyAct::Act(act)
    }
}

impl From<Relative> for KeyAct {
    fn from(act: Relative) -> Self {
        KeyAct::Relative(act)
    }
}

impl From<Signal> for KeyAct {
    fn from(signal: Signal) -> Self {
        KeyAct::Signal(signal)
    }
}

impl From<Outside> for KeyAct {
    fn from(act: Outside) -> Self {
        KeyAct::Outside(act)
    }
}

/// How a key is held, and the share of the full step it then makes.
type Step = (fn(Key) -> Pressed, f64);

const STEPS: [Step; 3] = [
    (Pressed::plain, 1.0),
    (Pressed::shift, 0.1),
    (Pressed::ctrl, 0.01),
];

/// A step of the arrows at its full size, mm.
const MOVE: f64 = 10.0;

fn arrows(whats: [&'static str; 3]) -> Vec<Line> {
    let line = |((held, share), what): (Step, &'static str)| {
        let step = MOVE * share;
        let by = |key, right: f64, away: f64| {
            let arrow = Relative::Arrow {
                right: right * step,
                away: away * step,
            };
            (held(key), arrow.into())
        };
        let presses = [
            by(Key::Left, -1.0, 0.0),
            by(Key::Right, 1.0, 0.0),
            by(Key::Up, 0.0, 1.0),
            by(Key::Down, 0.0, -1.0),
        ];
        many(presses, what)
    };
    STEPS.into_iter().zip(whats).map(line).collect()
}

/// The arrows where nothing is in hand.
fn pointer_moves() -> Vec<Line> {
    arrows([
        "move the pointer 10 mm",
        "move the pointer 1 mm",
        "move the pointer 0.1 mm",
    ])
}
