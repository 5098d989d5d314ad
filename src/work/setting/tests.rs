//! What holds whatever is done, and each step by itself.

use super::typed::ASKED;
use super::*;
use crate::calibration::reading::Grid;
use crate::calibration::table_marks::Span;
use crate::work::{Key, Pressed};
use proptest::prelude::*;

const PICTURE: [u32; 2] = [1920, 1080];

fn start() -> Start {
    Start {
        picture: PICTURE,
        output: "HDMI-1".to_owned(),
        inches: false,
        stands: Side::Front,
        cuts: Hand::Right,
        mirror_rig: false,
        first_time: true,
    }
}

fn typed(text: &str) -> SettingAct {
    SettingAct::Typed(text.to_owned())
}

/// A table of 1200 × 750 mm at 1.3 px to the mm, as the front reads it.
fn readings() -> [String; 4] {
    let on = Upright::new(PICTURE, Side::Front, false);
    let at = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 750.0], [0.0, 750.0]];
    at.map(|[x, y]| {
        let p = Point::new(180.5 + 1.3 * x, 1040.5 - 1.3 * y);
        Grid::over(on).format(p).unwrap()
    })
}

/// The whole way, all well, and the step each act is done in.
fn way() -> Vec<(Step, SettingAct)> {
    use SettingAct::{Choose, GoOn};
    let mut way = vec![
        (Step::Cautions, GoOn),
        (Step::SwitchOff, GoOn),
        (Step::Stripes, Choose(0)),
        (Step::Wedge, typed("8")),
        (Step::Colours, Choose(0)),
        (Step::Focus, GoOn),
        (Step::Stand, GoOn),
    ];
    let diagonal = format!("{:.1}", 1200_f64.hypot(750.0));
    for text in ["1200", "750", &diagonal, &diagonal] {
        way.push((Step::Tape, typed(text)));
    }
    way.push((Step::Tape, GoOn));
    way.push((Step::HowToRead, GoOn));
    for text in readings() {
        way.push((Step::Read, typed(&text)));
    }
    way.push((Step::Read, GoOn));
    way.push((Step::Fine, GoOn));
    // The largest square of 50 mm steps in 1200 × 750, and its diagonals.
    for text in ["750", "750", "1060.7", "1060.6"] {
        way.push((Step::Check, typed(text)));
    }
    way.push((Step::Check, GoOn));
    way.push((Step::Verdict, GoOn));
    way.push((Step::Done, GoOn));
    way
}

fn walked(acts: usize) -> Setting {
    let mut s = Setting::new(start(), None);
    for (_, act) in way().into_iter().take(acts) {
        s.answer(act);
    }
    s
}

/// At the first act of a step.
fn at(step: Step) -> Setting {
    let acts = way().iter().position(|(s, _)| *s == step).unwrap();
    let s = walked(acts);
    assert_eq!(s.step(), step);
    s
}

fn warned(s: &mut Setting, act: SettingAct) -> String {
    let said = s.answer(act).said.unwrap();
    assert!(said.warning, "{}", said.words);
    said.words
}

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
fn bands_that_stay_give_the_effective_pixel_of_each_axis() {
    let mut s = at(Step::Stripes);
    assert!(warned(&mut s, SettingAct::GoOn).contains("not said which"));
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
    s.answer(SettingAct::Choose(1));
    assert_eq!((s.step(), s.known.least_code), (Step::Colours, None));
    assert!(warned(&mut s, SettingAct::Choose(1)).contains("4:4:4"));
    assert_eq!(
        (s.step(), s.known.colours_clean),
        (Step::Focus, Some(false))
    );
}

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
    assert!(warned(&mut s, typed("Q")).contains("mark 2"));
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

