//! Cutting by two signals, from the first part to the last.

mod begins;
mod laid_back;
mod moved;
mod plies;

use crate::jobs::{AtTable, coat, demo, lit, panel, placed};
use ghostchalk::cloth::Cloth;
use ghostchalk::lay::{Face, Marking};
use ghostchalk::order::{Article, Part};
use ghostchalk::pattern::{Notch, NotchKind, PatternPiece};
use ghostchalk::space::{Point, Vector};
use ghostchalk::work::cutting::{Beside, Item, Phase};
use ghostchalk::work::signals::{Signals, Told};
use ghostchalk::work::{Act, Bench, Goods, History, Key, KeyAct, Pressed, State, Ways, act_of};

/// The two signals.
fn go_on(table: &mut AtTable) -> String {
    press(table, Key::Space, 0.1)
}

fn back(table: &mut AtTable) -> String {
    press(table, Key::Backspace, 0.1)
}

/// A key goes down and, so many seconds later, up.
fn press(table: &mut AtTable, key: Key, seconds: f64) -> String {
    let Some(KeyAct::Signal(signal)) = act_of(Pressed::plain(key), table.bench.doing()) else {
        panic!("{key:?} is no signal: {:?}", table.bench.doing());
    };
    let mut signals = Signals::default();
    let down = signals.down(signal, 0.0);
    let held = signals.tick(seconds);
    let up = signals.up(signal, seconds);
    let then = signals.tick(seconds + 1.0);
    let told: Vec<Told> = [down, held, up, then].into_iter().flatten().collect();
    assert_eq!(told.len(), 1, "{told:?}");
    table.done(Act::Signal(told[0]))
}

/// Back is held, and an item of the list is taken.
fn list(table: &mut AtTable, item: Item) -> String {
    let at = Item::of(phase(table)).iter().position(|i| *i == item);
    press(table, Key::Backspace, 0.8);
    for _ in 0..at.expect("an item of the list") {
        go_on(table);
    }
    let said = table.bench.prompt().unwrap().lines;
    assert!(said.contains(&format!("> {} <", item.words())), "{said:?}");
    back(table)
}

fn phase(table: &AtTable) -> &Phase {
    &table.bench.doing().cutting().expect("cutting").phase
}

/// One pair of tongues, to be cut from two plies: one laid on the left panel, the
/// right one under it, and a single remnant beside them.
fn pair() -> AtTable {
    let coat = coat();
    let mut tongue: PatternPiece = coat.goods.pieces[0].clone();
    for (x, y) in [(0.0, -30.0), (40.0, -10.0), (-40.0, 0.0)] {
        tongue.notches.push(Notch {
            at: Point::new(x, y),
            inward: Vector::new(0.0, 1.0),
            depth: 3.0,
            kind: NotchKind::Slit,
        });
    }
    let goods = Goods {
        pieces: vec![tongue],
        cloths: vec![Cloth {
            name: "canvas".into(),
            thickness_mm: 0.8,
            no_face: false,
        }],
        articles: vec![Article {
            name: "1".into(),
            parts: vec![Part {
                piece: "tongue".into(),
                cloth: "canvas".into(),
                count: 2,
                pair: true,
                inside: None,
            }],
            ..Article::default()
        }],
    };
    let sheet = |w: f64, h: f64| vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
    let top = panel("left", "canvas", sheet(400.0, 300.0), (50.0, 400.0, 3.0));
    let mut under = panel("right", "canvas", sheet(400.0, 300.0), (55.0, 395.0, 1.0));
    under.under = Some("left".into());
    let rest = panel(
        "remnant",
        "canvas",
        sheet(300.0, 200.0),
        (700.0, 450.0, 0.0),
    );
    let placed = [placed("tongue", "1", "left", (150.0, 150.0, 0.0), Face::Up)];
    let state = State::new(vec![top, under, rest], placed, Ways::default());
    AtTable::new(lit(Bench::new(goods, state, History::default())))
}

