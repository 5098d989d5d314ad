//! Setting a simulated table, from readings in the drawn grid to the tape on the
//! check picture: how far off light then falls, against what is stated.

mod four;
mod grid;
mod more;
mod room;
