//! Least squares against SciPy and scikit-image (`tests/reference/adjust.py`),
//! and what is stated of errors against errors that are drawn.

use ghostchalk::adjust::{Pair, Spread, Verdict, chance_of_more, chance_of_size, fit, judge};
use ghostchalk::calibration::table_marks::{TapeReadings, survey};
use ghostchalk::lay::{Agreement, Carried, Pointing, Position, Sighting, carried, expected_step};
use ghostchalk::space::{Cloth, Point, Rigid, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;
use std::f64::consts::TAU;

fn load() -> Value {
    let path = format!("{}/tests/reference/adjust.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn place(v: &Value) -> [f64; 2] {
    [number(&v[0]), number(&v[1])]
}

fn list(v: &Value) -> &Vec<Value> {
    v.as_array().unwrap()
}

fn pairs(case: &Value) -> Vec<Pair> {
    let sigma = |k: usize, side: usize| case["sigma"][k][side].as_f64().unwrap_or(0.5);
    list(&case["from"])
        .iter()
        .zip(list(&case["to"]))
        .enumerate()
        .map(|(k, (from, to))| Pair {
            from: place(from),
            to: place(to),
            sigma_from: sigma(k, 0),
            sigma_to: sigma(k, 1),
        })
        .collect()
}

fn near(got: f64, want: f64, within: f64) -> bool {
    (got - want).abs() <= within
}

fn same_turn(a: f64, b: f64) -> bool {
    (a - b).sin().abs() < 1e-8 && (a - b).cos() > 0.0
}

#[test]
fn rigid_fits_agree_with_scipy_and_skimage() {
    let all = load();
    assert!(list(&all["rigid"]).len() >= 7);
    for case in list(&all["rigid"]) {
        let got = fit(&pairs(case)).unwrap();
        assert!(same_turn(got.turn, number(&case["turn"])));
        let origin = place(&case["at_origin"]);
        for axis in 0..2 {
            assert!(near(got.shift[axis], origin[axis], 1e-4));
            assert!(near(
                got.centroid[axis],
                number(&case["centroid"][axis]),
                1e-8
            ));
        }
        assert!(near(got.chi2, number(&case["chi2"]), 1e-7), "{}", got.chi2);
        let chance = chance_of_more(got.chi2, got.freedom);
        assert!(near(chance, number(&case["chance"]), 1e-7));
        let relative = |got: f64, want: &Value| near(got / number(want), 1.0, 1e-6);
        assert!(relative(got.var_turn.sqrt(), &case["sigma_turn"]));
        assert!(relative(got.var_shift.sqrt(), &case["sigma_shift"]));
        for (p, want) in list(&all["probes"]).iter().zip(list(&case["place_errors"])) {
            assert!(relative(got.error_at(place(p)), want));
        }
        let skimage = &case["skimage"];
        if !skimage.is_null() {
            assert!(same_turn(got.turn, number(&skimage["turn"])));
            assert!(near(got.shift[0], number(&skimage["shift"][0]), 1e-7));
            assert!(near(got.shift[1], number(&skimage["shift"][1]), 1e-7));
            assert!(near(got.rms, number(&skimage["rms"]), 1e-8));
        }
    }
}

#[test]
fn gains_add_up_to_the_stated_spread() {
    for case in list(&load()["rigid"]) {
        let pairs = pairs(case);
        let got = fit(&pairs).unwrap();
        for p in [[0.0, 0.0], [1500.0, -200.0]] {
            let sum = pairs
                .iter()
                .enumerate()
                .fold(Spread::default(), |sum, (k, pair)| {
                    let var = pair.sigma_from.powi(2) + pair.sigma_to.powi(2);
                    sum.and(Spread::through(got.gain(k, p), var))
                });
            let want = got.spread_at(p);
            for (a, b) in [(sum.xx, want.xx), (sum.xy, want.xy), (sum.yy, want.yy)] {
                assert!(near(a, b, 1e-9 * want.xx.max(want.yy)));
            }
        }
    }
}

#[test]
fn strains_agree_with_scipys_affine_map() {
    let all = load();
    for case in list(&all["strain"]) {
        let pairs = pairs(case);
        let rigid = fit(&pairs).unwrap();
        assert!(near(
            rigid.chi2,
            number(&case["chi2_rigid"]),
            1e-6 * rigid.chi2
        ));
        let verdict = judge(&pairs, &rigid).unwrap();
        let Verdict::Stretched { stretch, .. } = verdict else {
            panic!("{verdict:?}")
        };
        assert!(near(stretch.strain.along, number(&case["along"]), 1e-9));
        assert!(near(stretch.strain.across, number(&case["across"]), 1e-9));
        let off = stretch.strain.direction - number(&case["direction"]);
        assert!(off.sin().abs() < 1e-6, "{off}");
        let ratio = stretch.chance / number(&case["chance"]).max(1e-300);
        assert!(near(ratio, 1.0, 1e-4) || stretch.chance < 1e-100, "{ratio}");
    }
    for case in list(&all["two"]) {
        let pairs = pairs(case);
        let verdict = judge(&pairs, &fit(&pairs).unwrap()).unwrap();
        let chance = number(&case["chance"]);
        match verdict {
            Verdict::Rigid => assert!(chance >= 0.01),
            Verdict::Stretched { stretch, .. } => {
                assert!(near(stretch.chance, chance, 1e-9));
                assert!(near(
                    stretch.strain.along,
                    number(&case["scale"]) - 1.0,
                    1e-9
                ));
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn chances_agree_with_scipy() {
    for row in list(&load()["chances"]) {
        let [chi2, want] = [number(&row[0]), number(&row[2])];
        let got = chance_of_more(chi2, number(&row[1]) as usize);
        assert!(near(got, want, 1e-9 + 1e-6 * want), "{row} {got}");
        if number(&row[1]) == 1.0 {
            assert!(near(chance_of_size(chi2.sqrt()), want, 1e-9));
        }
    }
}

#[test]
fn surveys_by_tape_agree_with_scipy() {
    let all = load();
    assert!(list(&all["survey"]).len() >= 8);
    for case in list(&all["survey"]) {
        let read = |k: usize| case["readings_mm"][k].as_f64();
        let got = survey(&TapeReadings {
            front: read(0),
            right: read(1),
            back: read(2),
            left: read(3),
            diagonal_13: read(4),
            diagonal_24: read(5),
        })
        .unwrap();
        for (mark, want) in got.marks.iter().zip(list(&case["marks_mm"])) {
            assert!(
                (*mark - Point::from(place(want))).length() < 1e-3,
                "{got:?}"
            );
        }
        for (got, want) in got.residuals.iter().zip(list(&case["residuals_mm"])) {
            assert!(near(got.1, number(want), 1e-3));
        }
        assert_eq!(got.closes, case["closes"].as_bool().unwrap(), "{got}");
        assert!(near(got.error / number(&case["error_mm"]), 1.0, 1e-4));
    }
}

/// A pointing error of `sigma` per axis (Box and Muller, 1958).
fn shaken(rng: &mut ChaCha8Rng, sigma: f64) -> [f64; 2] {
    let radius = sigma * (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
    let (sin, cos) = (TAU * rng.random::<f64>()).sin_cos();
    [radius * cos, radius * sin]
}

fn random_pose(rng: &mut ChaCha8Rng) -> Rigid<Cloth, Table> {
    let turn = rng.random_range(-20.0..20.0_f64).to_radians();
    let shift = [(); 2].map(|()| rng.random_range(-300.0..300.0));
    Rigid::new(false, turn, Vector::from(shift))
}

fn sighted(
    marks: &[Point<Cloth>],
    on: impl Fn(Point<Cloth>) -> Point<Table>,
    p: Pointing,
    rng: &mut ChaCha8Rng,
) -> Carried {
    let sightings = marks.iter().enumerate().map(|(k, m)| Sighting {
        name: format!("mark {}", k + 1),
        cloth: *m + Vector::from(shaken(rng, p.given)),
        table: on(*m) + Vector::from(shaken(rng, p.again)),
    });
    carried(sightings.collect(), p).unwrap()
}

const MARKS: [[f64; 2]; 4] = [[60.0, 80.0], [1050.0, 40.0], [980.0, 650.0], [120.0, 700.0]];

fn marks(n: usize) -> Vec<Point<Cloth>> {
    MARKS[..n].iter().map(|m| Point::from(*m)).collect()
}

#[test]
fn the_stated_error_of_place_is_the_error_that_happens() {
    let mut rng = ChaCha8Rng::seed_from_u64(31);
    for n in 2..=4 {
        let pointing = Pointing {
            given: 0.3,
            again: 0.6,
        };
        for p in [Point::new(550.0, 350.0), Point::new(1500.0, 900.0)] {
            let (mut actual, mut stated) = (0.0, 0.0);
            for _ in 0..4000 {
                let pose = random_pose(&mut rng);
                let got = sighted(&marks(n), |m| pose.point(m), pointing, &mut rng);
                actual += (got.pose.point(p) - pose.point(p)).square_length();
                // Whatever is found, what is stated beforehand must hold.
                if got.fits() {
                    stated += got.error_at(p).powi(2);
                } else {
                    stated += (got.error_at(p) / got_scatter(&got)).powi(2);
                }
            }
            let ratio: f64 = (actual / stated).sqrt();
            println!("{n} marks at {p:?}: actual / stated {ratio:.3}");
            assert!(near(ratio, 1.0, 0.05), "{n} marks: {ratio}");
        }
    }
}

/// The factor on the stated error where the marks do not fit.
fn got_scatter(c: &Carried) -> f64 {
    let weight: f64 = 1.0 / (0.3 * 0.3 + 0.6 * 0.6);
    let sum: f64 = c.residuals.iter().map(|r| weight * r.square_length()).sum();
    (sum / (2 * c.residuals.len() - 3) as f64).sqrt().max(1.0)
}

#[test]
fn honest_pointing_is_seldom_called_a_stretch_and_a_stretch_often() {
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let rate = |n: usize, strain: f64, rng: &mut ChaCha8Rng| {
        let found = (0..2000).filter(|_| {
            let pose = random_pose(rng);
            let grown = |m: Point<Cloth>| pose.point(Point::new(m.x * (1.0 + strain), m.y));
            let got = sighted(&marks(n), grown, Pointing::default(), rng);
            matches!(got.finding, Agreement::Stretched { .. })
        });
        found.count() as f64 / 2000.0
    };
    for n in 2..=4 {
        let (still, stretched) = (rate(n, 0.0, &mut rng), rate(n, 0.006, &mut rng));
        println!("{n} marks: called stretched {still:.4} still, {stretched:.4} at 6 mm a metre");
        assert!(still < 0.02, "{n}: {still}");
        assert!(stretched > 0.9, "{n}: {stretched}");
    }
}

#[test]
fn a_long_piece_joins_within_its_stated_step() {
    let mut rng = ChaCha8Rng::seed_from_u64(77);
    // 1700 mm of piece, 1200 of light: the join at 1100, marks beside it.
    let given: Vec<Point<Cloth>> = [
        [820.0, 90.0],
        [1080.0, 640.0],
        [1010.0, 60.0],
        [860.0, 600.0],
    ]
    .map(Point::from)
    .to_vec();
    let pointing = Pointing {
        given: 0.8,
        again: 0.5,
    };
    let at = Point::new(1100.0, 300.0);
    let cut = Vector::new(1.0, 0.2);
    let cases = [
        (Position::AsGiven, Position::Carried(&[0, 1][..])),
        (Position::AsGiven, Position::Carried(&[0, 1, 2, 3][..])),
        (Position::Carried(&[0, 1]), Position::Carried(&[0, 1])),
        (Position::Carried(&[0, 1, 2]), Position::Carried(&[1, 2, 3])),
    ];
    for (first, second) in cases {
        let (mut all, mut across) = (0.0, 0.0);
        const TRIES: usize = 4000;
        for _ in 0..TRIES {
            let noted: Vec<Point<Cloth>> = given
                .iter()
                .map(|m| *m + Vector::from(shaken(&mut rng, pointing.given)))
                .collect();
            // Where on the cloth the line meant for `at` is drawn.
            let mut line = |position: Position| {
                let Position::Carried(used) = position else {
                    return at;
                };
                let pose = random_pose(&mut rng);
                let sightings = used.iter().map(|&k| Sighting {
                    name: k.to_string(),
                    cloth: noted[k],
                    table: pose.point(given[k]) + Vector::from(shaken(&mut rng, pointing.again)),
                });
                let got = carried(sightings.collect(), pointing).unwrap();
                pose.inverse().point(got.pose.point(at))
            };
            let step = line(second) - line(first);
            all += step.square_length();
            across += step.cross(cut.normalize()).powi(2);
        }
        let stated = expected_step(&given, first, second, pointing, at).unwrap();
        let actual = [all, across].map(|s| (s / TRIES as f64).sqrt());
        println!(
            "{first:?} {second:?}: step {:.3} stated, {:.3} actual; across {:.3}, {:.3}",
            stated.length(),
            actual[0],
            stated.across(cut),
            actual[1]
        );
        assert!(near(actual[0] / stated.length(), 1.0, 0.05));
        assert!(near(actual[1] / stated.across(cut), 1.0, 0.05));
    }
}

#[test]
fn one_wrong_mark_of_four_is_named() {
    let mut rng = ChaCha8Rng::seed_from_u64(12);
    let mut named = 0;
    for k in 0..400 {
        let pose = random_pose(&mut rng);
        let wrong = k % 4;
        let off = Vector::from(shaken(&mut rng, 1.0)).normalize() * 8.0;
        let mut count = 0;
        let on = |m: Point<Cloth>| pose.point(m);
        let sightings: Vec<Sighting> = marks(4)
            .into_iter()
            .map(|m| {
                let extra = if count == wrong { off } else { Vector::zero() };
                count += 1;
                Sighting {
                    name: "mark".into(),
                    cloth: m + Vector::from(shaken(&mut rng, 0.5)),
                    table: on(m) + extra + Vector::from(shaken(&mut rng, 0.5)),
                }
            })
            .collect();
        let got = carried(sightings, Pointing::default()).unwrap();
        named += match got.finding {
            Agreement::OneMark { mark, .. } => usize::from(mark == wrong),
            Agreement::Stretched { or_mark, .. } => usize::from(or_mark == Some(wrong)),
            _ => 0,
        };
    }
    println!("the wrong one of four marks named in {named} of 400");
    assert!(named > 340, "{named}");
}
