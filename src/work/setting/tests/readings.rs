//! Which way up the light is read, and what is read of it.

use super::*;

#[test]
fn the_words_turn_with_whoever_walks_round() {
    let mut s = at(Step::Stand);
    // The picture hangs upside down: words are turned twice.
    s.answer(SettingAct::Choose(0));
    s.answer(SettingAct::Choose(0));
    assert_eq!((s.upright().side, s.stands()), (Side::Back, Side::Front));
    // One side to the right is one side on in the picture as well.
    s.answer(SettingAct::Choose(3));
    assert_eq!((s.upright().side, s.stands()), (Side::Left, Side::Right));
    s.answer(SettingAct::SetSide(Side::Front));
    assert_eq!(s.upright().side, Side::Back);
    s.answer(SettingAct::Choose(6));
    assert_eq!(s.cuts(), Hand::Left);
    s.answer(SettingAct::Choose(1));
    assert!(s.upright().mirror_rig);
    let choices = s.asks().choices;
    assert_eq!(choices.len(), 8);
    assert!(choices[6].ends_with("left hand (now)"), "{choices:?}");
}

#[test]
fn readings_are_said_back_and_wrong_ones_named() {
    let mut s = at(Step::Read);
    let [one, two, three, four] = readings();
    let said = s.answer(typed(&one)).said.unwrap();
    let cell = one.split(' ').next().unwrap();
    assert!(
        said.words.starts_with(&format!("mark 1: in cell {cell}, ")),
        "{}",
        said.words
    );
    let wrong = warned(&mut s, typed("ZZ99 11 -4"));
    assert!(wrong.starts_with("mark 2: "), "{wrong}");
    assert_eq!(s.asks().fields[1].text, "ZZ99 11 -4");
    // Something stands there: it is not missing.
    assert_eq!(warned(&mut s, SettingAct::GoOn), wrong);
    assert_eq!(s.asks().field, 1);
    s.answer(typed(""));
    assert!(warned(&mut s, SettingAct::GoOn).contains("the reading of mark 2 is missing"));
    assert_eq!(s.asks().field, 1);
    for text in [&three, &two, &four] {
        s.answer(typed(text));
    }
    let said = warned(&mut s, SettingAct::GoOn);
    assert!(said.contains("marks 2 and 3 look swapped"), "{said}");
    // Three in line.
    s.answer(SettingAct::PickMark(3));
    s.answer(typed("Z27 0 0"));
    s.answer(SettingAct::PickMark(2));
    s.answer(typed(&two));
    let said = warned(&mut s, SettingAct::GoOn);
    assert!(said.contains("in a line") && said.contains("3 ("), "{said}");
    assert_eq!(s.step(), Step::Read);
    s.answer(SettingAct::PickMark(3));
    s.answer(typed(&three));
    s.answer(SettingAct::GoOn);
    assert_eq!(s.step(), Step::Fine);
}

#[test]
fn a_reading_is_shown_as_it_is_read_from_where_one_stands() {
    let mut s = at(Step::Fine);
    s.answer(SettingAct::Back);
    let text = |s: &Setting| s.asks().fields[1].text.clone();
    let before = (text(&s), s.typed.readings[1].clone().unwrap().at);
    s.answer(SettingAct::SetSide(Side::Back));
    assert_ne!(text(&s), before.0);
    let back = Grid::over(s.upright()).parse(&text(&s)).unwrap();
    assert!((back - before.1).length() < 0.3);
    // Submitted as it is shown, it stays where it was.
    s.answer(SettingAct::Field(1));
    let shown = text(&s);
    s.answer(typed(&shown));
    assert_eq!(s.typed.readings[1].as_ref().unwrap().at, before.1);
}

#[test]
fn a_mirrored_order_is_asked_about() {
    let mirrored = || {
        let mut s = at(Step::Read);
        let [one, two, three, four] = readings();
        for text in [two, one, four, three] {
            s.answer(typed(&text));
        }
        s.answer(SettingAct::GoOn);
        assert_eq!(s.step(), Step::Mirror);
        s
    };
    let mut s = mirrored();
    assert!(s.asks().words[0].contains("turn the picture over"));
    s.answer(SettingAct::Choose(0));
    assert_eq!(s.step(), Step::Fine);
    assert!(s.profile("").unwrap().mirror_rig && s.upright().mirror_rig);
    s.answer(SettingAct::Back);
    assert_eq!((s.step(), s.known.mirror), (Step::Mirror, false));
    let mut s = mirrored();
    let said = warned(&mut s, SettingAct::Choose(1));
    assert!(said.contains("exchanged"), "{said}");
    assert_eq!(s.step(), Step::Read);
    // The other way round: a mirror was said and there is none.
    let mut s = at(Step::Stand);
    s.answer(SettingAct::Mirror(true));
    for (_, act) in way().into_iter().skip(6).take(7) {
        s.answer(act);
    }
    assert_eq!(s.step(), Step::Read);
    for (text, k) in readings().into_iter().zip(0..) {
        let on = Upright::new(PICTURE, Side::Front, false);
        let at = Grid::over(on).parse(&text).unwrap();
        s.answer(SettingAct::Field(k));
        s.answer(typed(&Grid::over(s.upright()).format(at).unwrap()));
    }
    s.answer(SettingAct::GoOn);
    assert_eq!(s.step(), Step::Mirror);
    s.answer(SettingAct::Choose(1));
    assert_eq!((s.step(), s.known.mirror), (Step::Fine, false));
    assert!(warned(&mut s, SettingAct::Mirror(true)).contains("how the light lies"));
}
