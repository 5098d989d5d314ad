//! The twin's instruments tried on pictures whose light is known exactly.

mod canvas;
mod edges;
mod hands;
mod notches;
mod views;
