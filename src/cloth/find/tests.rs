//! Against libraries that we did not write, and cases that are plain by hand.

use super::grain::grain;
use super::mask::Mask;
use super::ring::zero_lines;
use super::*;
use crate::shape::Region;
use serde_json::Value;

fn reference() -> Value {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/find.json"
    ));
    serde_json::from_str(text).unwrap()
}

/// The formula of `find.py`.
fn value(c: f64, r: f64) -> f64 {
    (c * 0.31 + 0.4).sin() * (r * 0.23).cos() + 0.3 * (0.11 * c + 0.17 * r).sin() - 0.15
}

fn field() -> Raster<f32, Table> {
    let bounds = Bounds::new(Point::new(-0.5, -0.5), Point::new(69.5, 49.5));
    Raster::over(bounds, 1.0, |c, r, _| value(c as f64, r as f64) as f32)
}

#[test]
fn zero_lines_are_scikit_image_s() {
    let reference = reference();
    let mut lines: Vec<Region<Table>> =
        zero_lines(&field()).into_iter().map(Region::ring).collect();
    lines.sort_by(|a, b| a.area().abs().total_cmp(&b.area().abs()));
    let theirs = reference["lines"].as_array().unwrap();
    assert_eq!(lines.len(), theirs.len());
    for (own, their) in lines.iter().zip(theirs) {
        let ring = &own.rings[0];
        let length: f64 = crate::shape::pairs(ring)
            .map(|(a, b)| (b - a).length())
            .sum();
        let of = |name: &str| their[name].as_f64().unwrap();
        assert!(
            (own.area().abs() - of("area")).abs() < 1e-3,
            "{} {their}",
            own.area()
        );
        assert!((length - of("length")).abs() < 1e-3, "{length} {their}");
    }
}

#[test]
fn parts_fills_and_depths_are_scipy_s() {
    let reference = reference();
    let field = field();
    let mask = Mask::new(70, 50, |k| field.values()[k] > 0.0);
    let mut parts = mask.parts().1[1..].to_vec();
    parts.sort_unstable();
    let theirs: Vec<usize> = serde_json::from_value(reference["parts"].clone()).unwrap();
    assert_eq!(parts, theirs);
    let filled = mask.filled().on.iter().filter(|on| **on).count();
    assert_eq!(filled as u64, reference["filled"].as_u64().unwrap());
    // Ours counts in fifths: 2 % off at most.
    let depth = mask.depth();
    let most = depth.iter().copied().fold(0.0, f32::max);
    let sum: f32 = depth.iter().sum();
    let of = |name: &str| reference[name].as_f64().unwrap();
    assert!(
        (f64::from(most) / of("deepest") - 1.0).abs() < 0.03,
        "{most}"
    );
    assert!(
        (f64::from(sum) / of("depth_sum") - 1.0).abs() < 0.02,
        "{sum}"
    );
}

/// A table of 200 by 160 mm and what lies on it.
fn table(of: impl Fn(Point<Table>) -> [f32; 3]) -> Raster<[f32; 3], Table> {
    let bounds = Bounds::new(Point::zero(), Point::new(200.0, 160.0));
    let mut seed = 7u32;
    Raster::over(bounds, 0.5, |_, _, p| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let noise = ((seed >> 8) as f32 / (1 << 24) as f32 - 0.5) * 0.03;
        of(p).map(|v| v * (1.0 + noise))
    })
}

const WOOD: [f32; 3] = [0.45, 0.30, 0.18];
const BLUE: [f32; 3] = [0.05, 0.09, 0.25];

fn square(p: Point<Table>) -> bool {
    (50.0..150.0).contains(&p.x) && (40.0..120.0).contains(&p.y)
}

fn looked(light: &Raster<[f32; 3], Table>, seeds: &Seeds) -> Outcome<Found> {
    find(light, &mut |_| None, seeds)
}

#[test]
fn a_square_is_found_to_a_tenth_of_a_mm_and_its_shadow_is_table() {
    let light = table(|p| {
        let shaded = (46.0..156.0).contains(&p.x) && (34.0..124.0).contains(&p.y);
        match (square(p), shaded) {
            (true, _) => BLUE,
            (_, true) => WOOD.map(|v| v * 0.6),
            _ => WOOD,
        }
    });
    let found = looked(&light, &Seeds::default()).unwrap();
    let area = signed_area(&found.outline);
    // A ring of 360 mm that is a tenth off is 36 mm² off; corners are a little round.
    assert!((area - 8000.0).abs() < 36.0, "{area}");
    assert!(found.holes.is_empty() && found.candidates.is_empty());
}

