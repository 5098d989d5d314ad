//! The twin: a simulated projector, table, cloth, eye and hand.
//!
//! It is a witness that stands outside the program. It is written from the
//! definition of the spaces alone and shares nothing with the code it checks
//! but [`crate::space`], so that one mistake cannot hide in both. The program
//! is asked for pictures; the twin throws them onto a table with optics that
//! only it knows, and says where the light fell.
//!
//! * [`lens`], [`rig`]: the optics and where they hang;
//! * [`picture`]: a frame as light;
//! * [`hand`]: a person who moves a cross of light onto a mark;
//! * [`edge`], [`notch`], [`stats`]: where the light's edge lies, in numbers;
//! * [`view`]: what a person at the table sees;
//! * [`cloths`]: cloths by formula, and a camera above them.

#![forbid(unsafe_code)]

mod area;
pub mod beneath;
mod blur;
pub mod cloths;
pub mod cutter;
pub mod edge;
pub mod exact;
pub mod hand;
pub mod lens;
mod normal;
pub mod notch;
mod outline;
mod panel;
pub mod picture;
pub mod rig;
pub mod stats;
mod surface;
mod tone;
#[cfg(test)]
mod trials;
pub mod view;
