//! The light that should be in every pixel: exact areas of polygons in pixel
//! squares, in f64, by cutting the polygons up (Sutherland & Hodgman,
//! *Reentrant Polygon Clipping*, CACM 17(1), 1974). Slow, and quite another way
//! than the one that draws.

use crate::space::{Point, Projector};

/// Share of each pixel that lies inside the rings, row by row from the top
/// left. Rings carry a sign by their sense of turning, so holes subtract;
/// the result is the absolute value, times `level` (1 is white).
#[derive(Debug, Clone)]
pub struct ExactLight {
    pub width: usize,
    pub height: usize,
    /// Linear light, 0..=1 for polygons that do not overlap.
    pub light: Vec<f64>,
    /// Whether an outline passes through the pixel.
    pub edge: Vec<bool>,
}

impl ExactLight {
    /// A dark picture.
    pub fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            light: vec![0.0; width * height],
            edge: vec![false; width * height],
        }
    }

    /// Adds a ring's area in every pixel, times `level`, with the sign of its
    /// turning: positive for rings that are clockwise to the eye (y down:
    /// positive shoelace sum).
    pub fn add(&mut self, ring: &[Point<Projector>], level: f64) {
        let (low, high) = extent(ring, |p| p.y);
        let (top, bottom) = (low.floor().max(0.0), high.ceil().min(self.height as f64));
        let mut rest = ring.to_vec();
        if top > low {
            rest = cut(&rest, |p| p.y - top, true);
        }
        let mut y = top;
        while y < bottom && !rest.is_empty() {
            let row = cut(&rest, |p| p.y - (y + 1.0), false);
            rest = cut(&rest, |p| p.y - (y + 1.0), true);
            self.add_row(row, y as usize, level);
            y += 1.0;
        }
        self.mark_edges(ring);
    }

    fn add_row(&mut self, row: Vec<Point<Projector>>, y: usize, level: f64) {
        if row.is_empty() {
            return;
        }
        let (low, high) = extent(&row, |p| p.x);
        let (left, right) = (low.floor().max(0.0), high.ceil().min(self.width as f64));
        let mut rest = if left > low {
            cut(&row, |p| p.x - left, true)
        } else {
            row
        };
        let mut x = left;
        while x < right && !rest.is_empty() {
            let cell = cut(&rest, |p| p.x - (x + 1.0), false);
            rest = cut(&rest, |p| p.x - (x + 1.0), true);
            self.light[y * self.width + x as usize] += level * area(&cell);
            x += 1.0;
        }
    }

    /// Marks the pixels that an outline touches, by walking it in steps well
    /// below a pixel and marking the neighbours within the step.
    fn mark_edges(&mut self, ring: &[Point<Projector>]) {
        for k in 0..ring.len() {
            let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
            let n = ((b - a).length() * 8.0).ceil().max(1.0) as usize;
            for i in 0..=n {
                let p = a + (b - a) * (i as f64 / n as f64);
                for (dx, dy) in [(-0.07, -0.07), (0.07, -0.07), (-0.07, 0.07), (0.07, 0.07)] {
                    let (x, y) = ((p.x + dx).floor(), (p.y + dy).floor());
                    if x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64 {
                        self.edge[y as usize * self.width + x as usize] = true;
                    }
                }
            }
        }
    }
}

/// How a drawn picture compares with the exact one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoverageError {
    /// Pixels that an outline passes through.
    pub edge_pixels: usize,
    /// Mean and worst error of linear light over those.
    pub mean: f64,
    pub worst: f64,
    /// Pixels that no outline passes through, and that are not dark, fully lit
    /// or at their level as they must be.
    pub wrong_solid: usize,
}

impl ExactLight {
    /// Compares linear light (0..=1, row by row) with the exact one.
    pub fn compare(&self, drawn: &[f64]) -> CoverageError {
        let mut e = CoverageError {
            edge_pixels: 0,
            mean: 0.0,
            worst: 0.0,
            wrong_solid: 0,
        };
        for ((want, edge), got) in self.light.iter().zip(&self.edge).zip(drawn) {
            let off = (want.abs() - got).abs();
            if *edge {
                e.edge_pixels += 1;
                e.mean += off;
                e.worst = e.worst.max(off);
            } else if off > solid_tolerance(want.abs()) {
                e.wrong_solid += 1;
            }
        }
        e.mean /= e.edge_pixels.max(1) as f64;
        e
    }
}

/// Dark and white have codes of their own and must be met; a level between
/// lies at most half an sRGB code off (0.0045 where the curve is steepest).
fn solid_tolerance(light: f64) -> f64 {
    if !(1e-9..=1.0 - 1e-9).contains(&light) {
        1e-9
    } else {
        0.0045
    }
}

fn extent(ring: &[Point<Projector>], of: impl Fn(&Point<Projector>) -> f64) -> (f64, f64) {
    ring.iter()
        .map(of)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        })
}

/// The part of a polygon on one side of a line: where `side` is positive if
/// `keep_positive`, negative otherwise.
fn cut(
    ring: &[Point<Projector>],
    side: impl Fn(Point<Projector>) -> f64,
    keep_positive: bool,
) -> Vec<Point<Projector>> {
    let s = |p| if keep_positive { side(p) } else { -side(p) };
    let mut out = Vec::with_capacity(ring.len() + 4);
    for k in 0..ring.len() {
        let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
        let (sa, sb) = (s(a), s(b));
        if sa >= 0.0 {
            out.push(a);
        }
        if (sa > 0.0 && sb < 0.0) || (sa < 0.0 && sb > 0.0) {
            out.push(a + (b - a) * (sa / (sa - sb)));
        }
    }
    out
}

/// Shoelace area about the first vertex.
fn area(ring: &[Point<Projector>]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    (1..ring.len().max(2) - 1)
        .map(|k| (ring[k] - o).cross(ring[k + 1] - o) / 2.0)
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tilted_square_fills_what_its_closed_form_says() {
        // The diamond |x| + |y| <= 1 about the middle of the centre pixel holds
        // that pixel whole (its corners just touch) and, in each side
        // neighbour, a triangle of base 1 and height 1/2.
        let c: Point<Projector> = Point::new(1.5, 1.5);
        let ring = [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]
            .map(|(x, y)| Point::new(c.x + x, c.y + y));
        let mut exact = ExactLight::new(3, 3);
        exact.add(&ring, 1.0);
        assert!((exact.light[4] - 1.0).abs() < 1e-12);
        assert!((exact.light[1] - 0.25).abs() < 1e-12);
        assert!(exact.light[0].abs() < 1e-12);
    }
}
