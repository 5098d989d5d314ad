//! Ghostchalk: chalk made of light. It projects a sewing pattern, full size,
//! from a projector above the table onto the cloth to be cut.
//!
//! `DEVELOPERS.md` says which room may use which, and why.

#![forbid(unsafe_code)]

pub mod adjust;
pub mod calibration;
pub mod cli;
pub mod cloth;
pub mod colour;
pub mod disk;
pub mod draft;
pub mod drawing;
pub mod fault;
pub mod frame;
pub mod glow;
pub mod hang;
pub mod job;
pub mod lay;
pub mod light;
pub mod look;
pub mod measure;
pub mod order;
pub mod papers;
pub mod pattern;
pub mod photo;
pub mod projection;
pub mod prove;
pub mod raster;
pub mod rehearse;
pub mod render;
pub mod scene;
#[cfg(feature = "live")]
pub mod session;
pub mod shape;
pub mod sheet;
pub mod space;
pub mod stand;
pub mod ticket;
pub mod twin;
pub mod work;
