//! Random acts, sense and nonsense, in any order: what must hold after each.

use crate::jobs::{coat, demo, placed};
use crate::whatever::{Did, Names, phrase};
use ghostchalk::cloth::Panel;
use ghostchalk::lay::{Face, Placement, grounds};
use ghostchalk::work::{
    Act, Bench, Doing, Finding, Offered, Op, Query, Record, Reply, Seek, Spot, State, Touched,
    replay,
};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// A bench under trial, with all that it has written.
struct Trial {
    bench: Bench,
    begun: State,
    now: f64,
    written: Vec<Record>,
    /// What the work had come to after that many records.
    kept: Vec<(usize, State)>,
    turn: usize,
}

/// What a search might find: the pieces in hand elsewhere, or one that is open.
fn offers(query: &Query) -> Vec<Offered> {
    let moved = |by: f64| Offered {
        placed: query
            .hands
            .iter()
            .map(|p| Placement {
                x_mm: p.x_mm + by,
                ..p.clone()
            })
            .collect(),
        why: "there is room".into(),
    };
    if query.seek != Seek::Open {
        return vec![moved(7.0), moved(-11.0)];
    }
    let stock = query.goods.stock();
    let panels = &query.state.panels;
    let counts = stock.counts(panels, query.state.placed.values(), &query.state.cuts.parts);
    let open = counts.iter().filter_map(|c| {
        let alone = |p: &&Panel| p.spread && p.cloth == c.part.cloth && p.under.is_none();
        let over = |p: &&Panel| panels.iter().all(|q| q.under.as_ref() != Some(&p.name));
        let panel = panels.iter().filter(alone).find(over)?;
        let face = [Face::Up, Face::Down].into_iter().find(|f| c.takes(*f))?;
        let at = (100.0, 100.0, 0.0);
        let placed = placed(&c.part.piece, c.article, &panel.name, at, face);
        let id = Some(query.next);
        Some(Offered {
            placed: vec![Placement { id, ..placed }],
            why: "there is room".into(),
        })
    });
    open.take(1).collect()
}

/// How often each kind of act was done, and each kind of op came of it.
type Tally = BTreeMap<String, usize>;

impl Trial {
    fn new(bench: Bench) -> Self {
        let begun = bench.state().clone();
        Self {
            kept: vec![(0, begun.clone())],
            begun,
            bench,
            now: 0.0,
            written: Vec::new(),
            turn: 0,
        }
    }

    fn act(&mut self, (act, pause): &Did, tally: &mut Tally) -> Result<(), TestCaseError> {
        self.now += pause;
        let before = self.bench.state().clone();
        let reply = self.bench.act(act.clone(), self.now);
        *tally
            .entry(format!("Act::{}", first_word(act)))
            .or_default() += 1;
        let new = self.bench.take_records();
        for record in &new {
            let line = serde_json::to_string(record).unwrap();
            let back: Record = serde_json::from_str(&line)
                .map_err(|e| TestCaseError::fail(format!("{e}: {line}")))?;
            prop_assert_eq!(&back, record, "{}", line);
            if let Record::Do { ops, .. } = record {
                for op in ops {
                    *tally.entry(kind(op).to_owned()).or_default() += 1;
                }
            }
        }
        self.written.extend(new);
        if self.bench.written_by().is_none() {
            self.kept
                .push((self.written.len(), self.bench.state().clone()));
        }
        self.says_what_it_did(&before, &reply, act)?;
        self.is_sound()?;
        self.is_replayed()?;
        self.is_undone()?;
        // Whoever searches finds something.
        match (act, self.bench.query()) {
            (Act::Seek(_), Some(query)) => {
                let number = query.number;
                let found = Box::new(Finding::Offers(offers(&query)));
                self.act(&(Act::Found { number, found }, 0.1), tally)
            }
            _ => Ok(()),
        }
    }

