use super::*;
use crate::shape::{Region, length, nearest};
use crate::space::Piece;
use proptest::prelude::*;
use serde_json::Value;
use std::f64::consts::{PI, TAU};

type At = Point<Piece>;

fn reference() -> Value {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/allowance.json"
    ));
    serde_json::from_str(text).unwrap()
}

fn ring(value: &Value) -> Ring<Piece> {
    let at = |p: &Value| At::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(at).collect()
}

fn rings(offset: &Offset<Piece>) -> Vec<Ring<Piece>> {
    let all = offset.outer.iter().chain(&offset.holes);
    all.map(|s| s.ring.clone()).collect()
}

fn area(offset: &Offset<Piece>) -> f64 {
    Region::new(rings(offset)).area()
}

/// The farthest that a point of either's edges is from the other: looked at every mm.
fn hausdorff(a: &[Ring<Piece>], b: &[Ring<Piece>]) -> f64 {
    let closed = |rings: &[Ring<Piece>]| -> Vec<Ring<Piece>> {
        let close = |r: &Ring<Piece>| r.iter().chain(r.first()).copied().collect();
        rings.iter().map(close).collect()
    };
    let (a, b) = (closed(a), closed(b));
    let one = |from: &[Ring<Piece>], to: &[Ring<Piece>]| {
        let off = |p: At| {
            let each = to.iter().filter_map(|r| nearest(r, p)).map(|(_, d)| d);
            each.fold(f64::INFINITY, f64::min)
        };
        let steps = from.iter().flat_map(|r| r.windows(2)).flat_map(|w| {
            let n = (w[1] - w[0]).length().ceil().max(1.0) as usize;
            (0..n).map(move |k| w[0].lerp(w[1], k as f64 / n as f64))
        });
        steps.map(off).fold(0.0, f64::max)
    };
    one(&a, &b).max(one(&b, &a))
}

#[test]
fn offsets_that_differ_by_side_are_those_of_shapely() {
    let (mut worst_area, mut worst_off, mut split, mut gone) = (0.0_f64, 0.0_f64, 0, 0);
    for case in reference()["cases"].as_array().unwrap() {
        let name = case["name"].as_str().unwrap();
        let side = case["side"].as_array().unwrap().iter();
        let outline = Sided {
            ring: ring(&case["ring"]),
            side: side.map(|s| s.as_u64().unwrap() as usize).collect(),
        };
        let by = case["by"].as_array().unwrap().iter();
        let sides: Vec<Side> = by
            .map(|b| Side {
                by: b.as_f64().unwrap(),
                join: Join::Mitre,
            })
            .collect();
        let mut found = edgewise(&outline, &sides);
        // As the reference leaves out what is thinner than a thousandth.
        let thick = |s: &Sided<Piece>| {
            let closed: Ring<Piece> = s.ring.iter().chain(s.ring.first()).copied().collect();
            s.area() > 1e-3 * length(&closed)
        };
        found.outer.retain(thick);
        let parts = case["parts"].as_array().unwrap();
        let want: Vec<Ring<Piece>> = parts
            .iter()
            .flat_map(|p| {
                let holes = p["holes"].as_array().unwrap().iter().map(ring);
                std::iter::once(ring(&p["outer"])).chain(holes)
            })
            .collect();
        assert_eq!(found.outer.len(), parts.len(), "{name}");
        if want.is_empty() {
            gone += 1;
            continue;
        }
        split += usize::from(parts.len() > 1);
        let off_area = (area(&found) / case["area"].as_f64().unwrap() - 1.0).abs();
        let off = hausdorff(&rings(&found), &want);
        assert!(
            off_area < 1e-4 && off < 0.02,
            "{name}: area {off_area:e}, {off} mm"
        );
        worst_area = worst_area.max(off_area);
        worst_off = worst_off.max(off);
    }
    println!("area {worst_area:e}, Hausdorff {worst_off} mm, {split} split, {gone} gone");
    assert!(split > 3 && gone > 3, "{split} {gone}");
    // Round corners are within the arc's error, all else is exact.
    assert!(worst_off < 0.002, "{worst_off}");
}

fn ellipse(a: f64, b: f64, n: usize) -> Ring<Piece> {
    let at = |k: usize| {
        let (sin, cos) = (TAU * k as f64 / n as f64).sin_cos();
        At::new(a * cos, b * sin)
    };
    (0..n).map(at).collect()
}

