//! The strip of sample guides: the same short guide at rising strength, side by
//! side on the cloth. The first that is seen well is strong enough: more only
//! spills.

use crate::shape::{Region, bounds};
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::{Person, Side};

/// Percent of the projector's white, each about 1.5 times the last: equal
/// steps to the eye.
pub const STRENGTHS: [u8; 7] = [9, 13, 20, 30, 45, 67, 100];

/// From one sample's middle to the next, mm.
pub const APART: f64 = 40.0;

/// Length of a sample, mm.
pub const LENGTH: f64 = 60.0;

/// Where a strip that begins at `at` has its samples' middles: in a row to the
/// person's right.
pub fn places(at: Point<Table>, side: Side) -> [(Point<Table>, u8); 7] {
    let step = side.to_table(Vector::new(APART, 0.0));
    std::array::from_fn(|k| (at + step * k as f64, STRENGTHS[k]))
}

/// How far the strip reaches from its first sample's middle: to the left, to the right,
/// towards the person, where its numbers stand, and away from them, mm.
const LEFT: f64 = APART / 2.0;
const RIGHT: f64 = APART * (STRENGTHS.len() as f64 - 0.5);
const NEAR: f64 = LENGTH;
const AWAY: f64 = LENGTH / 2.0 + 10.0;

/// Between the pointer and the strip, mm; and at least so much where the rim pushes it: the
/// pointer lies on no sample, nor by a small slip.
const BESIDE: f64 = 30.0;
const SLIP: f64 = 5.0;

/// Where a strip begins: beside the pointer, so that no sample is picked before the pointer
/// is put on it; without a pointer in the middle of the room. It lies wholly in the room, if
/// it can.
pub fn begins(
    pointer: Option<Point<Table>>,
    room: Option<&Region<Table>>,
    side: Side,
) -> Point<Table> {
    let seen = |p: Point<Table>| side.to_person(p.to_vector()).to_point();
    let on_table = |p: Point<Person>| side.to_table(p.to_vector()).to_point();
    let inside = room.and_then(|r| bounds(r.rings.iter().flatten().map(|p| seen(*p))));
    let middle = -(RIGHT - LEFT) / 2.0;
    let Some(at) = pointer.map(seen) else {
        let centre = inside.map_or(Point::origin(), |b| b.center());
        return on_table(centre + Vector::new(middle, (NEAR - AWAY) / 2.0));
    };
    // To the right, to the left, away, near; and pushed in from the rim.
    let ways = [
        (LEFT + BESIDE, 0.0),
        (-RIGHT - BESIDE, 0.0),
        (middle, NEAR + BESIDE),
        (middle, -AWAY - BESIDE),
    ];
    let mut places = ways.into_iter().map(|(x, y)| {
        let place = at + Vector::new(x, y);
        inside.map_or(place, |b| pushed_in(place, &b))
    });
    let clear = |place: &Point<Person>| {
        let strip = strip(*place);
        let corners = [
            strip.min,
            Point::new(strip.max.x, strip.min.y),
            strip.max,
            Point::new(strip.min.x, strip.max.y),
        ];
        // On the very rim nothing is sure.
        let lit = |r: &Region<Table>| {
            let within = |c: &Point<Person>| r.contains(on_table(c.lerp(strip.center(), 0.01)));
            corners.iter().all(within)
        };
        !strip.inflate(SLIP, SLIP).contains(at) && room.is_none_or(lit)
    };
    let first = at + Vector::new(ways[0].0, ways[0].1);
    on_table(places.find(clear).unwrap_or(first))
}

/// The room of a strip that begins at a place.
fn strip(at: Point<Person>) -> Bounds<Person> {
    Bounds::new(at - Vector::new(LEFT, NEAR), at + Vector::new(RIGHT, AWAY))
}

/// The place nearest to it from which a strip lies in a room, as far as there is room.
fn pushed_in(at: Point<Person>, room: &Bounds<Person>) -> Point<Person> {
    let low = room.min + Vector::new(LEFT, NEAR);
    let high = room.max - Vector::new(RIGHT, AWAY);
    at.min(high).max(low)
}

/// The strength of the sample that was pressed on.
pub fn picked(at: Point<Table>, side: Side, press: Point<Table>) -> Option<u8> {
    let near = places(at, side).into_iter().find(|(p, _)| {
        let off = side.to_person(press - *p);
        off.x.abs() <= APART / 2.0 && off.y.abs() <= LENGTH / 2.0 + 10.0
    });
    near.map(|(_, percent)| percent)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Region<Table> {
        let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    }

    #[test]
    fn a_strip_lies_on_the_table_and_beside_the_pointer() {
        let table = table();
        let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
        let spots = [(600.0, 400.0), (8.0, 8.0), (1195.0, 420.0), (500.0, 780.0)];
        for side in Side::ALL {
            for at in spots
                .into_iter()
                .chain(corners)
                .map(|(x, y)| Point::new(x, y))
            {
                let begun = begins(Some(at), Some(&table), side);
                assert_eq!(picked(begun, side, at), None, "{side:?} {at:?}");
                for (place, _) in places(begun, side) {
                    for y in [1.0 - LENGTH, LENGTH / 2.0] {
                        let end = place + side.to_table(Vector::new(0.0, y));
                        assert!(table.contains(end), "{side:?} {at:?}: {end:?}");
                    }
                }
                let far = |(p, _): &(Point<Table>, u8)| (*p - at).length();
                let near = places(begun, side).iter().map(far).fold(f64::MAX, f64::min);
                assert!(near < 150.0, "{side:?} {at:?}: {near}");
            }
        }
    }

    #[test]
    fn with_no_pointer_it_lies_in_the_middle() {
        for side in Side::ALL {
            let begun = begins(None, Some(&table()), side);
            let middle = places(begun, side)[3].0;
            let off = middle - Point::new(600.0, 400.0);
            assert!(off.length() < 20.0, "{side:?} {off:?}");
        }
    }
}
