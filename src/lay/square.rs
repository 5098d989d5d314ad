//! Directions set by two points of light: the cloth's warp, the edge of a mat
//! lying askew; and a piece's grain squared to the warp or turned to the bias.

use super::Face;
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::space::{Cloth, Piece, Point, Rigid, Table};

/// The nearest two points may be to tell a direction, mm: pointed at with
/// 0.5 mm, these 50 mm are right to 0.8°.
pub const NEAREST: f64 = 50.0;

/// The direction of a line by two points of light, degrees counter-clockwise
/// from the table's x, −180 to 180: where a mat's edge runs, seen from the
/// first point.
///
/// # Errors
/// If the points lie nearer than [`NEAREST`], or are not numbers.
pub fn edge_from(a: Point<Table>, b: Point<Table>) -> Outcome<f64> {
    let along = b - a;
    if !(along.length() >= NEAREST && along.length().is_finite()) {
        return Err(Fault::input(
            format!("the two points are {} apart", Unit::Mm.show(along.length())),
            "set them as far apart as the edge or the thread can be followed, 50 mm at least",
        ));
    }
    Ok(along.y.atan2(along.x).to_degrees())
}

/// How far the line by two points lies askew: the least turn, degrees,
/// counter-clockwise, −45 to 45, that takes the table's axes onto a square
/// whose edge it is.
///
/// # Errors
/// As [`edge_from`].
pub fn askew(a: Point<Table>, b: Point<Table>) -> Outcome<f64> {
    let edge = edge_from(a, b)?;
    Ok(edge - 90.0 * (edge / 90.0).round())
}

/// The warp's direction in cloth space by two points of light along a thread,
/// on cloth that lies by `pose`: degrees counter-clockwise from the cloth's x,
/// −180 to 180, from the first point to the second (the way of the nap, if
/// there is one).
///
/// # Errors
/// As [`edge_from`].
pub fn warp_from(a: Point<Table>, b: Point<Table>, pose: &Rigid<Cloth, Table>) -> Outcome<f64> {
    edge_from(a, b)?;
    let back = pose.inverse();
    let along = back.point(b) - back.point(a);
    Ok(along.y.atan2(along.x).to_degrees())
}

/// How a piece's grain shall lie to the warp.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    Warp,
    /// At right angles to the warp.
    Cross,
    /// At 45° to the warp.
    Bias,
}

impl Along {
    /// The angles from the warp that will do, degrees. On one-way cloth the
    /// grain arrow must point along the nap, or on the bias not against it;
    /// across it, neither way is against it.
    pub(super) fn angles(self, one_way: bool) -> &'static [f64] {
        match (self, one_way) {
            (Along::Warp, true) => &[0.0],
            (Along::Warp, false) => &[0.0, 180.0],
            (Along::Cross, _) => &[90.0, -90.0],
            (Along::Bias, true) => &[45.0, -45.0],
            (Along::Bias, false) => &[45.0, -45.0, 135.0, -135.0],
        }
    }
}

/// The turn of a placement (degrees, −180 to 180) that brings its piece's
/// grain, `[tail, head]`, along the warp, across it or on the bias: of the
/// directions that will do, the one that turns it least. `one_way`: the cloth
/// has a nap, and the grain's head must lie its way.
///
/// `None` if the grain line has no length.
pub fn squared(
    grain: [Point<Piece>; 2],
    face: Face,
    turn_deg: f64,
    warp_deg: f64,
    along: Along,
    one_way: bool,
) -> Option<f64> {
    let now = grain_on_cloth(grain, face, turn_deg)?;
    let turns = along
        .angles(one_way)
        .iter()
        .map(|a| wrapped(warp_deg + a - now));
    // Just between two, the first listed: rounding must not decide.
    let least = turns.reduce(|best, t| if t.abs() < best.abs() - 1e-9 { t } else { best })?;
    Some(wrapped(turn_deg + least))
}

/// All turns of a placement (degrees, −180 to 180) that bring its piece's grain along the
/// warp, across it or on the bias; arguments as of [`squared`]. `None` if the grain line
/// has no length.
pub(super) fn along_turns(
    grain: [Point<Piece>; 2],
    face: Face,
    warp_deg: f64,
    along: Along,
    one_way: bool,
) -> Option<Vec<f64>> {
    let now = grain_on_cloth(grain, face, 0.0)?;
    let turns = along.angles(one_way).iter();
    Some(turns.map(|a| wrapped(warp_deg + a - now)).collect())
}

