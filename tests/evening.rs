//! Three days at the table, worked through the state machines as the windows
//! work them, and counted: presses of keys, things typed, places pointed at,
//! walks to the laptop. The README's table is these counts.
//!
//! The keyboard stays by the laptop; the mouse is at the table. Whoever has
//! pointed and then presses a key has walked.

use ghostchalk::calibration::Profile;
use ghostchalk::calibration::check_picture::check_square;
use ghostchalk::calibration::table_marks::Span;
use ghostchalk::job::Job;
use ghostchalk::projection::{Upright, grid};
use ghostchalk::space::{Point, Table};
use ghostchalk::stand::{Hand, Side};
use ghostchalk::twin::rig::Rig;
use ghostchalk::work::cutting::Phase;
use ghostchalk::work::setting;
use ghostchalk::work::setting::{Ended, Setting, SettingAct, Start, Step};
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Bench, Goods, History, Key, KeyAct, Pressed, State, Ways, act_of};
use std::path::Path;

/// What things take, seconds: estimates, to be measured at a table.
const PRESS: f64 = 2.0;
const TYPED: f64 = 8.0;
const POINTED: f64 = 6.0;
const WALK: f64 = 8.0;
/// The projector lights up and the program opens.
const START: f64 = 45.0;

/// The order in which lengths are asked for.
const SPANS: [Span; 6] = [
    Span::Front,
    Span::Left,
    Span::Diagonal13,
    Span::Diagonal24,
    Span::Right,
    Span::Back,
];

/// The simulated table's marks, mm.
const MARKS: [[f64; 2]; 4] = [[20.0, 20.0], [1180.0, 20.0], [1180.0, 780.0], [20.0, 780.0]];

#[derive(Debug, Default, Clone, Copy, PartialEq)]
struct Counts {
    presses: u32,
    typed: u32,
    pointed: u32,
    walks: u32,
}

impl Counts {
    fn minutes(&self) -> f64 {
        let each = [
            (self.presses, PRESS),
            (self.typed, TYPED),
            (self.pointed, POINTED),
            (self.walks, WALK),
        ];
        let work: f64 = each.iter().map(|(n, s)| f64::from(*n) * s).sum();
        (START + work) / 60.0
    }
}

struct Day {
    counts: Counts,
    at_laptop: bool,
    rig: Rig,
    bench: Bench,
    profile: Option<Profile>,
}

