//! A cloth of random light against scikit-image, colour-science and SciPy:
//! `tests/reference/shade.py`.

use crate::adjust::quantile;
use crate::cloth::shade::{Doubt, Ground, ShadeMap, Shading};
use crate::colour::ciede2000;
use crate::raster::Raster;
use crate::shape::Region;
use crate::space::{Bounds, Cloth, Piece, Point, Rigid, Vector};
use serde_json::Value;

fn reference() -> Value {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/shade.json"
    ));
    serde_json::from_str::<Value>(text).unwrap()["cloth"].clone()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn cloth(about: &Value, seed: u32) -> Shading<Cloth> {
    let side = number(&about["sample_mm"]);
    let (width, height) = (number(&about["columns"]), number(&about["rows"]));
    let bounds = Bounds::new(Point::zero(), Point::new(width * side, height * side));
    let mut x = seed;
    let light = Raster::over(bounds, side, |_, _, p: Point<Cloth>| {
        let fade = 0.2 + 0.004 * p.x + 0.001 * p.y;
        [1.0, 0.9, 0.7].map(|tint| {
            x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (fade * tint + 0.3 * (f64::from(x >> 24) / 255.0)) as f32
        })
    });
    let white = std::array::from_fn(|k| number(&about["white"][k]));
    let cell = number(&about["cell_mm"]);
    let map = ShadeMap::measure(&light, white, cell, Doubt::NONE, |_, _| Ground::Cloth);
    Shading::new(map.unwrap(), None)
}

/// All of the cloth, as a piece.
fn whole<S>(about: &Value) -> Region<S> {
    let side = number(&about["sample_mm"]);
    let (x, y) = (
        number(&about["columns"]) * side,
        number(&about["rows"]) * side,
    );
    Region::ring(vec![
        Point::new(0.0, 0.0),
        Point::new(x, 0.0),
        Point::new(x, y),
        Point::new(0.0, y),
    ])
}

#[test]
fn means_spreads_and_their_difference() {
    let about = reference();
    let pose: Rigid<Piece, Cloth> = Rigid::new(false, 0.0, Vector::zero());
    let under = |seed: u32| {
        let found = cloth(&about, seed).under(&whole(&about), &pose);
        found.unwrap()
    };
    let (one, two) = (under(1), under(2));
    for (found, mean) in [(&one, &about["mean"][0]), (&two, &about["mean"][1])] {
        for (found, k) in [(found.mean.l, 0), (found.mean.a, 1), (found.mean.b, 2)] {
            assert!((found - number(&mean[k])).abs() < 1e-3, "{found} {mean}");
        }
    }
    let apart = ciede2000(one.mean, two.mean);
    assert!((apart - number(&about["mean_apart"])).abs() < 1e-3);
    // 16 bits a value.
    let within = 2e-3;
    assert!((one.spread.sd - number(&about["lightness_sd"])).abs() < within);
    for (found, k) in [(one.spread.low, 0), (one.spread.high, 1)] {
        assert!((found - number(&about["lightness_5_95"][k])).abs() < within);
    }
}

#[test]
fn the_low_pass_is_scipy_s() {
    let about = reference();
    let (one, two) = (cloth(&about, 1), cloth(&about, 2));
    let places = about["smooth_places_mm"].as_array().unwrap();
    assert!(places.len() > 30);
    for (k, place) in places.iter().enumerate() {
        let p = Point::new(number(&place[0]), number(&place[1]));
        let found = one.at(p).unwrap();
        let true_lab = &about["smooth_lab"][k];
        for (found, axis) in [(found.l, 0), (found.a, 1), (found.b, 2)] {
            assert!(
                (found - number(&true_lab[axis])).abs() < 2e-3,
                "{p:?} {found} {true_lab}"
            );
        }
        let apart = ciede2000(found, two.at(p).unwrap());
        assert!((apart - number(&about["smooth_apart"][k])).abs() < 2e-3);
    }
}

/// The plane by Huber's loss, of the places that SciPy low-passed.
#[test]
fn the_plane_is_scipy_s() {
    let about = reference();
    let places = about["smooth_places_mm"].as_array().unwrap();
    let corner =
        |k: usize| -> Point<Cloth> { Point::new(number(&places[k][0]), number(&places[k][1])) };
    let (low, high) = (corner(0), corner(places.len() - 1));
    let net = Region::ring(vec![
        Point::new(low.x - 1.0, low.y - 1.0),
        Point::new(high.x + 1.0, low.y - 1.0),
        Point::new(high.x + 1.0, high.y + 1.0),
        Point::new(low.x - 1.0, high.y + 1.0),
    ]);
    let pose: Rigid<Piece, Cloth> = Rigid::new(false, 0.0, Vector::zero());
    let slope = cloth(&about, 1).under(&net, &pose).unwrap().slope.unwrap();
    for (found, k) in [(slope.towards.x, 0), (slope.towards.y, 1)] {
        let wanted = number(&about["plane_per_100_mm"][k]);
        assert!(
            (found * slope.per_100 - wanted).abs() < 0.02,
            "{slope:?} {wanted}"
        );
    }
}

#[test]
fn five_in_a_hundred_are_numpy_s() {
    let about = reference();
    let apart = about["smooth_apart"].as_array().unwrap();
    let mut apart: Vec<f32> = apart.iter().map(|v| number(v) as f32).collect();
    let found = quantile(&mut apart, 0.95).unwrap();
    assert!((found - number(&about["smooth_apart_95"])).abs() < 1e-6);
}
