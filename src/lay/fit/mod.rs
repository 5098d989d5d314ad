//! *Fit them all*: places for all pieces that are not laid yet, on panels of any outline, as
//! a suggestion.
//!
//! 1. `construct`: the largest first, each where it is wished most among free places.
//! 2. `arrange`: what found no room is laid over others, and all are taken apart
//!    (`separate`) by guided local search (`guide`) on how much they overlap (`overlap`).
//! 3. `improve`: pieces move, change places and push others aside as long as that brings
//!    them nearer to what is wished.
//! 4. `verify`: what is proposed keeps the lay's rules in f64, or is not proposed.
//!
//! [`strip`] is the same search on a strip of fixed width that is made as short as can be.
//!
//! No clock is read. The same task, seed and number of workers give the same lay after as many
//! passes, on one build; a caller who stops by the clock gets the best so far.

mod arrange;
mod construct;
mod engine;
mod floor;
mod free;
mod guide;
mod improve;
mod outline;
mod overlap;
mod probe;
mod seek;
mod separate;
mod strip;
mod turns;
mod verify;
mod why;

pub use strip::{StripLay, StripPart, StripProgress, strip};
pub use why::Why;

use super::{Along, Face, GRAIN_TOLERANCE};
use crate::fault::{Fault, Outcome};
use crate::shape::Region;
use crate::space::{Cloth, Piece, Point, Rigid};

/// A piece to be laid.
#[derive(Debug, Clone)]
pub struct Part {
    /// What lies inside its cut line, about its origin, face up. Nothing else is laid into
    /// its holes.
    pub outline: Region<Piece>,
    /// The kind of cloth it is cut from: a number that panels name too.
    pub cloth: usize,
    /// `[tail, head]`; without one, it may lie any way round.
    pub grain: Option<[Point<Piece>; 2]>,
    /// How the grain shall lie. The lay's check knows the warp and the bias.
    pub along: Along,
    pub face: Face,
}

/// A panel with what is on it.
#[derive(Debug, Clone)]
pub struct Spread {
    pub cloth: usize,
    /// Where there is cloth; if it lies in two plies, or light reaches only so far, where
    /// there are both.
    pub outline: Region<Cloth>,
    /// Places to keep out of, and holes of what is cut.
    pub keep_outs: Vec<Region<Cloth>>,
    /// Pieces that are laid already, and stay.
    pub taken: Vec<Region<Cloth>>,
    /// Warp, degrees counter-clockwise from +x.
    pub warp_deg: f64,
    /// The cloth has a nap.
    pub one_way: bool,
}

/// What is kept.
#[derive(Debug, Clone, Copy)]
pub struct Rules {
    /// Between two pieces, mm: the width of the guide's band. 0 to 100.
    pub between: f64,
    /// From the cloth's edge and from places to keep out of, mm, 0 to 100; it is half of
    /// [`Rules::between`] at least.
    pub edge: f64,
    /// How far a grain may lie off its direction, degrees; [`GRAIN_TOLERANCE`] at most, beyond
    /// which the lay's check says so.
    pub grain_deg: f64,
}

impl Default for Rules {
    fn default() -> Self {
        Self {
            between: 3.0,
            edge: 0.0,
            grain_deg: GRAIN_TOLERANCE,
        }
    }
}

impl Rules {
    fn margin(&self) -> f64 {
        self.edge.max(self.between / 2.0)
    }

    /// The grain's tolerance that is kept whatever f32 makes of it, degrees.
    fn grain(&self) -> f64 {
        (self.grain_deg.min(GRAIN_TOLERANCE) - 1e-3).max(0.0)
    }
}

/// What is wished of places. A wish counts against others as its numbers say; 0 to 1 is
/// usual. (What keeps a lay together by itself: two of a pair near each other on one panel count
/// up to 0.25, lying near a panel's first corner up to 0.05.)
pub trait Wishes: Sync {
    /// How well a part lies at a place on a panel.
    fn place(&self, part: usize, spread: usize, pose: &Rigid<Piece, Cloth>) -> f64;

    /// How well two of a pair lie together, on top of what each is by itself: such as how like
    /// the shade is under both.
    fn pair(&self, _pair: [usize; 2], _on: [usize; 2], _at: [&Rigid<Piece, Cloth>; 2]) -> f64 {
        0.0
    }
}

/// Nothing in particular.
#[derive(Debug, Clone, Copy)]
pub struct NoWishes;

impl Wishes for NoWishes {
    fn place(&self, _: usize, _: usize, _: &Rigid<Piece, Cloth>) -> f64 {
        0.0
    }
}

/// All that a lay is to be found for.
#[derive(Clone, Copy)]
pub struct Task<'a> {
    pub parts: &'a [Part],
    /// Left and right of the same: parts by number, each in one pair at most.
    pub pairs: &'a [[usize; 2]],
    pub spreads: &'a [Spread],
    pub rules: Rules,
    pub wishes: &'a dyn Wishes,
}

