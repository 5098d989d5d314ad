//! What the table and the floor are made of: reflectances, invented here.

use std::f64::consts::TAU;

use crate::space::{Point, Table};

/// Width of the boards that the table top is glued from, mm.
const BOARD: f64 = 96.0;

/// Reflectance of the table top: oiled boards along x, with growth rings,
/// fibres and glue lines.
pub(super) fn wood(p: Point<Table>) -> [f64; 3] {
    let board = (p.y / BOARD).floor();
    let across = p.y - board * BOARD;
    // Every board is cut from another place of another tree.
    let origin = 37.0 * lattice(board, 11.0);
    let (x, y) = (p.x + 900.0 * origin, p.y + 500.0 * origin);
    // Rings wander slowly along the board and quickly across it.
    let wander = clouds(x / 420.0, y / 38.0);
    let rings = (TAU * (across / 13.0 + 3.4 * wander)).sin();
    let fibres = clouds(x / 34.0, y / 0.9);
    let pores = clouds(x / 9.0, y / 0.6 + 71.0);
    let tone =
        0.86 + 0.2 * lattice(board, 5.0) + 0.11 * rings * (0.4 + wander) + 0.2 * (fibres - 0.5)
            - 0.25 * (pores - 0.68).max(0.0);
    let from_seam = across.min(BOARD - across);
    let seam = 1.0 - 0.35 * (-from_seam * from_seam / 0.32).exp();
    // Darker wood is redder.
    let tone = tone * seam;
    [
        0.40 * tone,
        0.235 * tone.powf(1.15),
        0.125 * tone.powf(1.35),
    ]
}

/// Reflectance of the floor: dark and a little cloudy.
pub(super) fn floor(p: Point<Table>) -> [f64; 3] {
    let tone = 0.8 + 0.4 * clouds(p.x / 60.0, p.y / 45.0);
    [0.100 * tone, 0.094 * tone, 0.097 * tone]
}

/// A whole number's worth of chance in 0..1 at a lattice point, always the
/// same there.
pub(super) fn lattice(x: f64, y: f64) -> f64 {
    // Multipliers are odd and share no pattern; after SplitMix64's finish.
    let mut h = (x as i64 as u64)
        .wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add((y as i64 as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F));
    h = (h ^ (h >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (h >> 11) as f64 / (1u64 << 53) as f64
}

/// Smooth chance in 0..1: values at lattice points, blended between them, in
/// three octaves.
fn clouds(x: f64, y: f64) -> f64 {
    let octave = |x: f64, y: f64| {
        let (i, j) = (x.floor(), y.floor());
        let ease = |t: f64| t * t * (3.0 - 2.0 * t);
        let (s, t) = (ease(x - i), ease(y - j));
        let row = |j: f64| lattice(i, j) * (1.0 - s) + lattice(i + 1.0, j) * s;
        row(j) * (1.0 - t) + row(j + 1.0) * t
    };
    let finer = octave(2.03 * x + 17.0, 2.03 * y + 5.0);
    let finest = octave(4.1 * x + 3.0, 4.1 * y + 41.0);
    (4.0 * octave(x, y) + 2.0 * finer + finest) / 7.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn surfaces_reflect_some_of_the_light_everywhere() {
        for i in 0..4000 {
            let p = Point::new(
                f64::from(i % 80) * 17.3 - 80.0,
                f64::from(i / 80) * 19.1 - 80.0,
            );
            for share in wood(p).into_iter().chain(floor(p)) {
                assert!(share > 0.005 && share < 0.7, "{share} at {p:?}");
            }
        }
        // A point is not its neighbour, and is always itself.
        assert_ne!(wood(Point::new(1.0, 1.0)), wood(Point::new(9.0, 9.0)));
        assert_eq!(wood(Point::new(1.0, 1.0)), wood(Point::new(1.0, 1.0)));
    }
}
