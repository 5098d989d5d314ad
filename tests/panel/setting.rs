//! Setting the table in the laptop's window: fields that are typed into from the
//! keyboard, each key going where the program lets it go.

use egui_kittest::Harness;
use egui_kittest::kittest::{Queryable, by};
use ghostchalk::session::panel::{AskMemory, ask, dress, keeps};
use ghostchalk::stand::{Hand, Side};
use ghostchalk::work::setting::{Field, Setting, SettingAct, Start, Step, act_of};
use ghostchalk::work::{Key, Pressed, Said};

/// Setting under way, answered as the program answers it.
struct Table {
    setting: Setting,
    said: Option<Said>,
    memory: AskMemory,
}

impl Table {
    /// At a step on the way to the check, all well.
    fn at(step: Step) -> Self {
        let start = Start {
            picture: [1920, 1080],
            output: "HDMI-1".to_owned(),
            inches: false,
            stands: Side::Front,
            cuts: Hand::Right,
            mirror_rig: false,
            first_time: false,
        };
        let mut setting = Setting::new(start, None);
        let lengths = ["1200", "750", "1415.1", "1415.1"];
        for _ in 0..20 {
            if setting.step() == step {
                break;
            }
            match setting.step() {
                Step::Stripes | Step::Colours => drop(setting.answer(SettingAct::Choose(0))),
                Step::Wedge => drop(setting.answer(SettingAct::Typed("8".to_owned()))),
                Step::Tape => {
                    for text in lengths {
                        setting.answer(SettingAct::Typed(text.to_owned()));
                    }
                    setting.answer(SettingAct::GoOn);
                }
                _ => drop(setting.answer(SettingAct::GoOn)),
            }
        }
        assert_eq!(setting.step(), step);
        Self {
            setting,
            said: None,
            memory: AskMemory::default(),
        }
    }

    fn answer(&mut self, act: SettingAct) {
        let before = self.said.take();
        self.said = self.setting.answer(act.clone()).standing(&act, before);
    }

    fn show(&mut self, ui: &mut egui::Ui) {
        for act in ask(ui, &self.setting, self.said.as_ref(), &mut self.memory) {
            self.answer(act);
        }
    }

    fn field(&self, k: usize) -> Field {
        self.setting.asks().fields[k].clone()
    }

    fn texts(&self) -> Vec<String> {
        let fields = self.setting.asks().fields.into_iter();
        fields.map(|f| f.text).collect()
    }

    fn warned(&self) -> &str {
        let said = self.said.as_ref().expect("something is said");
        assert!(said.warning, "{}", said.words);
        &said.words
    }
}

fn harness(step: Step, size: [f32; 2]) -> Harness<'static, Table> {
    let builder = Harness::builder()
        .with_size(size)
        .with_max_steps(12)
        .with_context_setup(dress);
    let app = |ui: &mut egui::Ui, table: &mut Table| {
        let window = egui::UiBuilder::new().max_rect(ui.ctx().content_rect());
        ui.scope_builder(window, |ui| {
            ui.set_clip_rect(ui.ctx().content_rect());
            table.show(ui);
        });
    };
    let mut harness = builder.build_ui_state(app, Table::at(step));
    harness.run();
    harness
}

const WINDOW: [f32; 2] = [1280.0, 800.0];

/// A key goes to the panel if that keeps it, else it is the table's.
fn press(harness: &mut Harness<Table>, pressed: Pressed, event: impl FnOnce(&Harness<Table>)) {
    if keeps(&harness.ctx, pressed) {
        event(harness);
    } else {
        let table = harness.state_mut();
        if let Some(act) = act_of(pressed, &table.setting) {
            table.answer(act);
        }
    }
    harness.run();
}

fn types(harness: &mut Harness<Table>, text: &str) {
    for c in text.chars() {
        let key = match c.to_digit(10) {
            Some(n) => Key::Digit(n as u8),
            None => Key::Letter(c.to_ascii_uppercase()),
        };
        press(harness, Pressed::plain(key), |h| {
            h.event(egui::Event::Text(c.to_string()));
        });
    }
}

fn key(harness: &mut Harness<Table>, key: Key, named: egui::Key) {
    press(harness, Pressed::plain(key), |h| h.key_press(named));
}

fn enter(harness: &mut Harness<Table>) {
    key(harness, Key::Enter, egui::Key::Enter);
}

fn tab(harness: &mut Harness<Table>) {
    key(harness, Key::Tab, egui::Key::Tab);
}

#[test]
fn what_is_typed_after_enter_is_no_choice() {
    let mut h = harness(Step::Wedge, WINDOW);
    // On the empty field, on a wrong word, on a number that can't be meant.
    enter(&mut h);
    assert!(h.state().warned().starts_with("no square is named"));
    for (wrong, why) in [("bright", "not a whole number"), ("7", "numbered 7")] {
        types(&mut h, wrong);
        enter(&mut h);
        let said = h.state().warned();
        assert!(said.contains(why), "{said}");
        assert_eq!(h.state().field(0).text, wrong);
    }
    // What is typed next takes its place.
    types(&mut h, "12");
    assert_eq!(h.state().setting.step(), Step::Wedge);
    enter(&mut h);
    assert_eq!(h.state().setting.step(), Step::Colours);
    let said = h.state().said.clone().unwrap();
    assert!(
        said.words.starts_with("the darkest light"),
        "{}",
        said.words
    );
    // Here no field is: a digit chooses.
    types(&mut h, "1");
    assert_eq!(h.state().setting.step(), Step::Focus);
}

