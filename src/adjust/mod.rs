//! Least squares: what measured points and lengths say together, how far they
//! disagree, and how sure the answer is; what is in their middle. Plain numbers in and out, in whatever
//! unit the caller measures; this room knows no space and no cloth.

mod marquardt;
mod newton;
mod rank;
mod reliability;
mod rigid;
mod stretch;

pub use marquardt::{Minimum, marquardt};
pub use newton::{Solved, Stuck, gauss_newton};
pub use rank::{Ranked, median, quantile};
pub use reliability::{Checked, POWER, SLIP, critical, reliability};
pub use rigid::{Degenerate, Fit, Pair, Spread, fit};
pub use stretch::{SIGNIFICANCE, Strain, Stretch, Verdict, chance_of_more, chance_of_size, judge};