#[test]
fn the_demo_is_cut_from_the_first_part_to_the_last_with_one_press_a_part() {
    let mut table = AtTable::new(demo());
    table.done(Act::BeginCutting);
    let mut presses = 0;
    let mut marked = 0;
    let mut sheets = 0;
    while *phase(&table) != Phase::Over {
        match phase(&table) {
            Phase::Piece { id } => {
                assert_eq!(table.bench.held(), Some(*id));
                let prompt = table.bench.prompt().unwrap();
                assert_eq!(prompt.beside, Beside::Piece(*id));
                assert!(prompt.lines[1].starts_with("go on: cut"), "{prompt:?}");
            }
            Phase::Marks { part } => {
                marked += 1;
                let part = table.bench.state().cuts.part(*part).unwrap();
                if part.piece == "sole" {
                    // It is the sole made smaller all round: it sits in the middle.
                    let lines = table.bench.prompt().unwrap().lines;
                    assert!(
                        lines.contains(&"the seat of the felt sole".to_owned()),
                        "{lines:?}"
                    );
                }
            }
            Phase::Apart { .. } => {
                sheets += 1;
                // All pieces are equally bright while a sheet is cut apart.
                assert_eq!(table.bench.held(), None);
            }
            other => panic!("{other:?}"),
        }
        go_on(&mut table);
        presses += 1;
        assert!(presses < 100);
    }
    let parts = &table.bench.state().cuts.parts;
    assert_eq!(parts.len(), 14);
    assert_eq!(
        marked,
        parts.iter().filter(|p| p.marking == Marking::Done).count()
    );
    assert!(marked >= 4, "the uppers have drill points");
    assert_eq!(presses, 14 + marked + sheets);
    assert!(sheets <= 3);
    for count in table.bench.counts().iter().filter(|c| c.article == "1") {
        assert_eq!(count.to_cut().sum(), 0, "{count:?}");
    }
    // Back, from the last part to the first sheet.
    for _ in 0..presses {
        back(&mut table);
    }
    assert!(table.bench.state().cuts.is_empty());
    table.refused(Act::Signal(Told::Back), "nothing");
}

#[test]
fn a_sheet_is_cut_up_before_the_next_and_the_person_may_choose() {
    let mut table = AtTable::new(demo());
    table.done(Act::BeginCutting);
    while !matches!(phase(&table), Phase::Piece { .. }) {
        go_on(&mut table);
    }
    let order = table.bench.doing().cutting().unwrap().order.clone();
    let first = &table.placed(order[0]).panel.clone();
    assert!(order.iter().all(|id| table.placed(*id).panel == *first));
    // Another piece of this sheet.
    table.done(Act::CutNext(order[3]));
    assert_eq!(*phase(&table), Phase::Piece { id: order[3] });
    let mut rest = order.clone();
    rest.remove(3);
    let now = &table.bench.doing().cutting().unwrap().order;
    assert_eq!(now[1..], rest[..]);
    // A piece of another one brings that sheet up.
    let placed = &table.bench.state().placed;
    let other = placed.iter().find(|(_, p)| p.panel != *first);
    let id = *other.unwrap().0;
    table.done(Act::CutNext(id));
    let named = table.placed(id).panel.clone();
    assert!(
        matches!(phase(&table), Phase::Piece { id: k } if *k == id)
            || matches!(phase(&table), Phase::Apart { panel } if *panel == named)
    );
}

#[test]
fn another_piece_next_comes_round_to_all_that_is_left_on_the_sheet() {
    let mut table = AtTable::new(demo());
    table.done(Act::BeginCutting);
    while !matches!(phase(&table), Phase::Piece { .. }) {
        go_on(&mut table);
    }
    let order = table.bench.doing().cutting().unwrap().order.clone();
    assert!(order.len() > 2, "{order:?}");
    for k in 1..=order.len() {
        let pressed = act_of(Pressed::plain(Key::Tab), table.bench.doing());
        let Some(KeyAct::Relative(another)) = pressed else {
            panic!("{pressed:?}");
        };
        let act = another.act(&table.bench).unwrap();
        table.done(act);
        let id = order[k % order.len()];
        assert_eq!(*phase(&table), Phase::Piece { id });
    }
    assert_eq!(table.bench.doing().cutting().unwrap().order, order);
    // One at a time is undone.
    table.done(Act::Undo);
    let id = *order.last().unwrap();
    assert_eq!(*phase(&table), Phase::Piece { id });
    go_on(&mut table);
    assert!(table.bench.state().cuts.has(id));
}

#[test]
fn nothing_is_moved_under_the_blade() {
    let mut table = AtTable::new(coat());
    table.done(Act::BeginCutting);
    while !matches!(phase(&table), Phase::Piece { .. }) {
        go_on(&mut table);
    }
    let here = phase(&table).clone();
    let state = table.bench.state().clone();
    for act in [Act::Turn(5.0), Act::Next, Act::LetGo] {
        assert_eq!(table.act(act).said, None);
    }
    for act in [Act::Square, Act::TurnOver, Act::TakeAway, Act::Another] {
        table.refused(act, "under the blade");
    }
    assert_eq!((phase(&table), table.bench.state()), (&here, &state));
    // A piece pointed out in the panel is the one that is cut next.
    let other = table.bench.doing().cutting().unwrap().order[1];
    table.done(Act::Hold(other));
    assert_eq!(*phase(&table), Phase::Piece { id: other });
    assert_eq!(table.bench.held(), Some(other));
}

