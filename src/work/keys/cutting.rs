//! The keys while pieces are cut.

use super::{Line, letter, many, one, pointer_moves};
use crate::work::act::Act;
use crate::work::cutting::{Item, Phase};
use crate::work::key::{Key, Pressed};
use crate::work::meant::Relative;
use crate::work::signals::Signal;

/// Cutting: two signals, and by name what the list holds.
pub(super) fn cutting(phase: &Phase) -> Vec<Line> {
    let on = [Key::Space, Key::Enter].map(|k| (Pressed::plain(k), Signal::GoOn.into()));
    let back = (Pressed::plain(Key::Backspace), Signal::Back.into());
    let take = |c, item: Item| one(letter(c), Act::Take(item), item.words());
    let mut lines = vec![
        many(on, "go on"),
        many([back], "back; held down: the list"),
        one(
            Pressed::plain(Key::Tab),
            Relative::CutAnother,
            "another piece next",
        ),
        take('B', Item::LayBack),
        take('S', Item::Spoilt),
        take('C', Item::Moved),
        take('V', Item::Check),
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
    lines.extend(pointer_moves());
    lines.push(one(
        Pressed::plain(Key::Escape),
        Act::Leave,
        "leave cutting: back to laying",
    ));
    lines
}

/// The cloth is carried in the middle of cutting: the two signals work it, and the
/// pointer's button points at marks.
pub(super) fn carrying_with_full_hands() -> Vec<Line> {
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
    lines.extend(pointer_moves());
    lines.push(one(
        Pressed::plain(Key::Escape),
        Act::Leave,
        "not carried: back to cutting",
    ));
    lines
}