#[test]
fn enter_goes_from_field_to_field_and_on_from_the_last() {
    let mut h = harness(Step::Tape, WINDOW);
    enter(&mut h);
    for text in ["250", "1000", "1415.1", "2", "1"] {
        types(&mut h, text);
        enter(&mut h);
    }
    assert_eq!(h.state().texts(), ["", "250", "1000", "1415.1", "2", "1"]);
    // The last field keeps the keyboard; what is typed there is typed anew.
    types(&mut h, "1200");
    assert_eq!(h.state().texts()[5], "1");
    enter(&mut h);
    assert_eq!(h.state().texts()[5], "1200");
    // On from there: what is wrong is said, and its field has the keyboard.
    enter(&mut h);
    assert!(!h.state().warned().is_empty());
    assert_eq!(h.state().setting.step(), Step::Tape);
    assert!(h.ctx.text_edit_focused());
}

#[test]
fn the_field_that_is_missing_has_the_keyboard() {
    let mut h = harness(Step::Tape, WINDOW);
    for text in ["1200", "", "1415.1", "1415.1", ""] {
        types(&mut h, text);
        enter(&mut h);
    }
    enter(&mut h);
    let said = h.state().warned();
    assert!(
        said.starts_with("the left side (mark 4 to 1) is missing"),
        "{said}"
    );
    types(&mut h, "750");
    enter(&mut h);
    assert_eq!(h.state().field(1).text, "750");
}

#[test]
fn a_wrong_length_is_refused_in_words_and_its_field_keeps_the_keyboard() {
    let all = ["-800", "99999999999", "1/0 ft", "12 parsec", "1.000,5 mm"];
    let ways: [fn(&mut Harness<Table>); 2] = [enter, tab];
    for (wrong, leave) in all.iter().flat_map(|w| ways.map(|l| (*w, l))) {
        let mut h = harness(Step::Tape, WINDOW);
        types(&mut h, wrong);
        leave(&mut h);
        let said = h.state().warned().to_owned();
        assert!(h.query_all_by_label(&said).count() > 0, "{said}");
        assert_eq!(h.state().field(0).text, wrong);
        // Typed anew it is taken, and the next is next.
        types(&mut h, "1200");
        leave(&mut h);
        let said = h.state().said.clone().unwrap();
        assert_eq!((said.words.as_str(), said.warning), ("1200.0 mm", false));
        types(&mut h, "750");
        leave(&mut h);
        assert_eq!(h.state().texts()[..3], ["1200", "750", ""], "{wrong}");
    }
}

#[test]
fn a_wrong_length_may_be_left_and_is_told_again_and_not_called_missing() {
    let mut h = harness(Step::Tape, WINDOW);
    types(&mut h, "1.000,5 mm");
    tab(&mut h);
    let said = h.state().warned().to_owned();
    // As it is, once it was told.
    tab(&mut h);
    types(&mut h, "750");
    tab(&mut h);
    assert_eq!(h.state().texts()[..2], ["1.000,5 mm", "750"]);
    key(&mut h, Key::Escape, egui::Key::Escape);
    assert!(!h.ctx.text_edit_focused());
    enter(&mut h);
    assert_eq!(h.state().warned(), said);
}

#[test]
fn a_wrong_reading_is_refused_in_words() {
    let mut h = harness(Step::Read, WINDOW);
    types(&mut h, "ZZ99 11 -4");
    enter(&mut h);
    let said = h.state().warned().to_owned();
    assert!(said.contains("names a cell outside the picture"), "{said}");
    // In small letters it is taken, and shown as it is read.
    for text in ["e26 4.9 9.8", "ar26 1 1", "ar2 5 5", "e2 5 5"] {
        types(&mut h, text);
        enter(&mut h);
    }
    assert_eq!(
        h.state().texts(),
        ["E26 4.9 9.8", "AR26 1.0 1.0", "AR2 5.0 5.0", "E2 5.0 5.0"]
    );
    // The last stands as it was taken: it is gone on from.
    enter(&mut h);
    assert_eq!(h.state().setting.step(), Step::Fine);
}

#[test]
fn a_choice_is_made_with_ctrl_where_there_are_fields() {
    let mut h = harness(Step::Tape, WINDOW);
    types(&mut h, "1200");
    h.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::Num1);
    h.run();
    assert_eq!(h.state().setting.asks().fields.len(), 8);
    // Out of the field a digit still is none.
    key(&mut h, Key::Escape, egui::Key::Escape);
    types(&mut h, "1");
    assert_eq!(h.state().setting.asks().fields.len(), 8);
    let ctrl = Pressed::ctrl(Key::Digit(1));
    press(&mut h, ctrl, |_| panic!("no field has the keyboard"));
    // What stood in the field was taken in.
    assert_eq!(h.state().texts()[0], "1200");
    assert_eq!(h.state().texts().len(), 6);
    assert!(h.query_by_label("type the marks' places instead").is_some());
}

#[test]
fn no_word_runs_off_a_narrow_window() {
    for step in [Step::Wedge, Step::Tape, Step::Read] {
        let h = harness(step, [520.0, 700.0]);
        let words = by().predicate(|n| n.role() == egui::accesskit::Role::Label);
        let rights: Vec<f32> = h.get_all(words).map(|n| n.rect().right()).collect();
        assert!(rights.len() > 5, "{step:?}");
        assert!(rights.iter().all(|r| *r <= 520.0), "{step:?}: {rights:?}");
    }
}
