//! The live table end to end: the built program on a desktop with two outputs,
//! worked with keys and mouse, its light compared with what `frame` draws.

#![cfg(all(feature = "live", target_os = "linux"))]

mod cut;
mod desktop;
mod faults;
mod lay;
mod session;
mod set;
mod still;
