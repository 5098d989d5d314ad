//! What the projector makes of the picture: bands, dark steps, colours.

use super::*;
use crate::calibration::table_marks::Span;

#[test]
fn bands_that_stay_give_the_effective_pixel_of_each_axis() {
    let mut s = at(Step::Stripes);
    assert!(warned(&mut s, SettingAct::GoOn).contains("nothing is chosen yet"));
    s.answer(SettingAct::Choose(1));
    assert_eq!(s.step(), Step::Count(0));
    assert!(s.counted_across(0) && !s.counted_across(1));
    assert!(warned(&mut s, typed("many")).contains("\"many\" is not a whole number"));
    assert!(warned(&mut s, typed("900")).contains("too close together"));
    // 1280 real pixels for 1920 would be too many bands; 1800 are 120.
    s.answer(typed("120"));
    assert_eq!(s.step(), Step::Pairs(0));
    let said = s.answer(SettingAct::Choose(1)).said.unwrap();
    assert!(said.words.contains("1.067 px long"), "{}", said.words);
    assert_eq!(s.step(), Step::Count(1));
    let said = s.answer(typed("0")).said.unwrap();
    assert!(said.words.contains("pixel for pixel"), "{}", said.words);
    assert_eq!(s.step(), Step::Wedge);
    assert_eq!(s.known.effective, Some([1920.0 / 1800.0, 1.0]));
    // Back twice, and the other answer.
    s.answer(SettingAct::Back);
    s.answer(SettingAct::Back);
    assert_eq!((s.step(), s.known.effective), (Step::Pairs(0), None));
    s.answer(SettingAct::Choose(0));
    assert_eq!(s.known.effective, Some([1920.0 / 2040.0, 1.0]));
}

#[test]
fn a_coarser_projector_is_allowed_for() {
    let go_on = |bands: &[SettingAct]| {
        let mut s = at(Step::Stripes);
        bands.iter().for_each(|a| drop(s.answer(a.clone())));
        for (_, act) in way().into_iter().skip(3) {
            if s.step() == Step::Check {
                break;
            }
            s.answer(act);
        }
        s
    };
    let plain = go_on(&[SettingAct::Choose(0)]);
    let coarse = go_on(&[
        SettingAct::Choose(1),
        typed("0"),
        typed("135"),
        SettingAct::Choose(2),
    ]);
    let profile = coarse.profile("2031-05-17").unwrap();
    // 1080 over 945.
    assert!((profile.finest() - 8.0 / 7.0).abs() < 1e-12);
    let (a, b) = (plain.square().unwrap(), coarse.square().unwrap());
    assert!((b.pixel / a.pixel - 8.0 / 7.0).abs() < 1e-12);
    assert!(b.tolerance(Span::Front) > a.tolerance(Span::Front));
    let (a, b) = (plain.off(0.2).unwrap(), coarse.off(0.2).unwrap());
    assert!((b.mm / a.mm - 8.0 / 7.0).abs() < 1e-12 && a.px == b.px);
}

#[test]
fn dark_steps_and_colours_are_kept() {
    let mut s = at(Step::Wedge);
    assert!(warned(&mut s, SettingAct::Choose(0)).contains("swallows dark steps"));
    assert_eq!(s.step(), Step::Wedge);
    assert!(warned(&mut s, typed("7")).contains("numbered 7"));
    assert!(warned(&mut s, typed("")).contains("no square is named"));
    s.answer(SettingAct::Choose(1));
    assert_eq!((s.step(), s.known.least_code), (Step::Colours, None));
    assert!(warned(&mut s, SettingAct::Choose(1)).contains("4:4:4"));
    assert_eq!(
        (s.step(), s.known.colours_clean),
        (Step::Focus, Some(false))
    );
}
