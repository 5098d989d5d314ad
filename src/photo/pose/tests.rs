use super::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

fn reference() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/photo.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn pair(v: &Value) -> [f64; 2] {
    [v[0].as_f64().unwrap(), v[1].as_f64().unwrap()]
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn list(v: &Value) -> &[Value] {
    v.as_array().unwrap()
}

fn mark(k: usize, table: [f64; 2], px: [f64; 2], errors: [f64; 2]) -> Mark {
    Mark {
        name: format!("mark {}", k + 1),
        table: table.into(),
        px: px.into(),
        px_error: errors[0],
        table_error: errors[1],
    }
}

/// The marks of the reference photo, without error.
fn true_marks(reference: &Value) -> Vec<Mark> {
    let each = list(&reference["marks"]).iter().enumerate();
    each.map(|(k, m)| mark(k, pair(&m["table"]), pair(&m["px"]), [0.1, 0.1]))
        .collect()
}

fn noted(reference: &Value) -> Beforehand {
    Beforehand {
        focal: Some(number(&reference["focal"])),
        height: None,
    }
}

const SIZE: [usize; 2] = [2000, 1500];

#[test]
fn fits_and_their_errors_are_scipys() {
    for fit in list(&reference()["fits"]) {
        let errors = [number(&fit["px_error"]), number(&fit["mm_error"])];
        let both = list(&fit["table"]).iter().zip(list(&fit["px"]));
        let marks: Vec<Mark> = both
            .enumerate()
            .map(|(k, (t, p))| mark(k, pair(t), pair(p), errors))
            .collect();
        let pose = Pose::fit(&marks, SIZE, &Beforehand::default()).unwrap();
        let n = marks.len();
        assert!(
            (pose.minimum.chi2() - number(&fit["chi2"])).abs() < 1e-4,
            "{n}"
        );
        for k in 0..2 {
            let off = pose.minimum.unknowns[8 + k] - number(&fit["k"][k]);
            assert!(off.abs() < 1e-6, "{n}: k{k} off {off}");
        }
        let widened = pose.widened();
        for (k, probe) in list(&fit["probes"]).iter().enumerate() {
            let p = Point::from(pair(probe));
            let truth = Point::from(pair(&fit["probes_px"][k]));
            let off = (pose.pixel(p, 0.0).unwrap() - truth).length();
            assert!(off < 1e-4, "{n} marks, probe {k}: {off} px");
            let sure = pose.sure(p, 0.0).unwrap();
            let [all, marks] = pair(&fit["errors"][k]);
            let lens = (all * all - marks * marks).sqrt();
            assert!(
                (sure.marks / widened / marks - 1.0).abs() < 1e-3,
                "{sure:?} {marks}"
            );
            assert!((sure.lens - lens).abs() < 1e-3 * all, "{sure:?} {lens}");
        }
    }
}

#[test]
fn the_photos_own_camera_and_lens_are_found() {
    let reference = reference();
    let marks = true_marks(&reference);
    let pose = Pose::fit(&marks, SIZE, &noted(&reference)).unwrap();
    let [(k1, e1), _] = pose.lens().unwrap();
    let truth = number(&reference["k"][0]);
    assert!((k1 - truth).abs() < 2.0 * e1 && e1 < 0.005, "{k1} ± {e1}");
    assert!(pose.wrong().is_empty() && pose.widened() == 1.0);
    let camera = pose.camera.unwrap();
    let eye = list(&reference["eye"]);
    let off = (camera.height - number(&eye[2])).abs();
    assert!(off < 2.0 * camera.height_error && off < 30.0, "{camera:?}");
    let foot = (camera.foot - Point::from(pair(&reference["eye"]))).length();
    assert!(foot < 3.0 * camera.foot_error && foot < 30.0, "{camera:?}");
    assert!((camera.tilt - number(&reference["tilt"])).abs() < 0.03);
    // Cloth of a thickness is seen where OpenCV sees it, and comes back to its place.
    for tall in list(&reference["tall"]) {
        let [x, y] = pair(&tall["table"]);
        let (p, height) = (Point::new(x, y), number(&tall["table"][2]));
        let q = Point::from(pair(&tall["px"]));
        let sure = pose.sure(p, height).unwrap();
        let place = pose.place(q, height).unwrap();
        assert!(
            (place - p).length() < 3.0 * sure.total(),
            "{place:?} {sure:?}"
        );
        let flat = (pose.place(q, 0.0).unwrap() - p).length();
        assert!((place - p).length() < 0.2 * flat, "{place:?}");
        let back = pose.pixel(place, height).unwrap();
        assert!((back - q).length() < 1e-8);
    }
}

/// A stand-in for the photo's camera: a good map of the table.
fn seen(reference: &Value) -> Pose {
    let mut marks = true_marks(reference);
    for m in &mut marks {
        (m.px_error, m.table_error) = (0.01, 0.0);
    }
    Pose::fit(&marks, SIZE, &Beforehand::default()).unwrap()
}

/// A normal deviate: Box and Muller (1958).
fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (a, b): (f64, f64) = (rng.random(), rng.random());
    (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

#[test]
fn what_is_stated_is_what_happens() {
    let truth = seen(&reference());
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    for n in [4, 6, 12] {
        let spots: Vec<[f64; 2]> = (0..n)
            .map(|k| {
                let t = std::f64::consts::TAU * (k as f64 + 0.5) / n as f64;
                let r = if k % 3 == 2 { 0.55 } else { 1.0 };
                [300.0 + 280.0 * r * t.cos(), 200.0 + 180.0 * r * t.sin()]
            })
            .collect();
        let probes = [[300.0, 200.0], [120.0, 90.0], [520.0, 330.0]].map(Point::from);
        let (mut squares, mut count) = (0.0, 0.0);
        for _ in 0..60 {
            // A lens as is believed of lenses, in front of a straight one.
            let bent = Lens {
                k1: BELIEVED[0] * normal(&mut rng),
                k2: BELIEVED[1] * normal(&mut rng),
                ..truth.lens
            };
            let look = |p: Point<Table>| -> Point<Photo> {
                let ideal = truth.homography.point(p).unwrap();
                bent.bend(ideal.cast_unit()).unwrap().cast_unit()
            };
            let marks: Vec<Mark> = spots
                .iter()
                .enumerate()
                .map(|(k, s)| {
                    let mut off = |s: f64| s * normal(&mut rng);
                    let moved = Point::new(s[0] + off(0.3), s[1] + off(0.3));
                    let q = look(moved);
                    mark(k, *s, [q.x + off(0.5), q.y + off(0.5)], [0.5, 0.3])
                })
                .collect();
            let pose = Pose::fit(&marks, SIZE, &Beforehand::default()).unwrap();
            for p in probes {
                let off = pose.place(look(p), 0.0).unwrap() - p;
                let sure = pose.sure(p, 0.0).unwrap();
                squares += off.square_length() / 2.0 / sure.total().powi(2);
                count += 1.0;
            }
        }
        let ratio = f64::sqrt(squares / count);
        assert!((0.8..1.25).contains(&ratio), "{n} marks: {ratio}");
    }
}

#[test]
fn a_wrong_mark_is_named() {
    let reference = reference();
    let mut marks = true_marks(&reference);
    marks[7].table.x += 4.0;
    let pose = Pose::fit(&marks, SIZE, &Beforehand::default()).unwrap();
    assert_eq!(pose.wrong(), [7]);
    let off = pose.marks[7].without_mm.unwrap();
    assert!((off.x + 4.0).abs() < 0.5 && off.y.abs() < 0.5, "{off:?}");
    let notes = pose.notes().join(" ");
    assert!(
        notes.contains("mark 8 lies 4 mm")
            || notes.contains("mark 8 lies 3.9 mm")
            || notes.contains("mark 8 lies 4.1 mm"),
        "{notes}"
    );
    // Of five, one too many, it can be told that one is off and not which.
    let five: Vec<Mark> = [0, 2, 3, 5, 7].map(|k| marks[k].clone()).to_vec();
    let mut five = five;
    five[4].table.x += 20.0;
    let pose = Pose::fit(&five, SIZE, &Beforehand::default()).unwrap();
    assert!(pose.wrong().len() > 1, "{:?}", pose.marks);
    assert!(pose.notes().join(" ").contains("can't tell which"));
    assert!(pose.widened() > 1.0);
}

#[test]
fn four_marks_leave_the_lens_to_the_stated_error() {
    let reference = reference();
    let all = true_marks(&reference);
    let four: Vec<Mark> = [0, 2, 3, 5].map(|k| all[k].clone()).to_vec();
    let pose = Pose::fit(&four, SIZE, &Beforehand::default()).unwrap();
    assert!(pose.lens().is_none() && pose.rms_px < 1e-6);
    let notes = pose.notes().join(" ");
    assert!(notes.contains("do not tell what the lens bends"), "{notes}");
    let middle = Point::new(300.0, 60.0);
    let sure = pose.sure(middle, 0.0).unwrap();
    assert!(sure.lens > 2.0 * sure.marks, "{sure:?}");
    // The true lens bends twice as much as usual: it stays within the statement.
    let q = seen(&reference).pixel(middle, 0.0).unwrap();
    let off = (pose.place(q, 0.0).unwrap() - middle).length();
    assert!(off > 0.5 && off < 3.0 * sure.total(), "{off} {sure:?}");
}

#[test]
fn marks_that_fix_nothing_are_refused_in_words() {
    let reference = reference();
    let sound = true_marks(&reference);
    let said = |marks: &[Mark]| {
        let fault = Pose::fit(marks, SIZE, &Beforehand::default()).unwrap_err();
        fault.to_string()
    };
    let corners = || [0, 2, 5, 3].map(|k| sound[k].clone()).to_vec();
    assert!(said(&sound[..3]).contains("it takes four"));
    let mut line = sound.clone();
    for (k, m) in line.iter_mut().enumerate() {
        m.table = Point::new(50.0 * k as f64, 0.01 * k as f64);
    }
    assert!(said(&line).contains("the marks lie in a line on the table"));
    let mut but_one = corners();
    but_one[1].table = Point::new(300.0, 200.0);
    but_one[2].table = Point::new(500.0, 360.0);
    but_one[0].table = Point::new(100.0, 40.0);
    assert!(said(&but_one).contains("all marks but mark 4 lie in a line on the table"));
    let mut twice = sound.clone();
    twice[4].px = twice[1].px;
    assert!(said(&twice).contains("mark 2 and mark 5 are in one place in the photo"));
    let mut mirrored = sound.clone();
    for m in &mut mirrored {
        m.px.x = 2000.0 - m.px.x;
    }
    assert!(said(&mirrored).contains("mirrored"));
    let mut crossed = corners();
    let (a, b) = (crossed[1].px, crossed[2].px);
    (crossed[1].px, crossed[2].px) = (b, a);
    assert!(
        said(&crossed).contains("mark 3 and mark 6 look swapped"),
        "{}",
        said(&crossed)
    );
    let mut far = sound.clone();
    far[2].table.x = -900.0;
    assert!(
        said(&far).contains("mark 3 lies on the wrong side"),
        "{}",
        said(&far)
    );
    let mut outside = sound.clone();
    outside[2].px.x = 2100.0;
    assert!(said(&outside).contains("outside the photo"));
    let mut nan = sound.clone();
    nan[2].table.x = f64::NAN;
    assert!(said(&nan).contains("not a number"));
    let mut none = sound;
    none[1].px_error = f64::NAN;
    assert!(said(&none).contains("how sure"));
}
