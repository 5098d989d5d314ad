//! The two signals, from whatever keys and buttons the person has taught.

use super::app::{App, Mode};
use crate::fault::Outcome;
use crate::work::signals::{Signal, Signals, Told};
use crate::work::{Act, Doing, Switches};
use std::collections::BTreeMap;
use winit::event::{ElementState, MouseButton, WindowEvent};
use winit::keyboard::{KeyCode, PhysicalKey};

/// Switches that are down, and what they have said.
#[derive(Debug, Default)]
pub struct Hearing {
    signals: Signals,
    down: BTreeMap<String, Signal>,
}

impl Hearing {
    pub fn due(&self) -> Option<f64> {
        self.signals.due()
    }

    /// The keyboard is elsewhere: nothing that is down will be seen to come up.
    pub fn forget(&mut self) {
        self.signals.forget();
        self.down.clear();
    }
}

/// A key or a button by its name, and whether it goes down.
pub fn switch(event: &WindowEvent) -> Option<(String, bool)> {
    match event {
        WindowEvent::KeyboardInput { event, .. } => {
            let name = match event.physical_key {
                PhysicalKey::Code(code) => format!("key {code:?}"),
                PhysicalKey::Unidentified(code) => format!("key {code:?}"),
            };
            Some((name, event.state == ElementState::Pressed))
        }
        WindowEvent::MouseInput { state, button, .. } => {
            let name = match button {
                MouseButton::Left => "mouse left".to_owned(),
                MouseButton::Right => "mouse right".to_owned(),
                MouseButton::Middle => "mouse middle".to_owned(),
                MouseButton::Back => "mouse back".to_owned(),
                MouseButton::Forward => "mouse forward".to_owned(),
                MouseButton::Other(n) => format!("mouse {n}"),
            };
            Some((name, *state == ElementState::Pressed))
        }
        _ => None,
    }
}

/// A key that is held repeats: that is no signal.
pub fn repeats(event: &WindowEvent) -> bool {
    matches!(event, WindowEvent::KeyboardInput { event, .. } if event.repeat)
}

fn is_escape(event: &WindowEvent) -> bool {
    matches!(event, WindowEvent::KeyboardInput { event, .. }
        if event.physical_key == PhysicalKey::Code(KeyCode::Escape))
}

/// Whether a switch stands for a signal where nothing is taught.
fn is_usual(name: &str, signal: Signal) -> bool {
    let usual: &[&str] = match signal {
        Signal::GoOn => &["key Space", "key Enter", "key NumpadEnter"],
        Signal::Back => &["key Backspace"],
    };
    usual.contains(&name)
}

/// What a switch means no longer when it is taught to mean `signal`: the other one, if it did.
fn lost(name: &str, signal: Signal, before: &Switches) -> Option<Signal> {
    let (other, own) = match signal {
        Signal::GoOn => (Signal::Back, &before.back),
        Signal::Back => (Signal::GoOn, &before.go_on),
    };
    let meant = own.as_deref() == Some(name) || is_usual(name, other);
    meant.then_some(other)
}

impl App {
    /// Takes an event that is a signal, or that teaches one; whether it was.
    pub(super) fn hears(&mut self, event: &WindowEvent) -> Outcome<bool> {
        let Some((name, down)) = switch(event) else {
            return Ok(false);
        };
        if !down {
            return match self.hearing.down.remove(&name) {
                Some(signal) => {
                    let now = self.now();
                    let told = self.hearing.signals.up(signal, now);
                    self.told(told).map(|()| true)
                }
                None => Ok(false),
            };
        }
        if repeats(event) {
            return Ok(self.hearing.down.contains_key(&name));
        }
        if !matches!(self.mode, Mode::Table) {
            return Ok(false);
        }
        if self.cautions_lie() {
            // A key may close them; a button has nothing to do there.
            return Ok(matches!(event, WindowEvent::MouseInput { .. }));
        }
        if let Doing::Teaching { signal } = *self.table.bench.doing() {
            if is_escape(event) {
                return Ok(false);
            }
            let lost = lost(&name, signal, &self.table.bench.state().cuts.switches);
            self.act(Act::Taught(name))?;
            if let Some(lost) = lost {
                self.tell_lost(lost);
            }
            return Ok(true);
        }
        if !self.table.bench.is_cutting() {
            return Ok(false);
        }
        let taught = &self.table.bench.state().cuts.switches;
        let signal = match &name {
            n if taught.go_on.as_ref() == Some(n) => Signal::GoOn,
            n if taught.back.as_ref() == Some(n) => Signal::Back,
            _ => return Ok(false),
        };
        self.signal_down(name, signal)?;
        Ok(true)
    }

    /// Adds to what was said of a taught switch what it means no longer.
    fn tell_lost(&mut self, lost: Signal) {
        let done = self.table.say(|n| {
            if let Some(said) = n.said.as_mut().filter(|s| !s.warning) {
                said.words += &format!(" now, and no longer {}", lost.words());
            }
        });
        self.tell(done);
        self.redraw_all();
    }

    /// A switch that stands for a signal goes down.
    pub(super) fn signal_down(&mut self, name: String, signal: Signal) -> Outcome<()> {
        self.hearing.down.insert(name, signal);
        let now = self.now();
        let told = self.hearing.signals.down(signal, now);
        self.told(told)
    }

    /// Lets time pass: *back* may have been held, or have come up for good.
    pub(super) fn listen(&mut self, now: f64) -> Outcome<()> {
        let told = self.hearing.signals.tick(now);
        self.told(told)
    }

    fn told(&mut self, told: Option<Told>) -> Outcome<()> {
        match told {
            Some(told) => self.act(Act::Signal(told)),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_taught_switch_loses_what_it_meant() {
        let usual = Switches::default();
        let (enter, back) = ("key Enter", "key Backspace");
        assert_eq!(lost(enter, Signal::Back, &usual), Some(Signal::GoOn));
        assert_eq!(lost(back, Signal::GoOn, &usual), Some(Signal::Back));
        assert_eq!(lost(enter, Signal::GoOn, &usual), None);
        assert_eq!(lost("key F13", Signal::Back, &usual), None);
        let taught = Switches {
            go_on: Some("key F13".to_owned()),
            back: Some(enter.to_owned()),
        };
        assert_eq!(lost("key F13", Signal::Back, &taught), Some(Signal::GoOn));
        assert_eq!(lost(enter, Signal::GoOn, &taught), Some(Signal::Back));
        assert_eq!(lost("mouse right", Signal::GoOn, &taught), None);
    }
}
