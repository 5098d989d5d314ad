//! The way from the first light to a profile, the first time and the next.

use super::*;

#[test]
fn the_whole_way_is_walked_without_a_warning() {
    let mut s = Setting::new(start(), None);
    for (step, act) in way() {
        assert_eq!(s.step(), step, "{act:?}");
        let reply = s.answer(act);
        assert!(
            reply.said.as_ref().is_none_or(|said| !said.warning),
            "{step:?}: {reply:?}"
        );
        assert_eq!(reply.ended, (step == Step::Done).then_some(Ended::Set));
    }
    let profile = s.profile("2031-05-17").unwrap();
    assert_eq!(profile.made.as_deref(), Some("2031-05-17"));
    assert_eq!(profile.fits("HDMI-1", PICTURE), None);
    assert_eq!(profile.effective_px, Some([1.0, 1.0]));
    assert_eq!(profile.least_code, Some(8));
    assert_eq!(profile.colour_lines_clean, Some(true));
    let checked = profile.checked.unwrap();
    assert_eq!(checked.readings, 4);
    assert!(checked.furthest_mm.abs() < 0.1 && checked.tolerance_mm > 1.0);
    let mapping = profile.mapping().unwrap();
    let q = mapping.pixel(Point::new(600.0, 400.0), 0.0).unwrap();
    // Readings are to 0.2 px.
    assert!((q - Point::new(960.5, 520.5)).length() < 0.6, "{q:?}");
}

#[test]
fn the_second_time_begins_without_cautions() {
    let begin = Start {
        first_time: false,
        ..start()
    };
    let s = Setting::new(begin, None);
    assert_eq!(s.step(), Step::SwitchOff);
    assert_eq!(s.asks().step_of, (1, 11));
    assert_eq!(walked(1).asks().step_of, (2, 12));
}

#[test]
fn words_on_several_pages_are_all_passed() {
    let mut s = Setting::new(start(), None);
    s.takes_sheets(3);
    for sheet in 0..3 {
        assert_eq!((s.step(), s.sheet()), (Step::Cautions, sheet));
        s.answer(SettingAct::GoOn);
    }
    assert_eq!((s.step(), s.sheet()), (Step::SwitchOff, 0));
    s.answer(SettingAct::Back);
    s.takes_sheets(3);
    s.answer(SettingAct::GoOn);
    s.answer(SettingAct::Back);
    assert_eq!((s.step(), s.sheet()), (Step::Cautions, 0));
    assert_eq!(s.answer(SettingAct::Back).ended, Some(Ended::Left));
}

#[test]
fn an_earlier_profile_saves_the_way_to_the_marks() {
    let earlier = walked(way().len()).profile("2031-05-17").unwrap();
    let mut s = Setting::new(start(), Some(&earlier));
    s.answer(SettingAct::GoOn);
    assert!(s.asks().choices[0].contains("2031-05-17"));
    s.answer(SettingAct::Choose(0));
    assert_eq!((s.step(), s.known.least_code), (Step::Stand, Some(8)));
    s.answer(SettingAct::GoOn);
    assert_eq!(s.asks().choices[1], "the marks are where they were");
    s.answer(SettingAct::Choose(1));
    s.answer(SettingAct::GoOn);
    s.answer(SettingAct::Choose(0));
    s.answer(SettingAct::GoOn);
    assert_eq!(s.step(), Step::Fine);
    let again = s.profile("2031-05-17").unwrap();
    for (a, b) in again.marks.iter().zip(&earlier.marks) {
        assert_eq!(a, b);
    }
    // Of another output it knows nothing.
    let other = Start {
        output: "DP-2".to_owned(),
        ..start()
    };
    let mut s = Setting::new(other, Some(&earlier));
    s.answer(SettingAct::GoOn);
    assert!(s.asks().choices.is_empty());
}
