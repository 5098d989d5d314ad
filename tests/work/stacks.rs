//! Cloth in several layers: what one outline gives, and what is refused.

use crate::jobs::{AtTable, STRAP, TONGUE, TONGUE_OF_2, coat, coat_in_plies};
use ghostchalk::cloth::Stack;
use ghostchalk::lay::CutPart;
use ghostchalk::lay::Face::{self, Down, Up};
use ghostchalk::look::unlaid;
use ghostchalk::ticket::ledger;
use ghostchalk::work::cutting::Phase;
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Id, Stamp};

fn stack(layers: u32, turned: bool, wrong_side_up: bool) -> Act {
    Act::Stack {
        panel: "left".into(),
        stack: Stack {
            layers,
            turned,
            wrong_side_up,
        },
    }
}

fn gives(table: &AtTable, id: Id) -> Vec<Face> {
    let state = table.bench.state();
    let stock = table.bench.goods.stock();
    stock.gives(&state.placed[&id], &state.panels)
}

#[test]
fn one_outline_gives_what_the_layers_say() {
    let mut table = AtTable::new(coat());
    assert_eq!(gives(&table, TONGUE), [Up]);
    // Folded, wrong sides together: a left and a right.
    let said = table.done(stack(2, true, false));
    assert!(said.contains("2 plies, wrong sides together"), "{said}");
    assert_eq!(gives(&table, TONGUE), [Up, Down]);
    // Of a strap, its own mirror image, two of the same.
    assert_eq!(gives(&table, STRAP), [Up, Up]);
    // Face sides together: what is drawn from above is the other hand of the upper layer.
    table.done(stack(2, true, true));
    assert_eq!(gives(&table, TONGUE), [Down, Up]);
    table.done(stack(2, false, true));
    assert_eq!(gives(&table, TONGUE), [Down, Down]);
    // Light must land on the top of all.
    let (ids, laid) = table.bench.laid();
    let at = ids.iter().position(|id| *id == TONGUE).unwrap();
    assert_eq!(laid[at].height, 1.6);
    table.done(Act::Undo);
    assert_eq!(gives(&table, TONGUE), [Down, Up]);
}

#[test]
fn more_layers_than_the_order_takes_are_refused() {
    let mut table = AtTable::new(coat());
    // Two straps are ordered for article 1, and one lies there.
    table.refused(stack(3, false, false), "would be cut than are ordered");
    table.refused(stack(0, false, false), "1 to 50 plies");
    table.refused(stack(51, false, false), "1 to 50 plies");
    // Four tongues in pairs: two of one hand are right, in three layers alike one is too many.
    table.done(Act::Hold(STRAP));
    table.done(Act::TakeAway);
    table.done(stack(2, false, false));
    table.refused(stack(3, false, false), "tongue");
    table.done(stack(4, true, false));
    assert_eq!(gives(&table, TONGUE_OF_2), [Up, Down, Up, Down]);
}

#[test]
fn a_ply_beneath_lies_the_other_way_up() {
    let mut table = AtTable::new(coat_in_plies());
    assert_eq!(gives(&table, TONGUE), [Up, Down]);
    table.done(stack(1, false, true));
    assert_eq!(gives(&table, TONGUE), [Down, Up]);
    table.done(stack(1, false, false));
    // The lower one folded: three layers would give one hand too many for no part here.
    let below = Act::Stack {
        panel: "right".into(),
        stack: Stack {
            layers: 2,
            turned: true,
            wrong_side_up: false,
        },
    };
    table.refused(below, "would be cut than are ordered");
}

#[test]
fn cloth_without_a_face_gives_either_hand() {
    let mut bench = coat();
    bench.goods.cloths[0].no_face = true;
    let mut table = AtTable::new(bench);
    table.done(Act::Hold(STRAP));
    table.done(Act::TakeAway);
    // All four tongues of an article at one place, all the same way up.
    table.done(stack(4, false, false));
    let counts = table.bench.counts();
    let tongue = counts.iter().find(|c| c.part.piece == "tongue").unwrap();
    assert_eq!((tongue.laid.up, tongue.laid.down), (4, 0));
    assert!(!tongue.is_wrong_hand() && tongue.note().is_none());
}

#[test]
fn what_is_cut_at_once_is_in_the_ledger_layer_by_layer() {
    let mut table = AtTable::new(coat());
    table.done(stack(2, true, false));
    let stamp = Stamp {
        when: "2031-05-17T14:03:22Z".into(),
        profile: Some("table.toml".into()),
        errors: [(TONGUE, 0.4)].into(),
    };
    table.bench.set_stamp(stamp);
    table.done(Act::CutNext(TONGUE));
    table.done(Act::BeginCutting);
    for _ in 0..4 {
        if table.bench.state().cuts.parts.is_empty() {
            table.done(Act::Signal(Told::GoOn));
        }
    }
    let rows = ledger(&table.bench.goods.stock(), &table.bench.state().cuts.parts);
    let told: Vec<_> = rows
        .iter()
        .map(|r| (r.piece.as_str(), r.hand, r.plies, r.error_mm))
        .collect();
    assert_eq!(
        told,
        [
            ("tongue", "as drawn", 2, Some(0.4)),
            ("tongue", "mirrored", 2, Some(0.4))
        ]
    );
    assert_eq!(rows[0].when.as_deref(), Some("2031-05-17T14:03:22Z"));
    assert_eq!(rows[1].profile.as_deref(), Some("table.toml"));
    assert!(
        rows.iter()
            .all(|r| r.panel == "left" && r.trim_mm == Some(0.0))
    );
}