fn acts() -> impl Strategy<Value = SettingAct> {
    let texts = prop::sample::select(vec![
        "",
        "0",
        "3",
        "8",
        "7",
        "1200",
        "750",
        "1415.1",
        "1060.7",
        "47 1/4 in",
        "-4",
        "H12 3.5 7.2",
        "E26 4.9 9.8",
        "AR26 1 1",
        "C3 0 0",
        "AR2 5,5 5",
        "nonsense",
        "99999999999",
        "1e9",
        "é",
    ]);
    let px = || prop_oneof![-2000.0..4000.0f64, Just(f64::NAN), Just(f64::INFINITY)];
    let side = prop::sample::select(Side::ALL.to_vec());
    prop_oneof![
        4 => Just(SettingAct::GoOn),
        2 => Just(SettingAct::Back),
        6 => texts.prop_map(typed),
        6 => (0..9usize).prop_map(SettingAct::Choose),
        1 => (0..12usize).prop_map(SettingAct::Field),
        1 => (px(), px()).prop_map(|(right, away)| SettingAct::Nudge { right, away }),
        1 => prop::sample::select(Pace::ALL.to_vec()).prop_map(SettingAct::Step),
        1 => (px(), px()).prop_map(|(x, y)| SettingAct::Drag(Point::new(x, y))),
        1 => (0..7u32).prop_map(SettingAct::PickMark),
        1 => side.prop_map(SettingAct::SetSide),
        1 => prop::sample::select(vec![Hand::Left, Hand::Right]).prop_map(SettingAct::SetHand),
        1 => Just(SettingAct::TurnWords),
        1 => any::<bool>().prop_map(SettingAct::Mirror),
        1 => any::<bool>().prop_map(SettingAct::Inches),
        1 => Just(SettingAct::Leave),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn whatever_is_done_there_is_a_step_to_show_and_back_takes_it_back(
        walked_to in 0..32usize, acts in prop::collection::vec(acts(), 1..30),
    ) {
        let mut s = walked(walked_to);
        for act in acts {
            let before = s.clone();
            let reply = s.answer(act.clone());
            prop_assert!(Step::ALL.contains(&s.step()));
            let ask = s.asks();
            let (n, m) = ask.step_of;
            prop_assert!(1 <= n && n <= m);
            prop_assert!(ask.field < ask.fields.len().max(1), "{:?} {:?}", act, ask);
            prop_assert!(ask.choices.iter().chain(&ask.words).all(|w| !w.is_empty()));
            prop_assert!(!ask.words.is_empty() && !ask.title.is_empty());
            if let Some(said) = &reply.said {
                prop_assert!(!said.words.is_empty());
            }
            let (mark, at, _) = s.cross();
            prop_assert!((1..=4).contains(&mark) || s.step() == Step::More);
            prop_assert!(at.is_finite());
            // A profile that is there can be lit by and written.
            if let Some(profile) = s.profile("2031-05-17") {
                prop_assert!(profile.mapping().is_ok());
                prop_assert!(toml::to_string(&profile).is_ok());
                prop_assert!(s.off(0.2).is_some() || profile.marks.len() > 4);
            }
            let late = matches!(
                s.step(),
                Step::Fine | Step::Check | Step::Verdict | Step::More | Step::Board | Step::Done
            );
            prop_assert_eq!(late, s.mapping().is_some());
            for (keys, what) in sheet(&s) {
                prop_assert!(!keys.is_empty() && !what.is_empty());
            }
            // What was refused has changed no step.
            if reply.said.as_ref().is_some_and(|r| r.warning) && s.step() == before.step() {
                prop_assert_eq!(&s.known, &before.known);
            }
            if s.past.len() == before.past.len() + 1 {
                let mut back = s.clone();
                back.answer(SettingAct::Back);
                prop_assert_eq!(back.step(), before.step());
                prop_assert_eq!(&back.known, &before.known);
                prop_assert_eq!(&back.past, &before.past);
            }
            if matches!(act, SettingAct::Leave) {
                prop_assert_eq!(reply.ended, Some(Ended::Left));
                prop_assert_eq!(&s, &before);
            }
        }
    }
}
