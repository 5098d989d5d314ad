//! What the keys do in each activity: one table, from which both the act and
//! the words of the key sheet are taken, so that they can't disagree.
//!
//! The sense of it: **arrows** move, **letters** are what the hand does, the
//! **row of digits** is the light, **F keys** are about the program. Shift makes
//! a step ten times finer, Ctrl a hundred times.

use super::act::Act;
use super::cutting::{Item, Phase};
use super::doing::Doing;
use super::key::Key;
use super::key::Pressed;
use super::meant::Errand;
use super::meant::Relative;
use super::offering::{Offering, Seek};
use super::signals::Signal;
use super::ways::Way;

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
        Doing::Laying => laying(),
        Doing::Cutting(at) => cutting(&at.phase),
        Doing::Offering(at) => offering(at),
        Doing::Lengths(_) => lengths(),
        Doing::Carrying {
            full_hands: true, ..
        } => carrying_with_full_hands(),
        _ => pointing(doing),
    };
    lines.extend(light());
    lines.extend(always());
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

/// A step of the arrows, mm, and of the two turning keys, degrees, at its full
/// size. A tenth and a hundredth of 15 are not round, so turning has its own.
const MOVE: f64 = 10.0;
const TURNS: [f64; 3] = [15.0, 1.0, 0.1];

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

fn laying() -> Vec<Line> {
    use Relative::{Begin, HoldHere, LayNext, Together};
    let mut lines = arrows([
        "move 10 mm (nothing in hand: the pointer)",
        "move 1 mm",
        "move 0.1 mm",
    ]);
    let whats = ["turn left, right 15°", "turn 1°", "turn 0.1°"];
    for (((held, _), degrees), what) in STEPS.into_iter().zip(TURNS).zip(whats) {
        let left = (held(Key::Letter('L')), Act::Turn(degrees).into());
        let right = (held(Key::Letter('R')), Act::Turn(-degrees).into());
        lines.push(many([left, right], what));
    }
    let tab = (Pressed::plain(Key::Tab), Act::Next.into());
    let back = (Pressed::shift(Key::Tab), Act::Previous.into());
    lines.push(many([tab, back], "next, previous piece in hand"));
    let away = [Key::Backspace, Key::Delete].map(|k| (Pressed::plain(k), Act::TakeAway.into()));
    lines.extend([
        one(
            Pressed::plain(Key::Space),
            HoldHere,
            "hold what the pointer is in",
        ),
        one(Pressed::plain(Key::Escape), Act::LetGo, "let go"),
        one(letter('F'), Outside::Flash, "find: flash the piece in hand"),
        one(letter('G'), Act::Square, "grain along the warp"),
        one(letter('B'), Act::Bias, "grain on the bias"),
        one(
            Pressed::shift(Key::Letter('F')),
            Act::Seek(Seek::Hand),
            "find it a place, by what is wished",
        ),
        one(
            Pressed::ctrl(Key::Letter('F')),
            Act::Seek(Seek::Pair),
            "find places for it and its partner",
        ),
        one(letter('T'), Act::TurnOver, "turn over"),
        one(letter('N'), LayNext, "lay the next that is open"),
        one(
            Pressed::shift(Key::Letter('N')),
            Act::Seek(Seek::Open),
            "find places for all that is open",
        ),
        one(letter('A'), Act::Another, "another of the same"),
        one(letter('P'), Act::Partner, "its partner, mirrored"),
        one(
            Pressed::shift(Key::Letter('P')),
            Act::PartnerAcross,
            "partner on the mirrored panel",
        ),
        one(letter('X'), Act::Lock, "lock it, or free it"),
        one(letter('J'), Together, "join: an article moves as one"),
        many(away, "take the piece away"),
        one(
            letter('C'),
            Begin(Errand::Moved),
            "carry: the cloth has moved",
        ),
        one(letter('M'), Begin(Errand::Marks), "give the cloth marks"),
        one(letter('O'), Begin(Errand::Outline), "outline of the cloth"),
        one(letter('K'), Begin(Errand::KeepOut), "mark a bad place"),
        one(
            letter('W'),
            Begin(Errand::Warp),
            "show the warp by two points",
        ),
        one(
            letter('E'),
            Begin(Errand::Edge),
            "square to the edge of a mat",
        ),
        one(
            letter('H'),
            Begin(Errand::Tape),
            "how far: measure by light",
        ),
        one(
            Pressed::shift(Key::Letter('H')),
            Act::Lengths,
            "lengths to cut, along a ruler of light",
        ),
        one(
            Pressed::plain(Key::Enter),
            Act::BeginCutting,
            "over to cutting",
        ),
        one(
            letter('S'),
            Begin(Errand::Samples),
            "samples: how strong a guide",
        ),
        one(
            Pressed::shift(Key::Letter('S')),
            Begin(Errand::Strip),
            "strip to cut: what the hand leaves",
        ),
        one(
            letter('V'),
            Begin(Errand::Check),
            "check the light: still on its marks?",
        ),
    ]);
    lines
}

