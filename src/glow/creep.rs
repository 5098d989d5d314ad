//! Dashes that creep along the guides: the figures of a step, drawn once and kept.

use super::Glow;
use crate::light::STEPS;
use crate::render::Rect;
use crate::scene::Level;
use crate::work::Bench;

impl Glow {
    /// Dashes creep on to a step of [`STEPS`]; returns the pixels to be drawn anew, piece by
    /// piece: none if nothing creeps, or it is there already.
    pub fn creep(&mut self, bench: &Bench, step: usize) -> Vec<Rect> {
        let step = step % STEPS;
        let (ids, laid) = bench.laid();
        if !bench.ways().creeps() || step == self.step || ids != self.ids {
            return Vec::new();
        }
        self.step = step;
        self.lamp.creep(Some(step));
        let whole = Rect::of_size(self.size[0], self.size[1]);
        let mut rects = Vec::new();
        for (k, l) in laid.iter().enumerate() {
            if self.levels[k] == Level(0) {
                continue;
            }
            // Drawn once a step: after one round nothing is worked out any more.
            let drawn = match self.dashes[k][step].take() {
                Some(drawn) => drawn,
                None => self.draw_one(&self.lamp.figure(k, l.height)),
            };
            let before = self.pieces[k].rect();
            self.pieces[k] = drawn.clone();
            self.dashes[k][step] = Some(drawn);
            self.pieces[k].set_level(self.levels[k]);
            rects.push(before.union(&self.pieces[k].rect()).intersection(&whole));
        }
        rects
    }
}