    /// What must be drawn anew is said; what is refused changes nothing; what
    /// is locked stays.
    fn says_what_it_did(
        &self,
        before: &State,
        reply: &Reply,
        act: &Act,
    ) -> Result<(), TestCaseError> {
        let after = self.bench.state();
        let ids = before.placed.keys().chain(after.placed.keys());
        let look = |s: &State, id| s.placed.get(id).map(Spot::of);
        let moved: Vec<_> = ids
            .filter(|id| look(before, id) != look(after, id))
            .collect();
        match &reply.touched {
            Touched::All => {}
            Touched::Pieces(said) => {
                prop_assert!(moved.iter().all(|id| said.contains(id)), "{:?}", moved);
                prop_assert_eq!(&before.panels, &after.panels);
            }
            Touched::Over | Touched::Nothing => {
                prop_assert!(moved.is_empty(), "{:?}", moved);
                let ground = |s: &State| grounds(&s.panels).unwrap().len();
                let lies = |s: &State| s.panels.iter().map(|p| p.on_table).collect::<Vec<_>>();
                prop_assert_eq!(ground(before), ground(after));
                prop_assert_eq!(lies(before), lies(after));
                prop_assert_eq!(before.ways, after.ways);
            }
        }
        if reply.said.as_ref().is_some_and(|s| s.warning) {
            prop_assert_eq!(before, after);
        }
        if !matches!(act, Act::Undo | Act::Redo) {
            for (id, p) in before.placed.iter().filter(|(_, p)| p.locked) {
                prop_assert_eq!(Some(Spot::of(p)), look(after, id));
            }
        }
        Ok(())
    }

    fn is_sound(&self) -> Result<(), TestCaseError> {
        let state = self.bench.state();
        for c in self.bench.counts() {
            let (up, down) = c.part.hands();
            let all = c.all();
            prop_assert!(all.sum() <= c.part.count, "{:?}", c);
            prop_assert!(
                !c.part.pair || c.any_hand || (all.up <= up && all.down <= down),
                "{:?}",
                c
            );
            // Hands cut and hands to cut are the hands that were ordered.
            let good = state.cuts.parts.iter().filter(|p| !p.spoilt);
            let good = good.filter(|p| {
                (&p.article[..], &p.piece, &p.cloth) == (c.article, &c.part.piece, &c.part.cloth)
            });
            let (lefts, rights): (Vec<_>, Vec<_>) = good.partition(|p| p.face == Face::Up);
            let (lefts, rights) = (lefts.len() as u32, rights.len() as u32);
            let left = c.to_cut();
            if c.part.pair && !c.any_hand {
                prop_assert_eq!((lefts + left.up, rights + left.down), (up, down), "{:?}", c);
            } else {
                prop_assert_eq!(lefts + rights + left.sum(), c.part.count, "{:?}", c);
            }
        }
        let cutting = self.bench.doing().cutting().is_some();
        prop_assert_eq!(self.bench.prompt().is_some(), cutting);
        prop_assert!(!cutting || self.bench.is_cutting());
        if let Some(id) = self.bench.held() {
            prop_assert!(state.placed.contains_key(&id));
            prop_assert!(self.bench.pose(id).is_some(), "{} is put away", id);
        }
        prop_assert!(!self.bench.is_gripped() || self.bench.held().is_some());
        for (id, p) in &state.placed {
            prop_assert_eq!(Some(*id), p.id);
            prop_assert!(state.panel(&p.panel).is_some());
            // What a job file may hold.
            prop_assert!(p.x_mm.abs() <= 1e5 && p.y_mm.abs() <= 1e5, "{:?}", p);
            prop_assert!(p.turn_deg.abs() <= 360.0, "{:?}", p);
        }
        prop_assert!(grounds(&state.panels).is_ok());
        for panel in &state.panels {
            let on = panel.on_table;
            prop_assert!(on.x_mm.abs() <= 1e5 && on.y_mm.abs() <= 1e5 && panel.outline().is_ok());
            prop_assert!(panel.grain_deg.abs() <= 360.0 && on.turn_deg.abs() <= 360.0);
            for (k, m) in panel.marks.iter().enumerate() {
                prop_assert!(m.x_mm.abs() <= 1e5 && m.y_mm.abs() <= 1e5);
                prop_assert!(panel.marks[..k].iter().all(|o| o.name != m.name));
            }
            let above = panel.under.as_ref().and_then(|t| state.panel(t));
            prop_assert!(above.is_none_or(|t| t.under.is_none()), "three plies");
        }
        let doing = self.bench.doing();
        if let Some(name) = doing.panel() {
            prop_assert!(state.panel(name).is_some_and(|p| p.spread));
        }
        if let Doing::Carrying { now, at, .. } = doing {
            prop_assert!(*at <= now.len());
            prop_assert_eq!(now.len(), self.bench.marks_in_work().len());
        }
        // What is asked for can be said.
        prop_assert!(!doing.asks(&self.bench.marks_in_work()).is_empty());
        let _ = self.bench.guessed_pose();
        Ok(())
    }

