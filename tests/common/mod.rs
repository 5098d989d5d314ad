//! Scenes and comparisons shared by the tests.
#![allow(dead_code)]

use ghostchalk::colour::decode_srgb;
use ghostchalk::projection::{Homography, Mapping};
use ghostchalk::render::{Canvas, Device, Picture, Rect, Wanted, draw_all};
use ghostchalk::scene::{Figure, Level, Patch, Scene};
use ghostchalk::shape::{Caps, Region, difference, offset, stroke, union};
use ghostchalk::space::{Point, Projector, Rigid, Table, Vector};
use ghostchalk::twin::exact::{CoverageError, ExactLight};

/// About 1200 × 800 mm seen with a marked keystone, straight map.
pub fn keystone(width: f64, height: f64) -> Mapping {
    let table = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
    let pixels = [(0.02, 0.97), (0.985, 0.955), (0.9, 0.04), (0.1, 0.025)];
    let h = Homography::through(
        table.map(|(x, y)| Point::new(x, y)),
        pixels.map(|(x, y)| Point::new(x * width, y * height)),
    )
    .unwrap();
    Mapping::plane(h)
}

/// Every driver on this machine that can draw.
pub fn devices() -> Vec<Device> {
    let found: Vec<Device> = [Wanted::Vulkan, Wanted::Gl]
        .into_iter()
        .filter_map(|w| Device::open(w).ok())
        .collect();
    assert!(
        !found.is_empty(),
        "no graphics driver: nothing could be tested"
    );
    found
}

pub fn picture(device: &Device, scene: &Scene, map: &Mapping, width: u32, height: u32) -> Picture {
    let mut canvas = Canvas::new(device, width, height).unwrap();
    let drawn = draw_all(&scene.figures, map, width, height);
    canvas.redraw(Rect::of_size(width, height), &drawn);
    canvas.read().unwrap()
}

/// The exact light of a scene, vertex by vertex through the mapping: right
/// for maps that keep straight lines straight.
pub fn exact(scene: &Scene, map: &Mapping, width: u32, height: u32) -> ExactLight {
    let mut exact = ExactLight::new(width as usize, height as usize);
    for figure in &scene.figures {
        for patch in &figure.patches {
            for ring in &patch.region.rings {
                let pixels: Vec<Point<Projector>> = ring
                    .iter()
                    .map(|&p| map.pixel(p, figure.height).unwrap())
                    .collect();
                exact.add(&pixels, f64::from(patch.level.0) / 255.0);
            }
        }
    }
    exact
}

pub fn linear(picture: &Picture) -> Vec<f64> {
    picture
        .codes
        .iter()
        .map(|c| decode_srgb(f64::from(*c) / 255.0))
        .collect()
}

pub fn compare(exact: &ExactLight, picture: &Picture) -> CoverageError {
    exact.compare(&linear(picture))
}

/// The band of width `w` round a region, in table space.
pub fn band(region: &Region<Table>, w: f64) -> Region<Table> {
    difference(&offset(region, w), region)
}

fn at(region: Region<Table>, x: f64, y: f64, turn: f64) -> Region<Table> {
    let pose: Rigid<Table, Table> = Rigid::new(false, turn, Vector::new(x, y));
    region.moved(&pose)
}

/// A smooth closed outline of mean radius `r`, never the same twice.
pub fn blob(r: f64, seed: usize) -> Region<Table> {
    let s = seed as f64;
    let ring = (0..180)
        .map(|k| {
            let a = std::f64::consts::TAU * f64::from(k) / 180.0;
            let rr = r * (1.0 + 0.18 * (2.0 * a + s).sin() + 0.07 * (3.0 * a + 2.3 * s).cos());
            Point::new(rr * a.cos(), rr * a.sin())
        })
        .collect();
    Region::ring(ring)
}

pub fn full(region: Region<Table>) -> Figure {
    Figure {
        patches: vec![Patch {
            region,
            level: Level::FULL,
        }],
        height: 0.0,
    }
}

