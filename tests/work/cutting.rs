//! Cutting by two signals, from the first part to the last; a pair cut in two
//! plies, and what goes wrong with it.

use crate::jobs::{AtTable, TONGUE, coat, demo, lit, panel, placed};
use ghostchalk::cloth::{Cloth, Stack};
use ghostchalk::lay::{Face, Marking};
use ghostchalk::order::{Article, Part};
use ghostchalk::pattern::{Notch, NotchKind, PatternPiece};
use ghostchalk::space::{Point, Vector};
use ghostchalk::work::cutting::{Beside, Item, Lying, Of, Phase};
use ghostchalk::work::signals::{Signals, Told};
use ghostchalk::work::{
    Act, Bench, Goods, History, Key, KeyAct, Pressed, State, Task, Ways, act_of,
};

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

/// A spoilt part is offered a place only where it comes off alone and as its words say.
#[test]
fn no_place_is_offered_on_cloth_that_is_stacked_or_lies_over() {
    for (layers, wrong_side_up, offered) in [(1, false, true), (2, false, false), (1, true, false)]
    {
        let mut table = pair();
        let stack = Stack {
            layers,
            turned: false,
            wrong_side_up,
        };
        table.done(Act::Stack {
            panel: "remnant".into(),
            stack,
        });
        table.done(Act::BeginCutting);
        go_on(&mut table);
        while let Phase::Marks { .. } = phase(&table) {
            go_on(&mut table);
        }
        list(&mut table, Item::Spoilt);
        back(&mut table);
        let again = matches!(phase(&table), Phase::Again { .. });
        assert_eq!(
            again,
            offered,
            "{layers} {wrong_side_up}: {:?}",
            phase(&table)
        );
    }
}

#[test]
fn a_pair_cut_in_two_plies_comes_back_as_the_one_hand_that_was_spoilt() {
    let mut table = pair();
    let counts = |t: &AtTable| {
        let c = &t.bench.counts()[0];
        (c.laid, c.cut, c.to_cut())
    };
    let (laid, ..) = counts(&table);
    assert_eq!((laid.up, laid.down), (1, 1), "one outline, both hands");
    // The light lands on the upper of two plies.
    assert_eq!(table.bench.laid().1[0].height, 1.6);
    table.done(Act::BeginCutting);
    let prompt = table.bench.prompt().unwrap().lines;
    assert!(prompt[0].contains("2 plies"), "{prompt:?}");
    assert!(prompt[1].contains("all 3 notches"), "{prompt:?}");
    assert_eq!(go_on(&mut table), "tongue 1 cut, 2 plies");
    while let Phase::Marks { .. } = phase(&table) {
        go_on(&mut table);
    }
    assert_eq!(*phase(&table), Phase::Over);
    let parts = table.bench.state().cuts.parts.clone();
    assert_eq!(parts.len(), 2);
    assert_eq!((parts[0].face, &parts[0].panel[..]), (Face::Up, "left"));
    assert_eq!((parts[1].face, &parts[1].panel[..]), (Face::Down, "right"));

    // The left is laid back; its second notch is missing, and clipped now.
    list(&mut table, Item::LayBack);
    go_on(&mut table);
    let chosen = table.bench.prompt().unwrap().lines[0].clone();
    assert_eq!(chosen, "tongue 1 canvas, as drawn");
    back(&mut table);
    assert_eq!(
        *phase(&table),
        Phase::LaidBack {
            of: Of::Part(1),
            over: false
        }
    );
    let mirrored = |over| table.bench.lying(Of::Part(1), over).unwrap().pose.mirrored;
    assert!(!mirrored(false) && mirrored(true));
    list(&mut table, Item::NotchByNotch);
    assert_eq!(
        *phase(&table),
        Phase::Notches {
            of: Of::Part(1),
            at: 0,
            over: false
        }
    );
    go_on(&mut table);
    back(&mut table);
    go_on(&mut table);
    assert_eq!(table.bench.state().cuts.part(1).unwrap().clipped_late, [2]);
    assert_eq!(
        *phase(&table),
        Phase::LaidBack {
            of: Of::Part(1),
            over: false
        }
    );
    go_on(&mut table);

    // The right is spoilt: one right is asked for, single ply, on free cloth.
    list(&mut table, Item::Spoilt);
    let said = back(&mut table);
    assert!(
        said.contains("one is to be cut again, single, mirrored, cloth face side up"),
        "{said}"
    );
    let (laid, cut, left) = counts(&table);
    assert_eq!((laid.sum(), cut.up, cut.down), (0, 1, 0));
    assert_eq!((left.up, left.down), (0, 1));
    let Phase::Again {
        part: 2, places, ..
    } = phase(&table).clone()
    else {
        panic!("{:?}", phase(&table));
    };
    assert!(
        places
            .iter()
            .all(|s| s.panel == "remnant" && s.face == Face::Down)
    );
    assert_eq!(
        table.bench.partner_of(&parts[1]),
        Some(1),
        "its partner is shown"
    );
    // A left is refused meanwhile, and so is any on two plies.
    let lay = |panel: &str| Act::Lay {
        article: "1".into(),
        piece: "tongue".into(),
        panel: panel.into(),
    };
    table.refused(lay("left"), "two plies");
    go_on(&mut table);
    let new = *table.bench.state().placed.keys().last().unwrap();
    assert_eq!(table.placed(new).face, Face::Down);
    table.refused(lay("remnant"), "all 2");
    table.done(Act::Hold(new));
    table.refused(Act::TurnOver, "under the blade");
    assert_eq!(*phase(&table), Phase::Piece { id: new });

    // A second ply slipped under the remnant would make two of it.
    let under = Act::Under {
        panel: "right".into(),
        top: Some("remnant".into()),
    };
    table.refused(under, "take one of them away");
    assert!(go_on(&mut table).contains("mirrored"));
    while let Phase::Marks { .. } = phase(&table) {
        go_on(&mut table);
    }
    let (_, cut, left) = counts(&table);
    assert_eq!((cut.up, cut.down, left.sum()), (1, 1, 0));
}

