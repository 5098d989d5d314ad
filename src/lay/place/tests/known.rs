//! Cloths whose best place can be told by thinking.

use super::*;
use crate::lay::wish::{Amount, NapWay, Partner, Stripes};
use crate::space::Rigid;
use std::sync::atomic::{AtomicU32, Ordering};

#[test]
fn a_piece_goes_where_the_fade_is_steepest_and_its_way_up() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    // Darker to the right, more and more, down to x = 250; then lighter again.
    let light = |p: Point<Cloth>| {
        let x = p.x.min(250.0) - (p.x - 250.0).max(0.0) * 0.3;
        80.0 - x * x / 1500.0
    };
    let shade = shade(&bed, light);
    let wishes = [towards(0.0)];
    let offers = all_of(&Ask {
        shade: Some(&shade),
        wishes: &wishes,
        ..ask(&piece, &bed)
    });
    assert_eq!(offers.len(), 5);
    // Lighter to the right of the piece: turned half round, its right lies to the left.
    let best = &offers[0].place;
    assert_eq!(best.turn_deg.abs(), 180.0);
    // The quarter farthest to the left on the cloth against the rest, by strips of 0.1 mm.
    let mean = |from: f64, to: f64| {
        let n = ((to - from) * 10.0) as usize;
        let strips = (0..n).map(|k| light(Point::new(from + (k as f64 + 0.5) / 10.0, 0.0)));
        strips.sum::<f64>() / n as f64
    };
    let by = |x: f64| mean(x - 30.0, x - 15.0) - mean(x - 15.0, x + 30.0);
    let steepest = (30..370).max_by(|a, b| by(f64::from(*a)).total_cmp(&by(f64::from(*b))));
    let steepest = f64::from(steepest.unwrap());
    assert!((best.x_mm - steepest).abs() <= 1.0, "{best:?} {steepest}");
    let Amount::Lighter { by: told } = offers[0].kept[0].amount else {
        panic!("{:?}", offers[0]);
    };
    assert!(
        (told - by(best.x_mm)).abs() < 0.1,
        "{told} {}",
        by(best.x_mm)
    );
    assert_eq!(
        offers[0].why(),
        format!("lighter towards the right by {told:.1}")
    );
    assert_eq!(offers[0].met(), (1, 1));
    // The best first, each another place.
    assert!(offers.windows(2).all(|w| w[0].score >= w[1].score));
    for (k, a) in offers.iter().enumerate() {
        for b in &offers[..k] {
            let (pa, pb) = (a.place.pose(), b.place.pose());
            let corners = piece.cut[0].iter();
            let far = corners.map(|&p| (pa.point(p) - pb.point(p)).length());
            assert!(far.fold(0.0, f64::max) >= 20.0, "{a:?} {b:?}");
        }
    }
}

#[test]
fn nap_decides_which_way_up() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(200.0, 150.0);
    let shade = shade(&bed, |p| p.x / 10.0);
    for (way, turn) in [(NapWay::With, 0.0), (NapWay::Against, 180.0)] {
        // Half the turns would be better for the fade.
        let nap = Wished::new("band", Wish::Nap { way });
        let wishes = [towards(180.0 - turn), nap];
        let offers = all_of(&Ask {
            shade: Some(&shade),
            wishes: &wishes,
            ..ask(&piece, &bed)
        });
        for offer in &offers {
            let off = (offer.place.turn_deg - turn + 540.0).rem_euclid(360.0) - 180.0;
            assert!(off.abs() <= GRAIN_TOLERANCE, "{way:?} {offer:?}");
            assert_eq!(offer.kept[1].amount, Amount::Napped);
        }
    }
}

#[test]
fn of_places_equally_good_the_nearest_on_the_grain() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    let mut ask = ask(&piece, &bed);
    ask.hand.at = Point::new(222.0, 97.0);
    let offers = all_of(&ask);
    let best = offers[0].place;
    assert_eq!((best.x_mm, best.y_mm, best.turn_deg), (222.0, 97.0, 0.0));
    assert_eq!(offers[0].why(), "there is room");
}

