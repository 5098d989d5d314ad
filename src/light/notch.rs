//! Notches: a gap in the band, so that the eye finds it, and a tick into the
//! allowance that ends exactly where the clip does. The three kinds differ in
//! shape: one bar, two bars, a filled wedge.

use crate::pattern::{Notch, NotchKind};
use crate::shape::{Caps, Region, intersection, stroke, union};
use crate::space::{Piece, Point};

/// Half the width of a tick's bar, mm: the clip goes up its middle. Two
/// projector pixels wide or a little more.
const HALF_BAR: f64 = 0.75;

/// Distance of a double notch's bars from its middle, mm.
const DOUBLE_HALF: f64 = 2.5;

/// Dark cloth to either side of a tick in the band, mm.
const GAP_CLEAR: f64 = 1.0;

/// How far outside the cut line a tick starts before it is cut to the piece,
/// so that it meets a curved edge everywhere, mm.
const OVERHANG: f64 = 2.0;

/// A rectangle in the notch's own frame: `t` along the edge, `n` inward.
fn rectangle(notch: &Notch, t: [f64; 2], n: [f64; 2]) -> Region<Piece> {
    polygon(
        notch,
        &[(t[0], n[0]), (t[1], n[0]), (t[1], n[1]), (t[0], n[1])],
    )
}

/// A polygon in the notch's own frame, counter-clockwise there with t to the
/// left of n.
fn polygon(notch: &Notch, corners: &[(f64, f64)]) -> Region<Piece> {
    let n = notch.inward;
    let along = euclid::vec2(n.y, -n.x);
    let ring: Vec<Point<Piece>> = corners
        .iter()
        .map(|&(t, s)| notch.at + along * t + n * s)
        .collect();
    Region::ring(ring)
}

/// The lit tick, cut to the piece.
pub fn tick(notch: &Notch, piece: &Region<Piece>) -> Region<Piece> {
    let bar = |centre: f64| {
        rectangle(
            notch,
            [centre - HALF_BAR, centre + HALF_BAR],
            [-OVERHANG, notch.depth],
        )
    };
    let raw = match notch.kind {
        NotchKind::Slit => bar(0.0),
        NotchKind::Double => {
            let mut both = bar(-DOUBLE_HALF);
            both.append(bar(DOUBLE_HALF));
            both
        }
        NotchKind::Vee => {
            let half = notch.depth / 2.0;
            polygon(
                notch,
                &[
                    (-half, -OVERHANG),
                    (half, -OVERHANG),
                    (half, 0.0),
                    (0.0, notch.depth),
                    (-half, 0.0),
                ],
            )
        }
    };
    intersection(&raw, piece)
}

/// What the notch takes out of the band, out to `reach` mm from the cut line.
pub fn gap(notch: &Notch, reach: f64) -> Region<Piece> {
    let half = match notch.kind {
        NotchKind::Slit => HALF_BAR,
        NotchKind::Double => DOUBLE_HALF + HALF_BAR,
        NotchKind::Vee => notch.depth / 2.0,
    } + GAP_CLEAR;
    rectangle(notch, [-half, half], [-reach, 1.0])
}

/// Where a notch's sign begins and ends outside a band, mm from it.
const SIGN: [f64; 2] = [2.0, 8.0];
/// Half the mouth of a vee's sign, mm.
const SIGN_MOUTH: f64 = 3.5;

/// How far outside the band signs reach, mm.
pub const SIGN_REACH: f64 = SIGN[1] + HALF_BAR;

/// The notch's sign outside the band, large enough to tell the kinds apart at
/// arm's length: one bar, two bars, a V that points to its place. It falls away
/// with the waste.
pub fn sign(notch: &Notch, band: f64) -> Region<Piece> {
    let [near, far] = SIGN.map(|s| -(band + s));
    let bar = |t: f64| rectangle(notch, [t - HALF_BAR, t + HALF_BAR], [far, near]);
    match notch.kind {
        NotchKind::Slit => bar(0.0),
        NotchKind::Double => union([&bar(-DOUBLE_HALF), &bar(DOUBLE_HALF)]),
        NotchKind::Vee => {
            let at = |t: f64, s: f64| {
                let n = notch.inward;
                notch.at + euclid::vec2(n.y, -n.x) * t + n * s
            };
            let chevron = [at(-SIGN_MOUTH, far), at(0.0, near), at(SIGN_MOUTH, far)];
            stroke(&chevron, HALF_BAR, Caps::Flat)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Vector;

    fn block() -> Region<Piece> {
        Region::ring(vec![
            Point::new(-50.0, 0.0),
            Point::new(50.0, 0.0),
            Point::new(50.0, 40.0),
            Point::new(-50.0, 40.0),
        ])
    }

    fn notch(kind: NotchKind) -> Notch {
        Notch {
            at: Point::new(3.0, 0.0),
            inward: Vector::new(0.0, 1.0),
            depth: 3.0,
            kind,
        }
    }

    #[test]
    fn each_kind_has_its_own_shape_and_the_clips_depth() {
        for (kind, area) in [
            (NotchKind::Slit, 1.5 * 3.0),
            (NotchKind::Double, 2.0 * 1.5 * 3.0),
            (NotchKind::Vee, 3.0 * 3.0 / 2.0),
        ] {
            let lit = tick(&notch(kind), &block());
            assert!((lit.area() - area).abs() < 1e-4, "{kind:?} {}", lit.area());
            let b = lit.bounds().unwrap();
            assert!((b.max.y - 3.0).abs() < 1e-5 && b.min.y.abs() < 1e-5);
            assert!((b.center().x - 3.0).abs() < 1e-5);
        }
    }

    #[test]
    fn the_gap_is_wider_than_the_tick() {
        for kind in [NotchKind::Slit, NotchKind::Double, NotchKind::Vee] {
            let (gap, tick) = (gap(&notch(kind), 5.0), tick(&notch(kind), &block()));
            let (g, t) = (gap.bounds().unwrap(), tick.bounds().unwrap());
            assert!((t.min.x - g.min.x - GAP_CLEAR).abs() < 1e-5);
            assert!((g.max.x - t.max.x - GAP_CLEAR).abs() < 1e-5);
        }
    }
}
