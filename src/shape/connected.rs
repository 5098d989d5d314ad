//! The parts of a region that hang together.

use super::{Region, Ring, bounds, signed_area, winding};
use crate::space::Point;

/// The region's connected parts: each an outer ring with its holes.
pub fn connected<S>(region: &Region<S>) -> Vec<Region<S>> {
    let (outer, holes): (Vec<&Ring<S>>, Vec<&Ring<S>>) =
        region.rings.iter().partition(|r| signed_area(r) > 0.0);
    let mut parts: Vec<Region<S>> = outer.iter().map(|r| Region::ring((*r).clone())).collect();
    if parts.len() == 1 {
        parts[0].rings.extend(holes.into_iter().cloned());
        return parts;
    }
    let boxes: Vec<_> = outer.iter().map(|r| bounds(r.iter().copied())).collect();
    let sizes: Vec<f64> = outer.iter().map(|r| signed_area(r)).collect();
    for hole in holes {
        // The smallest outer ring about it; a corner may touch that ring, the
        // middle of an edge hardly does.
        let Some(at) = on_edge(hole) else { continue };
        let about = (0..parts.len())
            .filter(|&k| boxes[k].is_some_and(|b| b.contains_inclusive(at)))
            .filter(|&k| winding(outer[k], at) != 0)
            .min_by(|&a, &b| sizes[a].total_cmp(&sizes[b]));
        if let Some(k) = about {
            parts[k].rings.push(hole.clone());
        }
    }
    parts
}

/// The middle of a ring's longest edge.
fn on_edge<S>(ring: &[Point<S>]) -> Option<Point<S>> {
    super::pairs(ring)
        .max_by(|a, b| {
            (a.1 - a.0)
                .square_length()
                .total_cmp(&(b.1 - b.0).square_length())
        })
        .map(|(a, b)| a.lerp(b, 0.5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    #[test]
    fn an_island_in_a_hole_is_a_part_of_its_own() {
        let disc = |r: f64| {
            Region::<Table>::disc(Point::new(3.0, 2.0), r)
                .rings
                .remove(0)
        };
        let hole = |r: f64| disc(r).into_iter().rev().collect::<Ring<Table>>();
        let rings = vec![hole(10.0), disc(30.0), disc(40.0), hole(35.0), disc(8.0)];
        let mut areas: Vec<f64> = connected(&Region::new(rings))
            .iter()
            .map(Region::area)
            .collect();
        areas.sort_by(f64::total_cmp);
        let circles = [64.0, 900.0 - 100.0, 1600.0 - 1225.0].map(|a| a * std::f64::consts::PI);
        assert_eq!(areas.len(), 3);
        for (area, want) in areas.iter().zip([circles[0], circles[2], circles[1]]) {
            assert!((area / want - 1.0).abs() < 1e-2, "{area} {want}");
        }
    }
}
