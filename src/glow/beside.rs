//! Where words stand that are about a piece: beside it, on the side of the hand
//! that cuts, for the other one lies on the cloth and throws its shadow.

use crate::shape::{Region, intersection};
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::{Hand, Side};

/// Between the words' ground and what they are about, mm.
const GAP: f64 = 12.0;

/// A place further down the list of wishes must save so much cover, mm².
const WISH: f64 = 150.0;

/// The middle of a block of words of a size (as the person sees it: across,
/// deep; mm) beside `about`, within `lit`, covering as little of `others` as may
/// be and nothing of `about`; and how much it covers, mm². `None` if it fits
/// nowhere.
pub fn beside(
    about: &Bounds<Table>,
    [across, deep]: [f64; 2],
    others: &[Region<Table>],
    lit: &Region<Table>,
    side: Side,
    cuts: Hand,
) -> Option<(Point<Table>, f64)> {
    let seen = |p: Point<Table>| side.to_person(p.to_vector());
    let (a, b) = (seen(about.min), seen(about.max));
    let (low, high) = (a.min(b), a.max(b));
    let middle = (low + high) / 2.0;
    let half = (high - low) / 2.0;
    let out = [half.x + GAP + across / 2.0, half.y + GAP + deep / 2.0];
    let hand = cuts.sign();
    // The cutting hand's side, away, near; never the side of the holding hand.
    let ways: [(f64, f64); 3] = [(hand, 0.0), (0.0, 1.0), (0.0, -1.0)];
    let mut best: Option<(f64, Point<Table>, f64)> = None;
    for (rank, (x, y)) in ways.into_iter().enumerate() {
        for slide in [0.0, 0.5, -0.5, 1.0, -1.0] {
            let along = Vector::new(
                y.abs() * (half.x + across / 2.0) * slide * hand,
                x.abs() * (half.y + deep / 2.0) * slide,
            );
            let at = middle + Vector::new(x * out[0], y * out[1]) + along;
            let at = side.to_table(at).to_point();
            let room = block(at, [across, deep], side);
            if !room.rings.iter().flatten().all(|p| lit.contains(*p)) {
                continue;
            }
            let covered: f64 = others.iter().map(|o| intersection(&room, o).area()).sum();
            let cost = covered + WISH * (rank as f64 + f64::abs(slide) / 4.0);
            if best.is_none_or(|(least, ..)| cost < least) {
                best = Some((cost, at, covered));
            }
        }
    }
    best.map(|(_, at, covered)| (at, covered))
}

/// The room of a block of words.
fn block(at: Point<Table>, [across, deep]: [f64; 2], side: Side) -> Region<Table> {
    let half = side.to_table(Vector::new(across / 2.0, deep / 2.0));
    let half = Vector::new(half.x.abs(), half.y.abs());
    super::rectangle(&Bounds::new(at - half, at + half))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(x: f64, y: f64, w: f64, h: f64) -> Region<Table> {
        super::super::rectangle(&Bounds::new(Point::new(x, y), Point::new(x + w, y + h)))
    }

    #[test]
    fn words_stand_on_the_cutting_hands_side_if_there_is_room() {
        let lit = sheet(0.0, 0.0, 1200.0, 800.0);
        let about = Bounds::new(Point::new(500.0, 300.0), Point::new(700.0, 500.0));
        for side in Side::ALL {
            for cuts in [Hand::Left, Hand::Right] {
                let (at, _) = beside(&about, [180.0, 60.0], &[], &lit, side, cuts).unwrap();
                let off = side.to_person(at - about.center());
                assert!(
                    off.x * cuts.sign() > 190.0 && off.y.abs() < 1.0,
                    "{side:?} {off:?}"
                );
            }
        }
        // Another piece there: away from the person instead.
        let other = [sheet(705.0, 200.0, 300.0, 400.0)];
        let found = beside(
            &about,
            [180.0, 60.0],
            &other,
            &lit,
            Side::Front,
            Hand::Right,
        );
        let (at, covered) = found.unwrap();
        assert!(at.y > 530.0 && covered < 1.0, "{at:?}");
        // At the edge of the light, nearer; nowhere at all, nowhere.
        let narrow = sheet(400.0, 200.0, 310.0, 310.0);
        let at = beside(
            &about,
            [180.0, 60.0],
            &[],
            &narrow,
            Side::Front,
            Hand::Right,
        );
        assert!(at.is_some_and(|(p, _)| p.y < 300.0));
        let none = sheet(490.0, 290.0, 220.0, 220.0);
        let at = beside(&about, [180.0, 60.0], &[], &none, Side::Front, Hand::Right);
        assert_eq!(at, None);
    }
}
