//! Where the marks lie by the measuring tape.

use super::*;

#[test]
fn a_tape_that_does_not_close_is_said_and_may_be_gone_on_from() {
    let mut s = at(Step::Tape);
    assert!(warned(&mut s, SettingAct::GoOn).contains("front edge"));
    for text in ["1210", "750", "1415.1", "1415.1"] {
        s.answer(typed(text));
    }
    let said = warned(&mut s, SettingAct::GoOn);
    assert!(
        said.contains("the front edge (mark 1 to 2) read 10.0 mm too long"),
        "{said}"
    );
    assert_eq!(s.step(), Step::Tape);
    assert!(warned(&mut s, SettingAct::GoOn).contains("do not go together"));
    let choices = s.asks().choices;
    assert_eq!(choices.last().unwrap(), "go on all the same");
    let mut on = s.clone();
    warned(&mut on, SettingAct::Choose(choices.len() - 1));
    assert_eq!(on.step(), Step::HowToRead);
    // Or it is typed anew.
    s.answer(SettingAct::Field(0));
    s.answer(typed("1200"));
    assert_eq!(s.asks().choices.len(), 1);
    s.answer(SettingAct::GoOn);
    assert_eq!(s.step(), Step::HowToRead);
    let marks = s.known.marks.unwrap();
    assert!((marks[2] - Point::new(1200.0, 750.0)).length() < 0.1);
}

#[test]
fn lengths_are_typed_in_inches_and_kept_when_the_unit_changes() {
    let mut s = at(Step::Tape);
    s.answer(SettingAct::Inches(true));
    assert_eq!(s.asks().fields[0].unit, "in");
    let said = s.answer(typed("47 3/8")).said.unwrap();
    assert_eq!(said.words, "47 3/8 in");
    s.answer(typed("750 mm"));
    let texts = |s: &Setting| {
        s.asks()
            .fields
            .into_iter()
            .map(|f| f.text)
            .take(2)
            .collect::<Vec<_>>()
    };
    assert_eq!(texts(&s), ["47 3/8", "750 mm"]);
    s.answer(SettingAct::Inches(false));
    assert_eq!(texts(&s), ["1203.3 mm", "750.0 mm"]);
    // Submitted as it is shown, nothing changes.
    s.answer(SettingAct::Field(0));
    s.answer(typed("1203.3 mm"));
    assert_eq!(s.typed.edges[0].as_ref().unwrap().mm, 47.375 * 25.4);
    assert!(warned(&mut s, typed("-3")).contains("no distance"));
    assert!(warned(&mut s, typed("3/8")).contains("without a unit"));
}

#[test]
fn places_are_typed_instead() {
    let mut s = at(Step::Tape);
    s.answer(SettingAct::Choose(0));
    assert_eq!(s.asks().fields.len(), 8);
    assert!(warned(&mut s, SettingAct::GoOn).contains("mark 1 to the right (x) is missing"));
    for text in ["0", "0", "1200", "-5", "1200", "750", "0", "750"] {
        s.answer(typed(text));
    }
    let mut turned = s.clone();
    turned.answer(SettingAct::Field(2));
    for text in ["0", "750", "1200", "750", "1200", "0"] {
        turned.answer(typed(text));
    }
    assert!(warned(&mut turned, SettingAct::GoOn).contains("the wrong way"));
    s.answer(SettingAct::GoOn);
    assert_eq!(s.step(), Step::HowToRead);
    assert_eq!(s.known.marks.unwrap()[1], Point::new(1200.0, -5.0));
}
