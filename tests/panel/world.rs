//! Tables to show: the panel, answered by a bench.

use egui_kittest::Harness;
use ghostchalk::calibration::Profile;
use ghostchalk::calibration::fit::Sure;
use ghostchalk::cloth::{ClothMark, Panel};
use ghostchalk::drawing::read::{self, ReadOptions};
use ghostchalk::job::{Job, PatternFile};
use ghostchalk::lay::{Face, Placement};
use ghostchalk::measure::Unit;
use ghostchalk::session::panel::{
    Bad, Facts, OutputFact, OutputState, PanelMemory, PanelView, ProfileFact, Wish, dress, show,
    wrongs,
};
use ghostchalk::session::photographed::{News, Photographed, opened};
use ghostchalk::session::proving::{DraftWish, Proving};
use ghostchalk::shape::Region;
use ghostchalk::space::{Point, Table};
use ghostchalk::work::cutting::Item;
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Bench, Goods, History, Said, State, Task, Ways};
use std::sync::Arc;

pub const WINDOW: [f32; 2] = [1280.0, 800.0];
pub const NARROW: [f32; 2] = [900.0, 700.0];

/// A table at work: the panel, answered by a bench.
pub struct World {
    pub bench: Bench,
    pub facts: Facts,
    pub memory: PanelMemory,
    pub said: Option<Said>,
    pub wrong: Vec<Bad>,
    pub wishes: Vec<Wish>,
    pub proving: Proving,
    pub shade: Vec<String>,
    pub photo: Option<Photographed>,
    pub job: Job,
}

impl World {
    pub fn new(bench: Bench, facts: Facts) -> Self {
        let mut world = World {
            bench,
            facts,
            memory: PanelMemory::default(),
            said: None,
            wrong: Vec::new(),
            wishes: Vec::new(),
            proving: Proving::default(),
            shade: Vec::new(),
            photo: None,
            job: Job::open("demo-data".as_ref()).unwrap(),
        };
        world.check();
        world
    }

    pub fn act(&mut self, act: Act) {
        self.said = self.bench.act(act, 1.0).said.or(self.said.take());
        self.check();
    }

    pub fn point(&mut self, x: f64, y: f64) {
        self.act(Act::Point(Point::new(x, y)));
    }

    pub fn check(&mut self) {
        self.wrong = wrongs(&self.bench, self.facts.reach.as_ref());
    }

    pub fn show(&mut self, ui: &mut egui::Ui) {
        let view = PanelView {
            bench: &self.bench,
            wrong: &self.wrong,
            said: self.said.as_ref(),
            facts: &self.facts,
            proving: &self.proving,
            shade: &self.shade,
            photo: self.photo.as_ref(),
        };
        for wish in show(ui, &view, &mut self.memory) {
            match &wish {
                Wish::Act(act) => self.act(act.clone()),
                Wish::Draft(DraftWish::Prove) => self.proving.prove(&self.job, self.bench.state()),
                Wish::Draft(wish) => self.proving.grant(wish),
                _ => {}
            }
            self.wishes.push(wish);
        }
    }

    pub fn named(&self, piece: &str) -> u32 {
        let mut all = self.bench.state().placed.iter();
        *all.find(|(_, p)| p.piece == piece).unwrap().0
    }
}

pub fn demo() -> Bench {
    demo_with(|_| ())
}

/// The demo with something changed of its panels.
fn demo_with(change: impl FnOnce(&mut Vec<Panel>)) -> Bench {
    demo_laid(|panels, _| change(panels))
}

/// The demo with something changed of its panels and its lay.
fn demo_laid(change: impl FnOnce(&mut Vec<Panel>, &mut Vec<Placement>)) -> Bench {
    let job = Job::open("demo-data".as_ref()).unwrap();
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.file.articles.clone(),
    };
    let (mut panels, mut placed) = (job.file.panels.clone(), job.file.placed.clone());
    change(&mut panels, &mut placed);
    let state = State::new(panels, placed, Ways::default());
    Bench::new(goods, state, History::default())
}

pub fn facts() -> Facts {
    let corners = [
        (-20.0, -10.0),
        (1190.0, 5.0),
        (1205.0, 790.0),
        (-30.0, 770.0),
    ];
    let corners = corners.map(|(x, y)| Point::<Table>::new(x, y));
    Facts {
        project: "Deck-chair slippers".into(),
        profile: Some(ProfileFact {
            name: "attic table".into(),
            made: "3 March".into(),
        }),
        output: OutputFact {
            name: "HDMI-1".into(),
            size: [1920, 1080],
            state: OutputState::Lit,
        },
        outputs: vec!["HDMI-1".into(), "eDP-1".into()],
        read_only: None,
        journal_fault: None,
        notes: Vec::new(),
        lit_minutes: Some(24),
        frame_ms: Some(9.4),
        keyboard_elsewhere: false,
        rehearsing: false,
        unit: Unit::Mm,
        lit_band_mm: Some(2.1),
        marks: 4,
        reach: Some(Region::ring(corners.to_vec())),
        sure: Sure::of(&worked()).map(Arc::new),
    }
}

/// The worked profile of twenty marks.
fn worked() -> Profile {
    let text = std::fs::read_to_string("calibration/worked/twenty-marks.toml").unwrap();
    toml::from_str(&text).unwrap()
}

