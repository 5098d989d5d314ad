//! How much two shapes overlap, roughly and fast: each is stood for by a few discs within
//! it, and what counts is how deep the discs lie in each other. The measure falls steadily
//! as shapes are drawn apart, also just after their discs have parted, so that a search
//! always knows which way is out.
//!
//! After Gardeyn, Vanden Berghe & Wauters, *An open-source heuristic to reboot 2D nesting
//! research* (2025), doi 10.48550/arXiv.2509.13329: the overlap proxy of their section on
//! quantifying overlap, with its decay beyond contact and its penalty for large shapes.

use jagua_rs::geometry::primitives::Circle;

/// Beyond this share of the larger diameter, penetration counts in full; below it, and out of
/// contact, it decays (the paper's value, from memory).
const DECAY: f32 = 0.01;

/// So many discs are handled at once: what processors do in a step or two.
const LANES: usize = 8;

/// Discs side by side; what is left over has no radius.
#[derive(Debug, Clone, Copy)]
struct Row {
    x: [f32; LANES],
    y: [f32; LANES],
    r: [f32; LANES],
}

/// Discs within a shape.
#[derive(Debug, Clone, Default)]
pub(super) struct Discs {
    rows: Vec<Row>,
    count: usize,
}

/// What of a shape the measure needs beside its discs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Size {
    /// The greatest distance of two of its points.
    pub diameter: f32,
    /// Area of its convex hull.
    pub hull: f32,
}

impl Discs {
    /// Takes the discs of a shape that was moved.
    pub fn set(&mut self, circles: &[Circle]) {
        self.rows.clear();
        self.count = circles.len();
        for some in circles.chunks(LANES) {
            let mut row = Row {
                x: [0.0; LANES],
                y: [0.0; LANES],
                r: [0.0; LANES],
            };
            for (k, c) in some.iter().enumerate() {
                (row.x[k], row.y[k], row.r[k]) = (c.center.0, c.center.1, c.radius);
            }
            self.rows.push(row);
        }
    }

    /// Centres and radii.
    pub fn iter(&self) -> impl Iterator<Item = (f32, f32, f32)> + '_ {
        let all = (0..self.count).map(|k| (&self.rows[k / LANES], k % LANES));
        all.map(|(row, k)| (row.x[k], row.y[k], row.r[k]))
    }
}

/// Penetration as it counts: itself where it is deep; from `soft` down, and out of contact,
/// a hyperbola that meets it smoothly and never reaches nought.
#[inline]
fn counted(depth: f32, soft: f32) -> f32 {
    // One of the two is `soft` itself: no branch in the loop over discs.
    soft * soft / (2.0 * soft - depth.min(soft)) + (depth - soft).max(0.0)
}

/// How much two shapes overlap that are known to: of the order of an area, > 0.
pub(super) fn overlap((a, sa): (&Discs, Size), (b, sb): (&Discs, Size)) -> f32 {
    let soft = DECAY * sa.diameter.max(sb.diameter);
    // A sum for each lane: one for all would have to be added up in order.
    let mut sums = [0.0f32; LANES];
    for (x, y, r) in a.iter() {
        for row in &b.rows {
            for (k, sum) in sums.iter_mut().enumerate() {
                let (dx, dy) = (row.x[k] - x, row.y[k] - y);
                let depth = r + row.r[k] - (dx * dx + dy * dy).sqrt();
                *sum += counted(depth, soft) * r.min(row.r[k]);
            }
        }
    }
    let sum: f32 = sums.iter().sum();
    sum.sqrt() * penalty(sa, sb)
}

/// How much a shape that is known not to lie in the free area lies beyond it, in the same
/// measure. `free` is the distance from a point to the free area's edge, negative outside;
/// `deepest` that of the shape's corner that lies furthest out.
pub(super) fn beyond(
    (a, size): (&Discs, Size),
    free: impl Fn(f32, f32) -> f32,
    deepest: f32,
) -> f32 {
    let soft = DECAY * size.diameter;
    let discs: f32 = a
        .iter()
        .map(|(x, y, r)| counted(r - free(x, y), soft) * r)
        .sum();
    // A thin corner may lie outside while all discs lie within.
    let corner = counted(-deepest, soft) * size.hull.sqrt() / 4.0;
    2.0 * (discs + corner).sqrt() * penalty(size, size)
}

/// As [`beyond`], for a rectangle: how much of the shape's box lies outside. `inside` is the
/// area of the box within the rectangle, or nothing if it lies wholly outside, `apart` from it.
pub(super) fn beyond_box(size: Size, area: f32, inside: Option<f32>, apart: f32) -> f32 {
    let out = match inside {
        Some(inside) => area - inside + 1e-4 * area,
        None => area + apart * area.sqrt(),
    };
    2.0 * out.max(0.0).sqrt() * penalty(size, size)
}

/// Large shapes are harder to find another place for: their overlap counts more.
fn penalty(a: Size, b: Size) -> f32 {
    (a.hull.sqrt() * b.hull.sqrt()).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jagua_rs::geometry::primitives::Point;

    fn disc(x: f32, r: f32) -> Discs {
        let mut d = Discs::default();
        d.set(&[Circle::try_new(Point(x, 0.0), r).unwrap()]);
        d
    }

    const SIZE: Size = Size {
        diameter: 20.0,
        hull: 400.0,
    };

    #[test]
    fn one_disc_in_another_counts_by_its_depth() {
        // Depth 10 + 4 − 9 = 5, smaller radius 4: the root of 20, times 20 for the size.
        let got = overlap((&disc(0.0, 10.0), SIZE), (&disc(9.0, 4.0), SIZE));
        assert!((got - 20.0f32.sqrt() * 20.0).abs() < 1e-3, "{got}");
    }

    #[test]
    fn it_falls_steadily_through_contact_and_beyond() {
        let at = |x| overlap((&disc(0.0, 10.0), SIZE), (&disc(x, 10.0), SIZE));
        let mut last = f32::INFINITY;
        for k in 0..300 {
            let now = at(0.1 * k as f32);
            assert!(now < last && now > 0.0, "at {k}: {now} after {last}");
            last = now;
        }
        // No step where the two laws meet.
        assert!((at(19.7999) - at(19.8001)).abs() < 0.05);
    }

    #[test]
    fn beyond_the_free_area_falls_as_the_shape_comes_home() {
        let at = |x: f32| beyond((&disc(x, 10.0), SIZE), |x, _| x, x - 10.0);
        assert!((0..40).all(|k| at(k as f32 - 20.0) > at(k as f32 - 19.0)));
        let boxed = |inside, apart| beyond_box(SIZE, 100.0, inside, apart);
        assert!(boxed(None, 9.0) > boxed(None, 1.0) && boxed(None, 1.0) > boxed(Some(1.0), 0.0));
        assert!(boxed(Some(50.0), 0.0) > boxed(Some(99.0), 0.0));
    }
}
