//! The live windows: the projector's, fullscreen on its output, and the panel
//! on the laptop. Wiring: what can be done is in `work`, what is lit in `glow`.
//!
//! 1. The projector is drawn and presented first; panel and disk are not waited
//!    for on the way from the hand to the light.
//! 2. Nothing is drawn but in answer to an event; dashes that creep, while they are asked for,
//!    have a timer.
//! 3. A window, an output or the graphics device may go at any time; the table
//!    and the journal stay.

mod app;
mod awake;
mod beamer;
mod beside;
mod creeping;
mod ending;
mod events;
mod eyes;
mod hands;
mod lost;
mod outputs;
mod page;
pub mod panel;
mod panel_of;
mod panel_window;
pub mod papers;
mod patterns;
pub mod photographed;
mod profiles;
pub mod proving;
pub mod reading;
mod seeking;
mod setter;
mod sofa;
mod standing;
mod stated;
mod switches;
pub mod table;

pub use app::{Options, run};

/// What wakes the event loop from outside.
#[derive(Debug)]
pub enum Wake {
    Outputs(Vec<outputs::Output>),
    /// What a search for places says.
    Found {
        number: u64,
        found: Box<crate::work::Finding>,
    },
    /// What is told of a photo.
    Photo {
        number: u64,
        news: photographed::News,
    },
    /// The journal has something to say.
    Journal,
    /// The `which`th graphics device is gone.
    DeviceLost {
        which: u32,
        why: String,
    },
    Access(egui_winit::accesskit_winit::Event),
}

impl From<egui_winit::accesskit_winit::Event> for Wake {
    fn from(event: egui_winit::accesskit_winit::Event) -> Self {
        Wake::Access(event)
    }
}
