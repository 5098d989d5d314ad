//! While cutting: a part laid back in its light, cut or not yet; notches for next time; a seam
//! walked edge by edge.

use super::{back, go_on, list, pair, phase};
use crate::jobs::{AtTable, TONGUE, coat};
use ghostchalk::space::{Point, Vector};
use ghostchalk::work::Act;
use ghostchalk::work::cutting::{Item, Lying, Of, Phase};

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
    assert!(go_on(&mut table).contains("from the next opening of the job"));
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
    table.refused(Act::Take(Item::ThisSpoilt), "at this point of the work");
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
