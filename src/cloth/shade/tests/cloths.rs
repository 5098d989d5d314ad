//! Cloths and pieces for the tests, and how cells come about.

use crate::cloth::shade::{CELL, Doubt, Ground, ShadeMap, Shading};
use crate::colour::Lab;
use crate::raster::Raster;
use crate::shape::Region;
use crate::space::{Bounds, Cloth, Piece, Point, Rigid, Vector};
use proptest::prelude::*;

/// Light of a grey of a lightness, in white light.
pub fn grey(l: f64) -> [f32; 3] {
    [Lab::new(l, 0.0, 0.0).to_xyz().y as f32; 3]
}

/// A cloth from −`half` to `half`, its light sampled every `sample` mm.
pub fn lit(
    half: [f64; 2],
    sample: f64,
    light: impl Fn(Point<Cloth>) -> [f32; 3],
) -> Raster<[f32; 3], Cloth> {
    let corner = Vector::new(half[0], half[1]);
    let bounds = Bounds::new((-corner).to_point(), corner.to_point());
    Raster::over(bounds, sample, |_, _, p| light(p))
}

pub fn map_of(light: &Raster<[f32; 3], Cloth>, doubt: Doubt) -> ShadeMap<Cloth> {
    ShadeMap::measure(light, [1.0; 3], CELL, doubt, |_, _| Ground::Cloth).unwrap()
}

/// A grey cloth of 400 by 300 mm whose lightness is a formula.
pub fn shaded(l: impl Fn(Point<Cloth>) -> f64, repeat: Option<f64>) -> Shading<Cloth> {
    let light = lit([200.0, 150.0], 1.0, |p| grey(l(p)));
    Shading::new(map_of(&light, Doubt::NONE), repeat)
}

/// A sole, roughly: 250 by 110 mm, fuller at the top.
pub fn sole() -> Region<Piece> {
    let ring = (0..72).map(|k| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 72.0).sin_cos();
        Point::new((46.0 + 9.0 * sin) * cos, 125.0 * sin)
    });
    Region::ring(ring.collect())
}

pub fn pose(mirrored: bool, degrees: f64, x: f64, y: f64) -> Rigid<Piece, Cloth> {
    Rigid::new(mirrored, f64::to_radians(degrees), Vector::new(x, y))
}

#[test]
fn grey_in_warm_light_is_grey() {
    let lamp = [0.9, 0.7, 0.4];
    let light = lit([20.0, 20.0], 0.5, |_| lamp.map(|v| (0.5 * v) as f32));
    let map = ShadeMap::measure(&light, lamp, CELL, Doubt::NONE, |_, _| Ground::Cloth).unwrap();
    let found = map.colour(Point::zero()).unwrap();
    assert!((found.y - 0.5).abs() < 2e-5);
    let lab = Lab::from_xyz(found);
    assert!(lab.a.abs() < 0.01 && lab.b.abs() < 0.01, "{lab:?}");
}

/// 0.7 mm does not go into 2 mm: samples across cells must count in both.
#[test]
fn samples_across_cells_count_by_area() {
    let light = lit([35.0, 35.0], 0.7, |p| [(0.5 + 0.005 * p.x) as f32; 3]);
    let map = map_of(&light, Doubt::NONE);
    let bounds = map.bounds();
    for column in 0..35 {
        let p = Point::new(bounds.min.x + 2.0 * f64::from(column) + 1.0, 0.1);
        let found = map.colour(p).unwrap().y;
        // A sample is flat over 0.7 mm: an eighth of its step, twice, over 2 mm.
        assert!(
            (found - (0.5 + 0.005 * p.x)).abs() < 0.005 * 0.7 / 8.0,
            "{p:?} {found}"
        );
    }
}

#[test]
fn what_is_cloth_blown_or_neither() {
    let light = lit([30.0, 30.0], 0.5, |p| {
        if p.x > 20.0 {
            [f32::NAN; 3]
        } else {
            grey(60.0)
        }
    });
    let centre = |c: usize, r: usize| light.centre(c, r);
    let map = ShadeMap::measure(&light, [1.0; 3], CELL, Doubt::NONE, |c, r| {
        let p = centre(c, r);
        if p.x < -20.0 {
            Ground::Other
        } else if p.y > 10.4 {
            // The cells from 10 on are four fifths blown.
            Ground::Blown
        } else {
            Ground::Cloth
        }
    })
    .unwrap();
    assert_eq!(map.ground(Point::new(0.0, 0.0)), Ground::Cloth);
    assert_eq!(map.ground(Point::new(-25.0, 0.0)), Ground::Other);
    assert_eq!(map.ground(Point::new(25.0, 0.0)), Ground::Other);
    assert_eq!(map.ground(Point::new(0.0, 11.0)), Ground::Blown);
    assert_eq!(map.ground(Point::new(0.0, 99.0)), Ground::Other);
    assert_eq!(map.colour(Point::new(0.0, 11.0)), None);
    // Brighter than twice white is no cloth's light.
    let glare = lit([10.0, 10.0], 0.5, |_| [2.5; 3]);
    assert_eq!(
        map_of(&glare, Doubt::NONE).ground(Point::zero()),
        Ground::Blown
    );
}

#[test]
fn what_can_t_be_measured_is_said() {
    let light = lit([20.0, 20.0], 0.5, |_| grey(50.0));
    let fault = |white: [f64; 3], cell: f64| {
        let found = ShadeMap::measure(&light, white, cell, Doubt::NONE, |_, _| Ground::Cloth);
        found.unwrap_err().to_string()
    };
    assert!(fault([0.0; 3], 2.0).contains("not white"));
    assert!(fault([f64::NAN, 1.0, 1.0], 2.0).contains("not white"));
    assert!(fault([1.0; 3], 0.4).contains("coarser than cells of 0.4 mm"));
    assert!(fault([1.0; 3], f64::NAN).contains("of no use"));
    let wide = lit([2500.0, 2500.0], 20.0, |_| grey(50.0));
    let coarse = |cell| ShadeMap::measure(&wide, [1.0; 3], cell, Doubt::NONE, |_, _| Ground::Cloth);
    assert!(coarse(20.0).is_ok());
    assert!(coarse(2.0).unwrap_err().to_string().contains("coarser"));
}

proptest! {
    /// Every cell whose middle the region contains, once, and no other.
    #[test]
    fn cells_in_a_region_are_those_whose_middles_it_contains(
        corners in prop::collection::vec((-25.0..25.0f64, -25.0..25.0f64), 3..9),
        hole in 0.5..6.0f64, x in -8.0..8.0f64, y in -8.0..8.0f64,
    ) {
        // Corners by their direction: a ring that does not cross itself.
        let mut ring: Vec<Point<Cloth>> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
        ring.sort_by(|a, b| a.y.atan2(a.x).total_cmp(&b.y.atan2(b.x)));
        let mut region = Region::ring(ring);
        let mut inner = Region::disc(Point::new(x, y), hole);
        inner.rings[0].reverse();
        region.append(inner);
        let bounds = Bounds::new(Point::new(-20.0, -15.0), Point::new(22.0, 18.0));
        let mut raster = Raster::over(bounds, 1.5, |_, _, _| 0);
        let other = raster.clone();
        crate::cloth::shade::fill::rows_in(&region, &other, |row, columns| {
            for column in columns {
                *raster.get_mut(column, row).unwrap() += 1;
            }
        });
        for row in 0..raster.height() {
            for column in 0..raster.width() {
                let inside = region.contains(raster.centre(column, row));
                prop_assert_eq!(*raster.get(column, row).unwrap(), i32::from(inside));
            }
        }
    }
}
