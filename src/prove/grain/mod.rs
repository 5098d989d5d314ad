//! Which edges run on the bias, and so stretch when handled; which want a stay tape.

mod tape;

pub use tape::{TAPE_ENDS, Tape, tapes};

use crate::pattern::PatternPiece;
use crate::pattern::edges;
use crate::space::{Piece as PieceSpace, Vector};
use serde::Serialize;

/// A line is on the bias within this of 45° to the grain, degrees (common practice).
pub const BIAS: f64 = 15.0;

/// How an edge lies to the grain. Angles are degrees, 0 (along the grain) to 90 (across).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EdgeGrain {
    pub piece: String,
    pub edge: String,
    /// mm, net.
    pub length_mm: f64,
    /// From its first point to its last; of an edge that ends where it begins: none.
    pub chord_deg: Option<f64>,
    /// The mean over its length.
    pub mean_deg: f64,
    pub least_deg: f64,
    pub most_deg: f64,
    /// How much of it is within [`BIAS`] of 45°, mm.
    pub bias_mm: f64,
    /// The mean of sin² 2θ over its length: 0 along and across the grain, 1 at 45°.
    pub shear: f64,
}

/// Whether an edge is on the bias as a whole: at least half of it is.
pub fn mostly_on_bias(bias: f64, length: f64) -> bool {
    length > 0.0 && bias >= length / 2.0
}

/// The angle between a direction and the grain, degrees, 0 to 90; of no direction: none.
pub fn angle(grain: Vector<PieceSpace>, way: Vector<PieceSpace>) -> Option<f64> {
    let (cross, dot) = (grain.cross(way).abs(), grain.dot(way).abs());
    let deg = cross.atan2(dot).to_degrees();
    (cross + dot > 0.0 && deg.is_finite()).then_some(deg)
}

/// The edges of a piece against its grain; `None` if no grain is drawn. A curve is as the
/// chords that it is read as: what is on the bias may be out by one chord where the
/// curve passes 30° and 60° (3° of turning at a radius of 50 mm).
pub fn of(piece: &PatternPiece) -> Option<Vec<EdgeGrain>> {
    let [tail, head] = piece.grain?;
    let grain = head - tail;
    if grain.length() == 0.0 {
        return None;
    }
    let all = edges(piece).into_iter().map(|edge| {
        let (mut mean, mut bias, mut shear) = (0.0, 0.0, 0.0);
        let (mut least, mut most) = (90.0f64, 0.0f64);
        for w in edge.line.windows(2) {
            let step = w[1] - w[0];
            let (Some(deg), len) = (angle(grain, step), step.length()) else {
                continue;
            };
            mean += deg * len;
            shear += (2.0 * deg.to_radians()).sin().powi(2) * len;
            // 1e-9: a straight line drawn at 30° is on the edge, whatever rounding says.
            if (deg - 45.0).abs() <= BIAS + 1e-9 {
                bias += len;
            }
            (least, most) = (least.min(deg), most.max(deg));
        }
        let whole = edge.length.max(f64::MIN_POSITIVE);
        let ends = edge.line.first().zip(edge.line.last());
        EdgeGrain {
            piece: piece.name.clone(),
            chord_deg: ends.and_then(|(a, b)| angle(grain, *b - *a)),
            edge: edge.name,
            length_mm: edge.length,
            mean_deg: mean / whole,
            least_deg: least,
            most_deg: most,
            bias_mm: bias,
            shear: shear / whole,
        }
    });
    Some(all.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;
    use std::f64::consts::TAU;

    fn piece(ring: Vec<(f64, f64)>, grain: f64) -> PatternPiece {
        let mut piece = PatternPiece::named("p");
        piece.cut = vec![ring.into_iter().map(|(x, y)| Point::new(x, y)).collect()];
        let (sin, cos) = grain.to_radians().sin_cos();
        piece.grain = Some([Point::origin(), Point::new(80.0 * cos, 80.0 * sin)]);
        piece
    }

    /// A triangle of 3, 4 and 5: its angles are 36.87° and 53.13°.
    #[test]
    fn a_triangle_by_hand() {
        let ring = vec![(0.0, 0.0), (40.0, 0.0), (40.0, 30.0)];
        let all = of(&piece(ring.clone(), 90.0)).unwrap();
        let told: Vec<f64> = all.iter().map(|e| e.chord_deg.unwrap()).collect();
        let slope = 0.75f64.atan().to_degrees();
        for (got, want) in told.iter().zip([90.0, 0.0, 90.0 - slope]) {
            assert!((got - want).abs() < 1e-9, "{told:?}");
        }
        assert_eq!(
            all.iter().map(|e| e.bias_mm).collect::<Vec<_>>(),
            [0.0, 0.0, 50.0]
        );
        // sin 2θ = 2 · 0.6 · 0.8.
        assert!((all[2].shear - 0.96f64.powi(2)).abs() < 1e-12);
        // Turned by 45° the legs are on the bias, and the long side is 8.13° off the grain.
        let all = of(&piece(ring, 45.0)).unwrap();
        assert_eq!(
            all.iter().map(|e| e.bias_mm.round()).collect::<Vec<_>>(),
            [40.0, 30.0, 0.0]
        );
        assert!((all[2].mean_deg - (45.0 - slope)).abs() < 1e-9);
    }

    /// A circle has every direction alike: a third is on the bias, sin² has a mean of a
    /// half, the mean angle is 45°.
    #[test]
    fn a_circle_in_closed_form() {
        let n = 2000;
        let ring = (0..n).map(|k| {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(n)).sin_cos();
            (70.0 * cos, 70.0 * sin)
        });
        let all = of(&piece(ring.collect(), 17.0)).unwrap();
        let edge = &all[0];
        assert!((edge.bias_mm / edge.length_mm - 1.0 / 3.0).abs() < 0.003);
        assert!((edge.shear - 0.5).abs() < 1e-9);
        assert!((edge.mean_deg - 45.0).abs() < 1e-6);
        assert_eq!(edge.chord_deg, None);
    }

    #[test]
    fn without_a_grain_nothing_is_said() {
        let mut piece = piece(vec![(0.0, 0.0), (40.0, 0.0), (40.0, 30.0)], 0.0);
        piece.grain = Some([Point::origin(), Point::origin()]);
        assert_eq!(of(&piece), None);
        piece.grain = None;
        assert_eq!(of(&piece), None);
    }
}
