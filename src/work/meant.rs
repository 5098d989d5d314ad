//! What a key means depends on how things are: which piece is in hand, where
//! the pointer is, how strong the light. Worked out from the bench, which it
//! does not change.

use super::act::{Act, Task};
use super::bench::Bench;
use super::doing::Doing;
use crate::cloth::Panel;
use crate::space::{Point, Vector};
use crate::stand::Side;

/// An act that follows from how things are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Relative {
    /// Moves the piece in hand or, with none, the pointer: mm, as the person
    /// sees it.
    Arrow {
        right: f64,
        away: f64,
    },
    /// Holds the piece the pointer is in, or lets go.
    HoldHere,
    /// Lays the next part that is still open, on the panel that is meant.
    LayNext,
    /// Pieces of one article move together, or no longer.
    Together,
    Begin(Errand),
    /// The piece after the one in hand is cut next, and the one in hand last of its sheet.
    CutAnother,
    /// Percent more or less.
    WorkLight(i8),
    Brightness(i8),
    /// mm more or less.
    Band(f64),
    Waste,
    Watch,
    Creep,
    /// The next colour of light.
    NextColour,
    /// So many sides of the table further, to the person's right.
    Walk(i8),
}

/// What can be begun, before it is said on which panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Errand {
    Outline,
    KeepOut,
    Marks,
    Moved,
    Warp,
    Edge,
    Tape,
    Samples,
    Strip,
    Check,
}

impl Errand {
    /// The task on a panel.
    pub fn on(self, panel: &str) -> Task {
        let panel = panel.to_owned();
        match self {
            Errand::Outline => Task::Outline(panel),
            Errand::KeepOut => Task::KeepOut(panel),
            Errand::Marks => Task::Marks(panel),
            Errand::Moved => Task::Moved(panel),
            Errand::Warp => Task::Warp(panel),
            Errand::Edge => Task::Edge,
            Errand::Tape => Task::Tape,
            Errand::Samples => Task::Samples,
            Errand::Strip => Task::Strip,
            Errand::Check => Task::Check,
        }
    }

    fn wants_panel(self) -> bool {
        !matches!(
            self,
            Errand::Edge | Errand::Tape | Errand::Samples | Errand::Strip | Errand::Check
        )
    }
}

impl Relative {
    /// The act that is meant as things are on the bench.
    ///
    /// # Errors
    /// A sentence for the person, if nothing can be meant.
    pub fn act(self, bench: &Bench) -> Result<Act, String> {
        let ways = bench.ways();
        Ok(match self {
            Relative::Arrow { right, away } => {
                if bench.held().is_some() && bench.doing().is_laying() {
                    return Ok(Act::Nudge { right, away });
                }
                let from = bench.pointer().unwrap_or_else(Point::origin);
                Act::Point(from + ways.stands.to_table(Vector::new(right, away)))
            }
            Relative::HoldHere => match bench.pointer().and_then(|p| bench.piece_at(p)) {
                Some(id) => Act::Hold(id),
                None => Act::LetGo,
            },
            Relative::LayNext => next_open(bench)?,
            Relative::Together => Act::Together(!bench.moves_together()),
            Relative::Begin(errand) if !errand.wants_panel() => Act::Begin(errand.on("")),
            Relative::Begin(errand) => match meant(bench) {
                Some(panel) => Act::Begin(errand.on(&panel.name)),
                None => return Err("which panel? put the pointer on it".to_owned()),
            },
            Relative::CutAnother => {
                let order = bench.doing().cutting().map(|c| &c.order[..]);
                match order.unwrap_or_default() {
                    // Pressed again and again, it comes to each of them.
                    [id, _, ..] => Act::CutLater(*id),
                    _ => return Err("there is no other piece to cut on this sheet".to_owned()),
                }
            }
            Relative::WorkLight(by) => Act::WorkLight(ways.work_light.saturating_add_signed(by)),
            Relative::Brightness(by) => Act::Brightness(ways.brightness.saturating_add_signed(by)),
            Relative::Band(by) => Act::Band(ways.band_mm + by),
            Relative::Waste => Act::Waste(!ways.waste),
            Relative::Watch => Act::Watch(!ways.watch),
            Relative::Creep => Act::Creep(!ways.creep),
            Relative::NextColour => Act::Colour(ways.colour.next()),
            Relative::Walk(by) => Act::Stand(further(ways.stands, by)),
        })
    }
}

/// The panel that is meant: the one being worked on, else the one under the
/// pointer, else the one of the piece in hand, else the only one that is spread.
pub fn meant(bench: &Bench) -> Option<&Panel> {
    let state = bench.state();
    let spread = || state.panels.iter().filter(|p| p.spread);
    let at_work = match bench.doing() {
        Doing::Laying => None,
        doing => doing.panel(),
    };
    let pointed = || {
        let at = bench.pointer()?;
        let lies = |p: &&Panel| {
            let on = p.on_table.pose().inverse().point(at);
            p.outline().is_ok_and(|o| o.contains(on))
        };
        // The top ply, if two lie there.
        let mut here: Vec<&Panel> = spread().filter(lies).collect();
        here.sort_by_key(|p| p.under.is_some());
        here.first().copied()
    };
    let in_hand = || {
        let placed = state.placed.get(&bench.held()?)?;
        state.panel(&placed.panel).filter(|p| p.spread)
    };
    let only = || {
        let mut all = spread();
        let first = all.next();
        first.filter(|_| all.next().is_none())
    };
    at_work
        .and_then(|name| state.panel(name))
        .or_else(pointed)
        .or_else(in_hand)
        .or_else(only)
}

/// The next part that is open in the cloth of the panel that is meant; with no
/// panel meant, of any panel that is spread.
fn next_open(bench: &Bench) -> Result<Act, String> {
    let spread = bench.state().panels.iter().filter(|p| p.spread);
    let panels: Vec<&Panel> = match meant(bench) {
        Some(panel) => vec![panel],
        None => spread.collect(),
    };
    for count in bench.counts().iter().filter(|c| c.open() > 0) {
        if let Some(panel) = panels.iter().find(|p| p.cloth == count.part.cloth) {
            return Ok(Act::Lay {
                article: count.article.to_owned(),
                piece: count.part.piece.clone(),
                panel: panel.name.clone(),
            });
        }
    }
    Err(match panels.as_slice() {
        [] => "no panel is spread: spread one in the laptop's window".to_owned(),
        [one] => format!("all that is cut from {} is laid", one.cloth),
        _ => "all is laid".to_owned(),
    })
}

/// So many sides further, counter-clockwise: to the right of who faces the table.
fn further(side: Side, by: i8) -> Side {
    let n = Side::ALL.len() as i32;
    let at = Side::ALL.iter().position(|s| *s == side).unwrap_or(0) as i32;
    Side::ALL[(at + i32::from(by)).rem_euclid(n) as usize]
}