impl Day {
    /// Begins at the laptop, where the program is started.
    fn new(profile: Option<Profile>, state: State) -> Self {
        let job = Job::open(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data")).unwrap();
        let goods = Goods {
            pieces: job.pieces.clone(),
            cloths: job.file.cloths.clone(),
            articles: job.file.articles.clone(),
        };
        Self {
            counts: Counts::default(),
            at_laptop: true,
            rig: Rig::workshop(),
            bench: Bench::new(goods, state, History::default()),
            profile,
        }
    }

    fn walk_to_laptop(&mut self) {
        self.counts.walks += u32::from(!self.at_laptop);
        self.at_laptop = true;
    }

    /// A key that must mean something at the table.
    fn press(&mut self, pressed: Pressed) {
        self.walk_to_laptop();
        self.counts.presses += 1;
        let act = match act_of(pressed, self.bench.doing()) {
            Some(KeyAct::Act(act)) => act,
            Some(KeyAct::Relative(relative)) => relative.act(&self.bench).unwrap(),
            other => panic!("{pressed} is {other:?}"),
        };
        let said = self.bench.act(act, 0.0).said;
        assert!(!said.as_ref().is_some_and(|s| s.warning), "{said:?}");
    }

    fn point(&mut self, at: Point<Table>) {
        self.at_laptop = false;
        self.counts.pointed += 1;
        self.bench.act(Act::Point(at), 0.0);
        self.bench.act(Act::Press, 0.0);
        self.bench.act(Act::Release, 0.0);
    }

    /// A piece is dragged: one thing done with the mouse.
    fn drag(&mut self, from: Point<Table>, to: Point<Table>) {
        self.at_laptop = false;
        self.counts.pointed += 1;
        self.bench.act(Act::Point(from), 0.0);
        self.bench.act(Act::Press, 0.0);
        assert!(self.bench.is_gripped());
        self.bench.act(Act::Point(to), 0.0);
        self.bench.act(Act::Release, 0.0);
        self.bench.act(Act::LetGo, 0.0);
    }

    fn key_in(&mut self, setting: &mut Setting, key: Key) -> Option<Ended> {
        self.counts.presses += 1;
        let act = setting::act_of(Pressed::plain(key), setting).expect("a key of this step");
        let reply = setting.answer(act);
        let refused = reply.said.as_ref().is_some_and(|s| s.warning);
        assert!(!refused, "{:?}: {:?}", setting.step(), reply.said);
        reply.ended
    }

    fn type_in(&mut self, setting: &mut Setting, field: usize, text: &str) {
        self.counts.typed += 1;
        setting.answer(SettingAct::Field(field));
        let reply = setting.answer(SettingAct::Typed(text.to_owned()));
        let refused = reply.said.as_ref().is_some_and(|s| s.warning);
        assert!(!refused, "{text}: {:?}", reply.said);
    }

    /// The table is set, the tape laid on the check picture and all.
    fn set_table(&mut self) {
        self.walk_to_laptop();
        let start = Start {
            picture: [1920, 1080],
            output: "HDMI-1".to_owned(),
            inches: false,
            stands: Side::Front,
            cuts: Hand::Right,
            mirror_rig: false,
            first_time: self.profile.is_none(),
        };
        let mut setting = Setting::new(start, self.profile.as_ref());
        let mut ended = None;
        // Each turn answers one step; more turns than steps would be a circle.
        for _ in 0..30 {
            if ended.is_some() {
                break;
            }
            let step = setting.step();
            match step {
                // The projector is as it was: go to the marks.
                Step::SwitchOff if self.profile.is_some() => {
                    self.key_in(&mut setting, Key::Digit(1));
                }
                Step::Stripes | Step::Colours => {
                    self.key_in(&mut setting, Key::Digit(1));
                }
                Step::Wedge => self.type_in(&mut setting, 0, "4"),
                Step::Tape => {
                    // A width, a depth and both diagonals.
                    let lengths = [1160.0, 760.0, 1386.8, 1386.8];
                    for (k, mm) in lengths.iter().enumerate() {
                        self.type_in(&mut setting, k, &format!("{mm}"));
                    }
                    self.key_in(&mut setting, Key::Enter);
                }
                Step::Read => {
                    // Once round the table with pencil and paper.
                    self.counts.walks += 1;
                    for (k, [x, y]) in MARKS.into_iter().enumerate() {
                        let reading = reading(&setting.upright(), &self.rig, x, y);
                        if setting.step() == Step::Read {
                            self.type_in(&mut setting, k, &reading);
                        }
                    }
                    if setting.step() == Step::Read {
                        self.key_in(&mut setting, Key::Enter);
                    }
                }
                Step::Check => {
                    self.counts.walks += 1;
                    let profile = setting.profile("2031-05-17").unwrap();
                    let square = check_square(&profile, setting.unit()).unwrap();
                    for (k, span) in SPANS.into_iter().enumerate() {
                        let mm = square.expected(span);
                        if setting.step() == Step::Check {
                            self.type_in(&mut setting, k, &format!("{mm:.1}"));
                        }
                    }
                    if setting.step() == Step::Check {
                        self.key_in(&mut setting, Key::Enter);
                    }
                }
                _ => ended = self.key_in(&mut setting, Key::Enter),
            }
        }
        assert_eq!(ended, Some(Ended::Set));
        self.profile = setting.profile("2031-05-17");
    }
}

/// What a person reads in the grid at a place on the table: to a tenth of a
/// fine line, as the grid's own names have it.
fn reading(on: &Upright, rig: &Rig, x: f64, y: f64) -> String {
    let at = on.reader(rig.project(x, y, 0.0));
    let part = |v: f64| {
        let lines = (v - grid::LINE_CENTRE) / f64::from(grid::FINE);
        let cell = (lines / 10.0).floor();
        (cell as u32, lines - 10.0 * cell)
    };
    let ((column, across), (row, down)) = (part(at.x), part(at.y));
    format!("{} {across:.1} {down:.1}", grid::cell_name(column, row))
}

fn demo() -> State {
    let job = Job::open(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data")).unwrap();
    State::new(job.file.panels, job.file.placed, Ways::default())
}

fn letter(c: char) -> Pressed {
    Pressed::plain(Key::Letter(c))
}

/// Switch-on to first cut, the first evening of all.
fn first_evening() -> Day {
    let mut day = Day::new(None, demo());
    day.set_table();
    // The warp of the canvas by two points on a stripe; two marks on it.
    day.point(Point::new(300.0, 450.0));
    day.press(letter('W'));
    day.point(Point::new(200.0, 440.0));
    day.point(Point::new(800.0, 466.0));
    day.press(letter('M'));
    day.point(Point::new(120.0, 340.0));
    day.point(Point::new(880.0, 700.0));
    day.press(Pressed::plain(Key::Escape));
    // Two pieces are moved to where the fade is wanted.
    for id in [3, 5] {
        let from = day.bench.pose(id).unwrap().shift.to_point();
        day.drag(from, from + euclid::vec2(4.0, -3.0));
    }
    day
}

/// The next day: the table is set, the cloth was put away.
fn normal_day(evening: &Day) -> Day {
    let mut day = Day::new(evening.profile.clone(), evening.bench.state().clone());
    put_back(&mut day, 14.0);
    day
}

/// The projector was knocked, and the cloth moves twice.
fn bad_day(evening: &Day) -> Day {
    let mut day = Day::new(evening.profile.clone(), evening.bench.state().clone());
    day.set_table();
    put_back(&mut day, 14.0);
    put_back(&mut day, 3.0);
    day
}

/// The cloth lies a little elsewhere: its marks are pointed at.
fn put_back(day: &mut Day, by: f64) {
    let panel = day.bench.state().panel("sling").unwrap().clone();
    let was = panel.on_table.pose();
    day.bench.act(Act::Point(Point::new(400.0, 500.0)), 0.0);
    day.press(letter('C'));
    for m in &panel.marks {
        day.point(was.point(Point::new(m.x_mm, m.y_mm)) + euclid::vec2(by, 2.0));
    }
    day.press(Pressed::plain(Key::Enter));
    let now = day.bench.state().panel("sling").unwrap().on_table;
    assert!((now.x_mm - panel.on_table.x_mm - by).abs() < 1e-3);
}

#[test]
fn the_readmes_table_is_what_the_days_take() {
    let evening = first_evening();
    let (normal, bad) = (normal_day(&evening), bad_day(&evening));
    // The evening's profile is the table's, measured from its first mark: the
    // rig lights what it says.
    let map = evening.profile.as_ref().unwrap().mapping().unwrap();
    for [x, y] in [[100.0, 100.0], [600.0, 400.0], [1100.0, 700.0]] {
        let (p, q) = (
            map.pixel(Point::new(x - MARKS[0][0], y - MARKS[0][1]), 0.0)
                .unwrap(),
            evening.rig.project(x, y, 0.0),
        );
        assert!((p - q).length() < 0.5, "{p:?} {q:?}");
    }
    // Switch-on to first cut: the bar that chalk sets.
    assert!(normal.counts.minutes() < 5.0, "{:?}", normal.counts);
    let rows = [
        ("first evening", evening.counts),
        ("normal day", normal.counts),
        ("bad day", bad.counts),
    ];
    let readme = include_str!("../README.md");
    for (name, c) in rows {
        let row = format!(
            "| {name} | {} | {} | {} | {} | {:.0} |",
            c.presses,
            c.typed,
            c.pointed,
            c.walks,
            c.minutes().ceil()
        );
        assert!(readme.contains(&row), "the README lacks: {row}");
    }
}

/// All parts of the demo are cut with the switch underfoot: the walk is the one
/// that ends laying.
#[test]
fn the_readme_says_how_many_signals_cutting_takes() {
    let mut day = normal_day(&first_evening());
    let before = day.counts;
    day.press(Pressed::plain(Key::Enter));
    let phase = |day: &Day| day.bench.doing().cutting().map(|c| c.phase.clone());
    let (mut signals, mut marked) = (0, 0);
    while phase(&day) != Some(Phase::Over) {
        marked += u32::from(matches!(phase(&day), Some(Phase::Marks { .. })));
        let said = day.bench.act(Act::Signal(Told::GoOn), 0.0).said;
        assert!(!said.as_ref().is_some_and(|s| s.warning), "{said:?}");
        signals += 1;
        assert!(signals < 100);
    }
    let parts = day.bench.state().cuts.parts.len() as u32;
    let walks = day.counts.walks - before.walks;
    // One a part, one more where something is to be marked; sheets that can be cut
    // apart take one each, and the demo's can't.
    assert_eq!(signals, parts + marked);
    assert_eq!((day.counts.presses - before.presses, walks), (1, 0));
    let sentence = format!(
        "the demo's {parts} parts take {signals} signals, {marked} of them for marks, and no walk"
    );
    let readme = include_str!("../README.md").replace('\n', " ");
    assert!(readme.contains(&sentence), "the README lacks: {sentence}");
}
