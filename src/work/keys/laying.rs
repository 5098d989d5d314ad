//! The keys while pieces are laid.

use super::{Line, Outside, STEPS, arrows, letter, many, one};
use crate::work::act::Act;
use crate::work::key::{Key, Pressed};
use crate::work::meant::{Errand, Relative};
use crate::work::offering::Seek;

/// The turning keys, degrees. A tenth and a hundredth of 15 are not round, so
/// they are not shares of the full step.
const TURNS: [f64; 3] = [15.0, 1.0, 0.1];

pub(super) fn laying() -> Vec<Line> {
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
            "hold the piece under the pointer",
        ),
        one(Pressed::plain(Key::Escape), Act::LetGo, "let go"),
        one(letter('F'), Outside::Flash, "find: flash the piece in hand"),
        one(letter('G'), Act::Square, "grain along the warp"),
        one(letter('B'), Act::Bias, "grain on the bias"),
        one(
            Pressed::shift(Key::Letter('F')),
            Act::Seek(Seek::Hand),
            "find it a place by your wishes",
        ),
        one(
            Pressed::ctrl(Key::Letter('F')),
            Act::Seek(Seek::Pair),
            "find places for it and its partner",
        ),
        one(letter('T'), Act::TurnOver, "turn over"),
        one(letter('N'), LayNext, "lay the next piece"),
        one(
            Pressed::shift(Key::Letter('N')),
            Act::Seek(Seek::Open),
            "find places for all still to lay",
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
