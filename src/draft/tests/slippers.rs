//! The demo's draft, at every size.

use super::*;
use crate::shape::signed_area;

/// Every size, with slender and full insteps.
fn each(mut with: impl FnMut(f64, f64, Drawn)) {
    let draft = parse(SLIPPERS).unwrap_or_else(|f| panic!("{f}"));
    for step in 0..=14 {
        let foot = 230.0 + 5.0 * f64::from(step);
        for share in [0.94, 1.0, 1.06] {
            let asked = Measures::default()
                .with("foot length", foot)
                .with("instep girth", foot * share);
            let drawn = draft.draw(&asked).unwrap_or_else(|f| panic!("{foot}: {f}"));
            with(foot, foot * share, drawn);
        }
    }
}

#[test]
fn all_seams_walk_at_every_size() {
    each(|foot, girth, drawn| {
        assert_eq!(drawn.sewing.seams.len(), 8);
        for s in &drawn.sewing.seams {
            // Here darts are open: 4 mm on either side of the toe.
            let dart = if s.name.starts_with("toe") { 4.0 } else { 0.0 };
            let miss = run(&drawn, &s.one) - run(&drawn, &s.other) - s.ease - dart;
            assert!(miss.abs() < 0.05, "{foot} {girth}: {} by {miss}", s.name);
        }
        let ring = &drawn.sewing.rings[0];
        assert!((run(&drawn, &ring.edges) - ring.girth).abs() < 0.1);
    });
}

/// Mondopoint is the foot's length in mm (ISO 9407); a Paris point is 2/3 cm of the last,
/// which is longer than the foot by its allowance (ISO/TS 19407). A slipper's sole is as
/// long as its last.
#[test]
fn the_sole_grows_as_sizes_do() {
    each(|foot, _, drawn| {
        let net = &piece(&drawn, "sole").piece.net[0].points;
        let size = crate::shape::bounds(net.iter().copied()).unwrap();
        let long = size.max.y - size.min.y;
        let toe_room = long - foot;
        assert!((0.04..0.06).contains(&(toe_room / foot)), "{foot}: {long}");
        let paris = (foot + toe_room) * 3.0 / 20.0;
        // 250 mm and 12 mm of room are size 39: (250 + 12)·3/20 = 39.3.
        if foot == 250.0 {
            assert_eq!(paris.round(), 39.0);
        }
    });
}

#[test]
fn net_lines_are_rings_and_what_lies_on_them_is_there() {
    each(|foot, _, drawn| {
        for net in &drawn.pieces {
            let name = &net.piece.name;
            let ring = &net.piece.net[0].points;
            assert!(signed_area(ring) > 1000.0, "{foot} {name}");
            assert!(ring.windows(2).all(|w| w[0] != w[1]) && ring.first() != ring.last());
            assert_eq!(net.makes.len(), net.piece.edges.len());
            assert!(
                net.piece
                    .edges
                    .iter()
                    .all(|e| ring.contains(&e.at) && e.allowance.is_some())
            );
            let mut closed = ring.clone();
            closed.push(ring[0]);
            for n in &net.piece.notches {
                let off = crate::shape::nearest(&closed, n.at).unwrap().1;
                assert!(off < 0.011, "{foot} {name}: {off}");
                // Inward is into the piece.
                let region = crate::shape::Region::ring(ring.clone());
                let corner = net
                    .piece
                    .edges
                    .iter()
                    .any(|e| (e.at - n.at).length() < 0.02);
                let inside = region.contains(n.at + n.inward * 0.5);
                assert!(inside || corner, "{foot} {name}: {n:?}");
            }
            assert!(net.piece.cut.is_empty() && net.piece.folds.is_empty());
        }
        assert_eq!(piece(&drawn, "upper").piece.darts.len(), 2);
        assert_eq!(piece(&drawn, "heel band").piece.notches.len(), 4);
        assert_eq!(piece(&drawn, "sole").piece.notches.len(), 8);
    });
}

/// Notches of two edges that are sewn together lie at the same length, but for dart and
/// ease, which lie between toe and tread.
#[test]
fn notches_meet() {
    each(|foot, _, drawn| {
        let along = |p: &str, e: &str, back: bool| -> Vec<f64> {
            let piece = &piece(&drawn, p).piece;
            let all = edges(piece);
            let edge = all.iter().find(|x| x.name == e).unwrap();
            let on = piece.notches.iter().filter_map(|n| {
                let (s, off) = crate::shape::nearest(&edge.line, n.at)?;
                (off < 0.02).then_some(if back { edge.length - s } else { s })
            });
            let mut on: Vec<f64> = on.collect();
            on.sort_by(f64::total_cmp);
            on
        };
        // The tread, from the toe: 7 mm more on the upper.
        let far = |v: &[f64]| v.iter().copied().find(|s| *s > 10.0).unwrap();
        for (upper, sole, back) in [
            ("lower inner", "front inner", false),
            ("lower outer", "front outer", true),
        ] {
            let (upper, sole) = (along("upper", upper, back), along("sole", sole, !back));
            let more = far(&upper) - far(&sole);
            assert!((more - 7.0).abs() < 0.05, "{foot}: {upper:?} {sole:?}");
        }
        let quarter = [
            along("heel band", "low outer", false),
            along("sole", "heel outer", true),
        ];
        assert!(
            (far(&quarter[0]) - far(&quarter[1])).abs() < 0.05,
            "{foot}: {quarter:?}"
        );
    });
}
