use super::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Linear light to a code: IEC 61966-2-1.
fn code(v: f64) -> u8 {
    let v = v.clamp(0.0, 1.0);
    let c = if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    };
    (c * 255.0).round() as u8
}

/// How a mark is drawn.
#[derive(Clone, Copy)]
struct Drawn {
    look: Look,
    light: bool,
    turn: f64,
    /// The second axis by the first's, as a tilted view shortens it; and sheared.
    tilt: [f64; 2],
    size: f64,
}

const SIDE: usize = 160;

/// `SIDE` by `SIDE` px with a mark at `at`: 8 by 8 rays a pixel, spread wider than it as lenses
/// do, uneven light, noise (its size in full light), codes.
fn drawn(mark: Drawn, at: [f64; 2], noise: f64, seed: u64) -> Picture {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (sin, cos) = mark.turn.sin_cos();
    let cover = |x: f64, y: f64| {
        let (dx, dy) = (x - at[0], y - at[1]);
        let (u, v) = (cos * dx + sin * dy, -sin * dx + cos * dy);
        let (u, v) = (u - mark.tilt[1] * v, v / mark.tilt[0]);
        let s = mark.size;
        match mark.look {
            Look::Cross => {
                (u.abs() < s && v.abs() < 12.0 * s) || (v.abs() < s && u.abs() < 12.0 * s)
            }
            Look::Disc => u * u + v * v < s * s,
            Look::Checker => u * v > 0.0 && u.abs() < s && v.abs() < s,
        }
    };
    let n = SIDE;
    let mut share = vec![0.0f64; n * n];
    for y in 0..n {
        for x in 0..n {
            let hits = (0..64).filter(|k| {
                let (a, b) = (k % 8, k / 8);
                let spread = |i: usize| 0.5 + 1.6 * ((i as f64 + 0.5) / 8.0 - 0.5);
                cover(x as f64 + spread(a), y as f64 + spread(b))
            });
            share[y * n + x] = hits.count() as f64 / 64.0;
        }
    }
    let (ink, ground) = if mark.light { (0.7, 0.06) } else { (0.05, 0.6) };
    let mut codes = Vec::with_capacity(3 * n * n);
    for (k, s) in share.iter().enumerate() {
        let lit = 1.0 + 0.3 * ((k % n) as f64 / n as f64 - 0.5);
        let v = (ink * s + ground * (1.0 - s)) * lit;
        // Near enough normal, of deviation 1.
        let deviate = (0..12).map(|_| rng.random::<f64>() - 0.5).sum::<f64>();
        codes.extend([code(v + noise * deviate * v.sqrt()); 3]);
    }
    Picture::from_srgb(n, n, codes).unwrap()
}

fn marks() -> Vec<Drawn> {
    let mark = |look, light, turn, tilt, size| Drawn {
        look,
        light,
        turn,
        tilt,
        size,
    };
    vec![
        mark(Look::Cross, false, 0.1, [1.0, 0.0], 1.3),
        mark(Look::Cross, true, 0.7, [0.75, 0.1], 1.8),
        mark(Look::Cross, false, 1.2, [0.8, -0.2], 3.5),
        mark(Look::Disc, false, 0.3, [1.0, 0.0], 5.0),
        mark(Look::Disc, true, 0.3, [0.8, 0.1], 14.0),
        mark(Look::Disc, false, 0.9, [0.7, 0.0], 28.0),
        mark(Look::Checker, false, 0.2, [1.0, 0.0], 12.0),
        mark(Look::Checker, false, 0.8, [0.75, 0.15], 25.0),
        mark(Look::Checker, false, 1.3, [0.85, -0.2], 45.0),
    ]
}

#[test]
fn a_click_becomes_the_middle() {
    for (k, mark) in marks().into_iter().enumerate() {
        for seed in 0..2u64 {
            let at = [80.3 + 0.37 * seed as f64, 78.7 - 0.21 * k as f64];
            let picture = drawn(mark, at, 0.007, seed);
            let click = Point::new(at[0] + 5.0 - 9.0 * seed as f64, at[1] - 6.0);
            for look in [None, Some(mark.look)] {
                let found = snap(&picture, click, 12.0, look).unwrap();
                let off = (found.px - Point::from(at)).length();
                assert_eq!((found.look, found.light), (mark.look, mark.light));
                assert!(off < 0.06 && found.error < 0.06, "{k}: {off} {found:?}");
            }
        }
    }
}

