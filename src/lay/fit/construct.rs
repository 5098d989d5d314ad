//! A first lay: the largest part first, each where it costs least among places where it lies
//! free. Left-bottom-fill is this with the cost of lying far along.
//!
//! Bottom-left fill goes back to Baker, Coffman & Rivest (1980), *Orthogonal packings in two
//! dimensions*, doi 10.1137/0209064; to sample places instead of enumerating them is Gardeyn,
//! Vanden Berghe & Wauters (2025).

use super::engine::{Board, Shape, Spot};
use super::probe::Probe;
use super::seek::{Extent, Trials, Ways, seek};
use rand::Rng;

/// How hard a first place is looked for.
pub(super) const FIRST: Trials = Trials {
    anywhere: 1000,
    around: 0,
    kept: 5,
};

/// Large parts first: by the area of the hull and by the diameter, as both make a part hard
/// to place.
pub(super) fn by_size(shapes: &[Shape]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..shapes.len()).collect();
    let weight = |&k: &usize| shapes[k].size.hull * shapes[k].size.diameter;
    order.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    order
}

/// The cheapest place found where a part lies free, by what `cost` says of a place and of
/// the box of the part there (x from, y from, x to, y to).
pub(super) fn free_spot(
    board: &Board,
    probe: &mut Probe,
    (part, ways, extents): (usize, &Ways, &[Extent]),
    trials: Trials,
    rng: &mut impl Rng,
    cost: &mut dyn FnMut(&Spot, [f32; 4]) -> f32,
) -> Option<(Spot, f32)> {
    let seen = (&board.shapes[part], ways, extents);
    let now = board.spot(part);
    let mut free = |spot: &Spot, bound: f32| {
        let at = probe.set(board, part, spot);
        // What it costs is known sooner than whether it is free.
        let c = cost(spot, at);
        if c < bound && probe.is_clear(board, part, spot) {
            c
        } else {
            f32::INFINITY
        }
    };
    seek(seen, now, trials, f32::NEG_INFINITY, rng, &mut free).filter(|found| found.1.is_finite())
}