#[test]
fn after_a_stop_it_asks_whether_the_cloth_has_moved_and_goes_on() {
    let mut table = AtTable::new(demo());
    table.done(Act::BeginCutting);
    for _ in 0..4 {
        go_on(&mut table);
    }
    let state = table.bench.state().clone();
    let here = phase(&table).clone();
    // As it is read back from the journal.
    let (goods, history) = (table.bench.goods.clone(), table.bench.history().clone());
    let mut bench = Bench::new(goods, state.clone(), history);
    bench.take_up();
    let mut again = AtTable::new(lit(bench));
    assert_eq!(*phase(&again), Phase::Returned);
    let said = again.bench.prompt().unwrap().lines;
    assert!(said[0].contains("parts are cut"), "{said:?}");
    go_on(&mut again);
    assert_eq!(*phase(&again), here);
    assert_eq!(again.bench.state(), &state);
    // Without marks the cloth can't be carried, and that is said.
    let mut bench = Bench::new(again.bench.goods.clone(), state, History::default());
    bench.take_up();
    let mut again = AtTable::new(lit(bench));
    again.refused(Act::Signal(Told::Back), "marks");
    // What is cut shows where it lies, and the question stands.
    assert_eq!(*phase(&again), Phase::Returned);
    assert!(again.bench.shows_outlines());
    go_on(&mut again);
    assert_eq!(*phase(&again), here);
}

