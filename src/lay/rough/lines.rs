//! Which straight lines are worth trying.
//!
//! If a line parts two sets of pieces, the widest corridor between the sets
//! does so too. Its walls touch the hulls of the sets; either both in one
//! corner, square to the shortest way between two pieces, or one along an
//! edge: of one piece's hull, which then lies square to the shortest way to
//! the piece that the other wall touches, or between two pieces of one set,
//! along a line that touches both from outside. So the three directions of
//! every [`Pair`] find every gap there is.

use super::goods::{Goods, Pair};
use super::{ROOMY, ROUNDING};
use crate::shape::{Region, pairs};
use crate::space::{Point, Table, Vector};
use std::f64::consts::PI;

/// A straight line that misses some pieces.
pub struct Line {
    pub at: Point<Table>,
    /// Of length 1.
    pub along: Vector<Table>,
    /// To the nearest hull, mm.
    pub room: f64,
    /// How many pairs of pieces it has one of on either side.
    pub told: usize,
}

/// The pairs both of which are among these pieces, the closest first.
pub fn pairs_among<'a>(goods: &'a Goods, pieces: &[usize]) -> Vec<&'a Pair> {
    let mut among = vec![false; goods.kept.len()];
    pieces.iter().for_each(|&k| among[k] = true);
    let both = |p: &&Pair| p.of.iter().all(|&k| among[k]);
    goods.pairs.iter().filter(both).collect()
}

/// Directions every 5°, from that of the cloth's longest edge on.
pub fn turns(cloth: &Region<Table>) -> impl Iterator<Item = Vector<Table>> + use<> {
    let edges = cloth.rings.iter().flat_map(|r| pairs(r));
    let longest = edges
        .map(|(a, b)| b - a)
        .max_by(|a, b| a.square_length().total_cmp(&b.square_length()))
        .unwrap_or(Vector::new(1.0, 0.0));
    let start = longest.y.atan2(longest.x);
    (0..36).map(move |k| {
        let (sin, cos) = (start + PI * f64::from(k) / 36.0).sin_cos();
        Vector::new(cos, sin)
    })
}

/// The lines in one direction that pass between the hulls of these pieces:
/// down the middle of each gap, and where it is wide, also at a good
/// distance from either wall.
pub fn across(goods: &Goods, pieces: &[usize], along: Vector<Table>) -> Vec<Line> {
    let normal = Vector::new(-along.y, along.x);
    let hulls = pieces.iter().filter_map(|&k| goods.hulls[k].as_ref());
    let mut extents: Vec<(f64, f64)> = hulls.map(|h| h.extent(normal)).collect();
    extents.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lines = Vec::new();
    let mut reached = f64::INFINITY;
    for (k, &(low, high)) in extents.iter().enumerate() {
        let room = (low - reached) / 2.0;
        if k > 0 && room >= goods.clear - ROUNDING / 2.0 {
            let mut line = |off: f64, room| {
                lines.push(Line {
                    at: (normal * off).to_point(),
                    along,
                    room,
                    told: k * (extents.len() - k),
                });
            };
            line(reached + room, room);
            let enough = ROOMY * goods.clear;
            if room > enough {
                line(reached + enough, enough);
                line(low - enough, enough);
            }
        }
        reached = if k == 0 { high } else { reached.max(high) };
    }
    lines
}

/// Lines through the middle between two pieces, whatever else they meet.
pub fn between_pairs<'a>(goods: &Goods, pairs: &'a [&Pair]) -> impl Iterator<Item = Line> + 'a {
    let clear = goods.clear - ROUNDING;
    let apart = pairs.iter().filter(move |p| p.apart >= 2.0 * clear);
    apart.flat_map(|p| {
        p.along.iter().map(|&along| Line {
            at: p.middle,
            along,
            room: p.apart / 2.0,
            told: 1,
        })
    })
}
