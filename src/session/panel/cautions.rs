//! The cautions: a page over all of the panel, and what keys do while it lies there.

use super::PanelMemory;
use super::press::press;
use super::style::GROUND;
use crate::light::setting::CAUTIONS;
use crate::work::{Key, Pressed};
use egui::{CentralPanel, Frame, Margin, Ui};

impl PanelMemory {
    /// Lays the cautions over the panel.
    pub fn show_cautions(&mut self) {
        self.cautions = true;
    }

    /// Whether the cautions lie over the panel: then no key and no switch is the table's, for
    /// what it would do there could not be seen here.
    pub fn shows_cautions(&self) -> bool {
        self.cautions
    }

    /// Whether the cautions lie over the panel and a key is one of those that close them.
    pub fn closes_cautions(&self, pressed: Pressed) -> bool {
        let keys = [Key::Enter, Key::Escape, Key::F(3)];
        self.cautions && keys.map(Pressed::plain).contains(&pressed)
    }

    /// Takes a key for the cautions, if they lie over the panel; whether it did, for then it
    /// is not the table's. Only Ctrl+Q is let through. `repeats`: the key was down already.
    pub fn cautions_take(&mut self, pressed: Pressed, repeats: bool) -> bool {
        if !self.cautions || pressed == Pressed::ctrl(Key::Letter('Q')) {
            return false;
        }
        // F3 that is held would open and close them.
        if !repeats && self.closes_cautions(pressed) {
            self.cautions = false;
        }
        true
    }
}

/// The cautions; whether they are read.
pub fn show(ui: &mut Ui) -> bool {
    let frame = Frame::NONE.fill(GROUND).inner_margin(Margin::same(28));
    let shown = CentralPanel::default().frame(frame).show(ui, |ui| {
        for words in CAUTIONS {
            ui.label(words);
            ui.add_space(10.0);
        }
        press("read").key("Enter").show(ui)
    });
    shown.inner
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn enter_esc_and_f3_close_the_cautions_and_no_other_key_goes_past_them() {
        let end = Pressed::ctrl(Key::Letter('Q'));
        let mut memory = PanelMemory::default();
        // Where they don't lie every key is the table's.
        assert!(!memory.cautions_take(Pressed::plain(Key::Enter), false));
        for key in [Key::Enter, Key::Escape, Key::F(3)] {
            memory.show_cautions();
            for other in [
                Pressed::plain(Key::Space),
                Pressed::plain(Key::Backspace),
                Pressed::plain(Key::F(2)),
                Pressed::plain(Key::Letter('L')),
                Pressed::shift(Key::Enter),
                Pressed::ctrl(Key::Letter('Z')),
            ] {
                assert!(!memory.closes_cautions(other), "{other}");
                assert!(memory.cautions_take(other, false), "{other}");
            }
            assert!(!memory.cautions_take(end, false));
            // The key that laid them there is still down.
            assert!(memory.cautions_take(Pressed::plain(key), true));
            assert!(memory.shows_cautions(), "{key}");
            assert!(memory.cautions_take(Pressed::plain(key), false));
            assert!(!memory.shows_cautions(), "{key}");
        }
    }
}
