//! The live windows.

pub mod panel;
