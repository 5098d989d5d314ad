//! Where the light of a notch lies.
//!
//! A notch is a lit bar across the cut line's dark side: as wide as the tick,
//! from the cut line inward.

use crate::space::{Point, Projector, Table, Vector};

use super::picture::{Levels, Picture};
use super::rig::Rig;

/// A notch as it is meant to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Notch {
    /// Where it meets the cut line.
    pub root: Point<Table>,
    /// Into the piece, square to the cut line; its length does not matter.
    pub inward: Vector<Table>,
    /// From root to tip, mm.
    pub depth: f64,
    /// The width of the bar, mm: 1.5 for a tick.
    pub width: f64,
}

/// Where the light has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotchSample {
    /// How far the bar's middle is from where it should be, along the cut line
    /// in the direction of travel (inward turned clockwise), mm.
    pub along_mm: f64,
    /// How much deeper the tip is than it should be, mm.
    pub depth_mm: f64,
    /// The width of the bar's light, mm.
    pub width_mm: f64,
}

/// Between points of the integration, mm; against pixels of 0.8 mm it leaves
/// an error of some thousandths of a millimetre.
const GRAIN: f64 = 0.04;

/// How far about the bar its light is looked for, mm.
const ROOM: f64 = 2.0;

/// Measures the light of a notch in the plane `height` mm above the table.
///
/// Near the root the guide band is close by, so the measure leans on the inner
/// part: a weight rises from 0 at a quarter of the depth to 1 at three
/// quarters. Where the bar is even, the light under the *slope* of the weight
/// is the bar's width; the light under the weight itself is that width times
/// the tip's distance from half depth.
///
/// `None` if there is less than a fifth of the light there should be, or the
/// notch has no depth, width or direction.
pub fn notch_tip(
    rig: &Rig,
    picture: &Picture,
    levels: Levels,
    notch: &Notch,
    height: f64,
) -> Option<NotchSample> {
    let Notch { depth, width, .. } = *notch;
    let inward = notch.inward.try_normalize()?;
    // Written so that NaN fails; and a notch is not longer than a hand.
    if !(depth > 0.0 && width > 0.0 && depth < 200.0 && width < 200.0) {
        return None;
    }
    let along = Vector::new(inward.y, -inward.x);
    let half = width / 2.0 + ROOM;
    let (mut tip, mut level, mut moment) = (0.0, 0.0, 0.0);
    for deep in grid(0.25 * depth, depth + ROOM) {
        let ramp = ((deep / depth - 0.25) / 0.5).clamp(0.0, 1.0);
        // A smooth step and its slope by depth.
        let weight = ramp * ramp * (3.0 - 2.0 * ramp);
        let slope = 6.0 * ramp * (1.0 - ramp) / (0.5 * depth);
        for aside in grid(-half, half) {
            let p = notch.root + inward * deep + along * aside;
            let pixel: Point<Projector> = rig.project(p.x, p.y, height);
            let light = (picture.emits(pixel) - levels.dark) / (levels.full - levels.dark);
            let lit = light * GRAIN * GRAIN;
            tip += weight * lit;
            level += slope * lit;
            moment += weight * lit * aside;
        }
    }
    // Written so that NaN fails.
    if !(level > 0.2 * width && tip > 0.0) {
        return None;
    }
    Some(NotchSample {
        along_mm: moment / tip,
        depth_mm: tip / level - 0.5 * depth,
        width_mm: level,
    })
}

/// The middles of steps of [`GRAIN`] from `from` on to about `to`.
fn grid(from: f64, to: f64) -> impl Iterator<Item = f64> {
    let count = ((to - from) / GRAIN).round() as usize;
    (0..count).map(move |i| from + (i as f64 + 0.5) * GRAIN)
}