/// How much is spent.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    pub seed: u64,
    /// Passes over the parts at most, of all workers together.
    pub passes: u64,
    /// So many lays are taken apart at once, on a core each where there are as many; 1 to 8.
    pub workers: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self {
            seed: 1,
            passes: 2000,
            workers: 2,
        }
    }
}

/// Where the search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    pub passes: u64,
    /// Parts that have a place, of how many.
    pub placed: usize,
    pub of: usize,
    /// The sum of all wishes as they are met, of what is placed.
    pub score: f64,
}

/// A place for a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitPlace {
    pub part: usize,
    pub spread: usize,
    pub pose: Rigid<Piece, Cloth>,
}

/// A lay that keeps the rules.
#[derive(Debug, Clone)]
pub struct Suggestion {
    /// In order of the parts.
    pub places: Vec<FitPlace>,
    /// Parts without a place, and why.
    pub left: Vec<(usize, Why)>,
    /// For each panel how much of its outline is used, laid already or suggested, per cent.
    pub yields: Vec<f64>,
    pub score: f64,
    pub passes: u64,
    /// It was told to stop before it had done.
    pub stopped: bool,
}

/// More parts than this are no table's work, and their pairs no memory's.
const MOST_PARTS: usize = 1000;

/// Suggests a lay. `keep_going` is asked after every few passes; on the answer no the best
/// so far is given.
///
/// # Errors
/// If a number is not usable, a pair names no part, or there are more than 1000 parts.
pub fn fit(
    task: &Task,
    effort: &Effort,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Outcome<Suggestion> {
    check(task)?;
    let found = arrange::arrange(task, effort, keep_going);
    let places = verify::verified(task, found.places);
    let left = (0..task.parts.len()).filter(|k| places.iter().all(|p| p.part != *k));
    let left = left.map(|k| (k, why::why(task, k, effort.seed)));
    Ok(Suggestion {
        left: left.collect(),
        yields: (0..task.spreads.len())
            .map(|k| yielded(task, &places, k))
            .collect(),
        score: improve::Score::new(task).all(&places),
        places,
        passes: found.passes,
        stopped: found.stopped,
    })
}

/// How much of a panel is used, per cent.
fn yielded(task: &Task, places: &[FitPlace], spread: usize) -> f64 {
    let s = &task.spreads[spread];
    let here = places.iter().filter(|p| p.spread == spread);
    let suggested: f64 = here.map(|p| task.parts[p.part].outline.area()).sum();
    let laid: f64 = s.taken.iter().map(Region::area).sum();
    // The sum of none is −0 in Rust, and would be said so.
    100.0 * (0.0 + suggested + laid) / s.outline.area().max(f64::MIN_POSITIVE)
}

fn check(task: &Task) -> Outcome<()> {
    let length = |l: f64| (0.0..=100.0).contains(&l);
    let rules = &task.rules;
    if !length(rules.between) || !length(rules.edge) || rules.grain_deg.is_nan() {
        return Err(Fault::input(
            "what is to be kept between pieces, from the edge or from the grain is not usable",
            "give 0 to 100 mm, and degrees",
        ));
    }
    if task.parts.len() > MOST_PARTS {
        return Err(Fault::input(
            format!("there are {} pieces to fit at once", task.parts.len()),
            format!("fit {MOST_PARTS} at most"),
        ));
    }
    let within = |[x, y]: [f64; 2]| x.abs() < 1e5 && y.abs() < 1e5;
    for (k, part) in task.parts.iter().enumerate() {
        let points = part.outline.rings.iter().flatten();
        let mut all = points.chain(part.grain.iter().flatten());
        let is_sound = all.all(|p| within(p.to_array()));
        if !(is_sound && part.outline.area() > 0.0) {
            return Err(Fault::input(
                format!("piece {} to fit has no sound outline", k + 1),
                "draw it as a closed outline within 100 m",
            ));
        }
    }
    for (k, s) in task.spreads.iter().enumerate() {
        let all = std::iter::once(&s.outline)
            .chain(&s.keep_outs)
            .chain(&s.taken);
        let mut points = all.flat_map(|r| r.rings.iter().flatten());
        if !(points.all(|p| within(p.to_array())) && s.warp_deg.is_finite()) {
            return Err(Fault::input(
                format!(
                    "panel {} to fit on has a corner or a grain that is no usable number",
                    k + 1
                ),
                "give its corners in mm and its grain in degrees",
            ));
        }
    }
    let n = task.parts.len();
    if task.pairs.iter().any(|[a, b]| *a >= n || *b >= n || a == b) {
        return Err(Fault::input(
            "a pair names a piece that is not to be fitted",
            "name two pieces",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests;
