//! What looks like ground within the card: a hole, or print. Through a hole one sees what
//! lies under the card, in its own colour, however dark it is in there. Ink keeps back some
//! of the card's light, and leaves it the card's colour.

use super::ground::Found;
use super::redraw::View;
use crate::photo::Picture;
use crate::shape::{Hull, Region, counter_clockwise, intersection, offset, signed_area};
use crate::space::{Photo, Point, Table};
use nalgebra::Vector3;

/// What the light within a ring says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Within {
    /// It has the ground's colour.
    Ground,
    /// It has the card's colour, darkened.
    Ink,
    /// Ground and card are of one colour there, or too little is seen of it.
    CantTell,
}

/// px from a ring's edge within which light is mixed; the first that leaves any is taken.
const EDGES: [f64; 4] = [3.0, 2.0, 1.5, 1.0];
/// Fewer pixels say nothing.
const FEW: usize = 3;
/// Off one colour by less than half as much as off the other, and by this less (the sine of
/// the angle between lights): noise and a JPEG's coarse colours make 0.03 of it (measured on
/// photos that card_seeds.py makes).
const TELLS: (f64, f64) = (0.5, 0.035);
/// Least share of a ring through which one would see what lies under the card, to call it
/// ink.
const OPEN: f64 = 0.5;
/// Nothing that lies under the card is lighter there than this many times the lightest beside
/// it.
const LIGHTER: f64 = 1.25;

/// What is seen through a ring that is cut at the card's top, on the table; or on it.
pub fn within(ring: &[Point<Table>], picture: &Picture, found: &Found, view: View) -> Within {
    let seen: Option<Vec<_>> = ring.iter().map(|&p| view.see(p)).collect();
    let Some(seen) = seen else {
        return Within::CantTell;
    };
    let upright = |ring: Vec<Point<Photo>>| Region::ring(counter_clockwise(ring));
    // The table shows where neither the rim nor the hole's own side is before it.
    let foot = upright(seen.iter().map(|s| s.0).collect());
    let rim = upright(seen.iter().map(|s| s.1).collect());
    let open = intersection(&foot, &rim);
    // A deep hole shows mostly its own side, which is of the card's colour, and dark.
    let is_deep = open.area() < OPEN * rim.area();
    let inner = EDGES.iter().map(|by| pixels(&offset(&open, -by), picture));
    let Some((light, at)) = inner.flatten().next() else {
        return Within::CantTell;
    };
    let card = found.card_at(at).normalize();
    let off = |colour: &Vector3<f64>| light.cross(colour).norm() / light.norm();
    let mut beside: Vec<f64> = found.beside.iter().map(|g| off(&g.normalize())).collect();
    if beside.is_empty() || !light.norm().is_normal() {
        return Within::CantTell;
    }
    beside.sort_by(f64::total_cmp);
    // Cloth has several colours: one in ten of its places is enough.
    let (ground, ink) = (beside[beside.len() / 10], off(&card));
    if ground < TELLS.0 * ink && ground + TELLS.1 < ink {
        return Within::Ground;
    }
    if is_deep {
        return Within::CantTell;
    }
    if ink < TELLS.0 * ground && ink + TELLS.1 < ground {
        return Within::Ink;
    }
    let lightest = found.beside.iter().map(Vector3::norm).fold(0.0, f64::max);
    if card.dot(&found.card_at(at)) > lightest && light.norm() > LIGHTER * lightest {
        return Within::Ink;
    }
    Within::CantTell
}

/// Mean light of the pixels in a region, and their middle.
fn pixels(region: &Region<Photo>, picture: &Picture) -> Option<(Vector3<f64>, Point<Photo>)> {
    let bounds = region.bounds()?;
    let (mut sum, mut count) = (Vector3::zeros(), 0);
    for y in bounds.min.y.max(0.0) as usize..=bounds.max.y.max(0.0) as usize {
        for x in bounds.min.x.max(0.0) as usize..=bounds.max.x.max(0.0) as usize {
            let middle = Point::new(x as f64 + 0.5, y as f64 + 0.5);
            if x < picture.width && y < picture.height && region.contains(middle) {
                let light = picture.light(x, y).map(f64::from);
                sum += Vector3::from(light);
                count += 1;
            }
        }
    }
    (count >= FEW).then(|| (sum / f64::from(count as u32), bounds.center()))
}

/// The share of its convex hull that a ring encloses: 1 of discs, slots and rectangles, less
/// of letters.
pub fn solidity<S>(ring: &[Point<S>]) -> f64 {
    let hull = Hull::of(ring.iter().copied());
    hull.map_or(0.0, |hull| {
        signed_area(ring).abs() / signed_area(hull.corners()).abs().max(f64::MIN_POSITIVE)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Piece;

    #[test]
    fn letters_are_not_solid_and_slots_are() {
        let ring = |c: &[(f64, f64)]| -> Vec<Point<Piece>> {
            c.iter().map(|&(x, y)| Point::new(x, y)).collect()
        };
        let slot = ring(&[(0.0, 0.0), (16.0, 0.0), (16.0, 5.0), (0.0, 5.0)]);
        assert!((solidity(&slot) - 1.0).abs() < 1e-9);
        // An L of strokes 2 wide, 6 and 10 long: 28 of a hull of 60 less a triangle of 16.
        let l = ring(&[
            (0.0, 0.0),
            (6.0, 0.0),
            (6.0, 2.0),
            (2.0, 2.0),
            (2.0, 10.0),
            (0.0, 10.0),
        ]);
        assert!(
            (solidity(&l) - 28.0 / 44.0).abs() < 1e-9,
            "{}",
            solidity(&l)
        );
    }
}