/// Cutting: two signals, and by name what the list holds.
fn cutting(phase: &Phase) -> Vec<Line> {
    let on = [Key::Space, Key::Enter].map(|k| (Pressed::plain(k), Signal::GoOn.into()));
    let back = (Pressed::plain(Key::Backspace), Signal::Back.into());
    let take = |c, item: Item| one(letter(c), Act::Take(item), item.words());
    let mut lines = vec![
        many(on, "go on"),
        many([back], "back; held: the list"),
        one(
            Pressed::plain(Key::Tab),
            Relative::CutAnother,
            "another piece next",
        ),
        take('B', Item::LayBack),
        take('S', Item::Spoilt),
        take('C', Item::Moved),
        take('K', Item::Check),
        take('N', Item::NotchByNotch),
        take('D', Item::Waive),
        take('X', Item::ThisSpoilt),
        take('A', Item::NotchNextTime),
        take('W', Item::Walk),
        take('O', Item::Outlines),
    ];
    if let Phase::Check { .. } = phase {
        lines.push(one(letter('P'), Act::Press, "a mark of the table is here"));
    }
    lines.extend(arrows([
        "move the pointer 10 mm",
        "move the pointer 1 mm",
        "move the pointer 0.1 mm",
    ]));
    lines.push(one(
        Pressed::plain(Key::Escape),
        Act::Leave,
        "leave cutting: lay",
    ));
    lines
}

/// The cloth is carried in the middle of cutting: the two signals work it, and the
/// pointer's button points at marks.
fn carrying_with_full_hands() -> Vec<Line> {
    let on = [Key::Space, Key::Enter].map(|k| (Pressed::plain(k), Signal::GoOn.into()));
    let back = (Pressed::plain(Key::Backspace), Signal::Back.into());
    let mut lines = vec![
        many(on, "it lies in the crosses, or follows the marks"),
        many([back], "back: the last point, or leave it"),
        one(letter('P'), Act::Press, "press here"),
        one(
            letter('N'),
            Act::PassOver,
            "this mark is not found: pass over it",
        ),
    ];
    lines.extend(arrows([
        "move the pointer 10 mm",
        "move the pointer 1 mm",
        "move the pointer 0.1 mm",
    ]));
    lines.push(one(
        Pressed::plain(Key::Escape),
        Act::Leave,
        "not carried: back to cutting",
    ));
    lines
}

/// Places are offered: the next, take it, leave it.
fn offering(at: &Offering) -> Vec<Line> {
    let take = match at.offers.is_empty() {
        true => "enough: the best so far",
        false => "take this place",
    };
    let taken = [Key::Enter, Key::Space].map(|k| (Pressed::plain(k), Act::Finish.into()));
    let tab = (Pressed::plain(Key::Tab), Act::Next.into());
    let back = (Pressed::shift(Key::Tab), Act::Previous.into());
    let mut lines = arrows([
        "move the pointer 10 mm",
        "move the pointer 1 mm",
        "move the pointer 0.1 mm",
    ]);
    lines.extend([
        many([tab, back], "the next, the previous place"),
        many(taken, take),
        one(Pressed::plain(Key::Escape), Act::Leave, "leave it"),
        one(letter('F'), Outside::Flash, "flash the piece in hand"),
    ]);
    lines
}

/// Tapes lie along a ruler of light: on, back, the next.
fn lengths() -> Vec<Line> {
    let on = [Key::Space, Key::Enter].map(|k| (Pressed::plain(k), Act::Finish.into()));
    let back = (Pressed::plain(Key::Backspace), Act::BackUp.into());
    let tab = (Pressed::plain(Key::Tab), Act::Next.into());
    let before = (Pressed::shift(Key::Tab), Act::Previous.into());
    let mut lines = vec![
        many(on, "done: the next stretch, or the next length"),
        many([back], "back"),
        many([tab, before], "the next, the previous length"),
        one(Pressed::plain(Key::Escape), Act::Leave, "leave it"),
    ];
    lines.extend(arrows([
        "move the pointer 10 mm",
        "move the pointer 1 mm",
        "move the pointer 0.1 mm",
    ]));
    lines
}

