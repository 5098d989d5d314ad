//! Hatching: parallel lines inside an outline, so that a state is told by its
//! pattern and not by colour.

use egui::{Pos2, pos2};
use std::collections::BTreeMap;

/// Which way the lines run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slant {
    /// From bottom left to top right.
    Rising,
    Falling,
}

/// More lines than this are not drawn: an outline without sense.
const MOST: f32 = 2000.0;

/// Lines at 45°, `apart` px from each other, inside rings by the even-odd rule.
/// They lie on one raster for all outlines, so that neighbours' hatching meets.
pub fn hatch(rings: &[Vec<Pos2>], apart: f32, slant: Slant) -> Vec<[Pos2; 2]> {
    // With v = y ± x a line is v = k · step; ends are told by their x.
    let sign = match slant {
        Slant::Rising => 1.0,
        Slant::Falling => -1.0,
    };
    let step = apart * std::f32::consts::SQRT_2;
    let mut ends: BTreeMap<i64, Vec<f32>> = BTreeMap::new();
    for ring in rings {
        for (k, a) in ring.iter().enumerate() {
            let b = ring[(k + 1) % ring.len()];
            let (va, vb) = ((a.y + sign * a.x) / step, (b.y + sign * b.x) / step);
            let (low, high) = (va.min(vb), va.max(vb));
            if !(high - low).is_finite() || high - low > MOST {
                continue;
            }
            // Half open, so that a corner on a line counts once.
            for line in low.ceil() as i64..high.ceil() as i64 {
                let t = (line as f32 - va) / (vb - va);
                ends.entry(line).or_default().push(a.x + t * (b.x - a.x));
            }
        }
    }
    let mut lines = Vec::new();
    for (line, mut xs) in ends {
        xs.sort_by(f32::total_cmp);
        let at = |x: f32| pos2(x, line as f32 * step - sign * x);
        lines.extend(xs.chunks_exact(2).map(|x| [at(x[0]), at(x[1])]));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(from: f32, to: f32) -> Vec<Pos2> {
        vec![
            pos2(from, from),
            pos2(to, from),
            pos2(to, to),
            pos2(from, to),
        ]
    }

    #[test]
    fn its_length_is_the_area_over_the_distance_between_lines() {
        let rings = [square(0.0, 200.0), square(50.0, 120.0)];
        let area = 200.0 * 200.0 - 70.0 * 70.0;
        for slant in [Slant::Rising, Slant::Falling] {
            let lines = hatch(&rings, 2.0, slant);
            let length: f32 = lines.iter().map(|[a, b]| a.distance(*b)).sum();
            assert!((length * 2.0 / area - 1.0).abs() < 0.02, "{length}");
            for [a, b] in lines {
                let rise = if slant == Slant::Rising { -1.0 } else { 1.0 };
                assert!(((b.y - a.y) - rise * (b.x - a.x)).abs() < 1e-2);
                let middle = a.lerp(b, 0.5);
                let hole = |v: f32| v > 50.0 && v < 120.0;
                assert!(!(hole(middle.x) && hole(middle.y)), "{middle}");
            }
        }
    }

    #[test]
    fn an_outline_without_sense_is_left_out() {
        let ring = vec![pos2(0.0, 0.0), pos2(f32::NAN, 3.0), pos2(1e9, 4.0)];
        assert!(hatch(&[ring], 4.0, Slant::Rising).is_empty());
    }
}
