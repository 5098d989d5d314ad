//! What the keys do while the table is set: one table, for the acts and for the
//! words of the key sheet. A text field with the keyboard has its keys first.

use super::{Pace, Setting, SettingAct, Step};
use crate::stand::Side;
use crate::work::{Key, Pressed};

/// Keys that belong together, and what they do.
type Line = (Vec<(Pressed, SettingAct)>, String, &'static str);

/// What a press does in this step, if anything.
pub fn act_of(pressed: Pressed, setting: &Setting) -> Option<SettingAct> {
    // On many keyboards + is itself a shifted key.
    let pressed = match pressed.key {
        Key::Plus | Key::Minus => Pressed::plain(pressed.key),
        _ => pressed,
    };
    let mut all = table(setting).into_iter().flat_map(|l| l.0);
    all.find(|(p, _)| *p == pressed).map(|(_, act)| act)
}

/// The press that makes a choice, from 0, if there is one. On a page with fields it is
/// with Ctrl: a length whose field has lost the keyboard must not become a choice.
pub fn choosing(choice: usize, setting: &Setting) -> Option<Pressed> {
    let key = Key::Digit(u8::try_from(choice + 1).ok().filter(|n| *n <= 9)?);
    Some(match setting.fields() {
        0 => Pressed::plain(key),
        _ => Pressed::ctrl(key),
    })
}

/// The key sheet of this step: keys, and what they do.
pub fn sheet(setting: &Setting) -> Vec<(String, &'static str)> {
    let lines = table(setting).into_iter();
    lines.map(|(_, keys, what)| (keys, what)).collect()
}

fn table(setting: &Setting) -> Vec<Line> {
    let plain = |key, act| (Pressed::plain(key), act);
    let letter = |c, act| plain(Key::Letter(c), act);
    let mut lines: Vec<Line> = Vec::new();
    let mut line = |presses, keys: &str, what| lines.push((presses, keys.to_owned(), what));

    let (on_is, back_is) = match setting.fields() {
        0 => ("go on", "back"),
        _ => (
            "take in what is typed; from the last field, go on",
            "back; Esc in a field leaves the field",
        ),
    };
    let on = plain(Key::Enter, SettingAct::GoOn);
    line(vec![on], "Enter", on_is);
    let back = [Key::Backspace, Key::Escape].map(|k| plain(k, SettingAct::Back));
    line(back.to_vec(), "Backspace  Esc", back_is);
    match setting.step() {
        Step::Fine | Step::More | Step::Board => {
            for pace in Pace::ALL {
                let held: fn(Key) -> Pressed = match pace {
                    Pace::Ten => Pressed::plain,
                    Pace::One => Pressed::shift,
                    Pace::Tenth => Pressed::ctrl,
                };
                // Plain arrows go by the step that the light shows.
                let (_, _, shown) = setting.cross();
                let by = if pace == Pace::Ten { shown } else { pace }.px();
                let arrow = |key, right: f64, away: f64| {
                    let (right, away) = (right * by, away * by);
                    (held(key), SettingAct::Nudge { right, away })
                };
                let arrows = vec![
                    arrow(Key::Left, -1.0, 0.0),
                    arrow(Key::Right, 1.0, 0.0),
                    arrow(Key::Up, 0.0, 1.0),
                    arrow(Key::Down, 0.0, -1.0),
                ];
                let (keys, what) = match pace {
                    Pace::Ten => ("arrows", "move the cross by the step"),
                    Pace::One => ("Shift+arrows", "by 1 px"),
                    Pace::Tenth => ("Ctrl+arrows", "by 0.1 px"),
                };
                line(arrows, keys, what);
            }
            let (_, _, pace) = setting.cross();
            let steps = vec![
                plain(Key::Minus, SettingAct::Step(pace.finer())),
                plain(Key::Plus, SettingAct::Step(pace.coarser())),
            ];
            line(steps, "−  +", "a finer step, a coarser one");
            line(
                vec![letter('V', SettingAct::Scales)],
                "V",
                "vernier scales about the cross, or none",
            );
            if setting.step() == Step::Fine {
                line(marks(), "1 to 4", "this mark's cross");
            }
        }
        Step::Read => line(marks(), "1 to 4", "the reading of this mark"),
        _ => {}
    }
    let choices = 0..setting.choices().len();
    let each: Vec<_> = choices
        .filter_map(|n| Some((choosing(n, setting)?, SettingAct::Choose(n))))
        .collect();
    match each.first().map(|(first, _)| first.to_string()) {
        None => {}
        Some(first) if each.len() == 1 => line(each, &first, "choose"),
        Some(first) => {
            let keys = format!("{first} to {}", each.len());
            line(each, &keys, "choose");
        }
    }
    let fields = setting.fields();
    if fields > 1 {
        let at = setting.asks().field;
        let to = |k: usize| SettingAct::Field(k % fields);
        let tab = vec![
            plain(Key::Tab, to(at + 1)),
            (Pressed::shift(Key::Tab), to(at + fields - 1)),
        ];
        line(tab, "Tab", "the next field; with Shift, the one before");
    }
    let at = Side::ALL.iter().position(|s| *s == setting.stands());
    let side = |by: usize| SettingAct::SetSide(Side::ALL[(at.unwrap_or(0) + by) % 4]);
    let walk = vec![
        letter('I', side(1)),
        (Pressed::shift(Key::Letter('I')), side(3)),
    ];
    line(walk, "I", "I stand at the next side: right, left");
    if setting.mapping().is_none() {
        line(
            vec![letter('T', SettingAct::TurnWords)],
            "T",
            "turn the words a quarter turn",
        );
        let mirror = SettingAct::Mirror(!setting.upright().mirror_rig);
        line(vec![letter('M', mirror)], "M", "mirror the words");
    }
    let unit = SettingAct::Inches(!setting.inches());
    line(vec![letter('U', unit)], "U", "millimetres or inches");
    lines
}

fn marks() -> Vec<(Pressed, SettingAct)> {
    (1..=4)
        .map(|n| {
            let pick = SettingAct::PickMark(u32::from(n));
            (Pressed::plain(Key::Digit(n)), pick)
        })
        .collect()
}