/// Laying: a heel band in hand, pushed over another; a felt sole locked; a sole
/// still to lay.
pub fn laying() -> World {
    let mut world = World::new(demo(), facts());
    let felt = world.named("felt sole");
    world.act(Act::Hold(felt));
    world.act(Act::Lock);
    let sole = world.named("sole");
    world.act(Act::Hold(sole));
    world.act(Act::TakeAway);
    let band = world.named("heel band");
    world.act(Act::Hold(band));
    world.act(Act::Nudge {
        right: 12.0,
        away: -20.0,
    });
    world.point(330.0, 640.0);
    world
}

/// All is laid, and both uppers as the same hand.
pub fn one_hand() -> World {
    let bench = demo_laid(|_, placed| placed[1].face = Face::Up);
    World::new(bench, facts())
}

/// A photo of the table is open, and the remnant has two marks of its own.
pub fn photographed() -> World {
    let mark = |name: &str, x_mm, y_mm| ClothMark {
        name: name.into(),
        x_mm,
        y_mm,
    };
    let bench = demo_with(|panels| {
        let marks = vec![mark("cross", 20.0, 30.0), mark("patch", 500.0, 170.0)];
        panels[1].marks = marks;
    });
    let mut world = World::new(bench, facts());
    let mut photo = Photographed::new("table.jpg", 1);
    photo.hear(1, News::Opened(opened("demo-data/table.jpg")));
    world.photo = Some(photo);
    world.memory.turn_to("cloth");
    world
}

/// The pattern is a draft, drawn for a longer foot, and proven with a seam gone wrong.
pub fn drafting() -> World {
    let mut world = World::new(demo(), facts());
    let file = "slippers.draft.toml".to_owned();
    let text = std::fs::read_to_string("demo-data/slippers.draft.toml").unwrap();
    let mut pattern = PatternFile::named(file.clone());
    pattern.measures = [("foot length".to_owned(), "265mm".to_owned())].into();
    world.job.file.patterns = vec![pattern];
    world.job.drawings.clear();
    world.proving = Proving::of(&world.job, &[(file, text)].into());
    world.memory.turn_to("pattern");
    world
}

/// The pattern is another program's PDF, as it was read.
pub fn correcting() -> World {
    let mut world = World::new(demo(), facts());
    let file = "tests/reference/pattern_files/reportlab_plain.pdf";
    let read = read::any(file.as_ref(), &ReadOptions::default()).unwrap();
    world.job.file.patterns = vec![PatternFile::named("plain.pdf")];
    world.job.drawings = vec![(0, read)];
    world.proving = Proving::of(&world.job, &[].into());
    world.memory.turn_to("pattern");
    world
}

/// The cloth has moved: the second of three marks is asked for, and a warning is
/// said.
pub fn carrying() -> World {
    let mut world = World::new(demo(), facts());
    world.act(Act::Begin(Task::Marks("sling".into())));
    for (x, y) in [(120.0, 400.0), (900.0, 420.0), (520.0, 690.0)] {
        world.point(x, y);
        world.act(Act::Press);
    }
    world.act(Act::Finish);
    world.act(Act::Begin(Task::Moved("sling".into())));
    world.point(150.0, 370.0);
    world.act(Act::Press);
    world.point(700.0, 380.0);
    // Too soon: one mark does not carry it.
    world.act(Act::Finish);
    world.memory.turn_to("keys");
    world
}

/// Some parts are cut, one of them marked and one spoilt; the list is open.
pub fn cutting() -> World {
    let mut world = World::new(demo(), facts());
    world.act(Act::BeginCutting);
    for _ in 0..7 {
        world.act(Act::Signal(Told::GoOn));
    }
    world.act(Act::Take(Item::Spoilt));
    world.act(Act::Signal(Told::Back));
    world.act(Act::Signal(Told::GoOn));
    world.act(Act::Signal(Told::List));
    world.act(Act::Signal(Told::GoOn));
    world.memory.turn_to("cut");
    world
}

pub fn empty() -> World {
    let state = State::new(Vec::new(), Vec::new(), Ways::default());
    let bench = Bench::new(Goods::default(), state, History::default());
    let facts = Facts {
        project: "A new job".into(),
        profile: None,
        output: OutputFact {
            name: "a window".into(),
            size: [1280, 720],
            state: OutputState::Window,
        },
        outputs: Vec::new(),
        read_only: Some("another Ghostchalk has this job open: nothing is written here".into()),
        lit_minutes: None,
        frame_ms: None,
        reach: None,
        lit_band_mm: None,
        marks: 4,
        ..facts()
    };
    World::new(bench, facts)
}

pub fn harness(world: World, size: [f32; 2], scale: f32) -> Harness<'static, World> {
    let builder = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(scale)
        .with_max_steps(12)
        .with_context_setup(dress);
    // The whole window: the harness keeps a margin.
    let app = |ui: &mut egui::Ui, world: &mut World| {
        let window = egui::UiBuilder::new().max_rect(ui.ctx().content_rect());
        ui.scope_builder(window, |ui| {
            ui.set_clip_rect(ui.ctx().content_rect());
            world.show(ui);
        });
    };
    let mut harness = builder.build_ui_state(app, world);
    harness.run();
    harness
}
