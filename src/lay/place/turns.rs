//! The turns at which a piece may lie.

use super::{Limits, PieceInHand};
use crate::lay::GRAIN_TOLERANCE;
use crate::lay::square::along_turns;
use crate::lay::wish::NapWay;

/// From one turn that is tried to the next, degrees.
const STEP: f64 = 0.5;

/// So many turns are tried at most; with more freedom they stand further apart.
const MOST: usize = 120;

/// Held back from the tolerance, degrees, so that rounding never passes it.
const WITHIN: f64 = 1e-3;

/// A turn that is tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// As a placement says it: −180 to 180.
    pub deg: f64,
    /// Off the grain, degrees, either sign.
    pub off: f64,
    /// Which of the grain's ways it belongs to.
    pub way: usize,
    /// Tried at every place; the others only beside a good one.
    pub coarse: bool,
}

/// The way the grain's arrow shall lie, degrees: against the nap it is the warp's other end.
pub fn warp_of(warp_deg: f64, nap: Option<NapWay>) -> f64 {
    match nap {
        Some(NapWay::Against) => warp_deg + 180.0,
        _ => warp_deg,
    }
}

/// All turns within the tolerance of the grain's ways, those of one way in order; of a
/// piece without a grain, about the turn at which it lies, and the other way up.
pub fn turns(hand: &PieceInHand, warp_deg: f64, nap: Option<NapWay>, limits: &Limits) -> Vec<Turn> {
    let warp = warp_of(warp_deg, nap);
    let along = hand
        .piece
        .grain
        .and_then(|g| along_turns(g, hand.face, warp, hand.along, nap.is_some()));
    let asked = if limits.tolerance_deg.is_finite() {
        limits.tolerance_deg.clamp(0.0, 180.0)
    } else {
        GRAIN_TOLERANCE
    };
    let (ways, tolerance) = match along {
        // What is further off, the lay's checks refuse.
        Some(ways) => (ways, asked.min(GRAIN_TOLERANCE - WITHIN)),
        None if asked >= 90.0 || nap.is_some() => (vec![hand.turn_deg], asked),
        None => (vec![hand.turn_deg, hand.turn_deg + 180.0], asked),
    };
    let each = (MOST / ways.len()).max(1) as f64;
    let step = STEP.max(2.0 * tolerance / each);
    let steps = (tolerance / step).ceil() as i32;
    let mut all = Vec::new();
    for (way, base) in ways.iter().enumerate() {
        for k in -steps..=steps {
            let off = (f64::from(k) * step).clamp(-tolerance, tolerance);
            all.push(Turn {
                deg: written(base + off),
                off,
                way,
                coarse: k % 2 == 0,
            });
        }
    }
    all
}

/// A turn as a placement is written: degrees in (−180, 180], five decimals.
fn written(deg: f64) -> f64 {
    let deg = (deg * 1e5).round() / 1e5;
    let deg = deg - 360.0 * (deg / 360.0).round();
    (deg * 1e5).round() / 1e5
}