#[test]
fn a_stripe_is_centred_and_a_mirrored_place_is_found() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    let stripes = Stripes {
        period_mm: 27.3,
        runs_deg: 90.0,
        at_mm: [11.0, 0.0],
        same_both_ways: true,
    };
    let wishes = [Wished::new(
        "band",
        Wish::StripeCentred { at_mm: [10.0, 0.0] },
    )];
    let mut asked = Ask {
        wishes: &wishes,
        ..ask(&piece, &bed)
    };
    asked.known.stripes = Some(stripes);
    for offer in all_of(&asked) {
        let at = offer.place.pose().point(Point::new(10.0, 0.0));
        let Amount::OffCentre { mm } = offer.kept[0].amount else {
            panic!("{offer:?}");
        };
        assert!((stripes.off_centre(at).abs() - mm).abs() < 1e-9);
        assert!(mm <= 0.5, "{offer:?}");
    }
    let wishes = [Wished::new("band", Wish::MirroredPlace {})];
    let mut asked = Ask {
        wishes: &wishes,
        ..ask(&piece, &bed)
    };
    asked.known.mirrored = Some(Rigid::new(false, 0.01, Vector::new(300.4, 200.0)));
    let best = &all_of(&asked)[0].place;
    assert_eq!((best.x_mm, best.y_mm), (300.0, 200.0));
}

#[test]
fn a_partners_shade_is_found_again() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    let across = |p: Point<Cloth>| 60.0 + p.x / 20.0 + p.y / 35.0;
    let shade = shade(&bed, across);
    // The partner lies face down where the shade runs the same way for it: only places on
    // one line across the cloth are like it.
    let partner = Rigid::new(false, 0.0, Vector::new(60.0, 250.0));
    let wishes = [Wished::new("band", Wish::LikePartner {})];
    let mut asked = Ask {
        shade: Some(&shade),
        wishes: &wishes,
        ..ask(&piece, &bed)
    };
    asked.hand.at = Point::new(350.0, 50.0);
    asked.known.partner = Some(Partner {
        pose: partner,
        shade: &shade,
    });
    let offers = all_of(&asked);
    for offer in &offers[..2] {
        let middle = offer.place.pose().point(Point::zero());
        let off = across(middle) - across(Point::new(60.0, 250.0));
        assert!(off.abs() < 0.1, "{offer:?}");
        assert!(matches!(offer.kept[0].amount, Amount::Unlike { mean, .. } if mean < 0.15));
    }
}

#[test]
fn no_room_says_how_much_there_is() {
    let piece = oblong(60.0, 40.0);
    let mut narrow = bed(400.0, 90.0);
    // A piece across the middle, and the gap on both sides of it.
    narrow.taken.push(rectangle(0.0, 40.0, 400.0, 50.0));
    narrow.gap = 4.0;
    let none = |bed: &Bed| match find(&ask(&piece, bed), &|_| Ok(()), &|_| true).unwrap() {
        Found::None(why) => why.to_string(),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        none(&narrow),
        "no room: the largest free place is 35 × 400 mm, and band takes 40 × 60 (along the \
         warp × across)"
    );
    // With the warp along x the piece stands upright in cloth space.
    narrow.warp_deg = 0.0;
    assert_eq!(
        none(&narrow),
        "no room: the largest free place is 400 × 35 mm, and band takes 40 × 60 (along the \
         warp × across)"
    );
    let empty = Bed::default();
    assert_eq!(none(&empty), "no room: no good cloth is free for band");
    let full = bed(100.0, 100.0);
    let refuse = |_: &Place| Err("band lies on a bus".to_owned());
    match find(&ask(&piece, &full), &refuse, &|_| true).unwrap() {
        Found::None(why) => {
            assert_eq!(why.to_string(), "no place for band: band lies on a bus");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_piece_goes_in_to_a_hairs_breadth() {
    // As wide and high as the only hole, which lies off the millimetres.
    let piece = oblong(60.6, 40.6);
    let hole = rectangle(49.68, 19.68, 110.32, 60.32);
    let mut tight = bed(200.0, 100.0);
    tight.within.push(hole);
    let offers = all_of(&ask(&piece, &tight));
    // Either way up.
    assert_eq!(offers.len(), 2, "{offers:?}");
    for offer in &offers {
        assert_eq!((offer.place.x_mm, offer.place.y_mm), (80.0, 40.0));
    }
    // Half a millimetre shorter, it does not.
    tight.within[1] = rectangle(49.68, 19.68, 110.32, 59.8);
    let found = find(&ask(&piece, &tight), &|_| Ok(()), &|_| true).unwrap();
    assert!(matches!(found, Found::None(_)), "{found:?}");
}

#[test]
fn as_many_threads_as_there_are_find_the_same_and_a_stop_is_heard() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(300.0, 200.0);
    let shade = shade(&bed, |p| {
        60.0 + (p.x / 31.0).sin() * (p.y / 23.0).cos() * 9.0
    });
    let wishes = [towards(70.0), Wished::new("band", Wish::Even {})];
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| {
            all_of(&Ask {
                shade: Some(&shade),
                wishes: &wishes,
                ..ask(&piece, &bed)
            })
        })
    };
    assert_eq!(with(1), with(3));
    let heard = AtomicU32::new(0);
    let stop = |share: f64| {
        assert!((0.0..=1.0).contains(&share));
        heard.fetch_add(1, Ordering::Relaxed) < 3
    };
    let found = find(&ask(&piece, &bed), &|_| Ok(()), &stop).unwrap();
    assert_eq!(found, Found::Stopped);
}