#[test]
fn in_noise_the_stated_error_is_what_happens() {
    for k in [0, 4, 6] {
        let (mut squares, mut count) = (0.0, 0.0);
        for seed in 0..12u64 {
            let at = [80.0 + 0.31 * seed as f64, 79.0];
            let picture = drawn(marks()[k], at, 0.06, seed);
            let found = snap(
                &picture,
                Point::new(at[0] + 3.0, 77.0),
                12.0,
                Some(marks()[k].look),
            );
            let found = found.unwrap();
            let off = (found.px - Point::from(at)).length();
            squares += off * off / 2.0 / found.error.powi(2);
            count += 1.0;
        }
        let ratio = f64::sqrt(squares / count);
        println!("{k}: off by stated {ratio:.2}");
        assert!((0.5..1.5).contains(&ratio), "{k}: {ratio}");
    }
}

#[test]
fn where_nothing_is_that_is_said() {
    let marks = marks();
    // Beside the mark: its arm alone, its edge, or bare table.
    for (k, click) in [
        (0, [125.0, 135.0]),
        (2, [112.0, 92.0]),
        (5, [40.0, 40.0]),
        (8, [145.0, 20.0]),
    ] {
        let picture = drawn(marks[k], [80.0, 80.0], 0.007, 7);
        let fault = snap(&picture, click.into(), 12.0, None);
        let said = fault.expect_err("nothing is there").to_string();
        assert!(
            said.contains("there is no cross, disc or checker corner within 12 px"),
            "{said}"
        );
    }
    // A disc is no cross, and the other way round.
    let picture = drawn(marks[4], [80.0, 80.0], 0.007, 7);
    for (look, word) in [
        (Look::Cross, "no cross"),
        (Look::Checker, "no checker corner"),
    ] {
        let fault = snap(&picture, Point::new(81.0, 79.0), 12.0, Some(look)).unwrap_err();
        assert!(fault.to_string().contains(word), "{fault}");
    }
    let picture = drawn(marks[0], [80.0, 80.0], 0.007, 7);
    assert!(snap(&picture, Point::new(81.0, 79.0), 12.0, Some(Look::Disc)).is_err());
    assert!(snap(&picture, Point::new(-5.0, 79.0), 12.0, None).is_err());
    assert!(snap(&picture, Point::new(f64::NAN, 79.0), 12.0, None).is_err());
}

#[test]
fn arms_that_do_not_go_on_are_no_cross() {
    let star = |angles: [f64; 4]| {
        let pixels = (0..SIDE).flat_map(|y| (0..SIDE).map(move |x| (x, y)));
        let codes = pixels.flat_map(|(x, y)| {
            let (dx, dy) = (x as f64 - 79.6, y as f64 - 79.3);
            let on = angles.iter().any(|a| {
                let (sin, cos) = a.sin_cos();
                let (along, aside) = (dx * cos + dy * sin, dy * cos - dx * sin);
                (-0.5..40.0).contains(&along) && aside.abs() < 1.5
            });
            [if on { 30 } else { 200 }; 3]
        });
        Picture::from_srgb(SIDE, SIDE, codes.collect()).unwrap()
    };
    let click = Point::new(82.0, 78.0);
    let cross = star([0.2, 1.9, 3.34, 5.04]);
    assert_eq!(snap(&cross, click, 12.0, None).unwrap().look, Look::Cross);
    assert!(snap(&star([0.2, 1.9, 2.8, 4.3]), click, 12.0, None).is_err());
}

#[test]
fn noise_is_no_mark() {
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let codes = (0..3 * 200 * 200)
        .map(|_| rng.random_range(100..156))
        .collect();
    let picture = Picture::from_srgb(200, 200, codes).unwrap();
    for at in [[50.0, 50.0], [100.0, 100.0], [150.0, 90.0]] {
        assert!(snap(&picture, at.into(), 15.0, None).is_err());
    }
}

#[test]
fn the_marks_of_the_reference_photo_are_found() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/");
    let text = std::fs::read_to_string(format!("{folder}photo.json")).unwrap();
    let reference: serde_json::Value = serde_json::from_str(&text).unwrap();
    let bytes = std::fs::read(format!("{folder}photo/table.jpg")).unwrap();
    let picture = Picture::read(&bytes).unwrap();
    let marks = reference["marks"].as_array().unwrap();
    for (k, mark) in marks.iter().enumerate() {
        let of = |i: usize| mark["px"][i].as_f64().unwrap();
        let truth = Point::new(of(0), of(1));
        let kind = mark["kind"].as_str().unwrap();
        let click = Point::new(truth.x + 4.0 - k as f64, truth.y - 5.0 + 0.8 * k as f64);
        let found = snap(&picture, click, 15.0, None).unwrap();
        let off = (found.px - truth).length();
        let look = match kind.trim_start_matches("light ") {
            "cross" => Look::Cross,
            "disc" => Look::Disc,
            _ => Look::Checker,
        };
        assert_eq!(found.look, look, "{k}");
        assert_eq!(found.light, kind.starts_with("light"), "{k}");
        assert!(
            off < 0.15 && off < 4.0 * found.error,
            "{kind} {k}: {off} {found:?}"
        );
    }
}
