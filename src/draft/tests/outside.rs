//! Against SciPy, Shapely and the drawing: `tests/reference/draft.py`.

use kurbo::{Point, Vec2};
use serde_json::Value;

use super::super::curve::{Curve, FLAT};
use super::super::spline::{Tangent, through};
use super::*;
use crate::shape::{self, signed_area};

fn reference() -> Value {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/draft.json"
    ));
    serde_json::from_str(text).unwrap()
}

fn pair(v: &Value) -> (f64, f64) {
    (v[0].as_f64().unwrap(), v[1].as_f64().unwrap())
}

fn points(v: &Value) -> Vec<Point> {
    v.as_array()
        .unwrap()
        .iter()
        .map(|p| pair(p).into())
        .collect()
}

fn curve(case: &Value) -> Curve {
    let at = points(&case["points"]);
    let handle = |key: &str| {
        case.get(key).map(|v| {
            let v = Vec2::from(pair(v));
            Tangent {
                along: v.normalize(),
                pull: Some(v.hypot()),
            }
        })
    };
    let mut tangents = vec![None; at.len()];
    tangents[0] = handle("start");
    tangents[at.len() - 1] = handle("end");
    through(&at, &tangents, case.get("closed").is_some()).unwrap()
}

#[test]
fn splines_are_scipys() {
    let all = reference();
    for case in all["splines"].as_array().unwrap() {
        let curve = curve(case);
        let length = case["length"].as_f64().unwrap();
        assert!(
            (curve.length() - length).abs() < 1e-4,
            "{} {length}",
            curve.length()
        );
        for row in case["s_x_y_dx_dy"].as_array().unwrap() {
            let v: Vec<f64> = row
                .as_array()
                .unwrap()
                .iter()
                .map(|x| x.as_f64().unwrap())
                .collect();
            let (p, u) = curve.at(v[0]);
            assert!((p - Point::new(v[1], v[2])).hypot() < 1e-4, "{p:?} {v:?}");
            assert!((u - Vec2::new(v[3], v[4])).hypot() < 1e-5, "{u:?} {v:?}");
        }
        // Flattened, no chord strays from the curve by more than it may.
        let flat = curve.flat();
        for w in flat.windows(2) {
            for k in 0..=4 {
                let p = w[0].lerp(w[1], f64::from(k) / 4.0);
                assert!(curve.nearest(p).1 <= FLAT + 1e-9);
            }
        }
    }
}

#[test]
fn parallels_are_shapelys() {
    let all = reference();
    let at = points(&all["parallel"]["points"]);
    let spline = through(&at, &vec![None; at.len()], true).unwrap();
    for case in all["parallel"]["offsets"].as_array().unwrap() {
        let beside = spline.beside(case["by"].as_f64().unwrap()).unwrap();
        let (area, length) = (
            case["area"].as_f64().unwrap(),
            case["length"].as_f64().unwrap(),
        );
        let ring: Vec<crate::space::Point<crate::space::Piece>> = beside
            .flat()
            .iter()
            .map(|p| crate::space::Point::new(p.x, p.y))
            .collect();
        // Flattening and fitting take at most so much along the whole length.
        assert!(
            (signed_area(&ring).abs() - area).abs() < length * (FLAT + 0.002),
            "{area}"
        );
        assert!(
            (beside.length() - length).abs() < 0.02,
            "{} {length}",
            beside.length()
        );
    }
}

/// How far the draft lies from the drawing that was there before it, mm.
#[test]
fn at_250_mm_the_draft_is_the_drawing() {
    let all = reference();
    let drawn = drawn(SLIPPERS);
    for (name, within) in [
        ("sole", 0.02),
        ("felt sole", 0.02),
        ("heel band", 0.02),
        ("heel band lining", 0.02),
        ("upper", 1.0),
    ] {
        let mut net = piece(&drawn, name).piece.net[0].points.clone();
        net.push(net[0]);
        let drawing = all["drawn"][name]["points"].as_array().unwrap();
        let off = drawing.iter().map(|p| {
            let (x, y) = pair(p);
            shape::nearest(&net, crate::space::Point::new(x, y))
                .unwrap()
                .1
        });
        let worst = off.fold(0.0, f64::max);
        println!("OUT {name}: {worst:.3}");
        assert!(worst < within, "{name}: {worst}");
    }
}
