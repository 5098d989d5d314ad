//! How far a point is from the edge of the free area, looked up in a raster: the same for
//! any number of holes and corners.

use crate::raster::Raster;
use crate::shape::{Region, edge_foot, pairs};
use crate::space::{Bounds, Cloth};

/// Cells along the longer side.
const CELLS: f64 = 128.0;

/// Distance to the edge of the free area, mm, negative outside.
#[derive(Debug, Clone)]
pub(super) enum Free {
    /// A rectangle from the origin to (length, width).
    Box { length: f32, width: f32 },
    /// Any area, sampled: at the middles of cells as if true, between them bilinear.
    Sampled(Raster<f32, Cloth>),
}

impl Free {
    /// Samples an area that is not empty.
    pub fn sampled(area: &Region<Cloth>, bounds: Bounds<Cloth>) -> Self {
        let cell = (bounds.width().max(bounds.height()) / CELLS).max(1e-3);
        let edges: Vec<_> = area.rings.iter().flat_map(|r| pairs(r)).collect();
        let grown = bounds.inflate(cell, cell);
        Self::Sampled(Raster::over(grown, cell, |_, _, at| {
            let far = edges
                .iter()
                .map(|&e| (at - edge_foot(e, at)).square_length());
            let far = far.fold(f64::INFINITY, f64::min).sqrt();
            (if area.contains(at) { far } else { -far }) as f32
        }))
    }

    /// Distance of a point to the edge, negative outside.
    pub fn at(&self, x: f32, y: f32) -> f32 {
        match self {
            Free::Box { length, width } => x.min(length - x).min(y.min(width - y)),
            Free::Sampled(raster) => looked_up(raster, x, y),
        }
    }
}

fn looked_up(raster: &Raster<f32, Cloth>, x: f32, y: f32) -> f32 {
    let first = raster.centre(0, 0);
    let cell = raster.cell() as f32;
    let (u, v) = ((x - first.x as f32) / cell, (y - first.y as f32) / cell);
    let (most_u, most_v) = (raster.width() as f32 - 1.0, raster.height() as f32 - 1.0);
    let (cu, cv) = (u.clamp(0.0, most_u), v.clamp(0.0, most_v));
    let (i, j) = (cu as usize, cv as usize);
    let (fu, fv) = (cu - i as f32, cv - j as f32);
    let value = |i: usize, j: usize| {
        let (i, j) = (i.min(raster.width() - 1), j.min(raster.height() - 1));
        raster.values()[j * raster.width() + i]
    };
    let low = value(i, j) * (1.0 - fu) + value(i + 1, j) * fu;
    let high = value(i, j + 1) * (1.0 - fu) + value(i + 1, j + 1) * fu;
    // Beyond the raster it is further out by as much.
    low * (1.0 - fv) + high * fv - (u - cu).hypot(v - cv) * cell
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;

    #[test]
    fn a_ring_is_as_far_as_its_radii_say() {
        let mut ring = Region::disc(Point::new(100.0, 100.0), 100.0);
        let mut hole = Region::disc(Point::new(100.0, 100.0), 30.0);
        hole.rings[0].reverse();
        ring.append(hole);
        let free = Free::sampled(&ring, ring.bounds().unwrap());
        for k in 0..2000 {
            let t = f64::from(k) * 0.37;
            let r = f64::from(k % 160) + 0.5;
            let (x, y) = (100.0 + r * t.cos(), 100.0 + r * t.sin());
            let want = (100.0 - r).min(r - 30.0);
            let got = f64::from(free.at(x as f32, y as f32));
            // Where the nearest edge changes, two planes meet within a cell; far beyond
            // the raster the way out is round a corner.
            let allowed = if r > 100.0 {
                0.3 * (r - 100.0) + 1.6
            } else {
                1.6
            };
            assert!((got - want).abs() < allowed, "r {r}: {got} for {want}");
        }
    }

    #[test]
    fn a_rectangle_is_exact() {
        let free = Free::Box {
            length: 50.0,
            width: 20.0,
        };
        assert_eq!(free.at(45.0, 10.0), 5.0);
        assert_eq!(free.at(25.0, 23.0), -3.0);
    }
}