/// Twenty smooth outlines with their bands.
pub fn smooth_scene() -> Scene {
    let figures = (0..20).map(|k| {
        let (x, y) = (
            130.0 + 235.0 * f64::from(k % 5),
            110.0 + 190.0 * f64::from(k / 5),
        );
        full(at(
            band(&blob(70.0, k as usize), 3.0),
            x,
            y,
            0.3 * f64::from(k),
        ))
    });
    Scene {
        figures: figures.collect(),
    }
}

/// A star of `n` spikes.
pub fn star(n: usize, outer: f64, inner: f64) -> Region<Table> {
    let ring = (0..2 * n)
        .map(|k| {
            let a = std::f64::consts::PI * k as f64 / n as f64;
            let r = if k % 2 == 0 { outer } else { inner };
            Point::new(r * a.cos(), r * a.sin())
        })
        .collect();
    Region::ring(ring)
}

pub fn polygon(points: &[(f64, f64)]) -> Region<Table> {
    Region::ring(points.iter().map(|&(x, y)| Point::new(x, y)).collect())
}

/// Corners, spikes, stars, a slot narrower than the band, a hole, neighbours
/// 2 mm apart, ticks and dimmed strokes.
pub fn hard_scene() -> Scene {
    let mut figures = Vec::new();
    for k in 0..6 {
        let t = 0.17 + 0.61 * f64::from(k);
        figures.push(full(at(
            band(&star(5 + k as usize, 70.0, 26.0), 3.0),
            100.0 + 180.0 * f64::from(k),
            110.0,
            t,
        )));
        // A 30° spike: 15° to either side of its axis.
        let spike = polygon(&[
            (-80.0, -80.0 * 0.267_949),
            (0.0, 0.0),
            (-80.0, 80.0 * 0.267_949),
        ]);
        figures.push(full(at(
            band(&spike, 3.0),
            150.0 + 180.0 * f64::from(k),
            290.0,
            t,
        )));
        // A slot 1.5 mm wide, 60 deep.
        let block = polygon(&[(-40.0, -30.0), (40.0, -30.0), (40.0, 30.0), (-40.0, 30.0)]);
        let slot = polygon(&[(-0.75, -20.0), (0.75, -20.0), (0.75, 60.0), (-0.75, 60.0)]);
        figures.push(full(at(
            band(&difference(&block, &slot), 3.0),
            100.0 + 180.0 * f64::from(k),
            420.0,
            t,
        )));
        // A hole of 8 mm.
        let holed = difference(&block, &Region::disc(Point::new(5.0, 3.0), 4.0));
        figures.push(full(at(
            band(&holed, 3.0),
            100.0 + 180.0 * f64::from(k),
            560.0,
            1.1 * t,
        )));
        // Two neighbours 2 mm apart, each dark to the other's band; ticks; a dim stroke.
        let (a, b) = (
            polygon(&[(-50.0, 0.0), (-1.0, -25.0), (-1.0, 25.0)]),
            polygon(&[(1.0, -25.0), (50.0, 0.0), (1.0, 25.0)]),
        );
        let both = difference(
            &difference(&union([&offset(&a, 3.0), &offset(&b, 3.0)]), &a),
            &b,
        );
        let tick = polygon(&[(-20.75, -3.0), (-19.25, -3.0), (-19.25, 3.0), (-20.75, 3.0)]);
        figures.push(full(at(
            union([&both, &tick]),
            100.0 + 180.0 * f64::from(k),
            700.0,
            0.9 * t,
        )));
        let line: Vec<Point<Table>> = vec![
            Point::new(10.0, -8.0),
            Point::new(30.0, 0.0),
            Point::new(12.0, 9.0),
        ];
        figures.push(Figure {
            patches: vec![Patch {
                region: at(
                    stroke(&line, 0.6, Caps::Round),
                    100.0 + 180.0 * f64::from(k),
                    700.0,
                    0.9 * t,
                ),
                level: Level(90),
            }],
            height: 0.0,
        });
    }
    Scene { figures }
}
