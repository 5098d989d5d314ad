//! Places at the table's edge to drop parts on: one an article and cloth.

use crate::shape::{Region, bounds, distance, offset};
use crate::space::{Point, Table, Vector};
use crate::stand::{Hand, Side};

/// Radius of a place, mm: a folded part and a hand.
pub const RADIUS: f64 = 45.0;

/// Kept from the cloth, mm.
const CLEAR: f64 = 4.0;

/// From one place that is tried to the next, mm.
const STEP: f64 = 10.0;

/// So many places along the edge of what is lit, within the person's reach first
/// and towards the hand that cuts, clear of the cloth as far as there is room;
/// then over it, where it is in the way least.
pub fn drop_places(
    lit: &Region<Table>,
    cloths: &[Region<Table>],
    side: Side,
    cuts: Hand,
    count: usize,
) -> Vec<Point<Table>> {
    let edge = offset(lit, -(RADIUS + 6.0));
    let mut all: Vec<Point<Table>> = Vec::new();
    for ring in &edge.rings {
        for (a, b) in crate::shape::pairs(ring) {
            let n = ((b - a).length() / STEP).ceil().max(1.0);
            all.extend((0..n as usize).map(|k| a + (b - a) * (k as f64 / n)));
        }
    }
    let seen = |p: &Point<Table>| side.to_person(p.to_vector());
    let Some(b) = bounds(all.iter().map(|p| seen(p).to_point())) else {
        return Vec::new();
    };
    // How far to reach: from the middle of the person's edge, a little to the
    // cutting hand's side.
    let hand = Vector::new(b.center().x + cuts.sign() * b.width() / 4.0, b.min.y);
    all.sort_by(|p, q| {
        let far = |p| (seen(p) - hand).length();
        far(p).total_cmp(&far(q))
    });
    let free = |p: &Point<Table>| cloths.iter().all(|c| distance(c, *p) >= RADIUS + CLEAR);
    let mut chosen: Vec<Point<Table>> = Vec::new();
    for clear in [true, false] {
        for p in &all {
            let apart = chosen.iter().all(|c| (*c - *p).length() >= 2.2 * RADIUS);
            if chosen.len() < count && apart && (!clear || free(p)) {
                chosen.push(*p);
            }
        }
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::near;

    fn sheet(x: f64, y: f64, w: f64, h: f64) -> Region<Table> {
        let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    }

    #[test]
    fn places_are_lit_apart_and_clear_of_the_cloth_while_there_is_room() {
        let lit = sheet(0.0, 0.0, 1200.0, 700.0);
        let cloth = [sheet(150.0, 150.0, 900.0, 400.0)];
        for (side, cuts) in [(Side::Front, Hand::Right), (Side::Left, Hand::Left)] {
            let places = drop_places(&lit, &cloth, side, cuts, 6);
            assert_eq!(places.len(), 6);
            for (k, p) in places.iter().enumerate() {
                let disc = Region::disc(*p, RADIUS);
                assert!(disc.rings.iter().flatten().all(|q| lit.contains(*q)));
                assert!(!near(&disc, &cloth[0], 4.0));
                assert!(
                    places[..k]
                        .iter()
                        .all(|q| (*q - *p).length() > 2.0 * RADIUS)
                );
            }
            // The first is at the person's edge, by the hand that cuts.
            let seen = side.to_person(places[0] - Point::new(600.0, 350.0));
            assert!(seen.y < 0.0 && seen.x * cuts.sign() > 0.0, "{seen:?}");
        }
    }

    #[test]
    fn with_cloth_everywhere_there_are_places_all_the_same() {
        let lit = sheet(0.0, 0.0, 1200.0, 700.0);
        let places = drop_places(
            &lit,
            std::slice::from_ref(&lit),
            Side::Front,
            Hand::Right,
            3,
        );
        assert_eq!(places.len(), 3);
    }
}
