//! *Find me a place*: the best places for the piece in hand, on good cloth, within the
//! grain's tolerance, by what is wished of it; each truly another place than the last.
//!
//! All places 1 mm and half a degree apart are told fit or unfit at once, so
//! that nothing is offered that does not fit: the piece is taken to the cells that it
//! touches, and a cell is free only as a whole. Those that fit are looked at coarsely
//! (every 4 mm, every degree), the best of them finely. Before a place is offered, the
//! lay's own checks have the last word ([`Around`]).
//!
//! No window, clock or disk in it; the same question has the same answer, however many
//! threads work on it.

mod alike;
mod apart;
mod around;
mod bed;
mod cells;
mod engine;
mod fits;
mod lattice;
mod layer;
mod pair;
mod pick;
mod room;
mod tight;
mod turns;
mod why;

#[cfg(test)]
mod tests;

pub use around::Around;
pub use bed::{Bed, Fold};
pub use layer::Below;
pub use pair::{PairAsk, PairFound, PairOffer, Together, find_pair};
pub use why::NoPlace;

use super::wish::{Kept, Known, Wished};
use super::{Along, Face, GRAIN_TOLERANCE, Placement};
use crate::fault::{Fault, Outcome};
use crate::pattern::PatternPiece;
use crate::raster::Raster;
use crate::space::{Cloth, Piece, Point, Rigid, Vector};
use engine::{As, Engine};

/// Where a piece lies on a panel, as a [`Placement`] says it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub x_mm: f64,
    pub y_mm: f64,
    /// Counter-clockwise, degrees, −180 to 180.
    pub turn_deg: f64,
    pub face: Face,
}

impl Place {
    /// Piece to cloth, as [`Placement::pose`].
    pub fn pose(&self) -> Rigid<Piece, Cloth> {
        let shift = Vector::new(self.x_mm, self.y_mm);
        Rigid::new(self.face == Face::Down, self.turn_deg.to_radians(), shift)
    }

    /// Where a placement is.
    pub fn of(p: &Placement) -> Self {
        Self {
            x_mm: p.x_mm,
            y_mm: p.y_mm,
            turn_deg: p.turn_deg,
            face: p.face,
        }
    }
}

/// The piece in hand.
#[derive(Debug, Clone, Copy)]
pub struct PieceInHand<'a> {
    pub piece: &'a PatternPiece,
    /// It is offered places this way up.
    pub face: Face,
    /// How its grain shall lie.
    pub along: Along,
    /// Where it is now, cloth space: of places equally good, the nearest. A piece without
    /// a grain keeps about its turn.
    pub at: Point<Cloth>,
    pub turn_deg: f64,
}

/// How far the search goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// So many places are offered at most.
    pub offers: usize,
    /// How far the piece may be turned off its grain, degrees. A piece with a grain is
    /// never turned further than [`GRAIN_TOLERANCE`], for the lay's checks refuse that.
    pub tolerance_deg: f64,
    /// From one place to the next that is tried, mm; larger on very large cloth.
    pub step_mm: f64,
    /// Two places are distinct if the piece's points lie so far apart in them, mm (root
    /// mean square); if `None`, half the lesser side of its box, 20 to 150.
    pub apart_mm: Option<f64>,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            offers: 5,
            tolerance_deg: GRAIN_TOLERANCE,
            step_mm: 1.0,
            apart_mm: None,
        }
    }
}

/// What is asked: a place for this piece on this cloth.
#[derive(Debug, Clone)]
pub struct Ask<'a> {
    pub hand: PieceInHand<'a>,
    pub bed: &'a Bed,
    /// L\*, a\*, b\* of the panel; NaN where it is not known.
    pub shade: Option<&'a Raster<[f32; 3], Cloth>>,
    /// All of them are for this piece.
    pub wishes: &'a [Wished],
    pub known: Known<'a>,
    pub limits: Limits,
}

/// A place that is offered.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    pub place: Place,
    /// What it is worth, in units of L\*: greater is better. See
    /// [`crate::lay::wish::Amount::worth`]; a degree off the grain costs 0.1, a metre from
    /// where the piece is now 1.
    pub score: f64,
    /// How far each wish is kept.
    pub kept: Vec<Kept>,
    /// In the ply beneath, where one is cut too and its shade is known.
    pub below: Option<Below>,
}

impl Offer {
    /// Why it is offered, in a few words without a full stop: `lighter at the toe by 5.0,
    /// stripe 1.2 mm off centre`.
    pub fn why(&self) -> String {
        let all = |kept: &[Kept]| {
            let all: Vec<String> = kept.iter().map(Kept::to_string).collect();
            all.join(", ")
        };
        let own = match self.kept.is_empty() {
            true => "there is room".to_owned(),
            false => all(&self.kept),
        };
        let Some(below) = &self.below else {
            return own;
        };
        let lower = match below.kept.is_empty() {
            true => String::new(),
            false => format!("; the ply beneath {}", all(&below.kept)),
        };
        format!("{own}{lower}; both plies: {}", pair::alike(below.alike))
    }

    /// How many wishes are met, and of how many.
    pub fn met(&self) -> (usize, usize) {
        let below = self.below.iter().flat_map(|b| &b.kept);
        let all = || self.kept.iter().chain(below.clone());
        (all().filter(|k| k.amount.is_met()).count(), all().count())
    }
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// The best first; never none.
    Places(Vec<Offer>),
    None(NoPlace),
    /// The caller said so.
    Stopped,
}

/// The last word on a place: `Err` says in a sentence why it will not do. It must give the
/// same answer for the same place.
pub type Accepts<'f> = &'f (dyn Fn(&Place) -> Result<(), String> + Sync);

/// Told how far the search is, 0 to 1, from any thread; answers whether to go on.
pub type Progress<'f> = &'f (dyn Fn(f64) -> bool + Sync);

/// The best distinct places for the piece in hand.
///
/// # Errors
/// If the piece has no area, a number is not one, or a wish can't be worked out
/// ([`crate::lay::wish::Terms::settle`]).
pub fn find(ask: &Ask, accepts: Accepts, progress: Progress) -> Outcome<Found> {
    let Some(engine) = Engine::prepare(ask, As::One, progress)? else {
        return Ok(Found::Stopped);
    };
    let accepts = |places: &[Place; 2]| accepts(&places[0]);
    let picked = pick::pick_all(&engine, ask.limits.offers, &accepts, progress);
    let Some(picked) = picked else {
        return Ok(Found::Stopped);
    };
    if picked.spots.is_empty() {
        return Ok(Found::None(NoPlace::of(ask, picked.refused)));
    }
    let offer = |spot| engine.offer(spot);
    Ok(Found::Places(picked.spots.into_iter().map(offer).collect()))
}

/// What must hold of a question.
fn check(ask: &Ask) -> Outcome<()> {
    let hand = &ask.hand;
    let area = crate::lay::inside_of(hand.piece).area();
    if !(area > 0.0 && area.is_finite()) {
        return Err(Fault::input(
            format!("the piece {} has no area", hand.piece.name),
            "draw its cut line as a closed outline",
        ));
    }
    let numbers = [
        hand.at.x,
        hand.at.y,
        hand.turn_deg,
        ask.bed.warp_deg,
        ask.bed.gap,
        ask.limits.step_mm,
    ];
    if numbers.iter().any(|v| !v.is_finite()) || ask.limits.step_mm <= 0.0 {
        return Err(Fault::input(
            "a place was asked for with a length or an angle that is not a usable number",
            "lay the piece on the cloth, then ask again",
        ));
    }
    Ok(())
}
