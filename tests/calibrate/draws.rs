//! First-order covariance against draws, and what a cut edge may be wrong by against a
//! simulated cutter.

use super::over_seeds::{Noise, believed, grid, place_of, rig, survey};
use ghostchalk::calibration::budget::{Budget, RingEdge, Setup, Stack, Tool};
use ghostchalk::calibration::cut_test::{READING, STRIP, cut_test};
use ghostchalk::calibration::fit::{Fit, Form, Sighted};
use ghostchalk::calibration::raised::from_plumb;
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::twin::cutter::{Cutter, Faults};

#[test]
fn covariance_of_place_length_and_girth_is_that_of_ten_thousand_draws() {
    let rig = rig(15.0, 0.5);
    let marks = grid(5, 4, 0.0);
    let ideal: Vec<Sighted> = marks
        .iter()
        .enumerate()
        .map(|(k, p)| Sighted {
            name: format!("{k}"),
            table: *p,
            pixel: rig.project(p.x, p.y, 0.0),
        })
        .collect();
    let size = [1920, 1080];
    let base = Fit::new(&ideal, size, &believed(), Form::Lens).unwrap();
    let probes = [(50.0, 40.0), (600.0, 400.0), (1100.0, 700.0), (900.0, 90.0)]
        .map(|(x, y)| Point::<Table>::new(x, y));
    let pixels = probes.map(|p| base.mapping.pixel(p, 0.0).unwrap());
    // A girth of two edges that lie side by side.
    let edges: [[Point<Table>; 2]; 2] = [
        [Point::new(200.0, 200.0), Point::new(450.0, 210.0)],
        [Point::new(205.0, 260.0), Point::new(450.0, 262.0)],
    ];
    let ends = edges.map(|e| e.map(|p| base.mapping.pixel(p, 0.0).unwrap()));
    let draws = 10_000;
    let mut across = [0.0; 4];
    let (mut lengths, mut girth) = ([0.0; 2], 0.0);
    for seed in 0..draws {
        let mut noise = Noise::new(100_000 + seed);
        let seen = survey(&rig, &marks, &mut noise);
        let fit = Fit::new(&seen, size, &believed(), Form::Lens).unwrap();
        for (sum, (p, q)) in across.iter_mut().zip(probes.iter().zip(&pixels)) {
            let place = fit.mapping.place(*q).unwrap();
            *sum += (place - *p).square_length() / 2.0;
        }
        let mut all = 0.0;
        for (k, end) in ends.iter().enumerate() {
            let [a, b] = end.map(|q| fit.mapping.place(q).unwrap());
            let off = (b - a).length() - (edges[k][1] - edges[k][0]).length();
            lengths[k] += off * off;
            all += off;
        }
        girth += all * all;
    }
    let n = draws as f64;
    let field = base.field(&ideal);
    for (sum, p) in across.iter().zip(&probes) {
        let (drawn, stated) = ((sum / n).sqrt(), field.across(*p).unwrap());
        println!("{p:?}: drawn {drawn:.4}, stated {stated:.4}");
        assert!((stated / drawn - 1.0).abs() < 0.05);
    }
    for (k, sum) in lengths.iter().enumerate() {
        let (drawn, stated) = ((sum / n).sqrt(), field.length(&[&edges[k]]).unwrap());
        assert!((stated / drawn - 1.0).abs() < 0.05, "{drawn} {stated}");
    }
    let stated = field.length(&[&edges[0], &edges[1]]).unwrap();
    let drawn = (girth / n).sqrt();
    println!("girth: drawn {drawn:.4}, stated {stated:.4}");
    assert!((stated / drawn - 1.0).abs() < 0.05, "{drawn} {stated}");
    // Edges that share their errors: not as if each knew nothing of the other.
    let apart = (lengths.iter().sum::<f64>() / n).sqrt();
    assert!(drawn > 1.2 * apart, "{apart} {drawn}");
}