/// How far a placed piece's grain lies off the warp: degrees, 0 to 90, or to
/// 180 on one-way cloth. `None` if the grain line has no length.
pub fn off_grain(
    grain: [Point<Piece>; 2],
    face: Face,
    turn_deg: f64,
    warp_deg: f64,
    one_way: bool,
) -> Option<f64> {
    let off = wrapped(grain_on_cloth(grain, face, turn_deg)? - warp_deg).abs();
    Some(if one_way { off } else { off.min(180.0 - off) })
}

/// The direction of the grain in cloth space, degrees.
fn grain_on_cloth([tail, head]: [Point<Piece>; 2], face: Face, turn_deg: f64) -> Option<f64> {
    let pose: Rigid<Piece, Cloth> = Rigid::new(
        face == Face::Down,
        turn_deg.to_radians(),
        euclid::Vector2D::zero(),
    );
    let along = pose.vector(head - tail);
    (along.length() > 0.0).then(|| along.y.atan2(along.x).to_degrees())
}

/// The same direction, −180 to 180 degrees.
fn wrapped(deg: f64) -> f64 {
    deg - 360.0 * (deg / 360.0).round()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Vector;
    use proptest::prelude::*;

    #[test]
    fn the_warp_is_taken_back_through_the_cloths_turn() {
        let pose = Rigid::new(false, 30_f64.to_radians(), Vector::new(300.0, 20.0));
        let (a, b) = (Point::new(100.0, 100.0), Point::new(100.0, 400.0));
        // Straight up the table is 90°; the cloth lies turned by 30.
        assert!((warp_from(a, b, &pose).unwrap() - 60.0).abs() < 1e-9);
        assert!((warp_from(b, a, &pose).unwrap() + 120.0).abs() < 1e-9);
        assert!(
            warp_from(a, a, &pose)
                .unwrap_err()
                .to_string()
                .contains("0.0 mm apart")
        );
        assert!(edge_from(a, Point::new(f64::NAN, 0.0)).is_err());
    }

    #[test]
    fn a_mat_lies_askew_by_less_than_half_a_right_angle() {
        let at = |deg: f64| {
            Point::from_untyped(euclid::point2(
                200.0 * deg.to_radians().cos(),
                200.0 * deg.to_radians().sin(),
            ))
        };
        for (edge, want) in [
            (3.0, 3.0),
            (93.0, 3.0),
            (-88.0, 2.0),
            (177.0, -3.0),
            (40.0, 40.0),
            (50.0, -40.0),
        ] {
            assert!(
                (askew(Point::zero(), at(edge)).unwrap() - want).abs() < 1e-9,
                "{edge}"
            );
        }
    }

    #[test]
    fn the_grain_is_squared_the_short_way() {
        let up = [Point::new(0.0, -40.0), Point::new(0.0, 40.0)];
        let sq = |turn, along, one_way| squared(up, Face::Up, turn, 90.0, along, one_way).unwrap();
        assert!((sq(7.0, Along::Warp, false)).abs() < 1e-9);
        assert!((sq(170.0, Along::Warp, false).abs() - 180.0).abs() < 1e-9);
        assert!((sq(170.0, Along::Warp, true)).abs() < 1e-9);
        assert!((sq(7.0, Along::Bias, false) - 45.0).abs() < 1e-9);
        assert!((sq(-100.0, Along::Bias, false) + 135.0).abs() < 1e-9);
        assert!((sq(-100.0, Along::Bias, true) + 45.0).abs() < 1e-9);
        assert!((sq(80.0, Along::Cross, true) - 90.0).abs() < 1e-9);
        assert_eq!(
            squared([up[0], up[0]], Face::Up, 0.0, 90.0, Along::Warp, false),
            None
        );
    }

    proptest! {
        #[test]
        fn squared_grain_lies_as_asked(
            gx in -50.0..50.0f64, gy in 1.0..50.0f64, turn in -180.0..180.0f64,
            warp in -180.0..180.0f64, down in any::<bool>(), one_way in any::<bool>(),
            way in 0..3usize,
        ) {
            let along = [Along::Warp, Along::Cross, Along::Bias][way];
            let grain = [Point::new(3.0, 4.0), Point::new(3.0 + gx, 4.0 + gy)];
            let face = if down { Face::Down } else { Face::Up };
            let new = squared(grain, face, turn, warp, along, one_way).unwrap();
            let off = off_grain(grain, face, new, warp, one_way).unwrap();
            let want = [0.0, 90.0, 45.0][way];
            prop_assert!((off - want).abs() < 1e-6, "{} off", off);
            // Nothing that will do lies nearer: directions stand 180, 90 or
            // 360° (one way) apart.
            let moved = wrapped(new - turn).abs();
            let half = if one_way { [180.0, 90.0, 135.0] } else { [90.0, 90.0, 45.0] };
            prop_assert!(moved <= half[way] + 1e-6, "moved {}", moved);
        }
    }
}