    /// The journal read back gives the same state and history, from the start
    /// and from any snapshot; and a journal that ends in mid-drag fits too.
    fn is_replayed(&mut self) -> Result<(), TestCaseError> {
        let mut early = self.begun.clone();
        prop_assert_eq!(replay(&mut early, &self.written, 0).1, None);
        let mut settled = self.bench.clone();
        if let Some(due) = settled.written_by() {
            settled.tick(due);
        }
        let all: Vec<Record> = self
            .written
            .iter()
            .cloned()
            .chain(settled.take_records())
            .collect();
        self.turn += 1;
        let (start, kept) = &self.kept[(7 * self.turn) % self.kept.len()];
        for (start, mut state) in [(0, self.begun.clone()), (*start, kept.clone())] {
            let (history, wrong) = replay(&mut state, &all, start);
            prop_assert_eq!(wrong, None);
            prop_assert_eq!(&state, settled.state());
            prop_assert_eq!(&history, settled.history());
        }
        Ok(())
    }

    /// Undo and redo are each other's way back, and undo leads to the start.
    fn is_undone(&self) -> Result<(), TestCaseError> {
        let mut bench = self.bench.clone();
        // What comes next in cutting is not worked out at every step back.
        if bench.is_cutting() {
            bench.act(Act::Leave, self.now);
            bench.act(Act::Leave, self.now);
        }
        let here = bench.state().clone();
        let can = |bench: &mut Bench, act: Act| {
            let said = bench.act(act, self.now).said;
            !said.is_some_and(|s| s.warning)
        };
        if can(&mut bench, Act::Undo) {
            prop_assert!(can(&mut bench, Act::Redo));
            prop_assert_eq!(bench.state(), &here);
        }
        let mut steps = 0;
        while can(&mut bench, Act::Undo) {
            steps += 1;
        }
        prop_assert_eq!(bench.state(), &self.begun);
        for _ in 0..steps {
            prop_assert!(can(&mut bench, Act::Redo));
        }
        prop_assert_eq!(bench.state(), &here);
        Ok(())
    }
}

/// The name of an op; a new one does not compile until it is named here.
fn kind(op: &Op) -> &'static str {
    match op {
        Op::Lay { .. } => KINDS[0],
        Op::TakeAway { .. } => KINDS[1],
        Op::Move { .. } => KINDS[2],
        Op::Lock { .. } => KINDS[3],
        Op::Lie { .. } => KINDS[4],
        Op::Spread { .. } => KINDS[5],
        Op::Under { .. } => KINDS[6],
        Op::Outline { .. } => KINDS[7],
        Op::KeepOut { .. } => KINDS[8],
        Op::Mark { .. } => KINDS[9],
        Op::Grain { .. } => KINDS[10],
        Op::Light { .. } => KINDS[11],
        // From a photo and from an offcut: no act does these.
        Op::Looks { .. } => "Looks",
        Op::Panel { .. } => "Panel",
        Op::CarriedBy { .. } => KINDS[12],
        Op::Cut { .. } => KINDS[13],
        // Only on the way back: the journal has "undo" for it.
        Op::Uncut { .. } => "Uncut",
        Op::Part { .. } => KINDS[14],
        Op::Apart { .. } => KINDS[15],
        Op::First { .. } => KINDS[16],
        Op::Switches { .. } => KINDS[17],
        Op::NextNotch { .. } => KINDS[18],
        Op::Trim { .. } => KINDS[19],
        Op::Wish { .. } => KINDS[20],
        Op::Stack { .. } => KINDS[21],
    }
}

