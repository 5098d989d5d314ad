use super::*;
use proptest::prelude::*;
use serde_json::Value;

fn reference() -> Value {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/shade.json"
    ));
    serde_json::from_str(text).unwrap()
}

fn three(v: &Value) -> [f64; 3] {
    std::array::from_fn(|k| v[k].as_f64().unwrap())
}

fn lab(v: &Value) -> Lab {
    let [l, a, b] = three(v);
    Lab { l, a, b }
}

fn list(v: &Value) -> &Vec<Value> {
    v.as_array().unwrap()
}

fn near(a: [f64; 3], b: [f64; 3], within: f64) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() <= within)
}

#[test]
fn all_published_pairs_of_ciede2000() {
    let reference = reference();
    let pairs = list(&reference["sharma"]);
    assert_eq!(pairs.len(), 34);
    for (k, pair) in pairs.iter().enumerate() {
        let v: Vec<f64> = list(pair).iter().map(|v| v.as_f64().unwrap()).collect();
        let (one, two) = (Lab::new(v[0], v[1], v[2]), Lab::new(v[3], v[4], v[5]));
        for found in [ciede2000(one, two), ciede2000(two, one)] {
            assert!(
                (found - v[6]).abs() < 1e-4,
                "pair {}: {found} for {}",
                k + 1,
                v[6]
            );
        }
    }
}

#[test]
fn ciede2000_of_any_pair_is_scikit_image_s() {
    for pair in list(&reference()["ciede2000"]) {
        let found = ciede2000(lab(&pair["one"]), lab(&pair["two"]));
        assert!((found - pair["delta"].as_f64().unwrap()).abs() < 1e-9);
    }
}

/// Below the bend its constants have four digits (7.787, 0.008856).
#[test]
fn lab_is_scikit_image_s_and_comes_back() {
    let reference = reference();
    let white = Xyz::from(three(&reference["samples_white"]));
    for sample in list(&reference["samples"]) {
        let xyz = Xyz::from(three(&sample["xyz"]));
        let found = Lab::relative(xyz, white);
        let dark = xyz.x.min(xyz.y).min(xyz.z) < 0.01;
        let within = if dark { 2e-4 } else { 1e-8 };
        assert!(near(
            [found.l, found.a, found.b],
            three(&sample["lab"]),
            within
        ));
        assert!(near(found.on(white).into(), xyz.into(), 1e-12));
    }
}

/// Its white of D65 is the CIE's, of five decimals, ours the chromaticity's of sRGB: the same
/// to 3e-4, and Lab, relative to either, to 0.03.
#[test]
fn from_srgb_to_lab_is_scikit_image_s_but_for_the_white_s_decimals() {
    for sample in list(&reference()["samples"]) {
        let xyz = Xyz::from_linear_srgb(three(&sample["srgb"]).map(decode_srgb));
        assert!(near(xyz.into(), three(&sample["xyz"]), 3.1e-4));
        let found = Lab::from_xyz(xyz);
        assert!(near(
            [found.l, found.a, found.b],
            three(&sample["lab"]),
            0.03
        ));
    }
}

#[test]
fn the_matrix_is_that_of_the_primaries() {
    let reference = reference();
    for (k, unit) in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
        .into_iter()
        .enumerate()
    {
        let column = std::array::from_fn(|row| reference["matrix"][row][k].as_f64().unwrap());
        assert!(near(Xyz::from_linear_srgb(unit).into(), column, 1e-11));
    }
    assert!(near(D65.into(), three(&reference["d65"]), 1e-11));
    let white = Lab::from_xyz(Xyz::from_linear_srgb([1.0; 3]));
    assert!(near([white.l, white.a, white.b], [100.0, 0.0, 0.0], 1e-12));
}

#[test]
fn bradford_is_colour_science_s() {
    for case in list(&reference()["bradford_to_d65"]) {
        let white = Xyz::from(three(&case["white"]));
        let to = Adaptation::between(white, D65).unwrap();
        assert!(near(to.apply(white).into(), D65.into(), 1e-12));
        for (k, unit) in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
            .into_iter()
            .enumerate()
        {
            let column = std::array::from_fn(|row| case["matrix"][row][k].as_f64().unwrap());
            assert!(near(to.apply(unit.into()).into(), column, 1e-10));
        }
    }
}

#[test]
fn what_is_no_white_is_not_adapted_from() {
    for rgb in [
        [0.0; 3],
        [f64::NAN, 1.0, 1.0],
        [-1.0, -1.0, -1.0],
        [f64::INFINITY, 1.0, 1.0],
    ] {
        assert_eq!(Adaptation::between(Xyz::from_linear_srgb(rgb), D65), None);
    }
}

#[test]
fn half_of_the_light_is_code_188() {
    assert_eq!((encode_srgb(0.5) * 255.0).round(), 188.0);
    for code in 0..=255 {
        let value = f64::from(code) / 255.0;
        assert!((encode_srgb(decode_srgb(value)) - value).abs() < 1e-7);
    }
}

#[test]
fn white_is_as_bright_as_can_be_and_green_the_most_of_it() {
    assert!((luminance([1.0; 3]) - 1.0).abs() < 1e-12);
    let [red, green, blue] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(luminance);
    assert!(green > red && red > blue);
    for rgb in [[0.2, 0.5, 0.9], [0.9, 0.1, 0.0]] {
        // To the standard's four decimals it is Y.
        assert!((luminance(rgb) - Xyz::from_linear_srgb(rgb).y).abs() < 1e-4);
        let single = luminance_f32(rgb.map(|v| v as f32));
        assert!((f64::from(single) - luminance(rgb)).abs() < 1e-6);
    }
}

/// L* 50 is 18.42 % of white's light, by the definition.
#[test]
fn middle_grey() {
    let y = Lab::new(50.0, 0.0, 0.0).to_xyz().y;
    assert!((y - (66f64 / 116.0).powi(3)).abs() < 1e-15 && (y - 0.184).abs() < 5e-4);
}

proptest! {
    #[test]
    fn a_difference_is_the_same_either_way_and_none_from_itself(
        one in prop::array::uniform3(-100.0..100.0f64), two in prop::array::uniform3(-100.0..100.0f64),
    ) {
        let [one, two] = [one, two].map(|[l, a, b]| Lab::new(l.abs(), a, b));
        prop_assert_eq!(ciede2000(one, one), 0.0);
        let (there, back) = (ciede2000(one, two), ciede2000(two, one));
        prop_assert!(there.is_finite() && (there - back).abs() < 1e-9);
    }
}
