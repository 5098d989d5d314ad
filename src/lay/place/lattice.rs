//! The cloth's shade, smoothed to how far apart it is looked at.

use crate::lay::wish::Shade;
use crate::raster::Raster;
use crate::space::{Bounds, Cloth, Point};

/// Nodes at most: a shade of any size takes no more memory.
const MOST: f64 = 4e6;

/// The mean shade about each node of a square lattice.
#[derive(Debug)]
pub struct Lattice {
    origin: Point<Cloth>,
    step: f64,
    width: usize,
    height: usize,
    nodes: Vec<Shade>,
}

impl Lattice {
    /// Nodes about `step` mm apart over a box (further apart if that is very large), each
    /// with the mean of what is known of the shade in a square of side `window` about it.
    /// Each stands for a square of whole cells of the shade.
    pub fn over(
        bounds: Bounds<Cloth>,
        step: f64,
        window: f64,
        shade: &Raster<[f32; 3], Cloth>,
    ) -> Self {
        let (cell, least) = (shade.cell(), (bounds.area() / MOST).sqrt());
        let step = cell * (step / cell).round().max((least / cell).ceil()).max(1.0);
        let corner = shade.bounds().min;
        let origin = corner + ((bounds.min - corner) / step).floor() * step;
        let count = |length: f64| (length / step).ceil().max(1.0) as usize;
        let size = bounds.max - origin;
        let (width, height) = (count(size.x), count(size.y));
        let mut lattice = Self {
            origin,
            step,
            width,
            height,
            nodes: vec![[0.0; 4]; width * height],
        };
        lattice.gather(shade);
        let reach = ((window / step - 1.0) / 2.0).round().max(0.0) as usize;
        lattice.smooth(reach);
        for node in &mut lattice.nodes {
            let n = node[3];
            if n > 0.0 {
                *node = [node[0] / n, node[1] / n, node[2] / n, 1.0];
            }
        }
        lattice
    }

    /// Sums the shade's cells at the nodes.
    fn gather(&mut self, shade: &Raster<[f32; 3], Cloth>) {
        let known = |lab: &[f32; 3]| (lab[0] + lab[1] + lab[2]).is_finite();
        let index = |v: f64, count: usize| {
            let k = v / self.step;
            (k >= 0.0 && k < count as f64).then_some(k as usize)
        };
        let columns: Vec<Option<usize>> = (0..shade.width())
            .map(|c| index(shade.centre(c, 0).x - self.origin.x, self.width))
            .collect();
        let rows: Vec<Option<usize>> = (0..shade.height())
            .map(|r| index(shade.centre(0, r).y - self.origin.y, self.height))
            .collect();
        for (row, cells) in rows.iter().zip(shade.values().chunks(shade.width())) {
            let Some(j) = row else { continue };
            for (i, lab) in columns.iter().zip(cells) {
                if let (Some(i), true) = (i, known(lab)) {
                    let node = &mut self.nodes[j * self.width + i];
                    (0..3).for_each(|k| node[k] += lab[k]);
                    node[3] += 1.0;
                }
            }
        }
    }

    /// Sums over squares of 2·reach + 1 nodes, along rows and then along columns, each by
    /// differences of running sums.
    fn smooth(&mut self, reach: usize) {
        if reach == 0 {
            return;
        }
        let (w, h) = (self.width, self.height);
        let longest = w.max(h);
        let mut sums = vec![[0.0f64; 4]; longest + 1];
        let mut line = |nodes: &mut [Shade], first: usize, step: usize, count: usize| {
            for k in 0..count {
                let node = nodes[first + k * step];
                sums[k + 1] = std::array::from_fn(|c| sums[k][c] + f64::from(node[c]));
            }
            for k in 0..count {
                let (low, high) = (k.saturating_sub(reach), (k + reach + 1).min(count));
                nodes[first + k * step] =
                    std::array::from_fn(|c| (sums[high][c] - sums[low][c]) as f32);
            }
        };
        for j in 0..h {
            line(&mut self.nodes, j * w, 1, w);
        }
        for i in 0..w {
            line(&mut self.nodes, i, w, h);
        }
    }

    /// A place in steps from the lattice's corner.
    pub fn local(&self, p: Point<Cloth>) -> [f32; 2] {
        let v = (p - self.origin) / self.step;
        [v.x as f32, v.y as f32]
    }

    /// mm from one node to the next.
    pub fn step(&self) -> f64 {
        self.step
    }

    /// The shade at a place given in steps; outside, that of the nearest node.
    pub fn at(&self, [x, y]: [f32; 2]) -> Shade {
        // A cast takes what is negative to 0.
        let (i, j) = (
            (x as usize).min(self.width - 1),
            (y as usize).min(self.height - 1),
        );
        self.nodes[j * self.width + i]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_node_is_the_mean_of_what_is_known_about_it() {
        let bounds = Bounds::new(Point::new(0.0, 0.0), Point::new(60.0, 40.0));
        let shade = Raster::over(bounds, 1.0, |_, _, p| match p.x < 30.0 {
            true => [(p.x + 2.0 * p.y) as f32, 1.0, 2.0],
            false => [f32::NAN; 3],
        });
        let lattice = Lattice::over(bounds, 2.0, 10.0, &shade);
        // The mean of a plane is its value in the middle of the square: of five nodes.
        let at = |x: f64, y: f64| lattice.at(lattice.local(Point::new(x, y)));
        let [l, a, b, known] = at(11.0, 21.0);
        assert!((l - (11.0 + 42.0)).abs() < 1e-3 && known == 1.0, "{l}");
        assert!((a, b) == (1.0, 2.0));
        // At the edge of what is known: the squares' known halves.
        let [l, .., known] = at(31.0, 21.0);
        assert!((l - (28.0 + 42.0)).abs() < 1e-3 && known == 1.0, "{l}");
        assert_eq!(at(45.0, 20.0), [0.0; 4]);
        // Over a part of coarse cells: each of its own place.
        let coarse = Raster::over(bounds, 5.0, |_, _, p| [p.x as f32, 0.0, 0.0]);
        let part = Bounds::new(Point::new(7.0, 1.0), Point::new(33.0, 30.0));
        let lattice = Lattice::over(part, 1.0, 0.0, &coarse);
        assert_eq!(lattice.at(lattice.local(Point::new(13.4, 3.0)))[0], 12.5);
    }
}