#[test]
fn a_spoilt_part_that_was_put_off_is_asked_for_until_it_is_cut() {
    let mut table = pair();
    table.done(Act::BeginCutting);
    go_on(&mut table);
    while let Phase::Marks { .. } = phase(&table) {
        go_on(&mut table);
    }
    // By mistake into the list, and out of it: nothing is spoilt.
    list(&mut table, Item::Spoilt);
    list(&mut table, Item::Close);
    assert_eq!(*phase(&table), Phase::Over);
    list(&mut table, Item::Spoilt);
    go_on(&mut table);
    go_on(&mut table);
    assert_eq!(table.bench.prompt().unwrap().lines[0], "none of these");
    back(&mut table);
    let parts = &table.bench.state().cuts.parts;
    assert!(parts.iter().all(|p| !p.spoilt));
    // The right one is spoilt, and put off.
    list(&mut table, Item::Spoilt);
    back(&mut table);
    let offered = |t: &AtTable| match phase(t) {
        Phase::Again { part, places, .. } => Some((*part, places.len())),
        _ => None,
    };
    let (part, places) = offered(&table).unwrap();
    assert_eq!(part, 2);
    for _ in 0..places {
        back(&mut table);
    }
    assert_eq!(*phase(&table), Phase::Over);
    let said = table.bench.prompt().unwrap().lines;
    assert_eq!(
        said,
        ["still to be laid and cut:", "1 tongue 1 canvas, mirrored"]
    );
    // Taken up again after a stop, it is asked for.
    let (goods, state) = (table.bench.goods.clone(), table.bench.state().clone());
    let mut bench = Bench::new(goods, state, History::default());
    bench.take_up();
    let mut again = AtTable::new(lit(bench));
    assert_eq!(*phase(&again), Phase::Returned);
    go_on(&mut again);
    assert_eq!(offered(&again), Some((2, places)));
    // And without a stop, at the end.
    go_on(&mut table);
    assert_eq!(offered(&table), Some((2, places)));
    go_on(&mut table);
    assert!(matches!(phase(&table), Phase::Piece { .. }));
    // Nothing lies in the lower ply, which the blade went through.
    let Phase::Piece { id } = *phase(&table) else {
        unreachable!()
    };
    assert_eq!(table.placed(id).panel, "remnant");
}

#[test]
fn what_stands_in_the_way_of_back_is_named() {
    let mut table = AtTable::new(coat());
    table.done(Act::Spread {
        panel: "lining".into(),
        spread: false,
    });
    table.done(Act::BeginCutting);
    // What was done before cutting is not taken back by it.
    table.refused(Act::Signal(Told::Back), "nothing that was cut");
    while !matches!(phase(&table), Phase::Piece { .. }) {
        go_on(&mut table);
    }
    go_on(&mut table);
    let said = table.bench.prompt().unwrap().lines;
    let last = said.last().unwrap();
    assert!(
        last.starts_with("back: undo: ") && last.ends_with(" cut"),
        "{said:?}"
    );
    table.done(Act::WorkLight(20));
    table.refused(Act::Signal(Told::Back), "Ctrl+Z");
    table.done(Act::Undo);
    back(&mut table);
    assert!(table.bench.state().cuts.parts.is_empty());
    // Straps have no notches to go round.
    table.refused(Act::Take(Item::NotchByNotch), "no notches");
}

#[test]
fn rough_cuts_keep_clear_of_the_waste_that_is_lit() {
    let mut table = AtTable::new(coat());
    table.done(Act::BeginCutting);
    // How near the cuts come to the pieces of their sheet, mm.
    let nearest = |t: &AtTable| {
        let cutting = t.bench.doing().cutting().unwrap();
        let sheet = &t.placed(cutting.order[0]).panel;
        let (_, laid) = t.bench.laid();
        let on_it = laid.iter().filter(|l| l.panel == sheet);
        let pieces: Vec<_> = on_it.map(ghostchalk::lay::inside).collect();
        let cuts = cutting.rough.iter();
        let along = cuts.flat_map(|c| (0..=200).map(|k| c.from.lerp(c.to, f64::from(k) / 200.0)));
        let far = along.flat_map(|p| {
            let far = pieces.iter();
            far.map(move |r| ghostchalk::shape::distance(r, p))
        });
        far.reduce(f64::min)
    };
    let band = nearest(&table).expect("the coat can be cut apart");
    assert!((17.0..40.0).contains(&band), "{band}");
    table.done(Act::Waste(true));
    // 30 mm of waste, 10 mm for signs, 4 mm for the shears; or no cut at all.
    assert!(nearest(&table).is_none_or(|mm| mm >= 44.0));
    table.done(Act::Waste(false));
    assert_eq!(nearest(&table), Some(band));
}

#[test]
fn a_switch_is_taught_by_pressing_it_and_means_one_thing() {
    use ghostchalk::work::signals::Signal;
    let mut table = AtTable::new(coat());
    table.done(Act::Teach(Signal::GoOn));
    assert_eq!(table.done(Act::Taught("key F13".into())), "F13 means go on");
    table.done(Act::Teach(Signal::Back));
    table.done(Act::Taught("key F13".into()));
    let switches = &table.bench.state().cuts.switches;
    assert_eq!(switches.go_on, None);
    assert_eq!(switches.back.as_deref(), Some("key F13"));
}
