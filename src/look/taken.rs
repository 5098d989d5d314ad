//! What is proposed of a panel's cloth, thing by thing, and what taking it changes.

use super::find::{Proposed, name_of};
use crate::cloth::Panel;
use crate::shape::Region;
use crate::space::{Point, Table, Vector};
use crate::work::Op;

/// One thing that is proposed; holes and candidates by their place in the list, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Item {
    Outline,
    Hole(usize),
    Candidate(usize),
    Grain,
    Stripes,
}

impl Proposed {
    /// All that can be taken, and what it is in a few words.
    pub fn items(&self) -> Vec<(Item, String)> {
        let found = &self.found;
        let ring = Region::ring(found.outline.clone());
        let size = ring.bounds().unwrap_or_default();
        let mut all = vec![(
            Item::Outline,
            format!(
                "outline: {:.0} × {:.0} mm, true to {:.1} mm",
                size.width(),
                size.height(),
                self.error
            ),
        )];
        for (k, hole) in found.holes.iter().enumerate() {
            let what = format!("hole {}: {:.0} mm across", k + 1, hole.across);
            all.push((Item::Hole(k), what));
        }
        for (k, c) in found.candidates.iter().enumerate() {
            let sure = 100.0 * c.sure;
            let what = format!("{} {}? {sure:.0} % sure", name_of(c.kind), k + 1);
            all.push((Item::Candidate(k), what));
        }
        if let Some(deg) = self.grain_deg() {
            let what = format!("warp at {deg:.1}°, by {}", self.grain_by());
            all.push((Item::Grain, what));
        }
        if let Some(s) = self.stripes() {
            let what = format!("stripes, {:.1} mm from one to the next", s.period_mm);
            all.push((Item::Stripes, what));
        }
        all
    }

    /// The ring of an item that has one.
    pub fn ring_of(&self, item: Item) -> Option<&[Point<Table>]> {
        match item {
            Item::Outline => Some(&self.found.outline),
            Item::Hole(k) => self.found.holes.get(k).map(|h| &h.outline[..]),
            Item::Candidate(k) => self.found.candidates.get(k).map(|c| &c.outline[..]),
            Item::Grain | Item::Stripes => None,
        }
    }

    /// The changes that take these over, one after another. What lies in a place that is kept
    /// out of already changes nothing.
    pub fn taking(&self, panel: &Panel, items: &[Item]) -> Vec<Op> {
        let kept: Vec<_> = panel
            .keep_out
            .iter()
            .filter_map(|k| k.outline().ok())
            .collect();
        let mut names: Vec<String> = panel.keep_out.iter().map(|k| k.name.clone()).collect();
        let mut ops = Vec::new();
        let mut outs = 0;
        for &item in items {
            let stem = match item {
                Item::Outline => {
                    ops.push(self.outline_op(panel));
                    continue;
                }
                Item::Grain => {
                    ops.extend(self.grain_op(panel));
                    continue;
                }
                Item::Stripes => {
                    ops.extend(self.stripes_op(panel));
                    continue;
                }
                Item::Hole(_) => "hole",
                Item::Candidate(k) => match self.found.candidates.get(k) {
                    Some(c) => name_of(c.kind),
                    None => continue,
                },
            };
            let Some(ring) = self.ring_of(item) else {
                continue;
            };
            let sum = ring.iter().fold(Vector::zero(), |a, p| a + p.to_vector());
            let middle = (sum / ring.len().max(1) as f64).to_point();
            if kept.iter().any(|r| r.contains(self.to_cloth.point(middle))) {
                continue;
            }
            let free = (1..)
                .map(|k| format!("{stem} {k}"))
                .find(|n| !names.contains(n));
            let name = free.unwrap_or_else(|| stem.to_owned());
            names.push(name.clone());
            ops.push(self.keep_out_op(panel, outs, name, ring));
            outs += 1;
        }
        ops
    }
}
