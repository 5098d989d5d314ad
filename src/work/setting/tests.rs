//! What holds whatever is done; below, each step by itself.

mod crosses;
mod keys;
mod picture;
mod readings;
mod tape;
mod verdict;
mod whole;

use super::*;
use crate::calibration::reading::Grid;
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
