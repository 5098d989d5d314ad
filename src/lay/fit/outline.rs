//! Outlines as the search takes them: one ring in f32, as few corners as serve.

use crate::shape::{Region, signed_area};

/// The outer ring as it is; `None` if there is no such.
pub(super) fn exact<S>(region: &Region<S>) -> Option<Vec<[f32; 2]>> {
    let outer = region.rings.iter().max_by(|a, b| signed_area(a).total_cmp(&signed_area(b)))?;
    let mut ring: Vec<[f32; 2]> = outer.iter().map(|p| [p.x as f32, p.y as f32]).collect();
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    (ring.len() > 2).then_some(ring)
}
