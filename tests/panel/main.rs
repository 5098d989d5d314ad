//! The panel, seen and driven as a person would: pictures of it, the keyboard
//! alone, and the tree that a screen reader reads.

#![cfg(feature = "live")]

mod driven;
mod seen;
mod setting;
mod world;
