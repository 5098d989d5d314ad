//! The check on the table, and where its verdict leads.

use super::*;
use crate::calibration::table_marks::Span;
use crate::work::setting::typed::ASKED;

#[test]
fn the_verdict_leads_back_to_what_is_wrong() {
    let judged = |texts: [&str; 4]| {
        let mut s = at(Step::Check);
        texts.iter().for_each(|t| drop(s.answer(typed(t))));
        let said = s.answer(SettingAct::GoOn).said.unwrap();
        assert_eq!(s.step(), Step::Verdict);
        (s, said)
    };
    // Widths 8 mm in 750 long: 758 across, diagonals hypot(758, 750).
    let (mut s, said) = judged(["758", "750", "1066.3", "1066.3"]);
    assert!(
        said.warning && said.words.contains("widths are long"),
        "{}",
        said.words
    );
    assert_eq!(s.asks().choices[0], "measure the marks on the table again");
    let mut kept = s.clone();
    kept.answer(SettingAct::Choose(kept.asks().choices.len() - 1));
    assert_eq!(kept.step(), Step::Done);
    let checked = kept.profile("").unwrap().checked.unwrap();
    assert!(checked.furthest_mm > checked.tolerance_mm);
    s.answer(SettingAct::GoOn);
    assert_eq!(s.step(), Step::Tape);
    // What was typed is still there.
    assert_eq!(s.asks().fields[0].text, "1200");
    assert!(s.mapping().is_none() && s.judged().is_none());
    // One reading that is wrong by itself.
    let (mut s, said) = judged(["750", "750", "1060.7", "1080.7"]);
    assert!(said.words.contains("read the diagonal"), "{}", said.words);
    s.answer(SettingAct::Choose(0));
    assert_eq!((s.step(), s.asks().field), (Step::Check, 3));
    assert_eq!(ASKED[3], Span::Diagonal24);
    // A unit that is not the square's: its own sentence, and no step.
    let mut s = at(Step::Check);
    s.answer(typed("75"));
    assert!(warned(&mut s, SettingAct::GoOn).contains("is read as 75.0 mm"));
    assert_eq!(s.step(), Step::Check);
    // Without a tape.
    assert!(warned(&mut s, SettingAct::Choose(0)).contains("not checked"));
    assert_eq!(s.step(), Step::Done);
    assert_eq!(s.profile("").unwrap().checked, None);
}
