//! What is known of the light on the table: how far it reaches, and how wide its bands
//! are.

use super::bench::Bench;
use super::drawing::outline_on_table;
use crate::shape::{Region, bounds};
use crate::space::{Point, Table};

/// The light's reach and its band, once they are known.
#[derive(Debug, Clone, Default)]
pub(super) struct Lit {
    reach: Option<Region<Table>>,
    table_top: Option<Region<Table>>,
    /// mm.
    band: f64,
    /// Goes up with every change of these.
    revision: u64,
}

impl Lit {
    /// What the light reaches.
    pub(super) fn reach(&self) -> Option<&Region<Table>> {
        self.reach.as_ref()
    }

    /// Where parts may lie in the light: the table's top, or all that the light reaches
    /// while the top is not known.
    pub(super) fn room(&self) -> Option<&Region<Table>> {
        self.table_top.as_ref().or(self.reach.as_ref())
    }

    /// The band that is lit, mm; 0 until that is known.
    pub(super) fn band(&self) -> f64 {
        self.band
    }

    pub(super) fn revision(&self) -> u64 {
        self.revision
    }
}

impl Bench {
    /// What the projector lights on the table, if that is known: with it, the
    /// step at the join of a longer piece is stated when its cloth is carried.
    pub fn set_reach(&mut self, reach: Region<Table>) {
        self.lit.reach = Some(reach);
        self.lit.revision += 1;
        self.settle();
    }

    /// The table's top as far as it is lit: there parts are laid back and dropped.
    pub fn set_table_top(&mut self, top: Region<Table>) {
        self.lit.table_top = Some(top);
        self.lit.revision += 1;
        self.settle();
    }

    pub fn table_top(&self) -> Option<&Region<Table>> {
        self.lit.table_top.as_ref()
    }

    /// Where light that is asked for has room: where parts may lie in the light or, before
    /// that is known, about the cloths that are spread.
    pub(super) fn room_for_light(&self) -> Option<Region<Table>> {
        let cloths = || {
            let spread = self.state.panels.iter().filter(|p| p.spread);
            let cloths: Vec<Region<Table>> = spread.filter_map(outline_on_table).collect();
            let b = bounds(cloths.iter().flat_map(|c| &c.rings).flatten().copied())?;
            Some(Region::ring(vec![
                b.min,
                Point::new(b.max.x, b.min.y),
                b.max,
                Point::new(b.min.x, b.max.y),
            ]))
        };
        self.lit.room().cloned().or_else(cloths)
    }

    /// The band as it is lit, mm: what is cut roughly keeps clear of it.
    pub fn set_band(&mut self, mm: f64) {
        self.lit.band = mm;
        self.lit.revision += 1;
        self.settle();
    }
}
