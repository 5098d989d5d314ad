//! What is said before cutting begins, once each time: pieces that lie where nothing can be cut
//! of them.

use super::{go_on, phase};
use crate::jobs::{AtTable, STRAP, TONGUE, TONGUE_IN_LINING, TONGUE_OF_2, coat};
use ghostchalk::lay::{Checked, Trouble, Wrong, grounds};
use ghostchalk::shape::Region;
use ghostchalk::space::Point;
use ghostchalk::work::cutting::Phase;
use ghostchalk::work::{Act, Id};

fn move_by(table: &mut AtTable, id: Id, by: [f64; 2]) {
    table.done(Act::Hold(id));
    let [right, away] = by;
    table.done(Act::Nudge { right, away });
}

/// What is said when cutting shall begin, once; then it begins.
fn said(table: &mut AtTable) -> String {
    let said = table.act(Act::BeginCutting).said.expect("a word");
    assert!(said.warning && !table.bench.is_cutting(), "{said:?}");
    table.done(Act::BeginCutting);
    assert!(table.bench.is_cutting());
    let again = "; Enter again to cut all the same";
    let words = said.words.strip_suffix(again);
    words.expect("how to go on").to_owned()
}

#[test]
fn a_piece_beside_its_cloth_is_said_each_time_cutting_begins() {
    let mut table = AtTable::new(coat());
    move_by(&mut table, TONGUE, [-60.0, 0.0]);
    for _ in 0..2 {
        let said = said(&mut table);
        assert!(
            said.starts_with("tongue 1") && said.ends_with("off the panel \"left\""),
            "{said}"
        );
        table.act(Act::Leave);
    }
    // Wholly beside all cloth, the whole piece is off: and a second one is counted.
    move_by(&mut table, TONGUE_IN_LINING, [400.0, 0.0]);
    let two = said(&mut table);
    assert!(two.ends_with(", and 1 more piece lies wrong"), "{two}");
    table.act(Act::Leave);
    table.done(Act::Undo);
    table.done(Act::Undo);
    table.done(Act::BeginCutting);
}

#[test]
fn pieces_on_each_other_and_beyond_the_light_are_said() {
    let mut table = AtTable::new(coat());
    let by = table.at(TONGUE_OF_2) - table.at(STRAP);
    move_by(&mut table, STRAP, [by.x, by.y]);
    let on = said(&mut table);
    assert!(
        on.contains("strap 1") && on.contains("tongue 2") && on.contains("lie on each other"),
        "{on}"
    );
    // What is cut has left its place: nothing lies on the other any more, but on a hole.
    table.done(Act::CutNext(STRAP));
    while *phase(&table) != (Phase::Piece { id: STRAP }) {
        go_on(&mut table);
    }
    go_on(&mut table);
    table.act(Act::Leave);
    let hole = said(&mut table);
    assert!(hole.contains("lies on a hole"), "{hole}");

    let mut table = AtTable::new(coat());
    let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 560.0), (0.0, 560.0)];
    let reach = Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec());
    table.bench.set_reach(reach);
    let dark = said(&mut table);
    assert!(dark.ends_with("beyond the projector's light"), "{dark}");
}

#[test]
fn what_is_too_near_or_off_the_grain_is_no_reason_to_wait() {
    let mut table = AtTable::new(coat());
    table.done(Act::Hold(TONGUE));
    table.done(Act::Square);
    // The strap lies at 250, 250 and is 16 mm wide, the tongue reaches up by 30 mm: 2 mm are
    // between them.
    let by = table.on("left", 250.0, 210.0) - table.at(TONGUE);
    move_by(&mut table, TONGUE, [by.x, by.y]);
    table.done(Act::Hold(TONGUE_OF_2));
    table.done(Act::Turn(20.0));
    {
        let (_, laid) = table.bench.laid();
        let grounds = grounds(&table.bench.state().panels).unwrap();
        let checked = Checked::new(&laid, &grounds, None, 3.0);
        let all = checked.all();
        let crowded = |w: &Wrong| matches!(w.what, Trouble::Crowds { .. });
        let askew = |w: &Wrong| matches!(w.what, Trouble::Grain { .. });
        assert!(all.iter().any(crowded) && all.iter().any(askew), "{all:?}");
    }
    table.done(Act::BeginCutting);
}

#[test]
fn what_lies_off_a_sheet_that_is_put_away_is_said_too() {
    let mut table = AtTable::new(coat());
    move_by(&mut table, TONGUE_IN_LINING, [-100.0, 0.0]);
    table.done(Act::Spread {
        panel: "lining".into(),
        spread: false,
    });
    let off = said(&mut table);
    assert!(off.ends_with("off the panel \"lining\""), "{off}");
}