#[test]
fn where_only_shadow_could_tell_them_apart_it_asks_and_takes_an_answer() {
    let light = table(|p| {
        if square(p) {
            WOOD.map(|v| v * 0.6)
        } else {
            WOOD
        }
    });
    let fault = looked(&light, &Seeds::default()).unwrap_err().to_string();
    assert!(
        fault.contains("looks like the table") && fault.contains("name a place on the cloth"),
        "{fault}"
    );
    let seeds = Seeds {
        cloth: vec![Point::new(100.0, 80.0)],
        table: vec![Point::new(20.0, 80.0)],
    };
    let found = looked(&light, &seeds).unwrap();
    assert!((signed_area(&found.outline) - 8000.0).abs() < 60.0);
}

#[test]
fn a_bare_table_and_one_of_many_colours_end_in_a_sentence() {
    let bare = looked(&table(|_| WOOD), &Seeds::default())
        .unwrap_err()
        .to_string();
    assert!(bare.contains("no cloth is seen"), "{bare}");
    let patched = table(|p| {
        let k = (p.x / 20.0) as usize + 3 * (p.y / 20.0) as usize;
        [
            [0.5, 0.1, 0.1],
            [0.1, 0.5, 0.1],
            [0.1, 0.1, 0.5],
            [0.5, 0.5, 0.05],
        ][k % 4]
    });
    let many = looked(&patched, &Seeds::default()).unwrap_err().to_string();
    assert!(many.contains("--table-at"), "{many}");
    let nothing = table(|_| [f32::NAN; 3]);
    assert!(
        looked(&nothing, &Seeds::default())
            .unwrap_err()
            .to_string()
            .contains("too little")
    );
}

fn two(a: f64, b: f64) -> Weave {
    let threads = |runs_deg, apart| Threads {
        runs_deg,
        error_deg: 0.2,
        apart,
    };
    Weave::Two(threads(30.0, a), threads(120.5, b))
}

/// A ring about a place, of sides that are no selvedges.
fn round() -> Vec<Point<Table>> {
    Region::disc(Point::zero(), 120.0).rings.remove(0)
}

#[test]
fn the_grain_is_never_told_by_one_set_of_lines() {
    let lines = Threads {
        runs_deg: 63.0,
        error_deg: 0.1,
        apart: 2.0,
    };
    let Grain::CantTell { why } = grain(&round(), None, &Weave::One(lines)) else {
        panic!("told");
    };
    assert!(why.contains("diagonal"));
    assert!(matches!(
        grain(&round(), None, &Weave::Unseen),
        Grain::CantTell { .. }
    ));
}

#[test]
fn of_two_sets_the_closer_is_the_warp_or_the_one_along_a_straight_edge() {
    let told = |outline: &[Point<Table>], weave: &Weave| match grain(outline, None, weave) {
        Grain::Told { deg, by, .. } => Some((deg, by)),
        Grain::CantTell { .. } => None,
    };
    let (deg, by) = told(&round(), &two(0.8, 1.0)).unwrap();
    assert!((deg - 30.0).abs() < 0.01 && by == [By::Weave]);
    assert_eq!(told(&round(), &two(0.8, 0.82)), None);
    // One straight edge, along the second set.
    let (sin, cos) = 120.5f64.to_radians().sin_cos();
    let cut: Vec<Point<Table>> = round()
        .into_iter()
        .filter(|p| p.x * sin - p.y * cos < 60.0)
        .collect();
    let (deg, by) = told(&cut, &two(0.8, 0.82)).unwrap();
    assert!(
        (deg - 120.5).abs() < 0.3 && by == [By::Weave, By::Selvedge],
        "{deg} {by:?}"
    );
    // By itself, one edge is any cut.
    assert_eq!(told(&cut, &Weave::Unseen), None);
}

#[test]
fn stripes_that_disagree_with_the_threads_are_not_believed() {
    let striped = |runs_deg| Striped {
        runs_deg,
        error_deg: 0.1,
        repeat: None,
        checked: false,
    };
    let told = |deg| {
        matches!(
            grain(&round(), Some(&striped(deg)), &two(0.8, 1.0)),
            Grain::Told { .. }
        )
    };
    assert!(told(30.3) && told(120.2) && !told(75.0));
}
