//! Whether the head's shadow lies where hands work, and how far the lens must move to take it
//! off.

use super::{HELD, Hang, WORK};
use crate::projection::LensPlace;
use crate::space::{Point, Table, Vector};

/// No lens is moved further than this, mm.
const FARTHEST: f64 = 20_000.0;

/// A place of the lens from which the head's shadow leaves the place where hands work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Freed {
    /// How much further towards the far edge, mm.
    pub shift: f64,
    pub foot: Point<Table>,
    /// The lens offset that brings the picture back, in parts of the picture's height: positive
    /// with the lens on the far side. Only where the picture's height runs away from the person.
    pub offset: Option<f64>,
    /// The tilt that brings it back instead, radians.
    pub tilt: f64,
}

impl Hang {
    /// Where hands work, from and to, mm in from the near edge: no further than the table.
    pub fn work(&self) -> [f64; 2] {
        [WORK[0], WORK[1].min(self.wanted.table[1])]
    }

    /// The part of it that lies in the head's shadow, mm in from the near edge, to the
    /// millimetre. (A shadow is convex: what lies between is in it.)
    pub fn hidden(&self) -> Option<[f64; 2]> {
        self.hidden_from(&self.lens)
    }

    fn hidden_from(&self, lens: &LensPlace) -> Option<[f64; 2]> {
        let [from, to] = self.work();
        let x = self.wanted.table[0] / 2.0;
        let steps = (to - from).ceil().max(1.0) as u32;
        let mut dark = (0..=steps)
            .map(|k| from + (to - from) * f64::from(k) / f64::from(steps))
            .filter(|y| self.head.hides(lens, Point::new(x, *y)));
        let first = dark.next()?;
        Some([first, dark.next_back().unwrap_or(first)])
    }

    /// The smallest shift of the lens towards the far edge that takes the head's shadow off
    /// where hands work; `None` if none does.
    ///
    /// A lens that moves away from the person moves the shadow towards them, so once the place
    /// is free it stays so, and halving finds where that begins.
    pub fn freed(&self) -> Option<Freed> {
        let moved = |by: f64| LensPlace {
            foot: self.lens.foot + Vector::new(0.0, by),
            ..self.lens
        };
        let is_free = |by: f64| self.hidden_from(&moved(by)).is_none();
        let mut shift = 0.0;
        if !is_free(0.0) {
            if !is_free(FARTHEST) {
                return None;
            }
            let (mut low, mut high) = (0.0, FARTHEST);
            while high - low > 0.01 {
                let half = (low + high) / 2.0;
                match is_free(half) {
                    true => high = half,
                    false => low = half,
                }
            }
            shift = high;
        }
        let foot = moved(shift).foot;
        let middle = self.lit.center().y;
        let angle = |y: f64| (y - middle).atan2(self.lens.height);
        Some(Freed {
            shift,
            foot,
            offset: self
                .side
                .is_across()
                .then(|| (foot.y - middle) / self.size[1]),
            tilt: angle(foot.y) - angle(self.lens.foot.y),
        })
    }

    /// How far beside itself, away from the lens' foot, what is held [`HELD`] mm above the cloth
    /// in the middle of where hands work throws its shadow, mm.
    pub fn held(&self) -> f64 {
        let [from, to] = self.work();
        let at: Point<Table> = Point::new(self.wanted.table[0] / 2.0, (from + to) / 2.0);
        (at - self.lens.foot).length() * HELD / (self.lens.height - HELD)
    }
}
