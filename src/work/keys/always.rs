//! The keys that mean the same in every activity: the light's, and the program's.

use super::{KeyAct, Line, Outside, digit, letter, many, one};
use crate::work::act::Act;
use crate::work::key::{Key, Pressed};
use crate::work::meant::Relative;
use crate::work::ways::Way;

/// The digits' row: the light, whatever is being done.
pub(super) fn light() -> Vec<Line> {
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
pub(super) fn always() -> Vec<Line> {
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