/// What is left across an outline, place by place, after the best shift and turn
/// (Procrustes, closed form).
fn left_each(piece: &[Point<Table>], cut: &[Point<Table>]) -> Vec<f64> {
    let n = piece.len();
    let mean =
        |all: &[Point<Table>]| all.iter().fold(Vector::zero(), |s, p| s + p.to_vector()) / n as f64;
    let (a, b): (Vector<Table>, Vector<Table>) = (mean(piece), mean(cut));
    let (mut dot, mut cross) = (0.0, 0.0);
    for (p, q) in piece.iter().zip(cut) {
        let (p, q) = (p.to_vector() - a, q.to_vector() - b);
        dot += p.dot(q);
        cross += p.cross(q);
    }
    let (sin, cos) = cross.atan2(dot).sin_cos();
    let left = (0..n).map(|k| {
        let way: Vector<Table> = (piece[(k + 1) % n] - piece[(k + n - 1) % n]).normalize();
        let p = piece[k].to_vector() - a;
        let turned = Vector::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos);
        (cut[k].to_vector() - b - turned).dot(Vector::new(way.y, -way.x))
    });
    left.collect()
}

fn rms(v: &[f64]) -> f64 {
    (v.iter().map(|e| e * e).sum::<f64>() / v.len() as f64).sqrt()
}

/// A closed outline, in steps of about 5 mm.
fn outline(corners: &[(f64, f64)]) -> Vec<Point<Table>> {
    let n = corners.len();
    let edges = (0..n).flat_map(|k| {
        let (a, b) = (Point::from(corners[k]), Point::from(corners[(k + 1) % n]));
        let parts = ((b - a).length() / 5.0).ceil() as usize;
        (0..parts).map(move |i| a.lerp(b, i as f64 / parts as f64))
    });
    edges.collect()
}

/// Where the edges of a piece of 250 by 120 mm begin in its outline.
const EDGES: [usize; 5] = [0, 50, 74, 124, 148];

#[derive(Default)]
struct OfEdge {
    off: Vec<f64>,
    stated: Vec<f64>,
}

fn edge_of(piece: &[Point<Table>], k: usize) -> Vec<Point<Table>> {
    let n = piece.len();
    (EDGES[k]..=EDGES[k + 1]).map(|i| piece[i % n]).collect()
}

/// The simulated marks come from no tape.
fn all_but_the_tape(budget: Budget) -> Budget {
    let mut terms = budget.terms;
    terms.retain(|t| t.what != "the tape's own scale");
    Budget { terms }
}

