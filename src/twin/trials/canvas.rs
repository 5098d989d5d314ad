//! Pictures painted by clipping polygons pixel by pixel: the lit area of every
//! pixel is exact, and found another way than the instruments read it.

use crate::space::{Point, Projector};
use crate::twin::picture::{Picture, Response};
use crate::twin::rig::Rig;

pub(super) type Polygon = Vec<Point<Projector>>;

pub(super) struct Canvas {
    width: usize,
    height: usize,
    light: Vec<f64>,
}

impl Canvas {
    /// A dark picture of a rig's size.
    pub(super) fn of(rig: &Rig) -> Self {
        let [width, height] = rig.optics().size.map(|side| side as usize);
        Self {
            width,
            height,
            light: vec![0.0; width * height],
        }
    }

    /// Adds `light` over the area of `polygon`.
    pub(super) fn add(&mut self, polygon: &[Point<Projector>], light: f64) {
        let rows = span(polygon, |p| p.y, self.height);
        for y in rows {
            let low = y as f64;
            let band = keep(&keep(polygon, |p| p.y - low), |p| low + 1.0 - p.y);
            for x in span(&band, |p| p.x, self.width) {
                let left = x as f64;
                let part = keep(&keep(&band, |p| p.x - left), |p| left + 1.0 - p.x);
                self.light[y * self.width + x] += light * area(&part);
            }
        }
    }

    /// The light of pixel (x, y).
    pub(super) fn at(&self, x: usize, y: usize) -> f64 {
        self.light[y * self.width + x]
    }

    /// As 8 bit sRGB codes, which is how a frame reaches a projector.
    pub(super) fn codes(&self) -> Vec<u8> {
        let encode = |light: f64| {
            let v = if light <= 0.0031308 {
                12.92 * light
            } else {
                1.055 * light.powf(1.0 / 2.4) - 0.055
            };
            (v * 255.0).round() as u8
        };
        self.light.iter().map(|&light| encode(light)).collect()
    }

    /// The picture that [`Self::codes`] make.
    pub(super) fn encoded(&self) -> Picture {
        let (width, height) = (self.width as u32, self.height as u32);
        Picture::from_grey(width, height, &self.codes(), &Response::default()).expect("a picture")
    }

    /// The picture without the codes' steps.
    pub(super) fn exact(&self) -> Picture {
        let light = self.light.iter().map(|&light| light as f32).collect();
        Picture::from_light(self.width as u32, self.height as u32, light).expect("a picture")
    }
}

/// The pixels along an axis that a polygon touches.
fn span(
    polygon: &[Point<Projector>],
    axis: impl Fn(&Point<Projector>) -> f64,
    side: usize,
) -> std::ops::Range<usize> {
    let low = polygon.iter().map(&axis).fold(f64::INFINITY, f64::min);
    let high = polygon.iter().map(&axis).fold(f64::NEG_INFINITY, f64::max);
    low.max(0.0) as usize..(high.max(0.0).ceil() as usize).min(side)
}

/// The part of a polygon where `depth`, linear in the point, is not negative:
/// one step of Sutherland and Hodgman, *Reentrant Polygon Clipping* (1974).
fn keep(polygon: &[Point<Projector>], depth: impl Fn(&Point<Projector>) -> f64) -> Polygon {
    let mut kept = Vec::with_capacity(polygon.len() + 4);
    for (i, to) in polygon.iter().enumerate() {
        let from = &polygon[(i + polygon.len() - 1) % polygon.len()];
        let (a, b) = (depth(from), depth(to));
        if (a < 0.0) != (b < 0.0) {
            kept.push(from.lerp(*to, a / (a - b)));
        }
        if b >= 0.0 {
            kept.push(*to);
        }
    }
    kept
}

fn area(polygon: &[Point<Projector>]) -> f64 {
    let Some(first) = polygon.first() else {
        return 0.0;
    };
    let fan = polygon
        .windows(2)
        .map(|w| (w[0] - *first).cross(w[1] - *first));
    (fan.sum::<f64>() / 2.0).abs()
}

#[test]
fn a_triangle_covers_half_of_the_pixel_its_long_side_halves() {
    let mut canvas = Canvas::of(&Rig::workshop());
    let corners = [(10.0, 10.0), (13.0, 10.0), (10.0, 13.0)];
    canvas.add(&corners.map(|(x, y)| Point::new(x, y)), 1.0);
    assert_eq!(canvas.at(10, 10), 1.0);
    assert!((canvas.at(12, 10) - 0.5).abs() < 1e-12);
    assert!((canvas.at(11, 11) - 0.5).abs() < 1e-12);
    assert_eq!(canvas.at(12, 11), 0.0);
    assert!((canvas.light.iter().sum::<f64>() - 4.5).abs() < 1e-12);
}
