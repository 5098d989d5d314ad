//! Cloths made of formulas, and what must be found of them.

mod against;
mod cloths;
mod fades;
mod kept;
mod noise;
mod pairs;
mod turned;
