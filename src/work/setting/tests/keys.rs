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

#[test]
fn a_length_is_never_a_choice() {
    let mut with_fields = 0;
    for step in way().into_iter().map(|(s, _)| s) {
        let s = at(step);
        let ask = s.asks();
        let plain = ask.fields.is_empty();
        with_fields += usize::from(!plain && !ask.choices.is_empty());
        for n in 1..=9 {
            let chooses = |pressed: Pressed| match act_of(pressed, &s) {
                Some(SettingAct::Choose(k)) => Some(k + 1),
                _ => None,
            };
            let there = (n <= ask.choices.len()).then_some(n);
            let key = Key::Digit(n as u8);
            assert_eq!(
                chooses(Pressed::plain(key)),
                there.filter(|_| plain),
                "{step:?} {n}"
            );
            assert_eq!(
                chooses(Pressed::ctrl(key)),
                there.filter(|_| !plain),
                "{step:?} {n}"
            );
        }
    }
    // At the darkest light, at the marks by tape and at the check.
    assert!(with_fields >= 3, "{with_fields}");
}
