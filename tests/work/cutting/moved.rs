//! While cutting: the cloth has moved, was put away, or may have moved while nobody looked.

use super::{back, go_on, list, pair, phase};
use crate::jobs::{AtTable, TONGUE, coat, demo, lit};
use ghostchalk::space::Vector;
use ghostchalk::work::cutting::{Item, Phase};
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Bench, History};

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
fn what_is_cut_says_which_hand_is_left() {
    let mut bench = coat();
    bench.goods.articles[0].parts[0].count = 2;
    let mut table = AtTable::new(bench);
    table.done(Act::Hold(TONGUE));
    table.done(Act::Partner);
    let other = table.bench.held().unwrap();
    // Neither alone, but both at once, and back again.
    for _ in 0..2 {
        table.done(Act::TurnOver);
        assert_eq!(table.placed(TONGUE).face, table.placed(other).face.other());
    }
    table.done(Act::BeginCutting);
    table.done(Act::CutNext(TONGUE));
    for _ in 0..4 {
        if table.bench.state().cuts.parts.is_empty() {
            go_on(&mut table);
        }
    }
    assert!(table.bench.state().cuts.has(TONGUE));
    table.act(Act::Leave);
    table.done(Act::Hold(other));
    table.refused(Act::TurnOver, "this is the hand that is wanted");
}
