//! The cloth moves and the lay moves with it: cloth is shifted and turned where
//! only the test knows, its marks are pointed at by a hand of 0.5 mm, and the
//! cut lines must land on it as truly as is claimed.
//!
//! The claim is tested in numbers over hundreds of moves; for a few of them
//! frames are rendered and the twin says where their light fell, which proves
//! that light lands where the numbers say.

mod frames;
mod person;
mod stretches;
mod whole;
