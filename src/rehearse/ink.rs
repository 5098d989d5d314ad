//! What no projector shows, drawn into a picture of the table: where a cut line is.

use crate::shape::{edge_distance, pairs};
use crate::space::{Bounds, Photo, Point, Table};
use image::RgbImage;

/// The colour of cut lines: on no cloth of ours, and not in the light.
const LINE: [u8; 3] = [255, 60, 200];

/// Blends a colour over a pixel; `share` is how much of it, 0 to 1.
pub fn ink(image: &mut RgbImage, x: u32, y: u32, colour: [u8; 3], share: f64) {
    for (c, of) in image.get_pixel_mut(x, y).0.iter_mut().zip(colour) {
        *c = (f64::from(*c) * (1.0 - share) + f64::from(of) * share).round() as u8;
    }
}

/// Draws a closed outline into a picture of `area`, `scale` px a mm; `half` px and half a pixel
/// to each side of it.
pub fn draw_line(
    image: &mut RgbImage,
    ring: &[Point<Table>],
    (area, scale): (Bounds<Table>, f64),
    half: f64,
) {
    let (width, height) = (f64::from(image.width()), f64::from(image.height()));
    let at = |p: Point<Table>| {
        Point::<Photo>::new((p.x - area.min.x) * scale, (area.max.y - p.y) * scale)
    };
    for (a, b) in pairs(ring) {
        let (a, b) = (at(a), at(b));
        let (low, high) = (a.min(b), a.max(b));
        if high.x < 0.0 || high.y < 0.0 || low.x > width || low.y > height {
            continue;
        }
        let first = |v: f64| (v - 2.0).max(0.0) as u32;
        let last = |v: f64, most: f64| (v + 2.0).clamp(0.0, most) as u32;
        for y in first(low.y)..last(high.y, height) {
            for x in first(low.x)..last(high.x, width) {
                let p = Point::new(f64::from(x) + 0.5, f64::from(y) + 0.5);
                let far = edge_distance((a, b), p);
                ink(image, x, y, LINE, (half + 0.5 - far).clamp(0.0, 1.0));
            }
        }
    }
}