#[test]
fn what_cant_be_asked_is_refused_in_a_sentence() {
    let bed = bed(100.0, 100.0);
    let flat = PatternPiece::named("band");
    let said = |ask: &Ask| find(ask, &|_| Ok(()), &|_| true).unwrap_err().to_string();
    assert!(said(&ask(&flat, &bed)).starts_with("the piece band has no area"));
    let piece = oblong(20.0, 20.0);
    let mut off = ask(&piece, &bed);
    off.hand.at.x = f64::NAN;
    assert!(said(&off).contains("not a usable number"));
    let edge = Some(Part::Edge("toe".to_owned()));
    let wishes = [Wished::new(
        "band",
        Wish::Fade {
            lighter: edge,
            darker: None,
        },
    )];
    let mut named = ask(&piece, &bed);
    named.wishes = &wishes;
    assert!(said(&named).contains("band has no edge \"toe\"; name one of its edges: 1, 2, 3, 4"));
}

#[test]
fn a_piece_thinner_than_a_cell_finds_its_place() {
    let piece = oblong(0.4, 150.0);
    let mut bed = bed(120.0, 200.0);
    // Only a slit of half a millimetre is left, of cells that are never wholly free.
    bed.clear_of.push(rectangle(0.0, 0.0, 60.2, 200.0));
    bed.clear_of.push(rectangle(60.8, 0.0, 120.0, 200.0));
    let mut ask = ask(&piece, &bed);
    ask.limits.step_mm = 0.5;
    let found = all_of(&ask);
    let region = crate::lay::inside_of(&piece).moved(&found[0].place.pose());
    assert!(bed.takes(&region), "{:?}", found[0]);
}

#[test]
fn a_stripe_wished_at_no_number_is_refused() {
    let piece = oblong(40.0, 60.0);
    let bed = bed(120.0, 200.0);
    let at_mm = [f64::NAN, 0.0];
    let wishes = [Wished::new("band", Wish::StripeCentred { at_mm })];
    let mut ask = Ask {
        wishes: &wishes,
        ..ask(&piece, &bed)
    };
    ask.known.stripes = Some(crate::cloth::Stripes {
        period_mm: 20.0,
        runs_deg: 90.0,
        at_mm: [0.0, 0.0],
        same_both_ways: false,
    });
    let wrong = find(&ask, &|_| Ok(()), &|_| true).unwrap_err().to_string();
    assert!(wrong.contains("not a number"), "{wrong}");
}

#[test]
fn what_is_larger_than_the_cloth_has_no_place_on_it() {
    for (cloth, size) in [
        ([100.0, 50.0], [250.0, 110.0]),
        ([100.0, 80.0], [100.0, 80.1]),
        ([30.0, 30.0], [250.0, 20.0]),
        ([3.0, 3.0], [250.0, 110.0]),
    ] {
        let (piece, bed) = (oblong(size[0], size[1]), bed(cloth[0], cloth[1]));
        let found = find(&ask(&piece, &bed), &|_| Ok(()), &|_| true).unwrap();
        assert!(
            matches!(found, Found::None(_)),
            "{size:?} on {cloth:?}: {found:?}"
        );
    }
    // Of its very size there is one, either way along the grain.
    let (piece, bed) = (oblong(100.0, 80.0), bed(100.0, 80.0));
    assert_eq!(all_of(&ask(&piece, &bed)).len(), 2);
}
