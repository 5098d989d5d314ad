//! The crosses of light are moved onto the marks.

use super::*;

#[test]
fn crosses_move_as_the_person_sees_and_keep_to_the_picture() {
    let mut s = at(Step::Fine);
    s.answer(SettingAct::PickMark(3));
    let (_, from, _) = s.cross();
    let moved = |s: &Setting| s.cross().1 - from;
    let nudge = |right, away| SettingAct::Nudge { right, away };
    s.answer(nudge(10.0, 0.1));
    assert!((moved(&s) - euclid::vec2(10.0, -0.1)).length() < 1e-9);
    s.answer(SettingAct::Drag(from));
    // From the back the picture's right is the person's left.
    s.answer(SettingAct::SetSide(Side::Back));
    s.answer(nudge(10.0, 0.1));
    assert!((moved(&s) - euclid::vec2(-10.0, 0.1)).length() < 1e-9);
    s.answer(SettingAct::Drag(Point::new(-50.0, 9e9)));
    assert_eq!(s.cross().1, Point::new(0.0, 1080.0));
    s.answer(SettingAct::Drag(Point::new(f64::NAN, 3.0)));
    s.answer(nudge(f64::INFINITY, 3.0));
    assert_eq!(s.cross().1, Point::new(0.0, 1080.0));
    assert!(warned(&mut s, SettingAct::PickMark(5)).contains("no mark 5"));
    // Marks that no projector lights so are refused at the end of the step.
    s.answer(SettingAct::Drag(Point::new(600.0, 500.0)));
    let said = warned(&mut s, SettingAct::GoOn);
    assert!(
        said.contains("mark 3 lies inside the triangle of marks 1, 2, 4"),
        "{said}"
    );
    s.answer(SettingAct::Drag(from));
    s.answer(SettingAct::PickMark(1));
    s.answer(SettingAct::Drag(Point::new(1000.0, 30.0)));
    let said = warned(&mut s, SettingAct::GoOn);
    assert!(said.contains("crossed"), "{said}");
    assert_eq!(s.step(), Step::Fine);
}

#[test]
fn fine_moves_outlast_a_look_back_but_not_another_reading() {
    let mut s = at(Step::Fine);
    let right = SettingAct::Nudge {
        right: 0.3,
        away: 0.0,
    };
    s.answer(right);
    let at = s.cross().1;
    s.answer(SettingAct::Back);
    s.answer(SettingAct::GoOn);
    assert_eq!(s.cross().1, at);
    s.answer(SettingAct::Back);
    s.answer(SettingAct::PickMark(1));
    s.answer(typed("E26 1 1"));
    s.answer(SettingAct::GoOn);
    let read = Grid::over(s.upright()).format(s.cross().1).unwrap();
    assert_eq!(read, "E26 1.0 1.0");
}
