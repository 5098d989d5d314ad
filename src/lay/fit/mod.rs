mod construct;
mod engine;
mod free;
mod guide;
mod outline;
mod overlap;
mod seek;
mod separate;
mod strip;
mod turns;
pub use strip::{StripLay, StripPart, StripProgress, strip};
use crate::lay::{Along, Face};
use crate::shape::Region;
use crate::space::{Piece, Point};

#[derive(Debug, Clone)]
pub struct Part {
    pub outline: Region<Piece>,
    pub cloth: usize,
    pub grain: Option<[Point<Piece>; 2]>,
    pub along: Along,
    pub face: Face,
}
#[derive(Debug, Clone, Copy)]
pub struct Effort { pub seed: u64, pub passes: u64, pub threads: usize }
