//! Whatever a person might do: sense and nonsense, in any order.

use ghostchalk::cloth::Stack;
use ghostchalk::colour::Tint;
use ghostchalk::lay::wish::{Wish, Wished};
use ghostchalk::measure::Unit;
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::stand::{Hand, Side};
use ghostchalk::work::cutting::Item;
use ghostchalk::work::signals::{Signal, Told};
use ghostchalk::work::{Act, Bench, CutStrip, Seek, Task, Way};
use proptest::prelude::*;
use proptest::sample::select;

/// What is done, and how long after what was done before, seconds.
pub type Did = (Act, f64);

/// The names that acts may use: those of the job, and one that isn't there.
#[derive(Clone)]
pub struct Names {
    panels: Vec<String>,
    pieces: Vec<String>,
    articles: Vec<String>,
}

impl Names {
    pub fn of(bench: &Bench) -> Self {
        let and_one = |names: Vec<&String>| {
            let other = "nowhere".to_owned();
            names.into_iter().cloned().chain([other]).collect()
        };
        Self {
            panels: and_one(bench.state().panels.iter().map(|p| &p.name).collect()),
            pieces: and_one(bench.goods.pieces.iter().map(|p| &p.name).collect()),
            articles: and_one(bench.goods.articles.iter().map(|a| &a.name).collect()),
        }
    }

    fn panel(&self) -> impl Strategy<Value = String> + use<> {
        select(self.panels.clone())
    }
}

fn wild() -> impl Strategy<Value = f64> {
    let far = [1e6, 1e9, 1e300, f64::MAX, f64::INFINITY, 1e-300, 0.0];
    (select(far.to_vec()), any::<bool>()).prop_map(|(v, minus)| if minus { -v } else { v })
}

fn on_table() -> impl Strategy<Value = Point<Table>> {
    (0.0..1200.0f64, 0.0..800.0f64).prop_map(|(x, y)| Point::new(x, y))
}

fn anywhere() -> impl Strategy<Value = Point<Table>> {
    prop_oneof![
        12 => on_table(),
        2 => (-9e4..9e4f64, -9e4..9e4f64).prop_map(|(x, y)| Point::new(x, y)),
        1 => (wild(), wild()).prop_map(|(x, y)| Point::new(x, y)),
    ]
}

fn amount() -> impl Strategy<Value = f64> {
    let usual = [15.0, 1.0, 0.1, -0.1, -15.0, 180.0, 360.0, -200.0];
    prop_oneof![6 => select(usual.to_vec()), 1 => wild()]
}

fn task(names: &Names) -> impl Strategy<Value = Task> + use<> {
    prop_oneof![
        names.panel().prop_map(Task::Outline),
        names.panel().prop_map(Task::KeepOut),
        names.panel().prop_map(Task::Marks),
        names.panel().prop_map(Task::Moved),
        names.panel().prop_map(Task::Warp),
        Just(Task::Edge),
        Just(Task::Tape),
        Just(Task::Samples),
        Just(Task::Strip),
        Just(Task::Check),
    ]
}

fn item() -> impl Strategy<Value = Item> {
    let all = [
        Item::LayBack,
        Item::Spoilt,
        Item::Moved,
        Item::Check,
        Item::Waive,
        Item::NotchByNotch,
        Item::ThisSpoilt,
        Item::NotchNextTime,
        Item::Outlines,
        Item::Close,
    ];
    select(all.to_vec())
}

/// What speaks against cutting is said once, and then it begins.
fn begun() -> [Act; 2] {
    [Act::BeginCutting, Act::BeginCutting]
}

fn cut_next_or_later(id: u32) -> Act {
    if id < 14 {
        Act::CutNext(id)
    } else {
        Act::CutLater(id - 13)
    }
}

/// Cutting, and what happens while it goes on.
fn cut(names: &Names) -> impl Strategy<Value = Vec<Act>> + use<> {
    let signal = prop_oneof![
        6 => Just(Act::Signal(Told::GoOn)),
        2 => Just(Act::Signal(Told::Back)),
        1 => Just(Act::Signal(Told::List)),
        1 => item().prop_map(Act::Take),
        1 => (0..24u32).prop_map(cut_next_or_later),
        1 => select(vec![Act::Undo, Act::Redo]),
        1 => (names.panel(), prop::option::of(names.panel()))
            .prop_map(|(panel, top)| Act::Under { panel, top }),
        1 => single(names),
    ];
    prop::collection::vec(signal, 1..20)
        .prop_map(|signals| begun().into_iter().chain(signals).collect())
}

