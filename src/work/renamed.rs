//! Pieces that are called otherwise from here on.

use super::bench::Bench;
use super::history::History;

impl Bench {
    /// What was done before can't be undone any more.
    pub fn forget(&mut self) {
        self.begin_history(History::default());
    }

    /// The pieces that lie on the cloth are called what `name` makes of their names. What was
    /// done before spoke of the old names, and is forgotten.
    pub fn rename_pieces(&mut self, name: impl Fn(&str) -> String) {
        self.forget();
        for placed in self.state.placed.values_mut() {
            placed.piece = name(&placed.piece);
        }
        for wished in &mut self.state.wishes {
            wished.rename(&name);
        }
        for notch in &mut self.state.cuts.notches {
            notch.piece = name(&notch.piece);
        }
        for part in &mut self.state.cuts.parts {
            part.piece = name(&part.piece);
        }
        self.log.count_change();
    }
}