#[test]
fn the_budget_is_what_a_simulated_cutter_does() {
    let rig = rig(15.0, 0.5);
    let [x, y, z] = rig.lens();
    let marks = grid(5, 4, 0.0);
    let piece = outline(&[
        (700.0, 450.0),
        (950.0, 450.0),
        (950.0, 570.0),
        (700.0, 570.0),
    ]);
    let tool = Tool::SHEARS;
    let lens = from_plumb(Point::new(x, y), z, [0.0, 0.0]).unwrap();
    let (mut shape, mut shape_stated) = (Vec::new(), Vec::new());
    let mut edges: [OfEdge; 4] = Default::default();
    let (mut lengths, mut lengths_stated) = (Vec::new(), Vec::new());
    let (mut place, mut lower, mut stated) = (Vec::new(), Vec::new(), Vec::new());
    let mut stated_lower = Vec::new();
    for seed in 0..400 {
        let mut noise = Noise::new(40_000 + seed);
        let seen = survey(&rig, &marks, &mut noise);
        let fit = Fit::new(&seen, [1920, 1080], &believed(), Form::Lens).unwrap();
        // Its own steady lift, of which the budget knows the middle, and that to a third.
        let [lift, _] = noise.pair();
        let faults = Faults {
            hand: tool.hand,
            outside: 0.0,
            lift: tool.lift * (1.0 + lift / 3.0),
            uneven: tool.uneven_lift,
            spill: tool.spill,
            slide: tool.ply_slip,
        };
        let light: Vec<Point<Table>> = piece
            .iter()
            .map(|p| place_of(&rig, fit.mapping.pixel(*p, 0.0).unwrap(), *p))
            .collect();
        let (top, below) = Cutter::new(faults, seed).cut(&rig, &light);
        let left = left_each(&piece, &top);
        shape.push(rms(&left));
        let setup = Setup {
            fit: &fit,
            marks: &seen,
            lens: Some(&lens),
            tool,
        };
        let flat = |plies| Stack { thick: 0.0, plies };
        let own = setup.piece(&piece, flat(1)).unwrap();
        shape_stated.push(own.shape());
        for (k, far) in edges.iter_mut().enumerate() {
            let edge = setup.edge(&piece, &edge_of(&piece, k), flat(1)).unwrap();
            far.stated.push(edge.shape());
            // Not the corners: they are on two edges.
            far.off.extend(&left[EDGES[k]..EDGES[k + 1]][1..]);
        }
        // Across the piece, from the middle of one short edge to that of the other.
        let [a, b] = [136, 62];
        lengths.push((top[b] - top[a]).length() - (piece[b] - piece[a]).length());
        let across = RingEdge {
            line: vec![piece[a], piece[b]],
            thick: 0.0,
        };
        lengths_stated.push(all_but_the_tape(setup.ring(&[across]).unwrap()).shape());
        let n = piece.len();
        for k in 0..n {
            let way: Vector<Table> = (piece[(k + 1) % n] - piece[(k + n - 1) % n]).normalize();
            let out = Vector::new(way.y, -way.x);
            place.push((top[k] - piece[k]).dot(out));
            lower.push((below[k] - piece[k]).dot(out));
        }
        let of = |plies| {
            let b = setup.piece(&piece, flat(plies)).unwrap();
            all_but_the_tape(b).place()
        };
        stated.push(of(1));
        stated_lower.push(of(2));
    }
    for (k, far) in edges.iter().enumerate() {
        let ratio = rms(&far.stated) / rms(&far.off);
        println!(
            "edge {k}: {:.2} (budget {:.2})",
            rms(&far.off),
            rms(&far.stated)
        );
        assert!((0.85..1.15).contains(&ratio), "edge {k}: {ratio}");
    }
    println!(
        "length: {:.2} (budget {:.2})",
        rms(&lengths),
        rms(&lengths_stated)
    );
    assert!((rms(&lengths_stated) / rms(&lengths) - 1.0).abs() < 0.15);
    println!(
        "upper ply {:.2} mm (budget {:.2}), lower {:.2} (budget {:.2})",
        rms(&place),
        rms(&stated),
        rms(&lower),
        rms(&stated_lower)
    );
    println!(
        "shape {:.2} (budget {:.2})",
        rms(&shape),
        rms(&shape_stated)
    );
    let ratio = rms(&shape_stated) / rms(&shape);
    assert!((0.9..1.15).contains(&ratio), "{ratio}");
    assert!((rms(&stated) / rms(&place) - 1.0).abs() < 0.15);
    assert!((rms(&stated_lower) / rms(&lower) - 1.0).abs() < 0.15);
}

#[test]
fn after_one_cut_test_a_piece_by_the_same_hand_is_right() {
    let mut edges = Vec::new();
    let (mut variance, mut stated) = (0.0, 0.0);
    for seed in 0..4000 {
        let mut noise = Noise::new(70_000 + seed);
        // A hand and a table of its own.
        let [hand, scale] = noise.pair();
        let (hand, scale) = (0.5 * hand, 0.002 * scale);
        let cut = |mm: f64| mm * (1.0 + scale) + 2.0 * hand;
        let mut read = |mm: f64| {
            let [a, b] = noise.pair();
            [cut(mm) + READING * a, cut(mm) + READING * b]
        };
        let (long, wide) = (read(STRIP[0]), read(STRIP[1]));
        let Ok(trim) = cut_test(long, wide) else {
            continue;
        };
        let [by, error] = trim.of(300.0);
        let left = cut(300.0) - 300.0 - by;
        edges.push((left / 2.0).abs());
        variance += left * left;
        stated += error * error;
    }
    let n = edges.len();
    assert!(n > 3990);
    edges.sort_by(f64::total_cmp);
    let p95 = edges[n * 95 / 100];
    println!(
        "95 % of edges within {p95:.3} mm; stated {:.3} of {:.3}",
        stated.sqrt(),
        variance.sqrt()
    );
    assert!(p95 <= 0.35);
    assert!((stated / variance - 1.0).abs() < 0.1);
}
