//! The two signals, from whatever keys and buttons the person has taught.

use super::app::{App, Mode};
use crate::fault::Outcome;
use crate::work::signals::{Signal, Signals, Told};
use crate::work::{Act, Doing};
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
        if let Doing::Teaching { .. } = self.table.bench.doing() {
            if is_escape(event) {
                return Ok(false);
            }
            self.act(Act::Taught(name))?;
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
