//! The keys of errands: places are pointed at, offered, or come along a ruler.

use super::{Line, Outside, letter, many, one, pointer_moves};
use crate::work::act::Act;
use crate::work::doing::Doing;
use crate::work::key::{Key, Pressed};
use crate::work::offering::Offering;

/// Places are offered: the next, take it, leave it.
pub(super) fn offering(at: &Offering) -> Vec<Line> {
    let take = match at.offers.is_empty() {
        true => "enough: the best so far",
        false => "take this place",
    };
    let taken = [Key::Enter, Key::Space].map(|k| (Pressed::plain(k), Act::Finish.into()));
    let tab = (Pressed::plain(Key::Tab), Act::Next.into());
    let back = (Pressed::shift(Key::Tab), Act::Previous.into());
    let mut lines = pointer_moves();
    lines.extend([
        many([tab, back], "the next, the previous place"),
        many(taken, take),
        one(Pressed::plain(Key::Escape), Act::Leave, "leave it"),
        one(letter('F'), Outside::Flash, "flash the piece in hand"),
    ]);
    lines
}

/// Tapes lie along a ruler of light: on, back, the next.
pub(super) fn lengths() -> Vec<Line> {
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
    lines.extend(pointer_moves());
    lines
}

/// A switch is taught: every key but this one is a switch then.
pub(super) fn teaching() -> Vec<Line> {
    vec![one(Pressed::plain(Key::Escape), Act::Leave, "leave it")]
}

/// An activity in which the pointer's button means a place.
pub(super) fn pointing(doing: &Doing) -> Vec<Line> {
    let press = match doing {
        Doing::Samples { .. } => "press: this sample is strong enough",
        Doing::Strip { .. } => "the strip lies here",
        Doing::Checking { .. } => "a mark of the table is here",
        _ => "press here",
    };
    let finish = match doing {
        Doing::Drawing { .. } => "the outline is done",
        Doing::Carrying { .. } => "the lay follows the marks",
        Doing::Checking { .. } => "all are on their marks, or pressed: done",
        _ => "done",
    };
    let mut lines = pointer_moves();
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
            | Doing::Offering(_)
            | Doing::Lengths(_)
    )
}

#[cfg(test)]
mod tests {
    use crate::work::signals::Signal;
    use crate::work::{Doing, sheet};

    #[test]
    fn while_a_switch_is_taught_no_key_but_esc_is_said_to_do_anything() {
        for signal in [Signal::GoOn, Signal::Back] {
            let lines = sheet(&Doing::Teaching { signal });
            assert_eq!(lines, [("Esc".to_owned(), "leave it")]);
        }
    }
}