const KINDS: [&str; 22] = [
    "Lay",
    "TakeAway",
    "Move",
    "Lock",
    "Lie",
    "Spread",
    "Under",
    "Outline",
    "KeepOut",
    "Mark",
    "Grain",
    "Light",
    "CarriedBy",
    "Cut",
    "Part",
    "Apart",
    "First",
    "Switches",
    "NextNotch",
    "Trim",
    "Wish",
    "Stack",
];

const ACTS: [&str; 56] = [
    "Seek",
    "Found",
    "Wish",
    "CutStrip",
    "Trim",
    "DropTrim",
    "Refocused",
    "Point",
    "Press",
    "Release",
    "Turn",
    "Nudge",
    "Next",
    "Previous",
    "Hold",
    "LetGo",
    "Square",
    "Bias",
    "TurnOver",
    "Another",
    "Partner",
    "PartnerAcross",
    "TakeAway",
    "Lock",
    "Together",
    "Lay",
    "Undo",
    "Redo",
    "Way",
    "WorkLight",
    "Brightness",
    "Band",
    "Waste",
    "Colour",
    "Creep",
    "Stand",
    "Cut",
    "Begin",
    "Finish",
    "Leave",
    "BackUp",
    "PassOver",
    "Spread",
    "Under",
    "Stack",
    "DropKeepOut",
    "DropMark",
    "NameKeepOut",
    "NameMark",
    "BeginCutting",
    "Signal",
    "CutNext",
    "CutLater",
    "Take",
    "Teach",
    "Taught",
];

fn first_word(act: &Act) -> String {
    let said = format!("{act:?}");
    said.chars().take_while(|c| c.is_alphanumeric()).collect()
}

/// Tries random work on a bench; every act and every op must have occurred.
fn trial(begin: fn() -> Bench, cases: u32) {
    let bench = begin();
    let names = Names::of(&bench);
    let tally = RefCell::new(Tally::new());
    let mut runner = TestRunner::new_with_rng(
        Config {
            cases,
            failure_persistence: None,
            ..Config::default()
        },
        // The same work every time, so that what it must come across is come across.
        TestRng::deterministic_rng(RngAlgorithm::ChaCha),
    );
    let work = prop::collection::vec(phrase(&names), 1..24);
    let found = runner.run(&work, |phrases| {
        let mut trial = Trial::new(bench.clone());
        for did in phrases.iter().flatten() {
            trial.act(did, &mut tally.borrow_mut())?;
        }
        Ok(())
    });
    if let Err(wrong) = found {
        panic!("{wrong}");
    }
    let tally = tally.into_inner();
    for act in ACTS {
        assert!(
            tally.contains_key(&format!("Act::{act}")),
            "{act}: {tally:?}"
        );
    }
    for kind in KINDS {
        assert!(
            tally.get(kind).is_some_and(|n| *n >= 1),
            "{kind}: {tally:?}"
        );
    }
}

#[test]
fn nothing_is_lost_whatever_is_done_to_the_demo() {
    trial(demo, 250);
}

#[test]
fn nothing_is_lost_whatever_is_done_to_a_coat() {
    trial(coat, 500);
}

/// A job may hold what no act would do: two pieces of one number.
#[test]
fn pieces_of_one_number_each_get_their_own() {
    let numbered = |id, x| Placement {
        id: Some(id),
        ..crate::jobs::placed("strap", "1", "left", (x, 10.0, 0.0), Face::Up)
    };
    let all = [numbered(7, 1.0), numbered(7, 2.0), numbered(u32::MAX, 3.0)];
    let bench = coat();
    let state = State::new(bench.state().panels.clone(), all, Default::default());
    assert_eq!(state.placed.len(), 3);
    assert!(state.placed.iter().all(|(id, p)| p.id == Some(*id)));
    // With the greatest number taken there is still a free one.
    let mut bench = Bench::new(bench.goods, state, Default::default());
    let lay = Act::Lay {
        article: "1".into(),
        piece: "tongue".into(),
        panel: "right".into(),
    };
    bench.act(lay, 0.0);
    assert_eq!(bench.state().placed.len(), 4);
}
