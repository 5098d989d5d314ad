//! Outlines grown and shrunk: what a simple one comes to is bounded from both sides.

use std::f64::consts::PI;

use ghostchalk::shape::{
    ARC_ERROR, Caps, Join, Region, Side, Sided, difference, edgewise, length, offset, stroke,
};
use ghostchalk::space::Piece;

use super::Target;
use super::bytes::Bytes;
use super::outlines::{is_finite, round, slack, star, tangle};

pub const OFFSET: Target = Target {
    name: "offset",
    run: offsets,
    seeds: &["fuzz/seeds/offset/*"],
};

fn offsets(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let by = 0.02 + f64::from(bytes.word()) / 512.0;
    match bytes.below(4) {
        0 => anything(&mut bytes, by),
        1 => a_line(&mut bytes, by),
        2 => side_by_side(&mut bytes),
        _ => a_simple_one(&mut bytes, by),
    }
}

/// Of lines that cross themselves it is only asked that all numbers are some.
fn anything(bytes: &mut Bytes, by: f64) {
    let rings = 1 + bytes.below(3);
    let region = Region::<Piece>::new((0..rings).map(|_| tangle(bytes)).collect());
    assert!(is_finite(&offset(&region, by)));
    assert!(is_finite(&offset(&region, -by)));
}

/// A stroke is no larger than its length and its ends make it.
fn a_line(bytes: &mut Bytes, by: f64) {
    let line = tangle::<Piece>(bytes);
    let long = length(&line);
    let round_caps = stroke(&line, by, Caps::Round);
    let most = 2.0 * by * long + PI * by * by;
    assert!(is_finite(&round_caps));
    assert!(round_caps.area() <= most + 1e-3 + 1e-5 * (long + by));
    assert!(is_finite(&stroke(&line, by, Caps::Flat)));
}

/// By the inequality of Brunn and Minkowski the grown area is the least for a disc, and by the
/// formula of Steiner it is the most where the outline bends outwards only.
fn a_simple_one(bytes: &mut Bytes, by: f64) {
    let piece = Region::ring(star::<Piece>(bytes).ring);
    let (area, rim) = (piece.area(), round(&piece));
    let slack = slack(&piece);
    let grown = offset(&piece, by);
    assert!(is_finite(&grown));
    let least = (area.sqrt() + PI.sqrt() * (by - ARC_ERROR)).powi(2);
    let most = area + rim * by + PI * by * by;
    let is = grown.area();
    assert!(is >= least - slack, "{is} mm², and at least {least}");
    assert!(is <= most + slack, "{is} mm², and at most {most}");
    let lost = difference(&piece, &grown).area();
    assert!(lost <= slack, "{lost} mm² of it are lost");

    let shrunk = offset(&piece, -by);
    assert!(is_finite(&shrunk));
    let spilt = difference(&shrunk, &piece).area();
    assert!(spilt <= slack, "{spilt} mm² of the shrunk one lie outside");
    // What is left lies so deep within that it can be grown again.
    let again = by - 2.0 * ARC_ERROR;
    if !shrunk.is_empty() && again > 0.0 {
        let spilt = difference(&offset(&shrunk, again), &piece).area();
        assert!(spilt <= slack, "{spilt} mm² come out on the other side");
    }
}

/// Each side by a distance of its own: what is grown holds what it was.
fn side_by_side(bytes: &mut Bytes) {
    let ring = star::<Piece>(bytes).ring;
    let count = 1 + bytes.below(6);
    // Runs of edges, as a piece has them.
    let side = (0..ring.len()).map(|k| k * count / ring.len()).collect();
    let joins = [Join::Mitre, Join::Square, Join::FoldBack];
    let outward = bytes.flag();
    let sides: Vec<Side> = (0..count)
        .map(|_| {
            let by = f64::from(bytes.byte()) / 8.0;
            let by = if outward || bytes.flag() { by } else { -by };
            let join = joins[bytes.below(joins.len())];
            Side { by, join }
        })
        .collect();
    let piece = Region::ring(ring.clone());
    let found = edgewise(&Sided { ring, side }, &sides);
    let parts = found.outer.iter().chain(&found.holes);
    let all = Region::new(parts.map(|part| part.ring.clone()).collect());
    assert!(is_finite(&all));
    assert!(found.outer.iter().all(|part| part.area() > 0.0));
    assert!(found.holes.iter().all(|part| part.area() < 0.0));
    if outward {
        let lost = difference(&piece, &all).area();
        assert!(lost <= slack(&all) + slack(&piece), "{lost} mm² are lost");
    }
}
