//! Pairs, on cloths whose best places can be told by thinking.

use super::*;
use crate::lay::wish::{Amount, NapWay};
use crate::shape::near;

/// As left and right: a quarter round its upper right corner is missing.
fn handed() -> PatternPiece {
    let mut piece = oblong(60.0, 40.0);
    piece.cut[0][2] = Point::new(10.0, 20.0);
    piece.cut[0].insert(2, Point::new(30.0, -5.0));
    piece
}

fn pairs(ask: &PairAsk) -> Vec<PairOffer> {
    match find_pair(ask, &|_| Ok(()), &|_| true).unwrap() {
        PairFound::Pairs(pairs) => pairs,
        other => panic!("{other:?}"),
    }
}

fn regions(piece: &PatternPiece, offer: &PairOffer) -> [Region<Cloth>; 2] {
    [&offer.first, &offer.second].map(|o| crate::lay::inside_of(piece).moved(&o.place.pose()))
}

#[test]
fn a_pair_lies_mirrored_where_both_have_room() {
    let piece = handed();
    let mut bed = bed(400.0, 300.0);
    // Nothing is good left of the fold above, nor right of it below.
    bed.clear_of.push(rectangle(0.0, 150.0, 190.0, 300.0));
    bed.taken.push(rectangle(210.0, 0.0, 400.0, 60.0));
    let shade = shade(&bed, |p| 50.0 + p.y / 10.0);
    let fold = Fold {
        at: Point::new(200.0, 0.0),
        runs_deg: 90.0,
    };
    let first = Ask {
        shade: Some(&shade),
        ..ask(&piece, &bed)
    };
    let found = pairs(&PairAsk {
        first: &first,
        together: Together::Mirrored(fold),
    });
    assert_eq!(found.len(), 5);
    for pair in &found {
        let [a, b] = [pair.first.place, pair.second.place];
        assert_eq!((a.face, b.face), (Face::Up, Face::Down));
        let image = a.pose().then(&fold.over());
        assert!((image.shift - b.pose().shift).length() < 1e-3);
        assert!((image.turn - b.pose().turn).sin().abs() < 1e-6);
        let [ra, rb] = regions(&piece, pair);
        assert!(bed.takes(&ra) && bed.takes(&rb), "{pair:?}");
        assert!(!near(&ra, &rb, bed.gap));
        // The fade runs along the fold: mirrored, both are alike.
        assert!(matches!(pair.alike, Amount::Unlike { mean, .. } if mean < 0.3));
    }
}

#[test]
fn a_fold_off_the_grain_has_no_pair_on_it() {
    let piece = handed();
    let bed = bed(400.0, 300.0);
    let first = ask(&piece, &bed);
    let at = Point::new(200.0, 150.0);
    let found = |runs_deg: f64| {
        let together = Together::Mirrored(Fold { at, runs_deg });
        let first = &first;
        find_pair(&PairAsk { first, together }, &|_| Ok(()), &|_| true).unwrap()
    };
    // Mirrored about a line 15° off the warp, the second lies 30° off.
    assert!(matches!(found(75.0), PairFound::None(_)));
    assert!(matches!(found(91.0), PairFound::Pairs(_)));
}

#[test]
fn each_finds_its_best_with_the_other_alike() {
    let piece = handed();
    let bed = bed(400.0, 300.0);
    // Lighter to the right in three steps; level parts on which a piece is even.
    let shade = shade(&bed, |p| 50.0 + 8.0 * (p.x / 130.0).floor());
    let wishes = [Wished::new("band", Wish::Even {})];
    let mut first = Ask {
        shade: Some(&shade),
        wishes: &wishes,
        ..ask(&piece, &bed)
    };
    // One is held at the left, the other at the right.
    first.hand.at = Point::new(40.0, 150.0);
    let mut second = first.clone();
    second.hand.face = Face::Down;
    second.hand.at = Point::new(360.0, 150.0);
    let found = pairs(&PairAsk {
        first: &first,
        together: Together::Alike {
            second: &second,
            same_panel: true,
        },
    });
    let best = &found[0];
    assert!(
        matches!(best.alike, Amount::Unlike { mean, .. } if mean < 0.2),
        "{best:?}"
    );
    for pair in &found {
        let [a, b] = regions(&piece, pair);
        assert!(
            bed.takes(&a) && bed.takes(&b) && !near(&a, &b, bed.gap),
            "{pair:?}"
        );
    }
    assert!(
        best.why()
            .contains("its partner even within 0.0; alike within 0.0"),
        "{}",
        best.why()
    );
}

#[test]
fn a_fold_across_a_nap_has_no_pair_on_it() {
    let piece = handed();
    let bed = bed(400.0, 300.0);
    let at = Point::new(200.0, 150.0);
    for way in [NapWay::With, NapWay::Against] {
        let wishes = [Wished::new("band", Wish::Nap { way })];
        let first = Ask {
            wishes: &wishes,
            ..ask(&piece, &bed)
        };
        let found = |runs_deg: f64| {
            let together = Together::Mirrored(Fold { at, runs_deg });
            let first = &first;
            find_pair(&PairAsk { first, together }, &|_| Ok(()), &|_| true).unwrap()
        };
        // Mirrored from end to end, the second would lie the other way of the nap.
        assert!(matches!(found(0.0), PairFound::None(_)));
        assert!(matches!(found(90.0), PairFound::Pairs(_)));
    }
}

#[test]
fn a_pair_on_shades_of_unlike_cells_is_compared_point_by_point() {
    let piece = handed();
    let bed = bed(300.0, 200.0);
    let steep = |p: Point<Cloth>| 20.0 + p.y / 4.0;
    let fine = shade(&bed, steep);
    let bounds: Bounds<Cloth> = bed.bounds().unwrap();
    let coarse = Raster::over(bounds, 4.0, |_, _, p| [steep(p) as f32, 0.0, 0.0]);
    let first = Ask {
        shade: Some(&fine),
        ..ask(&piece, &bed)
    };
    let mut second = Ask {
        shade: Some(&coarse),
        ..first.clone()
    };
    second.hand.face = Face::Down;
    let found = pairs(&PairAsk {
        first: &first,
        together: Together::Alike {
            second: &second,
            same_panel: false,
        },
    });
    // Both lie at one height; a cell of 4 mm is off by 0.25 on average.
    assert!(
        matches!(found[0].alike, Amount::Unlike { mean, .. } if mean < 0.5),
        "{:?}",
        found[0].alike
    );
}
