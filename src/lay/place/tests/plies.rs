//! Cloth in two plies: one place is cut through both, and both are weighed.

use super::*;
use crate::lay::wish::{Amount, Beneath, Stripes};
use crate::raster::Raster;

fn known(shade: &Raster<[f32; 3], Cloth>) -> Known<'_> {
    Known {
        beneath: Some(Beneath {
            shade,
            stripes: None,
        }),
        ..Known::default()
    }
}

#[test]
fn what_is_wished_is_wished_of_both_plies() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    // The upper ply is as light everywhere; the lower one gets lighter from x = 250 to 310 only.
    let upper = shade(&bed, |_| 60.0);
    let lower = shade(&bed, |p| 50.0 + (p.x - 250.0).clamp(0.0, 60.0) / 3.0);
    let wishes = [towards(0.0)];
    let asked = Ask {
        shade: Some(&upper),
        wishes: &wishes,
        known: known(&lower),
        ..ask(&piece, &bed)
    };
    let best = &all_of(&asked)[0];
    // The middles of the quarter to the right and of the rest are 30 mm apart, all on the slope.
    assert!((best.place.x_mm - 280.0).abs() < 8.0, "{best:?}");
    let below = best.below.as_ref().unwrap();
    let Amount::Lighter { by } = below.kept[0].amount else {
        panic!("{below:?}");
    };
    assert!((by - 30.0 / 3.0).abs() < 0.5, "{by}");
    assert_eq!(best.met(), (1, 2));
    let why = best.why();
    let lower =
        format!("; the ply beneath lighter towards the right by {by:.1}; both plies: alike");
    assert!(why.contains(&lower), "{why}");
    // The same cloth alone has no such place.
    let alone = Ask {
        known: Known::default(),
        ..asked
    };
    assert!(all_of(&alone)[0].below.is_none());
}

#[test]
fn the_lower_ply_is_the_partner_that_it_shall_be_like() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    // Both fade, one to the right and one to the left: alike about x = 120 alone.
    let upper = shade(&bed, |p| 50.0 + p.x / 10.0);
    let lower = shade(&bed, |p| 50.0 + (240.0 - p.x) / 10.0);
    let wishes = [Wished::new("band", Wish::LikePartner {})];
    let asked = Ask {
        shade: Some(&upper),
        wishes: &wishes,
        known: known(&lower),
        ..ask(&piece, &bed)
    };
    let best = &all_of(&asked)[0];
    assert!((best.place.x_mm - 120.0).abs() < 3.0, "{best:?}");
    // At a place d from the line both differ by d/5; that is 3 on the mean of 60 mm.
    let Amount::Unlike { mean, .. } = best.below.as_ref().unwrap().alike else {
        panic!("{best:?}");
    };
    assert!((mean - 3.0).abs() < 0.3, "{mean}");
    assert!(!best.why().contains("not laid"), "{}", best.why());
}

#[test]
fn stripes_are_centred_by_each_ply_s_own() {
    let piece = oblong(60.0, 40.0);
    let bed = bed(400.0, 300.0);
    let even = shade(&bed, |_| 60.0);
    let stripes = |x: f64| Stripes {
        period_mm: 100.0,
        runs_deg: 90.0,
        at_mm: [x, 0.0],
        same_both_ways: true,
    };
    let centred = |mm: f64| Wished {
        weight: mm,
        ..Wished::new("band", Wish::StripeCentred { at_mm: [0.0, 0.0] })
    };
    let mut known = known(&even);
    known.stripes = Some(stripes(50.0));
    known.beneath.as_mut().unwrap().stripes = Some(stripes(62.0));
    let wishes = [centred(1.0)];
    let asked = Ask {
        shade: Some(&even),
        wishes: &wishes,
        known,
        ..ask(&piece, &bed)
    };
    for offer in all_of(&asked) {
        let off = |x: f64| {
            let repeat = (offer.place.x_mm - x) / 100.0;
            100.0 * (repeat - repeat.round()).abs()
        };
        // Anywhere between both is 12 mm off in all.
        assert!((off(50.0) + off(62.0) - 12.0).abs() < 1e-3, "{offer:?}");
        let Amount::OffCentre { mm } = offer.below.as_ref().unwrap().kept[0].amount else {
            panic!("{offer:?}");
        };
        assert!((mm - off(62.0)).abs() < 1e-3, "{mm}");
    }
}
