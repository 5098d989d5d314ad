//! Everything a person at the table can do, as a state machine without window,
//! graphics, clock or disk.
//!
//! 1. [`State`] is what the work has come to; only an [`Op`] changes it.
//! 2. An [`Op`] holds what was before and after: it can be undone, and replayed.
//! 3. [`Bench`] turns what the hand does ([`Act`]) into ops. What it keeps of
//!    its own (the pointer, the piece in hand, a half-drawn outline) may be lost
//!    without losing work.
//! 4. Nothing moves on its own: every change is the answer to an act.

mod act;
mod bench;
mod carrying;
mod cloths;
mod cuts;
pub mod cutting;
mod doing;
mod drawing;
mod goods;
mod history;
mod in_hand;
mod joins;
mod key;
mod keys;
mod laying;
mod lies;
mod lit;
mod log;
mod meant;
mod mirror;
mod offering;
mod op;
mod pieces;
mod renamed;
mod ruler;
pub mod samples;
pub mod setting;
pub mod signals;
mod state;
mod switches;
mod trims;
mod turning;
mod undo;
mod watch;
mod ways;

pub use act::{Act, Reply, Said, Task, Touched};
pub use bench::Bench;
pub use cuts::{AddedNotch, Cuts, Switches};
pub use cutting::Stamp;
pub use doing::Doing;
pub use drawing::outline_on_table;
pub use goods::Goods;
pub use history::{History, Record, apply_all, replay, since};
pub use key::{Key, Pressed};
pub use keys::{KeyAct, Line, Outside, act_of, sheet, table};
pub use lies::lies;
pub use log::WRITTEN_EVERY;
pub use meant::{Errand, Relative, meant};
pub use mirror::across;
pub use offering::{Finding, Offered, Offering, Query, Seek};
pub use op::{Id, Op, Spot};
pub use ruler::{Laying, Ruler};
pub use state::{Mismatch, State};
pub use switches::switch_words;
pub use trims::CutStrip;
pub use watch::RING;
pub use ways::{BANDS, MOST_WORK_LIGHT, WASTE, Way, Ways};
