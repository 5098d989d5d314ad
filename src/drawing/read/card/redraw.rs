//! What an outline would show: the card drawn as the camera saw it, rim and side, in exact
//! areas.

use super::contour::Field;
use super::plane::Plane;
use crate::photo::Camera;
use crate::space::{Photo, Point, Table, Vector};

/// Share of each pixel of a window that polygons cover, or that times a weight: what an edge
/// leaves to its right in each row is summed along the row.
pub struct Cover {
    from: [usize; 2],
    width: usize,
    height: usize,
    sums: Vec<f32>,
}

impl Cover {
    pub fn new(field: &Field) -> Self {
        Self {
            from: field.from,
            width: field.width,
            height: field.height,
            // A column more takes what lies right of the window.
            sums: vec![0.0; (field.width + 1) * field.height],
        }
    }

    /// An edge of a ring that goes counter-clockwise to the eye about what is covered.
    pub fn edge(&mut self, a: Point<Photo>, b: Point<Photo>, weight: f32) {
        let local = |p: Point<Photo>| (p.x - self.from[0] as f64, p.y - self.from[1] as f64);
        let ((ax, ay), (bx, by)) = (local(a), local(b));
        if ay == by {
            return;
        }
        // Going down the photo what is covered lies to the right.
        let (sign, (x0, y0), (x1, y1)) = if ay < by {
            (1.0, (ax, ay), (bx, by))
        } else {
            (-1.0, (bx, by), (ax, ay))
        };
        let slope = (x1 - x0) / (y1 - y0);
        let (top, end) = (y0.max(0.0), y1.min(self.height as f64));
        let mut y = top;
        while y < end {
            let row = y as usize;
            let next = (row as f64 + 1.0).min(end);
            let (xa, xb) = (x0 + (y - y0) * slope, x0 + (next - y0) * slope);
            self.row(row, xa, xb, sign * (next - y) * f64::from(weight));
            y = next;
        }
    }

    /// An edge within one row from x `a` to `b`, of signed height `high`.
    fn row(&mut self, row: usize, a: f64, b: f64, high: f64) {
        let far = self.width as f64;
        let (low, top) = if a < b { (a, b) } else { (b, a) };
        let (low, top) = (low.clamp(0.0, far), top.clamp(0.0, far));
        let line = row * (self.width + 1);
        let (first, last) = (low as usize, (top as usize).min(self.width));
        let mut put = |column: usize, share: f64, middle: f64| {
            // The part of its own pixel right of it, and all further right.
            let own = share * (1.0 - middle);
            self.sums[line + column] += own as f32;
            if column < self.width {
                self.sums[line + column + 1] += (share - own) as f32;
            }
        };
        if first == last {
            put(first, high, (low + top) / 2.0 - first as f64);
            return;
        }
        let across = top - low;
        for column in first..=last {
            let (from, to) = (low.max(column as f64), top.min(column as f64 + 1.0));
            if to > from {
                put(
                    column,
                    high * (to - from) / across,
                    (from + to) / 2.0 - column as f64,
                );
            }
        }
    }

    #[cfg(test)]
    pub fn ring(&mut self, ring: &[Point<Photo>]) {
        for (a, b) in crate::shape::pairs(ring) {
            self.edge(a, b, 1.0);
        }
    }

    pub fn done(self) -> Vec<f32> {
        let mut out = Vec::with_capacity(self.width * self.height);
        for line in self.sums.chunks_exact(self.width + 1) {
            let mut sum = 0.0;
            out.extend(line[..self.width].iter().map(|v| {
                sum += v;
                sum
            }));
        }
        out
    }
}

/// How a card of a thickness is seen.
#[derive(Clone, Copy)]
pub struct View<'a> {
    pub plane: &'a Plane,
    /// And the card's thickness, mm, > 0; `None` if nothing is allowed for.
    pub camera: Option<(Camera, f64)>,
}

impl View<'_> {
    /// Where the foot and the rim of the edge at a place are seen.
    pub fn see(&self, p: Point<Table>) -> Option<(Point<Photo>, Point<Photo>)> {
        let foot = self.plane.photo(p)?;
        let Some((camera, thickness)) = self.camera else {
            return Some((foot, foot));
        };
        let share = camera.height / (camera.height - thickness);
        let rim = self.plane.photo(camera.foot + (p - camera.foot) * share)?;
        Some((foot, rim))
    }
}

/// A place on an outline.
#[derive(Debug, Clone, Copy)]
pub struct Node {
    pub at: Point<Table>,
    /// Light of the card's side there: 0 as the ground, 1 as the card's top.
    pub shade: f64,
    /// What that is as far as the way it faces tells.
    pub usual: f64,
    /// How much more like the card the ground at the foot is than farther off.
    pub near: f64,
    pub foot: Point<Photo>,
    pub rim: Point<Photo>,
}

impl Node {
    pub fn new(at: Point<Table>, shade: f64, view: View) -> Option<Self> {
        let (foot, rim) = view.see(at)?;
        Some(Self {
            at,
            shade,
            usual: shade,
            near: 0.0,
            foot,
            rim,
        })
    }