/// A spoilt part, a part laid back with the pointer on its edge, a taught switch.
fn mend() -> impl Strategy<Value = Vec<Act>> {
    let go_on = || Act::Signal(Told::GoOn);
    let back = || Act::Signal(Told::Back);
    let spoil = (1..4usize).prop_map(move |n| {
        let mut acts = begun().to_vec();
        acts.extend(vec![go_on(); 3]);
        acts.push(Act::Take(Item::Spoilt));
        acts.extend(vec![go_on(); n]);
        acts.extend([back(), go_on()]);
        acts
    });
    let lay_back = (on_table(), 1..4usize).prop_map(move |(p, n)| {
        let mut acts = begun().to_vec();
        acts.extend(vec![go_on(); 3]);
        acts.extend([Act::Take(Item::LayBack), back()]);
        for k in 0..16 {
            // All over: somewhere an edge is near.
            acts.push(Act::Point(
                p + Vector::new(f64::from(k) * 40.0 - 320.0, 0.0),
            ));
            acts.push(Act::Take(Item::NotchNextTime));
        }
        acts.push(Act::Take(Item::NotchByNotch));
        acts.extend(vec![back(); n]);
        acts
    });
    let teach = Just(vec![
        Act::Teach(Signal::GoOn),
        Act::Taught("mouse middle".to_owned()),
    ]);
    prop_oneof![spoil, lay_back, teach]
}

/// Any one act.
fn strip((tool, plies, off): (&str, u32, f64)) -> Act {
    let read = |mm: f64| [format!("{}", mm + off), format!("{}mm", mm + off)];
    Act::CutStrip(Box::new(CutStrip {
        tool: tool.into(),
        cloth: "canvas".into(),
        plies,
        length: read(240.0),
        width: read(60.0),
        unit: Unit::Mm,
    }))
}

fn single(names: &Names) -> BoxedStrategy<Act> {
    let lay = (
        select(names.articles.clone()),
        select(names.pieces.clone()),
        names.panel(),
    );
    let named = || {
        (
            names.panel(),
            0..5usize,
            select(vec!["A", "B", "D", "", "hole"]),
        )
    };
    let plain = [
        Act::Press,
        Act::Release,
        Act::Next,
        Act::Previous,
        Act::LetGo,
        Act::Square,
        Act::Bias,
        Act::TurnOver,
        Act::Another,
        Act::Partner,
        Act::PartnerAcross,
        Act::TakeAway,
        Act::Lock,
        Act::Finish,
        Act::Leave,
        Act::BackUp,
        Act::PassOver,
        Act::Undo,
        Act::Redo,
        Act::Together(true),
        Act::Together(false),
        Act::Waste(true),
        Act::Waste(false),
        Act::Watch(true),
        Act::Watch(false),
        Act::Creep(true),
        Act::Creep(false),
        Act::BeginCutting,
        Act::Signal(Told::GoOn),
        Act::Signal(Told::Back),
        Act::Signal(Told::List),
        Act::Teach(Signal::GoOn),
        Act::Teach(Signal::Back),
        Act::Taught("key F13".to_owned()),
    ];
    prop_oneof![
        24 => select(plain.to_vec()),
        2 => anywhere().prop_map(Act::Point),
        2 => amount().prop_map(Act::Turn),
        2 => (amount(), amount()).prop_map(|(right, away)| Act::Nudge { right, away }),
        3 => (0..24u32).prop_map(Act::Hold),
        2 => (0..24u32).prop_map(cut_next_or_later),
        2 => item().prop_map(Act::Take),
        3 => lay.prop_map(|(article, piece, panel)| Act::Lay { article, piece, panel }),
        1 => select(Way::ALL.to_vec()).prop_map(Act::Way),
        1 => select(Tint::ALL.to_vec()).prop_map(Act::Colour),
        1 => any::<u8>().prop_map(Act::WorkLight),
        1 => any::<u8>().prop_map(Act::Brightness),
        1 => amount().prop_map(Act::Band),
        1 => select(Side::ALL.to_vec()).prop_map(Act::Stand),
        1 => select(vec![Hand::Left, Hand::Right]).prop_map(Act::Cut),
        2 => task(names).prop_map(Act::Begin),
        2 => (names.panel(), any::<bool>())
            .prop_map(|(panel, spread)| Act::Spread { panel, spread }),
        2 => (names.panel(), prop::option::of(names.panel()))
            .prop_map(|(panel, top)| Act::Under { panel, top }),
        2 => (names.panel(), 0..4u32, any::<[bool; 2]>()).prop_map(
            |(panel, layers, [turned, wrong_side_up])| Act::Stack {
                panel,
                stack: Stack { layers, turned, wrong_side_up },
            }
        ),
        1 => (names.panel(), 0..5usize).prop_map(|(panel, at)| Act::DropKeepOut { panel, at }),
        1 => (names.panel(), 0..5usize).prop_map(|(panel, at)| Act::DropMark { panel, at }),
        1 => (0..3usize, any::<bool>()).prop_map(|(at, on)| Act::Trim { at, on }),
        1 => (0..3usize).prop_map(Act::DropTrim),
        1 => Just(Act::Refocused),
        1 => (0..4usize, any::<bool>()).prop_map(|(at, is)| Act::Wish {
            at,
            to: is.then(|| Box::new(Wished::new("tongue", Wish::Even {}))),
        }),
        2 => (select(vec!["shears", "wheel", " "]), 1..4u32, -2.0..8.0f64).prop_map(strip),
        1 => named().prop_map(|(panel, at, name)| Act::NameKeepOut {
            panel, at, name: name.into()
        }),
        1 => named().prop_map(|(panel, at, name)| Act::NameMark { panel, at, name: name.into() }),
    ]
    .boxed()
}

