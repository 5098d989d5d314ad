//! Lines of one level through a grid of values: marching squares (W. E. Lorensen and
//! H. E. Cline, 1987, in the plane), with places between grid points by straight
//! interpolation.

use crate::shape::Ring;
use crate::space::{Photo, Point};
use std::collections::HashMap;

/// Values at pixels' centres in a window of the photo.
pub struct Field {
    /// Column and row of the window's first pixel.
    pub from: [usize; 2],
    pub width: usize,
    pub height: usize,
    pub values: Vec<f32>,
}

/// One side of the squares between four pixel centres: from a centre to the right (false) or
/// down (true).
type Side = (usize, bool);

impl Field {
    fn value(&self, x: usize, y: usize) -> f32 {
        self.values[y * self.width + x]
    }

    /// At a place in the photo, between centres; 0 outside.
    pub fn at(&self, p: Point<Photo>) -> f64 {
        let (x, y) = (
            p.x - 0.5 - self.from[0] as f64,
            p.y - 0.5 - self.from[1] as f64,
        );
        let inside =
            x >= 0.0 && y >= 0.0 && x < (self.width - 1) as f64 && y < (self.height - 1) as f64;
        if !inside {
            return 0.0;
        }
        let (c, r) = (x as usize, y as usize);
        let (fx, fy) = (x.fract(), y.fract());
        let v = |x, y| f64::from(self.value(x, y));
        (v(c, r) * (1.0 - fx) + v(c + 1, r) * fx) * (1.0 - fy)
            + (v(c, r + 1) * (1.0 - fx) + v(c + 1, r + 1) * fx) * fy
    }

    /// Blurred by a normal bell of standard deviation `sigma` px; beyond the window lie the
    /// values at its edge.
    pub fn blurred(mut self, sigma: f64) -> Self {
        let reach = (3.0 * sigma).ceil() as i64;
        let bell = |k: i64| (-0.5 * (k as f64 / sigma).powi(2)).exp() as f32;
        let sum: f32 = (-reach..=reach).map(bell).sum();
        let bell: Vec<f32> = (-reach..=reach).map(|k| bell(k) / sum).collect();
        let (w, h) = (self.width, self.height);
        let pass = |from: &[f32], along: usize, stride: usize, lines: usize, across: usize| {
            let mut out = vec![0.0; from.len()];
            for line in 0..lines {
                for k in 0..along {
                    let mut sum = 0.0;
                    for (j, weight) in (-reach..=reach).zip(&bell) {
                        let at = (k as i64 + j).clamp(0, along as i64 - 1) as usize;
                        sum += weight * from[line * across + at * stride];
                    }
                    out[line * across + k * stride] = sum;
                }
            }
            out
        };
        let rows = pass(&self.values, w, 1, h, w);
        self.values = pass(&rows, h, w, w, 1);
        self
    }

    /// The closed lines on which the field is `level`, counter-clockwise to the eye about
    /// what is above it. Lines that leave the window are not closed and not returned.
    pub fn rings(&self, level: f32) -> Vec<Ring<Photo>> {
        let mut next: HashMap<Side, Side> = HashMap::new();
        for y in 0..self.height.saturating_sub(1) {
            for x in 0..self.width.saturating_sub(1) {
                self.square(x, y, level, &mut next);
            }
        }
        let mut starts: Vec<Side> = next.keys().copied().collect();
        starts.sort_unstable();
        let mut rings = Vec::new();
        for start in starts {
            let mut ring = Ring::new();
            let mut side = start;
            while let Some(to) = next.remove(&side) {
                ring.push(self.crossing(side, level));
                side = to;
            }
            if side == start && ring.len() > 2 {
                rings.push(ring);
            }
        }
        rings
    }

