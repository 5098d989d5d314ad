//! Fades in closed form.

use super::cloths::{grey, lit, map_of, pose, shaded, sole};
use crate::cloth::shade::{CELL, Doubt, Ends, Fading, Ground, ShadeMap, Shading, WINDOW};
use crate::shape::Region;
use crate::space::{Point, Vector};

/// 6 in 100 mm towards 30° of the cloth.
fn ramp(p: Point<crate::space::Cloth>) -> f64 {
    let (sin, cos) = 30f64.to_radians().sin_cos();
    55.0 + 0.06 * (cos * p.x + sin * p.y)
}

#[test]
fn a_ramp_is_found_with_its_direction_and_strength() {
    let shading = shaded(ramp, None);
    // The cloth's 30° is 90° on a piece turned by −60°.
    let pose = pose(false, -60.0, 10.0, -5.0);
    let under = shading.under(&sole().moved(&pose), &pose).unwrap();
    let slope = under.slope.unwrap();
    assert_eq!(under.fading, Fading::Fades);
    assert!((slope.per_100 - 6.0).abs() < 0.005, "{}", slope.per_100);
    let along = Vector::new(30f64.to_radians().cos(), 30f64.to_radians().sin());
    assert!(
        (slope.towards - along).length() < 1e-3,
        "{:?}",
        slope.towards
    );
    assert!((slope.in_piece - Vector::new(0.0, 1.0)).length() < 1e-3);
    // The piece is 250 mm that way.
    assert!((slope.change - 15.0).abs() < 0.3, "{}", slope.change);
    assert!(slope.error < 0.02);
    // The mean of light, by another way.
    let net = sole().moved(&pose);
    let (mut sum, mut count) = (0.0, 0.0);
    for (x, y) in (-200..200).flat_map(|x| (-150..150).map(move |y| (x, y))) {
        let p = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
        if net.contains(p) {
            sum += f64::from(grey(ramp(p))[1]);
            count += 1.0;
        }
    }
    let mean = 116.0 * f64::cbrt(sum / count) - 16.0;
    assert!((under.mean.l - mean).abs() < 0.02 && under.mean.a.abs() < 0.01);
    assert!((under.seen - 1.0).abs() < 0.01);
    let ends = Ends {
        up: "the toe",
        ..Ends::default()
    };
    assert_eq!(slope.says(&ends), "lighter towards the toe by 6 in 100 mm");
    let text = under.says(&ends);
    assert!(
        text.contains(
            "; lighter towards the toe by 6 in 100 mm; without stripes and weave: darkest place"
        ),
        "{text}"
    );
}

#[test]
fn lightest_and_darkest_are_at_the_ends_of_a_ramp() {
    let shading = shaded(ramp, None);
    let pose = pose(true, 120.0, -10.0, 0.0);
    let under = shading.under(&sole().moved(&pose), &pose).unwrap();
    for (place, sign) in [
        (under.lightest.unwrap(), 1.0),
        (under.darkest.unwrap(), -1.0),
    ] {
        assert!((place.colour.l - ramp(place.at)).abs() < 0.02);
        assert!((pose.point(place.in_piece) - place.at).length() < 1e-9);
        // Lighter towards 30°, which the piece, turned over, has at its bottom.
        assert!(
            (place.in_piece.y + sign * 125.0).abs() < 10.0,
            "{:?}",
            place.in_piece
        );
    }
}

#[test]
fn uniform_cloth_has_no_fade_and_no_spread() {
    for doubt in [Doubt::NONE, Doubt::default()] {
        let light = lit([200.0, 150.0], 1.0, |_| grey(62.0));
        let shading = Shading::new(map_of(&light, doubt), None);
        let pose = pose(false, 17.0, 0.0, 0.0);
        let under = shading.under(&sole().moved(&pose), &pose).unwrap();
        assert!((under.mean.l - 62.0).abs() < 1e-3);
        assert!(under.spread.sd < 1e-4 && under.shade.unwrap().sd < 1e-4);
        assert_eq!(under.fading, Fading::Even);
        assert!(under.slope.unwrap().per_100 < 1e-3);
        let text = under.to_string();
        assert_eq!(
            text,
            "lightness 62 of 100, most of it 62 to 62; no fade; without stripes and weave: darkest place 62, lightest 62"
        );
    }
}

/// A photo whose own tilt may be as large as the fade can't tell of it.
#[test]
fn a_fade_within_the_photo_s_doubt_is_not_told() {
    let light = lit([200.0, 150.0], 1.0, |p| grey(55.0 + 0.02 * p.x));
    let fading = |tilt: f64| {
        let doubt = Doubt { colour: 0.0, tilt };
        let shading = Shading::new(map_of(&light, doubt), None);
        let pose = pose(false, 90.0, 0.0, 0.0);
        let under = shading.under(&sole().moved(&pose), &pose).unwrap();
        (under.fading, under.to_string())
    };
    assert_eq!(fading(0.0).0, Fading::Fades);
    assert_eq!(fading(0.5).0, Fading::Fades);
    let (verdict, text) = fading(1.0);
    assert_eq!(verdict, Fading::CantTell);
    assert!(
        text.contains("can't tell whether it fades: up to 11 from end to end"),
        "{text}"
    );
}

