//! Leaving out what lies far off, before a boolean that would not feel it.

use super::{Region, Ring, pairs};
use crate::space::{Bounds, Point};

/// The region as it is within `to`, cut off along its sides (Sutherland &
/// Hodgman: rings may run on each other there, which a non-zero fill does not mind).
pub fn trimmed<S>(region: &Region<S>, to: &Bounds<S>) -> Region<S> {
    let trim = |ring: &Ring<S>| {
        let ring = cut(ring, |p| p.x - to.min.x);
        let ring = cut(&ring, |p| to.max.x - p.x);
        let ring = cut(&ring, |p| p.y - to.min.y);
        cut(&ring, |p| to.max.y - p.y)
    };
    let rings = region.rings.iter().map(trim);
    Region::new(rings.filter(|r| r.len() > 2).collect())
}

/// The part of a ring where `side` is not negative.
fn cut<S>(ring: &[Point<S>], side: impl Fn(Point<S>) -> f64) -> Ring<S> {
    let mut out = Vec::with_capacity(ring.len() + 4);
    for (a, b) in pairs(ring) {
        let (sa, sb) = (side(a), side(b));
        if sa >= 0.0 {
            out.push(a);
        }
        if (sa > 0.0 && sb < 0.0) || (sa < 0.0 && sb > 0.0) {
            out.push(a + (b - a) * (sa / (sa - sb)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Region, difference};
    use crate::space::Table;

    #[test]
    fn a_boolean_within_the_box_does_not_feel_the_trim() {
        let star: Region<Table> = Region::ring(
            (0..40)
                .map(|k| {
                    let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 40.0).sin_cos();
                    let r = if k % 2 == 0 { 100.0 } else { 40.0 };
                    Point::new(r * cos, r * sin)
                })
                .collect(),
        );
        let small = Region::disc(Point::new(60.0, 10.0), 25.0);
        let box_ = small.bounds().unwrap().inflate(1.0, 1.0);
        let whole = difference(&small, &star).area();
        let trimmed = difference(&small, &trimmed(&star, &box_)).area();
        assert!(
            (whole - trimmed).abs() < 1e-3 && whole > 100.0,
            "{whole} {trimmed}"
        );
    }
}