#[test]
fn two_lefts_are_told_before_the_first_cut() {
    let mut bench = coat();
    bench.goods.pieces[0].pair = true;
    bench.goods.articles[0].parts[0].pair = false;
    let mut table = AtTable::new(bench);
    let said = table.act(Act::BeginCutting).said.unwrap();
    assert!(
        said.warning
            && said.words.contains("cuts 4 of one hand")
            && said.words.contains("article 1"),
        "{}",
        said.words
    );
    assert!(!table.bench.is_cutting());
    // Who means it begins again.
    table.act(Act::BeginCutting);
    assert!(table.bench.is_cutting());
}

/// What is still to be laid, in canvas: piece, article, face, in order.
fn open(table: &AtTable) -> Vec<(String, String, Face)> {
    let state = table.bench.state();
    let (all, _) = unlaid(&table.bench.goods.stock(), state);
    let all = all.into_iter();
    all.filter(|u| u.cloth == "canvas")
        .map(|u| (u.piece, u.article, u.face))
        .collect()
}

#[test]
fn a_whole_lay_takes_as_many_places_as_give_what_is_ordered() {
    let only_left = || {
        let mut table = AtTable::new(coat());
        table.done(Act::Spread {
            panel: "right".into(),
            spread: false,
        });
        table
    };
    let one = |piece: &str, article: &str, face| (piece.to_owned(), article.to_owned(), face);
    // Folded: four tongues an article are two places, two straps one.
    let mut table = only_left();
    table.done(stack(2, true, false));
    let expected = [
        one("tongue", "1", Up),
        one("tongue", "2", Up),
        one("strap", "2", Up),
    ];
    assert_eq!(open(&table), expected);
    // Single, wrong side up: what lies as drawn from above is the other hand, so two lefts and a
    // right are two that lie over and one that does not.
    let mut table = only_left();
    table.done(stack(1, false, true));
    let faces: Vec<Face> = open(&table)
        .into_iter()
        .filter(|(piece, article, _)| piece == "tongue" && article == "1")
        .map(|(.., face)| face)
        .collect();
    assert_eq!(faces.iter().filter(|f| **f == Down).count(), 2, "{faces:?}");
    assert_eq!(faces.len(), 3);
    // Four alike: no place gives so many of one hand and no more.
    let mut table = only_left();
    for id in [TONGUE, STRAP, TONGUE_OF_2] {
        table.done(Act::Hold(id));
        table.done(Act::TakeAway);
    }
    table.done(stack(4, false, false));
    assert_eq!(open(&table), []);
    // Of cloth without a face either hand will do, and one is enough.
    table.bench.goods.cloths[0].no_face = true;
    let expected = [one("tongue", "1", Up), one("tongue", "2", Up)];
    assert_eq!(open(&table), expected);
}

#[test]
fn the_light_says_how_a_sheet_of_layers_is_spread() {
    let words = |layers, turned, wrong_side_up| {
        let mut bench = coat();
        // One flannel tongue an article: two layers give what both need.
        bench.goods.articles[0].parts[2].count = 4;
        bench.goods.cloths[1].no_face = true;
        let stack = Act::Stack {
            panel: "lining".into(),
            stack: Stack {
                layers,
                turned,
                wrong_side_up,
            },
        };
        let mut table = AtTable::new(bench);
        table.done(stack);
        table.done(Act::Spread {
            panel: "lining".into(),
            spread: false,
        });
        table.done(Act::BeginCutting);
        for _ in 0..20 {
            let asked = table.bench.doing().cutting().map(|c| c.phase.clone());
            if matches!(asked, Some(Phase::Stack { .. })) {
                return table.bench.prompt().unwrap().lines[0].clone();
            }
            table.done(Act::Signal(Told::GoOn));
        }
        panic!("the lining is never asked for");
    };
    assert_eq!(words(1, false, false), "spread lining, single");
    assert_eq!(
        words(1, false, true),
        "spread lining, single, wrong side up"
    );
    assert_eq!(
        words(2, true, true),
        "spread lining in 2 plies, face sides together"
    );
    assert_eq!(
        words(3, false, false),
        "spread lining in 3 plies, all the same way up"
    );
}

#[test]
fn on_cloth_that_lies_wrong_side_up_a_piece_says_so_and_its_partner_is_the_other_hand() {
    let mut bench = coat();
    bench.goods.articles[0].parts[0].count = 2;
    let mut table = AtTable::new(bench);
    let note = |t: &AtTable| {
        let (ids, laid) = t.bench.laid();
        let at = ids.iter().position(|id| *id == TONGUE).unwrap();
        laid[at].cut_note.clone()
    };
    assert_eq!(note(&table), "cut 2, a pair");
    table.done(stack(1, false, true));
    assert_eq!(note(&table), "cut 2, a pair · on the wrong side");
    // As it is drawn, it comes off mirrored: the partner of a part as drawn.
    let part = |face| CutPart {
        id: 90,
        placed: 90,
        piece: "tongue".into(),
        article: "1".into(),
        cloth: "canvas".into(),
        panel: "left".into(),
        face,
        plies: 1,
        clipped_late: Vec::new(),
        marking: Default::default(),
        spoilt: false,
        by: None,
    };
    assert_eq!(table.bench.partner_of(&part(Up)), Some(TONGUE));
    assert_eq!(table.bench.partner_of(&part(Down)), None);
    table.done(stack(1, false, false));
    assert_eq!(table.bench.partner_of(&part(Up)), None);
    assert_eq!(table.bench.partner_of(&part(Down)), Some(TONGUE));
}