    /// The same with another place.
    pub fn put(self, at: Point<Table>, view: View) -> Option<Self> {
        let (foot, rim) = view.see(at)?;
        Some(Self {
            at,
            foot,
            rim,
            ..self
        })
    }
}

/// Unit vector to the right of a direction, to the eye: out of the card, along its edge.
pub fn right_of(along: Vector<Photo>) -> Vector<Photo> {
    let length = along.length();
    if length > 0.0 {
        Vector::new(-along.y, along.x) / length
    } else {
        Vector::new(0.0, 0.0)
    }
}

/// Shares of the pixels of a window.
pub struct Drawn {
    /// Of the card's top.
    pub top: Vec<f32>,
    /// Of its side, and that side's light.
    pub side: Vec<f32>,
    pub shade: Vec<f32>,
    /// What is added to the ground's light.
    pub near: Vec<f32>,
}

/// How far from the foot, in lengths of its fall, the ground near it is drawn in steps.
const STEPS: [f64; 6] = [0.25, 0.6, 1.0, 1.5, 2.2, 3.2];

impl Drawn {
    /// `fall`: px in which what is near the foot falls off to a third.
    pub fn of(rings: &[Vec<Node>], field: &Field, fall: f64) -> Self {
        let mut near = Cover::new(field);
        let mut top = Cover::new(field);
        let mut side = Cover::new(field);
        let mut light = Cover::new(field);
        for ring in rings {
            let n = ring.len();
            for k in 0..n {
                let (a, b) = (ring[k], ring[(k + 1) % n]);
                let (before, after) = (ring[(k + n - 1) % n], ring[(k + 2) % n]);
                let outs = [
                    right_of(b.foot - before.foot),
                    right_of(after.foot - a.foot),
                ];
                beside(&mut near, [a, b], outs, fall);
                top.edge(a.rim, b.rim, 1.0);
                let wall = [a.rim, a.foot, b.foot, b.rim];
                // What faces away lies under the card. y runs down.
                if crate::shape::signed_area(&wall) >= 0.0 {
                    continue;
                }
                let shade = ((a.shade + b.shade) / 2.0) as f32;
                for (from, to) in crate::shape::pairs(&wall) {
                    side.edge(from, to, 1.0);
                    light.edge(from, to, shade);
                }
            }
        }
        let top = top.done();
        let (all, light) = (side.done(), light.done());
        let mut side = Vec::with_capacity(top.len());
        let mut shade = Vec::with_capacity(top.len());
        for ((&top, &all), &light) in top.iter().zip(&all).zip(&light) {
            // The card's top hides what lies behind it.
            let seen = all.clamp(0.0, (1.0 - top).max(0.0));
            side.push(seen);
            shade.push(if all > 1e-4 { light / all } else { 0.0 });
        }
        Self {
            top,
            side,
            shade,
            near: near.done(),
        }
    }
}

/// The ground beside the foot between two places: an exponential fall, in steps.
fn beside(near: &mut Cover, [a, b]: [Node; 2], outs: [Vector<Photo>; 2], fall: f64) {
    let light = (a.near + b.near) / 2.0;
    if light == 0.0 {
        return;
    }
    let height = |k: usize| {
        let from = if k == 0 { 0.0 } else { STEPS[k - 1] };
        STEPS.get(k).map_or(0.0, |to| (-(from + to) / 2.0).exp())
    };
    for (k, far) in STEPS.iter().enumerate() {
        let quad = [
            a.foot,
            a.foot + outs[0] * (far * fall),
            b.foot + outs[1] * (far * fall),
            b.foot,
        ];
        let weight = (light * (height(k) - height(k + 1))) as f32;
        for (from, to) in crate::shape::pairs(&quad) {
            near.edge(from, to, weight);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window(width: usize, height: usize) -> Field {
        Field {
            from: [10, 20],
            width,
            height,
            values: vec![0.0; width * height],
        }
    }

    #[test]
    fn a_polygon_covers_each_pixel_by_its_exact_share() {
        // Counter-clockwise to the eye, y running down: a triangle with its right angle at
        // 12, 22 and sides of 4 px.
        let ring: Vec<Point<Photo>> = [(12.0, 22.0), (12.0, 26.0), (16.0, 22.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
        let mut cover = Cover::new(&window(8, 8));
        cover.ring(&ring);
        let out = cover.done();
        let share = |x: usize, y: usize| out[(y - 20) * 8 + x - 10];
        assert!((out.iter().sum::<f32>() - 8.0).abs() < 1e-5);
        assert!((share(12, 22) - 1.0).abs() < 1e-6 && (share(15, 22) - 0.5).abs() < 1e-6);
        assert!((share(13, 24) - 0.5).abs() < 1e-6 && share(14, 24).abs() < 1e-6);
        assert!(share(11, 23).abs() < 1e-6 && share(17, 23).abs() < 1e-6);
        // Beyond the window it is cut off.
        let mut cover = Cover::new(&window(4, 4));
        cover.ring(&ring);
        let out = cover.done();
        let inside = out.iter().sum::<f32>();
        // The long side runs through the window's lower right corner.
        assert!((inside - 4.0).abs() < 1e-5, "{inside}");
    }
}