/// Where the cloth ends the low pass is lopsided: its values are taken where they stand for.
#[test]
fn a_ramp_is_the_same_to_the_edge_of_the_cloth() {
    // A strip 36 mm wide, and a part 22 mm wide along it: no place is far from an edge.
    let light = lit([18.0, 150.0], 1.0, |p| grey(55.0 + 0.06 * p.x));
    let shading = Shading::new(map_of(&light, Doubt::NONE), None);
    let pose = pose(false, 0.0, 0.0, 0.0);
    let corners = [
        (-11.0, -100.0),
        (11.0, -100.0),
        (11.0, 100.0),
        (-11.0, 100.0),
    ];
    let strip = Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec());
    let under = shading.under(&strip, &pose).unwrap();
    let slope = under.slope.unwrap();
    assert!((slope.per_100 - 6.0).abs() < 0.005, "{}", slope.per_100);
}

#[test]
fn stripes_are_passed_over_when_their_repeat_is_given() {
    for degrees in [0.0f64, 20.0, 45.0, 90.0] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let stripes = |repeat: f64| {
            move |p: Point<crate::space::Cloth>| {
                let across = (cos * p.x + sin * p.y).rem_euclid(repeat);
                // Edges 2 mm wide, as no sample is a point.
                let inside = repeat / 4.0 - (across - repeat / 2.0).abs();
                60.0 + 15.0 * inside.clamp(-1.0, 1.0)
            }
        };
        let under = |repeat: f64, given: Option<f64>| {
            let shading = shaded(stripes(repeat), given);
            let pose = pose(false, 33.0, 0.0, 0.0);
            shading.under(&sole().moved(&pose), &pose).unwrap()
        };
        for repeat in [12.0, 30.0, 48.0] {
            let found = under(repeat, Some(repeat));
            assert!(found.spread.sd > 12.0, "{}", found.spread.sd);
            let shade = found.shade.unwrap();
            let most = shade.high - shade.low;
            assert!(most < 1.2, "{degrees}° of {repeat}: {shade:?}");
            assert_eq!(
                found.fading,
                Fading::Even,
                "{degrees}° of {repeat}: {:?}",
                found.slope
            );
        }
        // Not given, wide stripes are shade: the test above can fail.
        let wide = under(48.0, None).shade.unwrap();
        assert!(wide.high - wide.low > 10.0, "{wide:?}");
    }
}

#[test]
fn the_low_pass_is_never_narrower_than_the_window() {
    for (given, window) in [(None, WINDOW), (Some(7.0), WINDOW), (Some(31.0), 31.0)] {
        assert_eq!(shaded(|_| 50.0, given).window(), window);
    }
    assert_eq!(shaded(|_| 50.0, Some(f64::NAN)).window(), WINDOW);
}

#[test]
fn cloth_that_is_not_seen_is_said() {
    let light = lit([200.0, 150.0], 1.0, |_| grey(50.0));
    let map = ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::NONE, |c, r| {
        let p = light.centre(c, r);
        match (p.x, p.y) {
            (x, _) if x < 0.0 => Ground::Other,
            (_, y) if y > 0.0 => Ground::Blown,
            _ => Ground::Cloth,
        }
    })
    .unwrap();
    let shading = Shading::new(map, None);
    let at = |x: f64, y: f64| {
        let pose = pose(false, 0.0, x, y);
        shading.under(&sole().moved(&pose), &pose)
    };
    let under = at(0.0, 0.0).unwrap();
    // Of the half, (46 π/4 ∓ 9/3) / (46 π/2) below and above.
    assert!((under.seen - 0.229).abs() < 0.01 && (under.blown - 0.271).abs() < 0.01);
    let text = under.to_string();
    assert!(
        text.ends_with("22 % of it seen; 26 % too bright for the camera"),
        "{text}"
    );
    let fault = at(-100.0, 0.0).unwrap_err().to_string();
    assert!(
        fault.starts_with("the shade under this piece is not known; "),
        "{fault}"
    );
    assert!(at(1e7, f64::NAN).is_err());
}

#[test]
fn a_strip_that_the_low_pass_is_wider_than_tells_of_no_fade() {
    // The window is 180 mm wide; from rim to rim of it there is a strip of 30 mm or of 90.
    let shading = shaded(ramp, Some(180.0));
    let strip = |half: f64| {
        let corners = [
            (-100.0, -half),
            (100.0, -half),
            (100.0, half),
            (-100.0, half),
        ];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    };
    let pose = pose(false, 0.0, 0.0, 0.0);
    let told = |half: f64| shading.under(&strip(half).moved(&pose), &pose).unwrap();
    assert!(told(15.0).slope.is_none());
    assert!(
        told(15.0)
            .to_string()
            .contains("can't tell whether it fades")
    );
    let wide = told(45.0).slope.unwrap();
    assert!((wide.per_100 - 6.0).abs() < 0.1, "{}", wide.per_100);
}
