//! Places sought: whatever the cloth and the piece, what is offered can be cut.

use ghostchalk::lay::fit::{Effort, NoWishes, Part, Rules, Spread, Task, fit};
use ghostchalk::lay::place::{Ask, Bed, Found, Limits, PieceInHand, find};
use ghostchalk::lay::wish::Known;
use ghostchalk::lay::{Along, Face, inside_of};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::shape::{Region, difference, intersection, near};
use ghostchalk::space::{Cloth, Piece, Point, Vector};

use super::Target;
use super::bytes::Bytes;
use super::outlines::{is_finite, star};

pub const SOUGHT: Target = Target {
    name: "sought",
    run: a_place,
    seeds: &["fuzz/seeds/sought/*"],
};

pub const FIT: Target = Target {
    name: "fit",
    run: a_lay,
    seeds: &["fuzz/seeds/fit/*"],
};

/// Areas up to this are rounding, mm²; and so much nearer than the gap, mm.
const ROUNDING: f64 = 0.051;
const NEARER: f64 = 1e-6;

/// A simple outline, smaller than a table is by `share`.
fn small<S>(bytes: &mut Bytes, share: f64) -> Region<S> {
    let star = star::<S>(bytes);
    let drawn_in = |p: &Point<S>| star.middle + (*p - star.middle) * share;
    Region::ring(star.ring.iter().map(drawn_in).collect())
}

/// As [`small`], with its middle about nought.
fn piece(bytes: &mut Bytes, share: f64) -> Region<Piece> {
    let star = star::<Piece>(bytes);
    let about = |p: &Point<Piece>| Point::zero() + (*p - star.middle) * share;
    Region::ring(star.ring.iter().map(about).collect())
}

fn some(bytes: &mut Bytes, most: usize, share: f64) -> Vec<Region<Cloth>> {
    (0..bytes.below(most + 1))
        .map(|_| small(bytes, share))
        .collect()
}

fn grain(bytes: &mut Bytes) -> Option<[Point<Piece>; 2]> {
    let to = Vector::new(bytes.mm(), bytes.mm());
    let is_some = bytes.flag() && to.length() > 1.0;
    is_some.then(|| [Point::zero(), Point::zero() + to])
}

fn face(bytes: &mut Bytes) -> Face {
    match bytes.flag() {
        true => Face::Down,
        false => Face::Up,
    }
}

fn a_place(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let mut hand = PatternPiece::named("in hand");
    hand.cut = piece(&mut bytes, 0.1).rings;
    hand.grain = grain(&mut bytes);
    let bed = Bed {
        within: vec![small(&mut bytes, 0.2)],
        clear_of: some(&mut bytes, 2, 0.05),
        taken: some(&mut bytes, 2, 0.1),
        gap: f64::from(bytes.byte()) / 32.0,
        warp_deg: bytes.mm(),
    };
    let ask = Ask {
        hand: PieceInHand {
            piece: &hand,
            face: face(&mut bytes),
            along: Along::Warp,
            at: Point::new(bytes.mm(), bytes.mm()),
            turn_deg: bytes.mm(),
        },
        bed: &bed,
        shade: None,
        wishes: &[],
        known: Known::default(),
        limits: Limits {
            offers: 1 + bytes.below(3),
            tolerance_deg: f64::from(bytes.byte()) / 64.0,
            step_mm: 1.0 + f64::from(bytes.byte()) / 64.0,
            apart_mm: None,
        },
    };
    let offers = match find(&ask, &|_| Ok(()), &|_| true) {
        Ok(Found::Places(offers)) => offers,
        Ok(Found::None(_)) => return,
        Ok(Found::Stopped) => panic!("nobody stopped it"),
        // A piece without area.
        Err(_) => return,
    };
    assert!(!offers.is_empty() && offers.len() <= ask.limits.offers);
    for offer in &offers {
        let there = inside_of(&hand).moved(&offer.place.pose());
        assert_eq!(offer.place.face, ask.hand.face);
        can_be_cut(&there, (&bed.within[0], &bed.clear_of), ROUNDING);
        for taken in &bed.taken {
            assert!(
                !near(&there, taken, bed.gap - NEARER),
                "nearer than the gap"
            );
        }
    }
}

/// It lies on the cloth, and on nothing that it must keep off.
fn can_be_cut(
    there: &Region<Cloth>,
    (cloth, off): (&Region<Cloth>, &[Region<Cloth>]),
    rounding: f64,
) {
    assert!(is_finite(there));
    let over = difference(there, cloth).area();
    assert!(over <= rounding, "{over} mm² lie beside the cloth");
    for out in off {
        let on = intersection(there, out).area();
        assert!(on <= rounding, "{on} mm² lie on what is kept out of");
    }
}

fn a_lay(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let parts: Vec<Part> = (0..1 + bytes.below(4))
        .map(|_| Part {
            outline: piece(&mut bytes, 0.1),
            cloth: bytes.below(2),
            grain: grain(&mut bytes),
            along: Along::Warp,
            face: face(&mut bytes),
        })
        .collect();
    let spreads: Vec<Spread> = (0..1 + bytes.below(2))
        .map(|_| Spread {
            cloth: bytes.below(2),
            outline: small(&mut bytes, 0.3),
            keep_outs: some(&mut bytes, 2, 0.05),
            taken: some(&mut bytes, 1, 0.1),
            warp_deg: bytes.mm(),
            one_way: bytes.flag(),
        })
        .collect();
    let pairs: &[[usize; 2]] = match bytes.flag() && parts.len() > 1 {
        true => &[[0, 1]],
        false => &[],
    };
    let rules = Rules {
        between: f64::from(bytes.byte()) / 32.0,
        edge: f64::from(bytes.byte()) / 32.0,
        ..Rules::default()
    };
    let task = Task {
        parts: &parts,
        pairs,
        spreads: &spreads,
        rules,
        wishes: &NoWishes,
    };
    let effort = Effort {
        seed: u64::from(bytes.byte()),
        passes: 12,
        workers: 1,
    };
    let Ok(found) = fit(&task, &effort, &mut |_| true) else {
        return;
    };
    assert_eq!(found.places.len() + found.left.len(), parts.len());
    let lie: Vec<(usize, Region<Cloth>)> = found
        .places
        .iter()
        .map(|p| (p.spread, parts[p.part].outline.moved(&p.pose)))
        .collect();
    for (k, (place, (on, there))) in found.places.iter().zip(&lie).enumerate() {
        let spread = &spreads[*on];
        let part = &parts[place.part];
        assert_eq!(part.cloth, spread.cloth);
        assert_eq!(place.pose.mirrored, part.face == Face::Down);
        can_be_cut(there, (&spread.outline, &spread.keep_outs), 1.1e-3);
        let others = lie[..k].iter().filter(|(s, _)| s == on).map(|(_, r)| r);
        for other in others.chain(&spread.taken) {
            let apart = rules.between - NEARER;
            assert!(!near(there, other, apart), "nearer than the rule");
        }
    }
    for used in &found.yields {
        assert!(used.is_finite() && *used >= 0.0, "{used} % of it is used");
    }
}