#[test]
fn an_ellipse_s_parallel_curve_has_the_length_and_area_of_theory() {
    for case in reference()["ellipses"].as_array().unwrap() {
        let of = |key: &str| case[key].as_f64().unwrap();
        let sides = [Side {
            by: of("by"),
            join: Join::Mitre,
        }];
        let found = edgewise(&Sided::whole(ellipse(of("a"), of("b"), 2000)), &sides);
        assert_eq!((found.outer.len(), found.holes.len()), (1, 0));
        let line: Ring<Piece> = found.outer[0]
            .ring
            .iter()
            .chain(found.outer[0].ring.first())
            .copied()
            .collect();
        // 2000 chords are short of the ellipse by about 4e-6 of it, arcs by their error.
        assert!((length(&line) / of("length") - 1.0).abs() < 1e-5, "{case}");
        assert!(
            (found.outer[0].area() / of("area") - 1.0).abs() < 1e-5,
            "{case}"
        );
    }
}

fn square() -> Sided<Piece> {
    let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)];
    Sided {
        ring: corners.iter().map(|&(x, y)| At::new(x, y)).collect(),
        side: vec![0, 1, 2, 3],
    }
}

fn sides(by: [f64; 4], join: [Join; 4]) -> Vec<Side> {
    by.into_iter()
        .zip(join)
        .map(|(by, join)| Side { by, join })
        .collect()
}

#[test]
fn corners_are_mitred_squared_and_folded_to_the_last_digit() {
    use Join::{FoldBack, Mitre, Square};
    let mitred = edgewise(&square(), &sides([5.0, 6.0, 7.0, 8.0], [Mitre; 4]));
    assert_eq!(mitred.outer[0].ring.len(), 4);
    assert!(mitred.outer[0].ring.contains(&At::new(46.0, -5.0)));
    let squared = edgewise(
        &square(),
        &sides([5.0, 6.0, 7.0, 8.0], [Mitre, Square, Mitre, Mitre]),
    );
    // The triangle between the strips' ends and the mitre is missing.
    assert!((area(&mitred) - area(&squared) - 5.0 * 6.0 / 2.0).abs() < 1e-9);
    // Square to each other, the mirrored line is the line run on: a fold is a mitre.
    let folded = edgewise(&square(), &sides([5.0, 6.0, 7.0, 8.0], [FoldBack; 4]));
    assert!((area(&folded) - area(&mitred)).abs() < 1e-9);
    assert!(mitred.blunted.is_empty());
}

#[test]
fn a_folded_hem_lies_along_the_sides_when_it_is_folded() {
    // A trapezoid, wider above: 20 mm of hem below, 6 mm elsewhere. Folded up, the hem's
    // ends must lie on the sides' cut lines.
    let corners = [(-40.0, 0.0), (40.0, 0.0), (55.0, 60.0), (-55.0, 60.0)];
    let trapezoid = Sided {
        ring: corners.iter().map(|&(x, y)| At::new(x, y)).collect(),
        side: vec![0, 1, 2, 3],
    };
    // Whichever of the two begins at the corner, the hem is the one that is folded where
    // it begins; at its other end the side is folded onto it.
    let folded = edgewise(
        &trapezoid,
        &sides(
            [20.0, 6.0, 6.0, 6.0],
            [Join::FoldBack, Join::Mitre, Join::Mitre, Join::Mitre],
        ),
    );
    let ring = &folded.outer[0].ring;
    // The left side's cut line: through (-40, 0) moved out by 6 along its normal. Where it
    // passes y = 20, mirrored at y = 0, is the hem's end.
    let slope = -15.0 / 60.0;
    let at_net = -40.0 - 6.0 * (1.0f64 + slope * slope).sqrt();
    let end = At::new(at_net + slope * 20.0, -20.0);
    let nearest = ring
        .iter()
        .map(|p| (*p - end).length())
        .fold(f64::INFINITY, f64::min);
    assert!(nearest < 1e-9, "{end:?} {ring:?}");
    assert!(
        ring.iter()
            .any(|p| (*p - At::new(at_net, 0.0)).length() < 1e-9)
    );
}

