//! The edge finder on edges that are known.

use std::f64::consts::TAU;

use super::canvas::{Canvas, Polygon};
use crate::space::{Point, Projector, Table, Vector};
use crate::twin::edge::{Edges, Interruption, find_edges};
use crate::twin::lens::Lens;
use crate::twin::picture::Levels;
use crate::twin::rig::{Optics, Rig};
use crate::twin::stats::Spread;

const LEVELS: Levels = Levels {
    dark: 0.0,
    full: 1.0,
};

/// A smooth convex outline given by its support function: at the direction t,
/// the tangent is `h(t) + grow` from the middle, so that `grow` is an exact
/// offset. Radii of curvature are 24 to 96 mm.
fn pebble(middle: Point<Table>, grow: f64) -> Vec<Point<Table>> {
    (0..3000)
        .map(|i| {
            let t = TAU * f64::from(i) / 3000.0;
            let h = 60.0 + grow + 4.0 * (2.0 * t + 0.4).cos() + 3.0 * (3.0 * t).cos();
            let slope = -8.0 * (2.0 * t + 0.4).sin() - 9.0 * (3.0 * t).sin();
            let (sin, cos) = t.sin_cos();
            middle + Vector::new(h * cos - slope * sin, h * sin + slope * cos)
        })
        .collect()
}

fn projected(rig: &Rig, outline: &[Point<Table>], height: f64) -> Polygon {
    outline
        .iter()
        .map(|p| rig.project(p.x, p.y, height))
        .collect()
}

fn rectangle(middle: Point<Table>, half: [f64; 2], turn: f64) -> Vec<Point<Table>> {
    let (sin, cos) = turn.sin_cos();
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(x, y)| (half[0] * x, half[1] * y))
        .map(|(x, y)| middle + Vector::new(cos * x - sin * y, sin * x + cos * y))
        .to_vec()
}

/// A polygon in the picture with every side moved `by` pixels to its left.
fn inset(polygon: &[Point<Projector>], by: f64) -> Polygon {
    let n = polygon.len();
    let side = |i: usize| {
        let (a, b) = (polygon[i % n], polygon[(i + 1) % n]);
        let along = (b - a).normalize();
        (a + Vector::new(along.y, -along.x) * by, along)
    };
    (0..n)
        .map(|i| {
            let ((p, d), (q, e)) = (side(i + n - 1), side(i));
            p + d * ((q - p).cross(e) / d.cross(e))
        })
        .collect()
}

fn band(rig: &Rig, outer: &[Point<Projector>], inner: &[Point<Projector>]) -> Canvas {
    let mut canvas = Canvas::of(rig);
    canvas.add(outer, 1.0);
    canvas.add(inner, -1.0);
    canvas
}

fn spread(edges: &Edges) -> Spread {
    assert!(edges.missing.is_empty(), "{:?}", edges.missing);
    Spread::of(edges.found.iter().map(|s| s.offset_px)).expect("samples")
}

#[test]
fn along_a_curve_the_edge_is_where_it_is() {
    for rig in [Rig::workshop(), Rig::workshop_with_lens()] {
        for (x, y) in [(150.0, 120.0), (1050.0, 650.0), (610.0, 400.0)] {
            let middle = Point::new(x, y);
            let cut = pebble(middle, 0.0);
            let light = band(
                &rig,
                &projected(&rig, &pebble(middle, 3.0), 2.0),
                &projected(&rig, &cut, 2.0),
            );
            let edges = find_edges(&rig, &light.encoded(), LEVELS, &[cut], 2.0, &[]);
            let found = spread(&edges);
            println!("curve {found:?}, {} skipped", edges.skipped);
            assert!(found.count > 180 && edges.skipped == 0);
            assert!(found.rms <= 0.003, "{found:?}");
            assert!(found.mean.abs() <= 0.0005, "{found:?}");
            assert!(found.worst <= 0.012, "{found:?}");

            let edges = find_edges(
                &rig,
                &light.exact(),
                LEVELS,
                &[pebble(middle, 0.0)],
                2.0,
                &[],
            );
            println!("curve, no codes {:?}", spread(&edges));
            assert!(spread(&edges).worst <= 0.0001, "{:?}", spread(&edges));
        }
    }
}

#[test]
fn on_the_table_an_offset_is_in_millimetres() {
    let rig = Rig::workshop_with_lens();
    let middle = Point::new(300.0, 500.0);
    for grow in [-0.25, 0.4, 2.0] {
        let light = band(
            &rig,
            &projected(&rig, &pebble(middle, grow + 3.0), 0.0),
            &projected(&rig, &pebble(middle, grow), 0.0),
        );
        let cut = pebble(middle, 0.0);
        let edges = find_edges(&rig, &light.encoded(), LEVELS, &[cut], 0.0, &[]);
        let off = Spread::of(edges.found.iter().map(|s| s.offset_mm + grow)).expect("samples");
        println!("grow {grow}: {off:?}");
        assert!(edges.missing.is_empty());
        assert!(off.rms <= 0.003, "{off:?}");
    }
}