/// An activity in which the pointer's button means a place.
fn pointing(doing: &Doing) -> Vec<Line> {
    let press = match doing {
        Doing::Samples { .. } => "press: this sample is strong enough",
        Doing::Strip { .. } => "the strip lies here",
        _ => "press here",
    };
    let finish = match doing {
        Doing::Drawing { .. } => "the outline is done",
        Doing::Carrying { .. } => "the lay follows the marks",
        Doing::Checking { .. } => "that is all: keep the finding",
        _ => "done",
    };
    let mut lines = arrows([
        "move the pointer 10 mm",
        "move the pointer 1 mm",
        "move the pointer 0.1 mm",
    ]);
    lines.push(one(Pressed::plain(Key::Space), Act::Press, press));
    if takes_back(doing) {
        let back = Pressed::plain(Key::Backspace);
        lines.push(one(back, Act::BackUp, "take back the last point"));
    }
    if let Doing::Carrying { .. } = doing {
        let what = "this mark is not found: pass over it";
        lines.push(one(letter('N'), Act::PassOver, what));
    }
    lines.push(one(Pressed::plain(Key::Enter), Act::Finish, finish));
    lines.push(one(Pressed::plain(Key::Escape), Act::Leave, "leave it"));
    lines
}

fn takes_back(doing: &Doing) -> bool {
    !matches!(
        doing,
        Doing::Laying
            | Doing::Marking { .. }
            | Doing::Samples { .. }
            | Doing::Strip { .. }
            | Doing::Teaching { .. }
            | Doing::Offering(_)
            | Doing::Lengths(_)
    )
}

/// The digits' row: the light, whatever is being done.
fn light() -> Vec<Line> {
    use Relative::{Band, Brightness, Creep, NextColour, Waste, Watch, WorkLight};
    let ways = [1, 2, 3, 4, 5].map(digit);
    let ways = ways.into_iter().zip(Way::ALL);
    let mut lines: Vec<Line> = ways.map(|(k, w)| one(k, Act::Way(w), w.words())).collect();
    let pair = |less, more, what| many([less, more], what);
    lines.extend([
        one(digit(6), Waste, "light the waste, or a band"),
        one(
            Pressed::shift(Key::Digit(6)),
            Watch,
            "rings round bare marks, or none",
        ),
        pair(
            (digit(7), Band(-0.5).into()),
            (digit(8), Band(0.5).into()),
            "band narrower, wider",
        ),
        one(
            Pressed::shift(Key::Digit(7)),
            Creep,
            "dashes that creep along the band, or none",
        ),
        pair(
            (digit(9), Brightness(-5).into()),
            (digit(0), Brightness(5).into()),
            "guides dimmer, brighter",
        ),
        one(
            Pressed::shift(Key::Digit(9)),
            NextColour,
            "the next colour of light",
        ),
        pair(
            (Pressed::plain(Key::Minus), WorkLight(-5).into()),
            (Pressed::plain(Key::Plus), WorkLight(5).into()),
            "less, more work light",
        ),
    ]);
    lines
}

/// What is always so.
fn always() -> Vec<Line> {
    let walk = |steps| KeyAct::from(Relative::Walk(steps));
    vec![
        one(Pressed::ctrl(Key::Letter('Z')), Act::Undo, "undo"),
        one(Pressed::both(Key::Letter('Z')), Act::Redo, "do again"),
        many(
            [
                (letter('I'), walk(1)),
                (Pressed::shift(Key::Letter('I')), walk(-1)),
            ],
            "I stand at the next side: right, left",
        ),
        one(
            Pressed::plain(Key::F(1)),
            Outside::KeySheet,
            "these keys, as light on the table",
        ),
        one(Pressed::plain(Key::F(2)), Outside::Setting, "set the table"),
        one(Pressed::plain(Key::F(3)), Outside::Cautions, "cautions"),
        one(
            Pressed::plain(Key::F(6)),
            Outside::Panel,
            "keyboard to the laptop, and back",
        ),
        one(Pressed::ctrl(Key::Letter('Q')), Outside::Quit, "end"),
    ]
}