#[test]
fn before_the_first_part_is_cut_it_is_asked_too() {
    let mut table = pair();
    let sheet = ["remnant".to_owned()].to_vec();
    let mut state = table.bench.state().clone();
    state.cuts.apart = sheet;
    let mut bench = Bench::new(table.bench.goods.clone(), state, History::default());
    bench.take_up();
    table = AtTable::new(lit(bench));
    assert_eq!(*phase(&table), Phase::Returned);
    assert_eq!(
        table.bench.prompt().unwrap().lines[0],
        "0 parts are cut, 2 to go"
    );
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
fn the_cloth_is_carried_in_the_middle_of_cutting_and_cutting_goes_on() {
    let mut table = AtTable::new(coat());
    table.done(Act::BeginCutting);
    go_on(&mut table);
    let here = phase(&table).clone();
    let marks = [(40.0, 40.0), (440.0, 60.0), (60.0, 350.0)];
    let now = marks.map(|(x, y)| table.on("left", x, y) + Vector::new(30.0, 12.0));
    list(&mut table, Item::Moved);
    for at in now {
        table.press(at);
    }
    table.done(Act::Finish);
    assert_eq!(*phase(&table), here);
    let (x, y) = marks[1];
    assert!((table.on("left", x, y) - now[1]).length() < 0.01);
    // Slid back under the light of its marks, with nothing but a signal.
    list(&mut table, Item::Moved);
    assert!(table.bench.doing().cutting().is_none());
    go_on(&mut table);
    assert_eq!(*phase(&table), here);
}

#[test]
fn a_sheet_that_is_put_away_is_asked_for_when_its_turn_comes() {
    let mut bench = coat();
    bench.act(
        Act::Spread {
            panel: "lining".into(),
            spread: false,
        },
        0.0,
    );
    let mut table = AtTable::new(bench);
    table.done(Act::BeginCutting);
    let mut presses = 0;
    while !matches!(phase(&table), Phase::Stack { .. }) {
        go_on(&mut table);
        presses += 1;
        assert!(presses < 20);
    }
    let said = table.bench.prompt().unwrap().lines;
    assert!(said[0].contains("spread lining, single"), "{said:?}");
    // Its pieces are lit meanwhile, as they will be: it is cut apart in this light.
    let asked = table.bench.doing().cutting().unwrap().clone();
    let lit = |t: &AtTable| {
        let (ids, laid) = t.bench.laid();
        let here = ids.iter().zip(&laid).filter(|(_, l)| l.panel == "lining");
        here.map(|(id, l)| (*id, l.pose)).collect::<Vec<_>>()
    };
    let before = lit(&table);
    assert!(!before.is_empty() && before.len() == asked.order.len());
    assert!(said.last().unwrap().starts_with("back: undo: "), "{said:?}");
    let state = table.bench.state().clone();
    // One signal: it lies there, and is cut apart.
    go_on(&mut table);
    let spread = |t: &AtTable, name: &str| t.bench.state().panel(name).unwrap().spread;
    assert!(spread(&table, "lining") && !spread(&table, "left"));
    assert_eq!(*phase(&table), Phase::Piece { id: asked.order[0] });
    assert_eq!(lit(&table), before);
    let apart = &table.bench.state().cuts.apart;
    assert_eq!(
        apart.contains(&"lining".to_owned()),
        !asked.rough.is_empty()
    );
    // And one takes it back.
    back(&mut table);
    assert_eq!(table.bench.state(), &state);
    assert!(matches!(phase(&table), Phase::Stack { .. }));
}

#[test]
fn a_notch_for_next_time_goes_to_the_pattern_with_the_pointer_on_the_edge() {
    let mut table = pair();
    table.done(Act::BeginCutting);
    go_on(&mut table);
    while let Phase::Marks { .. } = phase(&table) {
        go_on(&mut table);
    }
    table.done(Act::Take(Item::LayBack));
    back(&mut table);
    table.refused(Act::Take(Item::NotchNextTime), "pointer");
    let pose = lies(&table)[0].pose;
    // Near the edge; the notch comes to be on it.
    let on_edge = Point::new(20.0, -30.0);
    table.act(Act::Point(pose.point(on_edge + Vector::new(0.0, 6.0))));
    // One signal, and the light says so.
    let said = |t: &AtTable| t.bench.prompt().unwrap().lines[2].clone();
    assert_eq!(said(&table), "go on: a notch here next time");
    assert!(go_on(&mut table).contains("from the next time on"));
    // It is there now: the pointer asks for no second one.
    assert_eq!(said(&table), "go on: back to cutting");
    table.refused(Act::Take(Item::NotchNextTime), "where it has no notch");
    let added = &table.bench.state().cuts.notches;
    assert_eq!(added.len(), 1);
    assert!((Point::new(added[0].x_mm, added[0].y_mm) - on_edge).length() < 1e-3);
    go_on(&mut table);
    assert_eq!(*phase(&table), Phase::Over);
}

fn lies(table: &AtTable) -> &[Lying] {
    &table.bench.doing().cutting().expect("cutting").lies
}

#[test]
fn a_part_that_is_not_cut_yet_can_be_laid_back_too() {
    let mut table = AtTable::new(coat());
    table.done(Act::BeginCutting);
    while !matches!(phase(&table), Phase::Piece { .. }) {
        go_on(&mut table);
    }
    let order = table.bench.doing().cutting().unwrap().order.clone();
    list(&mut table, Item::LayBack);
    for (k, id) in order.iter().enumerate() {
        let said = table.bench.prompt().unwrap().lines[0].clone();
        let placed = table.placed(*id);
        let named = said.starts_with(&format!("{} {}", placed.piece, placed.article));
        assert!(named && said.ends_with("not cut yet"), "{said}");
        if k + 1 < order.len() {
            go_on(&mut table);
        }
    }
    back(&mut table);
    let id = *order.last().unwrap();
    assert_eq!(
        *phase(&table),
        Phase::LaidBack {
            of: Of::Piece(id),
            over: false
        }
    );
    // Whole, as it will be cut, clear of all cloth.
    let lying = lies(&table)[0].clone();
    let placed = table.placed(id);
    assert_eq!((&lying.piece, lying.face), (&placed.piece, placed.face));
    for panel in ["left", "right", "lining"] {
        let on = ghostchalk::work::outline_on_table(table.bench.state().panel(panel).unwrap());
        assert!(
            !on.unwrap().contains(lying.pose.shift.to_point()),
            "{panel}"
        );
    }
    back(&mut table);
    assert!(lies(&table)[0].pose.mirrored != lying.pose.mirrored);
    // It is not spoilt: it is not cut.
    table.refused(Act::Take(Item::ThisSpoilt), "not now");
    go_on(&mut table);
    assert!(table.bench.state().cuts.parts.is_empty());
    assert_eq!(*phase(&table), Phase::Piece { id: order[0] });
}

#[test]
fn a_seam_is_walked_edge_by_edge_the_likeliest_first() {
    let mut table = AtTable::new(coat());
    table.done(Act::BeginCutting);
    table.done(Act::CutNext(TONGUE));
    if let Phase::Apart { .. } = phase(&table) {
        go_on(&mut table);
    }
    assert_eq!(*phase(&table), Phase::Piece { id: TONGUE });
    list(&mut table, Item::LayBack);
    back(&mut table);
    let Phase::LaidBack { of, .. } = *phase(&table) else {
        panic!("{:?}", phase(&table));
    };
    list(&mut table, Item::Walk);
    assert_eq!(
        *phase(&table),
        Phase::Walk {
            of,
            edge: 0,
            to: None,
            over: false
        }
    );
    // The tongue's own edges, by Pythagoras.
    let own = [(80.0, 0.0), (15.0, 60.0), (65.0, 20.0), (0.0, 40.0)];
    let own = own.map(|(x, y): (f64, f64)| x.hypot(y));
    for (k, mm) in own.iter().enumerate() {
        let said = table.bench.prompt().unwrap().lines[0].clone();
        assert_eq!(said, format!("tongue: edge {} of 4, {mm:.1} mm", k + 1));
        assert!(lies(&table).len() == 1 && lies(&table)[0].edge.len() == 2);
        go_on(&mut table);
    }
    // The first, of 80 mm: 68.0 of the tongue's own is nearest, then 61.8; of the
    // strap's 120 and 16 mm the longer ones.
    back(&mut table);
    let lines: Vec<String> = (0..7)
        .map(|_| {
            let line = table.bench.prompt().unwrap().lines[1].clone();
            go_on(&mut table);
            line
        })
        .collect();
    assert_eq!(lines[0], "tongue: edge 3, 68.0 mm: 12.0 mm shorter");
    assert_eq!(lines[1], "tongue: edge 2, 61.8 mm: 18.2 mm shorter");
    assert!(
        lines[2..5].iter().all(|l| l.contains("40.0 mm")),
        "{lines:?}"
    );
    assert!(
        lines[5..].iter().all(|l| l.contains("16.0 mm")),
        "{lines:?}"
    );
    // End to end in the light.
    let [first, second] = lies(&table) else {
        panic!("{:?}", lies(&table));
    };
    let end = first.pose.point(*first.edge.last().unwrap());
    let start = second.pose.point(second.edge[0]);
    assert!((end - start).length() < 1e-9);
    back(&mut table);
    assert_eq!(*phase(&table), Phase::LaidBack { of, over: false });
}

#[test]
fn two_plies_with_marks_are_spread_under_them_with_one_signal() {
    let mut table = marked_pair();
    let said = table.bench.prompt().unwrap().lines;
    assert_eq!(
        said[0],
        "spread right wrong side up and left on it, wrong sides together"
    );
    assert!(said[1].contains("in the crosses"), "{said:?}");
    go_on(&mut table);
    assert!(matches!(phase(&table), Phase::Piece { .. }));
    assert!(table.bench.prompt().unwrap().lines[0].contains("2 plies"));
}

#[test]
fn the_lower_ply_is_pointed_at_before_the_upper_one_covers_it() {
    let mut table = marked_pair();
    let spread = |t: &AtTable, name: &str| t.bench.state().panel(name).unwrap().spread;
    for (name, words) in [
        (
            "right",
            "spread right wrong side up and left on it, wrong sides together",
        ),
        ("left", "spread left on right, wrong sides together"),
    ] {
        let asked = Phase::Stack {
            panel: "left".into(),
        };
        assert_eq!(*phase(&table), asked);
        assert_eq!(table.bench.prompt().unwrap().lines[0], words);
        // It lies elsewhere than before.
        list(&mut table, Item::Moved);
        assert!(spread(&table, name) && spread(&table, "left") == (name == "left"));
        let marks = table.bench.marks_in_work();
        assert_eq!(marks.len(), 2);
        let pose = table.bench.state().panel(name).unwrap().on_table.pose();
        let by = Vector::new(14.0, -9.0);
        let now: Vec<_> = marks.iter().map(|(_, at)| pose.point(*at) + by).collect();
        for at in &now {
            table.press(*at);
        }
        table.done(Act::Finish);
        let pose = table.bench.state().panel(name).unwrap().on_table.pose();
        assert!((pose.point(marks[0].1) - now[0]).length() < 0.01);
    }
    assert!(matches!(phase(&table), Phase::Piece { .. }));
    assert!(table.bench.prompt().unwrap().lines[0].contains("2 plies"));
}

/// The pair in two plies, both marked, and both put away when cutting begins.
fn marked_pair() -> AtTable {
    let mut bench = pair().bench;
    for (name, corner) in [("left", 20.0), ("right", 30.0)] {
        bench.act(Act::Begin(Task::Marks(name.into())), 0.0);
        for (x, y) in [(corner, corner), (350.0, 250.0)] {
            let panel = bench.state().panel(name).unwrap();
            let at = panel.on_table.pose().point(Point::new(x, y));
            bench.act(Act::Point(at), 0.0);
            bench.act(Act::Press, 0.0);
        }
        bench.act(Act::Finish, 0.0);
    }
    for panel in ["right", "left"] {
        let put_away = Act::Spread {
            panel: panel.into(),
            spread: false,
        };
        bench.act(put_away, 0.0);
    }
    let mut table = AtTable::new(bench);
    table.done(Act::BeginCutting);
    table
}

#[test]
fn what_is_cut_moves_no_more_and_its_light_is_nobodys() {
    let mut table = AtTable::new(coat());
    table.done(Act::BeginCutting);
    while !matches!(phase(&table), Phase::Piece { .. }) {
        go_on(&mut table);
    }
    let Phase::Piece { id } = *phase(&table) else {
        unreachable!()
    };
    go_on(&mut table);
    table.act(Act::Leave);
    assert!(table.bench.doing().is_laying() && !table.bench.is_cutting());
    let at = table.at(id);
    assert_eq!(table.bench.piece_at(at), None);
    table.done(Act::Hold(id));
    for act in [Act::Turn(5.0), Act::TakeAway, Act::TurnOver, Act::Lock] {
        table.refused(act, "cut");
    }
}

#[test]
fn a_switch_is_taught_by_pressing_it_and_means_one_thing() {
    use ghostchalk::work::signals::Signal;
    let mut table = AtTable::new(coat());
    table.done(Act::Teach(Signal::GoOn));
    assert_eq!(
        table.done(Act::Taught("key F13".into())),
        "key F13 means go on"
    );
    table.done(Act::Teach(Signal::Back));
    table.done(Act::Taught("key F13".into()));
    let switches = &table.bench.state().cuts.switches;
    assert_eq!(switches.go_on, None);
    assert_eq!(switches.back.as_deref(), Some("key F13"));
}