#[test]
fn a_strip_ends_on_the_line_that_stays() {
    use Join::{Meet, Mitre};
    // Corners that are not square, at a fold along the y axis.
    let corners = [(0.0, 0.0), (50.0, -20.0), (60.0, 50.0), (0.0, 40.0)];
    let half = Sided {
        ring: corners.iter().map(|&(x, y)| At::new(x, y)).collect(),
        side: vec![0, 1, 2, 3],
    };
    for by in [6.0, -6.0] {
        let found = edgewise(&half, &sides([by, by, by, 0.0], [Meet, Mitre, Mitre, Meet]));
        let part = &found.outer[0];
        let fold = part
            .runs()
            .into_iter()
            .find(|(side, _)| *side == 3)
            .unwrap()
            .1;
        assert_eq!(fold.len(), 2);
        assert!(fold.iter().all(|p| p.x == 0.0), "{fold:?}");
        // y where the lines, moved, cross x = 0.
        let low = -by * (50.0f64.hypot(20.0) / 50.0);
        let high = 40.0 + by * (60.0f64.hypot(10.0) / 60.0);
        assert!(
            (fold[0].y - high).abs() < 1e-9 && (fold[1].y - low).abs() < 1e-9,
            "{fold:?}"
        );
        assert!(part.ring.iter().all(|p| p.x >= 0.0), "{:?}", part.ring);
    }
}

#[test]
fn a_fine_disc_that_collapses_is_gone_at_once() {
    for (n, by) in [(600, -51.0), (5000, -70.0), (5000, -500.0)] {
        let disc = Sided::whole(ellipse(50.0, 50.0, n));
        let begun = std::time::Instant::now();
        let found = edgewise(
            &disc,
            &[Side {
                by,
                join: Join::Mitre,
            }],
        );
        println!("{n} points: {:?}", begun.elapsed());
        assert!(
            found.outer.is_empty(),
            "{n} {by}: {}",
            found.outer[0].area()
        );
    }
    // A bent band, whose box is no help: arcs of radii 100 and 130, so wide as 0.02 mm
    // flattens them, or ten times finer.
    for n in [100, 1000] {
        let arc = |r: f64, k: usize| {
            let (sin, cos) = (PI * k as f64 / n as f64).sin_cos();
            At::new(r * cos, r * sin)
        };
        let outer = (0..=n).map(|k| arc(130.0, k));
        let band: Ring<Piece> = outer.chain((0..=n).rev().map(|k| arc(100.0, k))).collect();
        let side = [vec![0; n + 1], vec![1; n + 1]].concat();
        let side_by = [-17.0, -14.0].map(|by| Side {
            by,
            join: Join::Mitre,
        });
        let begun = std::time::Instant::now();
        let found = edgewise(&Sided { ring: band, side }, &side_by);
        println!("{n} points twice: {:?}", begun.elapsed());
        assert!(found.outer.is_empty(), "{n}: {}", found.outer[0].area());
    }
    // Most of it collapses, a sliver does not: as a coarse one's.
    let left = |n: usize| {
        let begun = std::time::Instant::now();
        let found = edgewise(
            &Sided::whole(ellipse(100.0, 60.0, n)),
            &[Side {
                by: -55.0,
                join: Join::Mitre,
            }],
        );
        println!("{n} points: {:?}", begun.elapsed());
        area(&found)
    };
    let (coarse, fine) = (left(60), left(6000));
    assert!(
        fine > 100.0 && (coarse / fine - 1.0).abs() < 0.05,
        "{coarse} {fine}"
    );
    let neat = edgewise(
        &Sided::whole(ellipse(50.0, 50.0, 600)),
        &[Side {
            by: -49.0,
            join: Join::Mitre,
        }],
    );
    assert!((neat.outer[0].area() / PI - 1.0).abs() < 0.01);
}

proptest! {
    #[test]
    fn nothing_panics_and_what_is_shrunk_lies_inside(
        points in prop::collection::vec((-100.0..100.0f64, -100.0..100.0f64), 3..30),
        by in prop::collection::vec(-30.0..30.0f64, 1..5),
        joins in prop::collection::vec(0..4usize, 5),
    ) {
        let all = [Join::Mitre, Join::Square, Join::FoldBack, Join::Meet];
        let n = points.len();
        let outline = Sided {
            ring: points.iter().map(|&(x, y)| At::new(x, y)).collect(),
            side: (0..n).map(|k| k * by.len() / n).collect(),
        };
        let sides: Vec<Side> = by.iter().enumerate()
            .map(|(k, &by)| Side { by, join: all[joins[k]] })
            .collect();
        let found = edgewise(&outline, &sides);
        for part in found.outer.iter().chain(&found.holes) {
            prop_assert_eq!(part.ring.len(), part.side.len());
            prop_assert!(part.ring.iter().all(|p| p.x.is_finite() && p.y.is_finite()));
            prop_assert!(part.side.iter().all(|&s| s < by.len()));
        }
    }
}
