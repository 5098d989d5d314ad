//! What the keys do.

use super::*;
use crate::work::{Key, Pressed};

#[test]
fn each_key_does_what_its_words_say() {
    let s = at(Step::Fine);
    let act = |p| act_of(p, &s);
    let right = |px| {
        Some(SettingAct::Nudge {
            right: px,
            away: 0.0,
        })
    };
    assert_eq!(act(Pressed::plain(Key::Right)), right(10.0));
    assert_eq!(act(Pressed::shift(Key::Right)), right(1.0));
    assert_eq!(act(Pressed::ctrl(Key::Right)), right(0.1));
    assert_eq!(
        act(Pressed::plain(Key::Digit(4))),
        Some(SettingAct::PickMark(4))
    );
    let finer = act(Pressed::plain(Key::Minus)).unwrap();
    let mut s = s.clone();
    s.answer(finer);
    assert_eq!(act_of(Pressed::plain(Key::Right), &s), right(1.0));
    assert_eq!(
        act_of(Pressed::plain(Key::Escape), &s),
        Some(SettingAct::Back)
    );
    for step in way().into_iter().map(|(s, _)| s) {
        let s = at(step);
        let all = sheet(&s);
        assert!(all.len() >= 4, "{all:?}");
        // No press is given twice.
        let digits = (0..=9).map(Key::Digit);
        for key in digits.chain([Key::Enter, Key::Tab, Key::Letter('I')]) {
            let act = act_of(Pressed::plain(key), &s);
            if let (Key::Digit(n), Some(SettingAct::Choose(k))) = (key, act) {
                assert_eq!(usize::from(n), k + 1);
                assert!(k < s.asks().choices.len());
            }
        }
    }
}