#[test]
fn straight_edges_at_any_slant_and_offset() {
    let rig = Rig::workshop();
    for (turn, by) in [
        (0.0, 0.0),
        (0.1, 0.3),
        (0.35, -0.3),
        (0.785, 0.3),
        (1.1, 0.7),
        (0.02, 7.25),
        (0.6, -9.5),
        (1.3, 11.4),
    ] {
        let cut = rectangle(Point::new(700.0, 300.0), [180.0, 110.0], turn);
        let inner = inset(&projected(&rig, &cut, 0.0), by);
        let light = band(&rig, &inset(&inner, -3.0), &inner);
        let edges = find_edges(&rig, &light.encoded(), LEVELS, &[cut], 0.0, &[]);
        let near = edges.found.iter().map(|s| s.offset_px - by);
        let found = Spread::of(near).expect("samples");
        println!("turn {turn} by {by}: {found:?} {} skipped", edges.skipped);
        // A moved edge is shorter or longer than the cut line by its corners.
        let corners = 8.0 * (by.abs() + 2.0) * 0.8 / 2.0;
        assert!((edges.missing.len() as f64) <= corners);
        assert!(by.abs() > 1.0 || edges.missing.is_empty());
        assert!(found.rms <= 0.003 && found.worst <= 0.015, "{found:?}");
        assert!(found.mean.abs() <= 0.001, "{found:?}");
    }
}

#[test]
fn a_band_of_two_pixels_is_enough() {
    let rig = Rig::workshop();
    for turn in [0.0, 0.2, 0.4, 0.6, 0.785] {
        let cut = rectangle(Point::new(700.0, 300.0), [180.0, 110.0], turn);
        let inner = inset(&projected(&rig, &cut, 0.0), 0.2);
        let light = band(&rig, &inset(&inner, -2.0), &inner);
        let edges = find_edges(&rig, &light.exact(), LEVELS, &[cut], 0.0, &[]);
        let found = spread(&edges);
        println!("thin, turn {turn}: {found:?}");
        assert!((found.mean - 0.2).abs() < 1e-4 && (found.worst - 0.2).abs() < 1e-4);
    }
}

#[test]
fn a_long_edge_is_followed_through_a_lens() {
    let rig = Rig::workshop_with_lens();
    let cut = rectangle(Point::new(600.0, 400.0), [500.0, 330.0], 0.01);
    let split = |polygon: &[Point<Table>]| -> Vec<Point<Table>> {
        (0..4 * 600)
            .map(|i| polygon[i / 600].lerp(polygon[(i / 600 + 1) % 4], (i % 600) as f64 / 600.0))
            .collect()
    };
    let outer = rectangle(Point::new(600.0, 400.0), [504.0, 334.0], 0.01);
    let light = band(
        &rig,
        &projected(&rig, &split(&outer), 1.0),
        &projected(&rig, &split(&cut), 1.0),
    );
    let edges = find_edges(&rig, &light.encoded(), LEVELS, &[cut], 1.0, &[]);
    let found = spread(&edges);
    println!("lens {found:?}");
    assert!(found.rms <= 0.003 && found.worst <= 0.015, "{found:?}");
}

#[test]
fn an_edge_along_the_pixel_grid_is_found_even_between_pixels() {
    // One pixel is 0.8 mm, along the table's axes.
    let optics = Optics {
        size: [800, 600],
        focal: [1250.0, 1250.0],
        centre: Point::new(400.0, 300.0),
        lens: Lens::default(),
    };
    let rig = Rig::looking(
        [320.0, 240.0, 1000.0],
        Point::new(320.0, 240.0),
        0.0,
        optics,
    );
    let rig = rig.expect("a rig");
    for shift in [0.0, 0.03, 0.5, 0.96] {
        let middle = Point::new(320.0 + 0.8 * shift, 240.0 + 0.8 * shift);
        let cut = rectangle(middle, [160.0, 120.0], 0.0);
        let inner = projected(&rig, &cut, 0.0);
        let light = band(&rig, &inset(&inner, -3.0), &inner);
        let found = spread(&find_edges(
            &rig,
            &light.encoded(),
            LEVELS,
            &[cut],
            0.0,
            &[],
        ));
        println!("grid {shift}: {found:?}");
        assert!(found.count > 260 && found.worst <= 0.006, "{found:?}");
    }
}

#[test]
fn a_hole_is_lit_within() {
    let rig = Rig::workshop();
    let middle = Point::new(500.0, 300.0);
    let mut cut = pebble(middle, 0.0);
    let light = band(
        &rig,
        &projected(&rig, &cut, 0.0),
        &projected(&rig, &pebble(middle, -3.0), 0.0),
    );
    cut.reverse();
    let edges = find_edges(&rig, &light.encoded(), LEVELS, &[cut.clone()], 0.0, &[]);
    assert!(spread(&edges).rms <= 0.003, "{:?}", spread(&edges));
    // Taken for a border, its light is on the wrong side.
    cut.reverse();
    let wrong = find_edges(&rig, &light.encoded(), LEVELS, &[cut], 0.0, &[]);
    assert!(wrong.found.iter().all(|s| s.offset_px.abs() > 2.0));
}

#[test]
fn no_light_is_missing_and_interruptions_are_skipped() {
    let rig = Rig::workshop();
    let cut = rectangle(Point::new(600.0, 400.0), [100.0, 50.0], 0.0);
    let dark = Canvas::of(&rig).encoded();
    let edges = find_edges(&rig, &dark, LEVELS, std::slice::from_ref(&cut), 0.0, &[]);
    assert!(edges.found.is_empty());
    assert_eq!(edges.missing.len() + edges.skipped, 300);
    assert!(
        edges.skipped >= 4 && edges.skipped <= 12,
        "{}",
        edges.skipped
    );

    let interruption = Interruption {
        at: Point::new(600.0, 350.0),
        radius: 20.0,
    };
    let fewer = find_edges(&rig, &dark, LEVELS, &[cut], 0.0, &[interruption]);
    assert_eq!(fewer.skipped, edges.skipped + 20);

    let nothing = vec![vec![], vec![Point::new(1.0, 1.0); 5]];
    let edges = find_edges(&rig, &dark, LEVELS, &nothing, 0.0, &[]);
    assert_eq!(edges, Edges::default());
}
