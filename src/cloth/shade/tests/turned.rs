//! Cloth and piece turned together: the same numbers.

use super::cloths::{grey, lit, map_of, sole};
use crate::cloth::shade::{Doubt, Half, Shading, partners};
use crate::space::{Cloth, Piece, Point, Rigid, Vector};
use proptest::prelude::*;

/// A fade with a bend and a spot in it, over the piece as drawn.
fn shade(p: Point<Piece>) -> f64 {
    let spot = (p - Point::new(15.0, -60.0)).square_length();
    60.0 + 0.04 * p.y + 0.00015 * p.x * p.y - 6.0 * (-spot / 1800.0).exp()
}

/// That shade, where the pose puts it.
fn cloth(pose: &Rigid<Piece, Cloth>, more: f64) -> Shading<Cloth> {
    let back = pose.inverse();
    let light = lit([200.0, 200.0], 2.0, |p| grey(shade(back.point(p)) + more));
    Shading::new(map_of(&light, Doubt::NONE), None)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn a_piece_and_its_cloth_turned_together_give_the_same(
        mirrored in any::<bool>(), turn in -4.0..4.0f64, x in -30.0..30.0f64, y in -30.0..30.0f64,
    ) {
        let plain: Rigid<Piece, Cloth> = Rigid::new(false, 0.0, Vector::zero());
        let pose: Rigid<Piece, Cloth> = Rigid::new(mirrored, turn, Vector::new(x, y));
        let (a, b) = (cloth(&plain, 0.0), cloth(&pose, 0.0));
        let one = a.under(&sole().moved(&plain), &plain).unwrap();
        let two = b.under(&sole().moved(&pose), &pose).unwrap();
        let near = |a: f64, b: f64, within: f64| (a - b).abs() < within;
        prop_assert!(near(one.mean.l, two.mean.l, 0.03), "{:?} {:?}", one.mean, two.mean);
        for (a, b) in [(one.spread, two.spread), (one.shade.unwrap(), two.shade.unwrap())] {
            prop_assert!(near(a.sd, b.sd, 0.06), "{a:?} {b:?}");
            prop_assert!(near(a.low, b.low, 0.2) && near(a.high, b.high, 0.2), "{a:?} {b:?}");
        }
        let (s, t) = (one.slope.unwrap(), two.slope.unwrap());
        prop_assert!(near(s.per_100, t.per_100, 0.06), "{s:?} {t:?}");
        prop_assert!((s.in_piece - t.in_piece).length() < 0.03, "{s:?} {t:?}");
        prop_assert!((pose.vector(t.in_piece) - t.towards).length() < 1e-9);
        prop_assert_eq!(one.fading, two.fading);
        for (a, b) in [(one.darkest, two.darkest), (one.lightest, two.lightest)] {
            let (a, b) = (a.unwrap(), b.unwrap());
            prop_assert!(near(a.colour.l, b.colour.l, 0.35), "{a:?} {b:?}");
            prop_assert!(near(shade(b.in_piece), b.colour.l, 0.5), "{b:?}");
        }
        // And the two are partners: lighter by 4 all over, whichever way they lie.
        let light = cloth(&pose, 4.0);
        let found = partners(
            &Half { shading: &a, pose: plain },
            &Half { shading: &light, pose },
            &sole(),
        );
        let found = found.unwrap();
        prop_assert!(near(found.lighter, 4.0, 0.03), "{found:?}");
        prop_assert!(found.most - found.mean < 0.4, "{found:?}");
    }
}
