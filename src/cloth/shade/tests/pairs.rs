//! Partners, and the pieces of an article.

use super::cloths::{grey, lit, map_of, pose, shaded, sole};
use crate::cloth::shade::{
    CELL, Doubt, Ground, Half, MATCH, ShadeMap, Shading, Verdict, differences, one_shade, partners,
};
use crate::colour::Lab;
use crate::space::{Cloth, Point};

/// A cloth that fades to both sides alike, and a little along.
fn both_sides(p: Point<Cloth>) -> f64 {
    50.0 + 0.08 * p.x.abs() + 0.01 * p.y
}

#[test]
fn a_mirrored_ramp_matches_and_the_same_way_round_does_not() {
    let shading = shaded(both_sides, None);
    let one = Half {
        shading: &shading,
        pose: pose(false, 0.0, 90.0, 0.0),
    };
    let over = Half {
        shading: &shading,
        pose: pose(true, 0.0, -90.0, 0.0),
    };
    let found = partners(&one, &over, &sole()).unwrap();
    assert!(found.most < 0.01 && found.lighter.abs() < 1e-6, "{found:?}");
    assert_eq!(found.verdict, Verdict::Match);
    assert_eq!(found.seen, 1.0);
    let same = Half {
        shading: &shading,
        pose: pose(false, 0.0, -90.0, 0.0),
    };
    let found = partners(&one, &same, &sole()).unwrap();
    assert_eq!(found.verdict, Verdict::Apart);
    // 45 mm to either side of the middle differ by 2 · 45 · 0.08 in lightness.
    assert!(
        found.worst.at.x.abs() > 40.0 && found.worst.apart > 5.0,
        "{found:?}"
    );
    assert!((found.worst.one.l - found.worst.two.l).abs() > 6.0);
}

#[test]
fn a_step_between_two_cloths_is_what_ciede2000_says_of_it() {
    let (dark, light) = (shaded(|_| 50.0, None), shaded(|_| 53.0, None));
    let one = Half {
        shading: &dark,
        pose: pose(false, 10.0, 0.0, 0.0),
    };
    let two = Half {
        shading: &light,
        pose: pose(true, 70.0, 20.0, 10.0),
    };
    let found = partners(&one, &two, &sole()).unwrap();
    // L 50 and 53, grey: S_L of 51.5, by hand.
    let sl = 1.0 + 0.015 * 2.25 / 22.25f64.sqrt();
    assert!((found.mean - 3.0 / sl).abs() < 2e-3, "{found:?}");
    assert!((found.lighter - 3.0).abs() < 2e-3);
    assert_eq!(found.verdict, Verdict::Near);
    assert_eq!(
        found.to_string(),
        "near: 3, 95 % 3; the second is lighter by 3"
    );
    let each = differences(&one, &two, &sole());
    let mean = each.iter().map(|a| a.apart).sum::<f64>() / each.len() as f64;
    assert!((mean - found.mean).abs() < 1e-9);
}

#[test]
fn what_photos_can_t_tell_is_not_called_a_match() {
    let of = |l: f64, colour: f64| {
        let light = lit([200.0, 150.0], 1.0, |_| grey(l));
        Shading::new(map_of(&light, Doubt { colour, tilt: 0.0 }), None)
    };
    let verdict = |colour: f64| {
        let (a, b) = (of(50.0, colour), of(52.0, colour));
        let at = pose(false, 0.0, 0.0, 0.0);
        let found = partners(
            &Half {
                shading: &a,
                pose: at,
            },
            &Half {
                shading: &b,
                pose: at,
            },
            &sole(),
        );
        found.unwrap()
    };
    assert_eq!(verdict(0.3).verdict, Verdict::Near);
    let unsure = verdict(1.0);
    assert_eq!(unsure.verdict, Verdict::CantTell);
    assert!((unsure.error - 2f64.sqrt()).abs() < 1e-6);
    assert!(
        unsure
            .to_string()
            .starts_with("can't tell: 2, 95 % 2, give or take 2.8")
    );
}

/// Stripes that lie otherwise under one partner are no difference of shade.
#[test]
fn stripes_that_are_shifted_still_match() {
    let striped = |shift: f64| {
        shaded(
            move |p| {
                if (p.x + shift).rem_euclid(24.0) < 12.0 {
                    45.0
                } else {
                    75.0
                }
            },
            Some(24.0),
        )
    };
    let (a, b) = (striped(0.0), striped(9.0));
    let one = Half {
        shading: &a,
        pose: pose(false, 25.0, 0.0, 0.0),
    };
    let two = Half {
        shading: &b,
        pose: pose(false, 25.0, 0.0, 0.0),
    };
    let found = partners(&one, &two, &sole()).unwrap();
    assert!(found.most < 0.2, "{found:?}");
}

#[test]
fn partners_of_which_too_little_is_seen() {
    let whole = shaded(|_| 50.0, None);
    let light = lit([200.0, 150.0], 1.0, |_| grey(50.0));
    let torn = |from: f64| {
        let map = ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::NONE, |c, r| {
            if light.centre(c, r).y > from {
                Ground::Cloth
            } else {
                Ground::Other
            }
        });
        Shading::new(map.unwrap(), None)
    };
    let at = pose(false, 0.0, 0.0, 0.0);
    let one = Half {
        shading: &whole,
        pose: at,
    };
    let found = |from: f64| {
        let torn = torn(from);
        partners(
            &one,
            &Half {
                shading: &torn,
                pose: at,
            },
            &sole(),
        )
    };
    assert_eq!(found(-60.0).unwrap().verdict, Verdict::Match);
    let little = found(40.0).unwrap();
    assert_eq!(little.verdict, Verdict::CantTell);
    assert!(
        little.to_string().ends_with("% of the piece seen on both"),
        "{little}"
    );
    assert!(
        found(140.0)
            .unwrap_err()
            .to_string()
            .contains("not known at any place")
    );
}

#[test]
fn the_piece_that_is_off_the_article_s_shade_is_named() {
    let pieces = [
        ("left upper", Lab::new(60.0, 2.0, 18.0)),
        ("right upper", Lab::new(60.4, 2.1, 18.3)),
        ("left heel", Lab::new(66.0, 2.0, 21.0)),
        ("right heel", Lab::new(59.8, 1.8, 18.1)),
    ];
    let found = one_shade(&pieces);
    assert_eq!(found.shade, Some(pieces[0].1));
    assert_eq!(found.off.len(), 1);
    let off = &found.off[0];
    assert!(off.apart > MATCH && (off.step.l - 6.0).abs() < 1e-12);
    assert_eq!(
        found.to_string(),
        "left heel is off by 5.3: lighter by 6, yellower"
    );
    assert_eq!(one_shade(&pieces[..2]).to_string(), "one shade");
    assert_eq!(one_shade(&[]).shade, None);
}

#[test]
fn two_pieces_that_differ_have_no_shade_in_common() {
    let found = one_shade(&[
        ("a", Lab::new(40.0, 0.0, 0.0)),
        ("b", Lab::new(60.0, 0.0, 0.0)),
    ]);
    assert_eq!((found.shade, found.off.len()), (None, 1));
    assert!(
        found
            .to_string()
            .starts_with("no shade that most pieces keep to; b is off")
    );
}
