//! Places that are offered: light first, work only when one is taken.

use crate::jobs::{AtTable, STRAP, TONGUE, coat};
use ghostchalk::lay::Placement;
use ghostchalk::lay::wish::{Part, Wish, Wished};
use ghostchalk::look::{Shades, sought};
use ghostchalk::raster::Raster;
use ghostchalk::space::{Bounds, Cloth, Point};
use ghostchalk::work::{Act, Doing, Finding, Offered, Seek, Spot, State};

/// The coat with the tongue of article 1 in hand and places sought for it.
fn seeking(seek: Seek) -> (AtTable, u64) {
    let mut table = AtTable::new(coat());
    table.act(Act::Hold(TONGUE));
    table.act(Act::Seek(seek));
    let (number, _) = table.bench.sought().unwrap();
    (table, number)
}

fn offer(table: &AtTable, x_mm: f64) -> Offered {
    let p = table.bench.state().placed[&TONGUE].clone();
    Offered {
        placed: vec![Placement { x_mm, ..p }],
        why: format!("it lies at {x_mm}"),
    }
}

fn lit_at(table: &AtTable) -> f64 {
    let (ids, laid) = table.bench.laid();
    let k = ids.iter().position(|id| *id == TONGUE).unwrap();
    let panel = table.bench.state().panel("left").unwrap();
    let back = panel.on_table.pose().inverse();
    (back.point(laid[k].pose.shift.to_point()).x * 1e6).round() / 1e6
}

#[test]
fn what_is_offered_is_light_and_no_work() {
    let (mut table, number) = seeking(Seek::Hand);
    let before: State = table.bench.state().clone();
    let found = Box::new(Finding::Offers(vec![
        offer(&table, 300.0),
        offer(&table, 320.0),
    ]));
    table.act(Act::Found { number, found });
    assert_eq!(lit_at(&table), 300.0);
    let asks = table.bench.doing().asks(&[]);
    assert!(
        asks.contains("place 1 of 2 for tongue 1: it lies at 300"),
        "{asks}"
    );
    table.act(Act::Next);
    assert_eq!(lit_at(&table), 320.0);
    table.act(Act::Next);
    table.act(Act::Previous);
    assert_eq!(lit_at(&table), 320.0);
    // It is not moved while it is looked at.
    let said = table
        .act(Act::Nudge {
            right: 5.0,
            away: 0.0,
        })
        .said
        .unwrap();
    assert!(
        said.warning && said.words.contains("leave it"),
        "{}",
        said.words
    );
    table.act(Act::Leave);
    assert_eq!(lit_at(&table), 100.0);
    assert_eq!(*table.bench.state(), before);
    assert!(table.bench.take_records().is_empty());
    assert_eq!(table.bench.held(), Some(TONGUE));
}

#[test]
fn a_place_that_is_taken_is_one_step() {
    let (mut table, number) = seeking(Seek::Hand);
    let before = table.bench.state().clone();
    let found = Box::new(Finding::Offers(vec![offer(&table, 300.0)]));
    table.act(Act::Found { number, found });
    table.act(Act::Finish);
    assert!(table.bench.doing().is_laying());
    assert_eq!(table.bench.state().placed[&TONGUE].x_mm, 300.0);
    assert_eq!(table.bench.take_records().len(), 1);
    table.act(Act::Undo);
    assert_eq!(table.bench.state().placed, before.placed);
}

#[test]
fn what_is_found_late_is_nothing() {
    let (mut table, number) = seeking(Seek::Hand);
    let found = || Box::new(Finding::Offers(vec![offer(&AtTable::new(coat()), 300.0)]));
    table.act(Act::Leave);
    table.act(Act::Found {
        number,
        found: found(),
    });
    assert!(table.bench.doing().is_laying());
    table.act(Act::Seek(Seek::Hand));
    // The lay has changed since.
    table.act(Act::Undo);
    table.act(Act::Leave);
    table.act(Act::Nudge {
        right: 5.0,
        away: 0.0,
    });
    table.act(Act::Seek(Seek::Hand));
    let (number, _) = table.bench.sought().unwrap();
    table.act(Act::Found {
        number,
        found: found(),
    });
    assert!(matches!(table.bench.doing(), Doing::Offering(_)));
    table.act(Act::Undo);
    assert!(
        table.bench.doing().is_laying(),
        "it was found for another lay"
    );
    assert_eq!(lit_at(&table), 100.0);
}

