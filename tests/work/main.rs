//! The work at the table as a whole: whatever is done, in whatever order, no
//! work is lost and nothing is laid that was not ordered; and what a person
//! would try with each act.

mod any_acts;
mod any_ops;
mod cloth;
mod cutting;
mod drags;
mod jobs;
mod laying;
mod offering;
mod plies;
mod ruler;
mod stacks;
mod still;
mod trims;
mod whatever;
