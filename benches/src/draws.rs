//! Chance by a seed.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// Two numbers of deviation 1 about 0: Box and Muller (1958).
pub fn pair(rng: &mut ChaCha8Rng) -> [f64; 2] {
    let (u, v): (f64, f64) = (rng.random(), rng.random());
    let r = (-2.0 * (1.0 - u).ln()).sqrt();
    let (sin, cos) = (std::f64::consts::TAU * v).sin_cos();
    [r * cos, r * sin]
}

/// One of them.
pub fn normal(rng: &mut ChaCha8Rng) -> f64 {
    pair(rng)[0]
}