    /// The pieces of line in the square whose upper left corner is `x`, `y`.
    fn square(&self, x: usize, y: usize, level: f32, next: &mut HashMap<Side, Side>) {
        let corners = [(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)];
        let values = corners.map(|(x, y)| self.value(x, y));
        let above = values.map(|v| v >= level);
        let at = y * self.width + x;
        // Upper, right, lower, left: between each corner and the next, clockwise.
        let sides = [
            (at, false),
            (at + 1, true),
            (at + self.width, false),
            (at, true),
        ];
        let crossed = |k: usize| above[k] != above[(k + 1) % 4];
        // A line goes in where what is above begins, clockwise, and out where it ends: so it
        // has that on its left.
        let enters = |k: &usize| crossed(*k) && !above[*k];
        let joined = values.iter().sum::<f32>() / 4.0 >= level;
        for from in (0..4).filter(enters) {
            // Past corners above the level to where they end; but where two such corners
            // face each other and hang together, the line is the other one's.
            let ends = (0..4).filter(|&k| crossed(k)).count();
            let to = if ends == 4 && joined {
                (from + 3) % 4
            } else {
                let leaves = |k: &usize| crossed(*k) && above[*k];
                let Some(to) = (from + 1..from + 4).map(|k| k % 4).find(leaves) else {
                    continue;
                };
                to
            };
            next.insert(sides[from], sides[to]);
        }
    }

    fn crossing(&self, (at, down): Side, level: f32) -> Point<Photo> {
        let (x, y) = (at % self.width, at / self.width);
        let (a, b) = (
            self.values[at],
            self.values[at + if down { self.width } else { 1 }],
        );
        let share = f64::from((level - a) / (b - a));
        let (dx, dy) = if down { (0.0, share) } else { (share, 0.0) };
        Point::new(
            (self.from[0] + x) as f64 + 0.5 + dx,
            (self.from[1] + y) as f64 + 0.5 + dy,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::signed_area;

    fn field(width: usize, height: usize, of: impl Fn(f64, f64) -> f64) -> Field {
        let at = |k: usize| ((k % width) as f64 + 0.5, (k / width) as f64 + 0.5);
        let values = (0..width * height).map(|k| of(at(k).0, at(k).1) as f32);
        Field {
            from: [100, 200],
            width,
            height,
            values: values.collect(),
        }
    }

    #[test]
    fn a_cones_level_is_a_circle_in_its_place() {
        let cone = field(60, 50, |x, y| 1.5 - (x - 31.2).hypot(y - 24.7) / 30.0);
        let rings = cone.rings(1.0);
        assert_eq!(rings.len(), 1);
        for p in &rings[0] {
            let off = (p.x - 131.2).hypot(p.y - 224.7) - 15.0;
            assert!(off.abs() < 0.01, "{off}");
        }
        // Counter-clockwise to the eye, y running down; a hole the other way.
        assert!(signed_area(&rings[0]) < 0.0);
        let pit = field(60, 50, |x, y| (x - 31.2).hypot(y - 24.7) / 30.0);
        assert!(signed_area(&pit.rings(0.5)[0]) > 0.0);
        // Lines that leave the window are no rings.
        assert!(field(20, 20, |x, _| x / 20.0).rings(0.5).is_empty());
    }

    #[test]
    fn diagonal_neighbours_hang_together_as_their_mean_says() {
        let two = |low: f32| Field {
            from: [0, 0],
            width: 4,
            height: 4,
            values: vec![
                0.0, 0.0, 0.0, 0.0, 0.0, 1.0, low, 0.0, 0.0, low, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0,
            ],
        };
        assert_eq!(two(0.1).rings(0.6).len(), 2);
        assert_eq!(two(0.4).rings(0.6).len(), 1);
    }

    #[test]
    fn a_blurred_step_keeps_its_place_and_has_the_bells_slope() {
        let step = field(60, 20, |x, _| if x < 30.0 { 1.0 } else { 0.0 }).blurred(2.0);
        let at = |x: f64| step.at(Point::new(100.0 + x, 210.5));
        assert!((at(30.0) - 0.5).abs() < 1e-3);
        // 1/(σ √(2π)) at its middle.
        let slope = at(29.5) - at(30.5);
        assert!((slope - 0.1975).abs() < 3e-3, "{slope}");
    }
}
