//! Old articles come in left and right: how one panel corresponds to another
//! that is its mirror image.

use crate::adjust;
use crate::adjust::Pair;
use crate::cloth::Panel;
use crate::shape::bounds;
use crate::space::{Bounds, Cloth, Point, Rigid, Vector};

/// How much the boxes of two panels may differ and still be a pair, mm.
const ALIKE: f64 = 40.0;

/// How surely marks on two panels correspond, mm per axis (estimate: they are
/// stitch holes and corners sewn by hand).
const CORRESPOND: f64 = 2.0;

/// The mirroring motion from one panel's cloth space to another's; `None` if
/// they are no pair.
pub fn across(own: &Panel, other: &Panel) -> Option<Rigid<Cloth, Cloth>> {
    let same = own.marks.iter().filter_map(|m| {
        let twin = other.marks.iter().find(|o| o.name == m.name)?;
        Some(Pair::even(
            [-m.x_mm, m.y_mm],
            [twin.x_mm, twin.y_mm],
            CORRESPOND,
        ))
    });
    let pairs: Vec<Pair> = same.collect();
    if pairs.len() >= 2 {
        let fit = adjust::fit(&pairs).ok()?;
        return Some(Rigid::new(true, fit.turn, Vector::from(fit.shift)));
    }
    let (a, b) = (extent(own)?, extent(other)?);
    let alike = (a.width() - b.width())
        .abs()
        .max((a.height() - b.height()).abs())
        <= ALIKE;
    // x ↦ −x, then the middles are laid on each other.
    let shift = b.center().to_vector() - Vector::new(-a.center().x, a.center().y);
    alike.then(|| Rigid::new(true, 0.0, shift))
}

fn extent(panel: &Panel) -> Option<Bounds<Cloth>> {
    bounds(panel.outline_mm.iter().map(|&c| Point::from(c)))
}
