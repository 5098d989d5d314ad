//! Dashes that creep along the guides: the only light that moves on its own, and only while
//! it is asked for.

use super::app::{App, Mode};
use crate::light::{RATE, STEPS};

impl App {
    /// Brings the dashes to where they are by now, if they creep; returns when they are to be
    /// brought on again, seconds. `None`: the table is still, and nothing need wake for it.
    pub(super) fn creep_on(&mut self, now: f64) -> Option<f64> {
        let lit = matches!(self.mode, Mode::Table) && self.table.canvas().is_some();
        if !lit || !self.table.bench.ways().creeps() {
            return None;
        }
        let gone = (now * RATE).floor();
        if self.table.creep(gone as usize % STEPS) {
            self.redraw_light();
        }
        Some((gone + 1.0) / RATE)
    }
}