/// Several acts that belong together, with something else among them now and
/// then.
pub fn phrase(names: &Names) -> impl Strategy<Value = Vec<Did>> + use<> {
    let stray = || prop::option::weighted(0.15, single(names));
    let press = |p| vec![Act::Point(p), Act::Press, Act::Release];
    let presses = |n: std::ops::Range<usize>| {
        let one = (anywhere(), stray()).prop_map(move |(p, s)| {
            let acts = press(p).into_iter().chain(s);
            acts.collect::<Vec<_>>()
        });
        prop::collection::vec(one, n).prop_map(|all| all.concat())
    };
    let drag = (
        on_table(),
        prop::collection::vec(
            prop_oneof![
                8 => anywhere().prop_map(Act::Point),
                1 => amount().prop_map(Act::Turn),
                1 => single(names),
            ],
            1..8,
        ),
    )
        .prop_map(|(from, moves)| {
            let begin = [Act::Point(from), Act::Press];
            begin
                .into_iter()
                .chain(moves)
                .chain([Act::Release])
                .collect()
        });
    let task = (task(names), presses(0..6), 0..3usize).prop_map(|(task, presses, finish)| {
        let begin = [Act::Begin(task)];
        let end = vec![Act::Finish; finish];
        begin.into_iter().chain(presses).chain(end).collect()
    });
    let carry = (names.panel(), presses(2..4), presses(2..4)).prop_map(|(panel, given, again)| {
        let mut all = vec![Act::Begin(Task::Marks(panel.clone()))];
        all.extend(given);
        all.extend([Act::Finish, Act::Begin(Task::Moved(panel))]);
        all.extend(again);
        all.extend([Act::Finish, Act::Finish]);
        all
    });
    // Something is done to a piece, whichever it is.
    let handle = (1..20u32, prop::collection::vec(single(names), 1..5))
        .prop_map(|(id, acts)| [Act::Hold(id)].into_iter().chain(acts).collect());
    // A piece is taken in hand whose panel undo then puts away.
    let away = (names.panel(), 1..20u32, 1..3usize).prop_map(|(panel, id, n)| {
        let spread = |spread| Act::Spread {
            panel: panel.clone(),
            spread,
        };
        let mut acts = vec![spread(false), spread(true), Act::Hold(id)];
        acts.extend(vec![Act::Undo; n]);
        acts
    });
    // Places are sought, looked at, and taken or not.
    let seeks = select(vec![Seek::Hand, Seek::Pair, Seek::Open]);
    let looks = select(vec![
        Act::Next,
        Act::Previous,
        Act::Lock,
        Act::Undo,
        Act::Leave,
    ]);
    let offered = (0..20u32, seeks, prop::collection::vec(looks, 0..3), stray()).prop_map(
        |(id, seek, looks, stray)| {
            let begin = [Act::Hold(id), Act::Seek(seek)];
            let end = stray.into_iter().chain([Act::Finish]);
            begin.into_iter().chain(looks).chain(end).collect()
        },
    );
    let acts = prop_oneof![
        4 => single(names).prop_map(|a| vec![a]),
        4 => handle,
        2 => drag,
        2 => cut(names),
        1 => mend(),
        2 => task,
        1 => carry,
        1 => away,
        2 => offered,
        // Undo and redo in runs.
        1 => (1..6usize).prop_map(|n| vec![Act::Undo; n]),
        1 => (1..6usize).prop_map(|n| vec![Act::Redo; n]),
    ];
    let pause = select(vec![0.0, 0.04, 0.1, 0.3, 2.0]);
    (acts, prop::collection::vec(pause, 8)).prop_map(|(acts, pauses)| {
        let pauses = pauses.into_iter().cycle();
        acts.into_iter().zip(pauses).collect()
    })
}
