//! Noise that is a function of the place, and a soft step.

/// Whole cells' own value, −1 to 1.
fn cell(x: i64, y: i64, seed: u64) -> f64 {
    let mut h = (x as u64)
        .wrapping_mul(0x9e37_79b9_7f4a_7c15)
        .wrapping_add((y as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f))
        .wrapping_add(seed.wrapping_mul(0x1656_67b1_9e37_79f9));
    h = (h ^ (h >> 29)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    h = (h ^ (h >> 32)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (h >> 11) as f64 / (1u64 << 52) as f64 - 1.0
}

/// Smooth, −1 to 1, a unit from hill to hill.
pub(super) fn noise(x: f64, y: f64, seed: u64) -> f64 {
    let (i, j) = (x.floor(), y.floor());
    let bend = |t: f64| t * t * (3.0 - 2.0 * t);
    let (s, t) = (bend(x - i), bend(y - j));
    let (i, j) = (i as i64, j as i64);
    let row = |j| cell(i, j, seed) * (1.0 - s) + cell(i + 1, j, seed) * s;
    row(j) * (1.0 - t) + row(j + 1) * t
}

/// From 0 at −1 to 1 at 1.
pub(super) fn step(t: f64) -> f64 {
    let t = (0.5 + 0.5 * t).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}
