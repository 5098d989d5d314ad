//! A mapping from many marks: against other libraries, and against what a simulated
//! projector, tape and hand really do.

mod draws;
mod height;
mod over_seeds;
mod references;
mod taped;
