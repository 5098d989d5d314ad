//! Fits against OpenCV and SciPy: `tests/reference/calibration.py`.

use ghostchalk::calibration::fit::{Believed, Fit, Form, Places, Sighted};
use ghostchalk::space::{Point, Table};
use nalgebra::DMatrix;
use serde_json::Value;

pub fn load() -> Value {
    let path = format!(
        "{}/tests/reference/calibration.json",
        env!("CARGO_MANIFEST_DIR")
    );
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

pub fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

pub fn list(v: &Value) -> &Vec<Value> {
    v.as_array().unwrap()
}

pub fn place<S>(v: &Value) -> Point<S> {
    Point::new(number(&v[0]), number(&v[1]))
}

fn marks(case: &Value) -> Vec<Sighted> {
    let both = list(&case["table"]).iter().zip(list(&case["px"]));
    both.enumerate()
        .map(|(k, (table, px))| Sighted {
            name: format!("mark {}", k + 1),
            table: place(table),
            pixel: place(px),
        })
        .collect()
}

const SIZE: [u32; 2] = [1920, 1080];

fn believed() -> Believed {
    Believed {
        hand_px: 0.5,
        places: Places::Each(0.0),
    }
}

/// The greatest distance of the fit from the reference at the probes, px.
fn worst(fit: &Fit, probes: &Value, want: &Value) -> f64 {
    let both = list(probes).iter().zip(list(want));
    let far = both.map(|(probe, px)| {
        let p: Point<Table> = place(probe);
        (fit.mapping.pixel(p, 0.0).unwrap() - place(px)).length()
    });
    far.fold(0.0, f64::max)
}

#[test]
fn the_linear_part_is_never_worse_than_opencv_and_lands_where_it_does() {
    let all = load();
    assert!(list(&all["linear"]).len() >= 6);
    for case in list(&all["linear"]) {
        let fit = Fit::new(&marks(case), SIZE, &believed(), Form::Plane).unwrap();
        let (cv, scipy) = (number(&case["rms_px"]), number(&case["rms_scipy"]));
        assert!(
            fit.rms_px <= cv + 1e-9,
            "{}: {} {cv}",
            case["name"],
            fit.rms_px
        );
        assert!((fit.rms_px - scipy).abs() < 1e-9);
        let far = worst(&fit, &case["probes"], &case["probe_px"]);
        assert!(far < 1e-6, "{}: {far}", case["name"]);
        // OpenCV's own matrix, which it takes from single precision.
        let rows = std::array::from_fn(|r| std::array::from_fn(|c| number(&case["h"][r][c])));
        let theirs = ghostchalk::projection::Homography::from_rows(rows).unwrap();
        for probe in list(&case["probes"]) {
            let p: Point<Table> = place(probe);
            let theirs: Point<ghostchalk::space::Projector> = theirs.point(p).unwrap();
            let off = (fit.mapping.pixel(p, 0.0).unwrap() - theirs).length();
            assert!(off < 1e-3, "{}: {off}", case["name"]);
        }
    }
}

#[test]
fn the_lens_is_scipys_on_the_same_model() {
    let all = load();
    let mut with_k2 = 0;
    for case in list(&all["lens"]) {
        let marks = marks(case);
        let fit = Fit::new(&marks, SIZE, &believed(), Form::Lens).unwrap();
        let far = worst(&fit, &case["probes"], &case["probe_px"]);
        assert!(far < 1e-6, "{}: {far}", case["name"]);
        assert!((fit.rms_px - number(&case["rms"])).abs() < 1e-9);
        for (name, value, _) in fit.lens_coefficients() {
            assert!((value - number(&case[name])).abs() < 1e-7, "{name}");
        }
        let more = &case["with_k2"];
        if !more.is_null() {
            with_k2 += 1;
            let fit = Fit::new(&marks, SIZE, &believed(), Form::LensK2).unwrap();
            let far = worst(&fit, &case["probes"], &more["probe_px"]);
            assert!(far < 1e-6, "{}: {far}", case["name"]);
        }
    }
    assert!(with_k2 >= 2);
}

#[test]
fn four_marks_say_nothing_of_one_another() {
    // In any layout: what is left of the weights is rounding.
    for k in 0..60 {
        let off = |n: i32| f64::from((k * 37 + n * 53) % 41) * 4.0;
        let table = [
            [off(1), off(2)],
            [1200.0 - off(3), off(4)],
            [1180.0, 780.0 - off(5)],
            [off(6), 800.0],
        ];
        let px = [
            [100.0, 1000.0 - off(7)],
            [1800.0 - off(8), 980.0],
            [1750.0, 90.0],
            [160.0 + off(9), 70.0],
        ];
        let marks: Vec<Sighted> = (table.into_iter().zip(px).enumerate())
            .map(|(k, (t, p))| Sighted {
                name: format!("mark {k}"),
                table: Point::from(t),
                pixel: Point::from(p),
            })
            .collect();
        let believed = Believed {
            hand_px: 0.5,
            places: Places::Each(0.5),
        };
        let fit = Fit::new(&marks, SIZE, &believed, Form::Plane).unwrap();
        assert!(
            fit.marks
                .iter()
                .all(|m| m.without_mm.is_none() && !m.is_slip())
        );
        assert_eq!((fit.slip(), fit.widened()), (None, 1.0));
    }
}

#[test]
fn weights_and_covariance_are_scipys() {
    let all = load();
    for case in list(&all["weighted"]) {
        let marks = marks(case);
        let sigma = &case["sigma_marks"];
        let n = 2 * marks.len();
        let believed = Believed {
            hand_px: number(&case["sigma_px"]),
            places: Places::Covariance(DMatrix::from_fn(n, n, |r, c| number(&sigma[r][c]))),
        };
        let form = match case["lens"].as_bool().unwrap() {
            true => Form::Lens,
            false => Form::Plane,
        };
        let fit = Fit::new(&marks, SIZE, &believed, form).unwrap();
        let far = worst(&fit, &case["probes"], &case["probe_px"]);
        assert!(far < 1e-6, "{}: {far}", case["name"]);
        assert!((fit.chi2 - number(&case["chi2"])).abs() < 1e-6);
        // Their covariance is in px, at the probe's pixel; ours on the table.
        let field = fit.field(&marks);
        for (probe, want) in list(&case["probes"])
            .iter()
            .zip(list(&case["probe_cov_px"]))
        {
            let p: Point<Table> = place(probe);
            let mm = field.covariance(p).unwrap();
            let at = |dx: f64, dy: f64| {
                fit.mapping
                    .pixel(Point::new(p.x + dx, p.y + dy), 0.0)
                    .unwrap()
            };
            let (du, dv) = (
                (at(0.01, 0.0) - at(-0.01, 0.0)) / 0.02,
                (at(0.0, 0.01) - at(0.0, -0.01)) / 0.02,
            );
            let j = nalgebra::Matrix2::new(du.x, dv.x, du.y, dv.y);
            let mm = nalgebra::Matrix2::from_fn(|r, c| mm[r][c]);
            let px = j * mm * j.transpose();
            for r in 0..2 {
                for c in 0..2 {
                    let want = number(&want[r][c]);
                    assert!((px[(r, c)] - want).abs() < 1e-5, "{px} {want}");
                }
            }
        }
    }
}
