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

#[test]
fn a_wrong_length_is_refused_until_it_is_put_right_and_never_called_missing() {
    for wrong in ["-800", "99999999999", "1/0 ft", "12 parsec", "1.000,5 mm"] {
        let mut s = at(Step::Tape);
        s.answer(SettingAct::Field(1));
        s.answer(typed("750"));
        s.answer(SettingAct::Field(1));
        let said = warned(&mut s, typed(wrong));
        assert!(
            said.contains(wrong.split(' ').next_back().unwrap()),
            "{said}"
        );
        let field = s.asks().fields[1].clone();
        assert_eq!((field.text.as_str(), field.refused), (wrong, true));
        // The other way on is no way round it.
        s.answer(SettingAct::Field(0));
        s.answer(typed("1200"));
        assert_eq!(warned(&mut s, SettingAct::GoOn), said);
        assert_eq!(s.asks().field, 1);
        s.answer(typed("751"));
        let field = s.asks().fields[1].clone();
        assert_eq!((field.text.as_str(), field.refused), ("751", false));
        let said = warned(&mut s, SettingAct::GoOn);
        assert!(said.contains("diagonal 1 to 3 is missing"), "{said}");
    }
    // What was refused in millimetres is taken once inches are meant.
    let mut s = at(Step::Tape);
    warned(&mut s, typed("47 1/4"));
    s.answer(SettingAct::Inches(true));
    let said = s.answer(SettingAct::GoOn).said.unwrap();
    assert_eq!((said.words.as_str(), said.warning), ("47 1/4 in", false));
    assert_eq!(s.step(), Step::Tape);
}

#[test]
fn what_does_not_close_is_not_gone_on_from_past_a_wrong_length() {
    let mut s = at(Step::Tape);
    for text in ["1210", "750", "1415.1", "1415.1"] {
        s.answer(typed(text));
    }
    warned(&mut s, SettingAct::GoOn);
    let all_the_same = |s: &Setting| s.asks().choices.contains(&"go on all the same".to_owned());
    assert!(all_the_same(&s));
    s.answer(SettingAct::Field(0));
    warned(&mut s, typed("12OO"));
    assert!(!all_the_same(&s));
}

#[test]
fn a_refusal_stands_while_fields_are_gone_through() {
    let mut s = at(Step::Tape);
    let mut said = None;
    let acts = [SettingAct::Field(0), typed("-800"), SettingAct::Field(1)];
    for act in acts {
        said = s.answer(act.clone()).standing(&act, said.take());
    }
    assert!(
        said.as_ref()
            .unwrap()
            .words
            .contains("\"-800\" is no distance")
    );
    let act = typed("750");
    said = s.answer(act.clone()).standing(&act, said.take());
    assert_eq!(said.unwrap().words, "750.0 mm");
    // What is gone from is said no more.
    let old = s.answer(typed("-1")).said;
    assert!(old.is_some());
    let left = s.answer(SettingAct::Back).standing(&SettingAct::Back, old);
    assert_eq!(left, None);
}

#[test]
fn a_length_that_is_missing_is_called_as_its_field_is() {
    for k in 0..4 {
        let mut s = at(Step::Tape);
        let all = ["1200", "750", "1415.1", "1415.1"];
        for (field, text) in all.into_iter().enumerate() {
            s.answer(SettingAct::Field(field));
            s.answer(typed(if field == k { "" } else { text }));
        }
        let said = warned(&mut s, SettingAct::GoOn);
        let label = &s.asks().fields[k].label;
        assert!(
            said.starts_with(&format!("the {label} is missing")),
            "{said}"
        );
        assert_eq!(s.asks().field, k);
    }
}