#[test]
fn what_may_not_move_is_not_sought_for() {
    let mut table = AtTable::new(coat());
    assert!(table.act(Act::Seek(Seek::Hand)).said.unwrap().warning);
    table.act(Act::Hold(STRAP));
    assert!(table.act(Act::Seek(Seek::Pair)).said.unwrap().warning);
    table.act(Act::Lock);
    assert!(table.act(Act::Seek(Seek::Hand)).said.unwrap().warning);
    assert!(table.bench.doing().is_laying());
}

/// Lighter to the right, on both halves of the coat.
fn shades(state: &State) -> Shades {
    let of = |name: &str| {
        let corners = state.panel(name).unwrap().outline().unwrap();
        let bounds: Bounds<Cloth> = corners.bounds().unwrap();
        Raster::over(bounds, 2.0, |_, _, p: Point<Cloth>| {
            [40.0 + p.x as f32 / 10.0, 0.0, 0.0]
        })
    };
    ["left", "right"].map(|n| (n.to_owned(), of(n))).into()
}

#[test]
fn a_search_offers_what_is_wished_and_fits() {
    for seek in [Seek::Hand, Seek::Pair, Seek::Open] {
        let mut table = AtTable::new(coat());
        let wish = Wish::Fade {
            lighter: Some(Part::TowardsDeg(0.0)),
            darker: None,
        };
        let to = Some(Box::new(Wished::new("tongue", wish)));
        table.act(Act::Wish { at: 0, to });
        table.act(Act::Hold(TONGUE));
        table.act(Act::Seek(seek));
        let query = table.bench.query().unwrap();
        let shades = shades(&query.state);
        let mut calls = 0;
        let found = sought(&query, &shades, &mut |_, _| {
            calls += 1;
            seek != Seek::Open || calls < 40
        });
        let found = found.unwrap();
        let Finding::Offers(offers) = &found else {
            panic!("{seek:?}: {found:?}");
        };
        let count = match seek {
            Seek::Hand => 1,
            Seek::Pair => 2,
            Seek::Open => 12,
        };
        assert!(!offers.is_empty(), "{seek:?}");
        assert_eq!(offers[0].placed.len(), count, "{seek:?}: {}", offers[0].why);
        if seek == Seek::Hand {
            assert!(
                offers[0].why.contains("lighter towards the right"),
                "{}",
                offers[0].why
            );
        }
        let number = query.number;
        table.act(Act::Found {
            number,
            found: Box::new(found.clone()),
        });
        table.act(Act::Finish);
        assert!(table.bench.doing().is_laying());
        for p in &offers[0].placed {
            let lies = &table.bench.state().placed[&p.id.unwrap()];
            assert_eq!(Spot::of(lies), Spot::of(p));
        }
        let wrong = ghostchalk::session::panel::wrongs(&table.bench, None);
        // The coat's own pieces lie as they were given, the first off its grain.
        let moved: Vec<u32> = offers[0].placed.iter().filter_map(|p| p.id).collect();
        let wrong: Vec<_> = wrong.iter().filter(|w| moved.contains(&w.id)).collect();
        assert!(wrong.is_empty(), "{seek:?}: {:?}", wrong);
    }
}

#[test]
fn a_whole_lay_weighs_what_is_wished() {
    let mut table = AtTable::new(coat());
    let to = Some(Box::new(Wished::new("tongue", Wish::Even {})));
    table.act(Act::Wish { at: 0, to });
    table.act(Act::Seek(Seek::Open));
    let query = table.bench.query().unwrap();
    let mut shades = shades(&query.state);
    // The right half is of one shade, the left one fades.
    for v in shades.get_mut("right").unwrap().values_mut() {
        *v = [60.0, 0.0, 0.0];
    }
    let mut calls = 0;
    let found = sought(&query, &shades, &mut |_, _| {
        calls += 1;
        calls < 60
    });
    let Finding::Offers(offers) = found.unwrap() else {
        panic!("nothing found");
    };
    let tongues = offers[0].placed.iter().filter(|p| p.piece == "tongue");
    let canvas: Vec<&str> = tongues
        .map(|p| p.panel.as_str())
        .filter(|p| *p != "lining")
        .collect();
    assert!(canvas.len() >= 5, "{canvas:?}");
    assert!(canvas.iter().all(|p| *p == "right"), "{canvas:?}");
}
