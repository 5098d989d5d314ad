//! The search: every turn's free places, and what they are worth.

use super::apart::{Spread, Turned};
use super::bed::Fold;
use super::cells::Grid;
use super::fits::Free;
use super::layer::{Layer, Lower, Scratch, Second};
use super::room::Room;
use super::turns::{Turn, turns, warp_of};
use super::{Ask, Bed, Offer, Place, Progress, check};
use crate::fault::Outcome;
use crate::lay::wish::{Amount, Shade, Terms, Wish, Wished, nap_way, unlike};
use crate::lay::{Face, GRAIN_TOLERANCE, inside_of, off_grain};
use crate::raster::Raster;
use crate::shape::Region;
use crate::space::{Cloth, Piece, Point, Rigid, Vector};
use rayon::prelude::*;
use std::borrow::Cow;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Points at which the cloth is looked at, coarsely, finely, and closely at most; closely
/// are two to a cell of the shade, and no fewer than so many: in small pieces too what lies
/// at an edge is told to a few hundredths. Where there are few places, so many.
const POINTS: [usize; 3] = [100, 420, 6000];
const CLOSELY: f64 = 2.0;
const LEAST: usize = 4000;
const OF_FEW: usize = 12_000;

/// Cells at most; on larger cloth they are larger.
const MOST_CELLS: f64 = 4e6;

/// Places looked at coarsely at most, all turns together.
const MOST_COARSE: f64 = 2e6;

/// Where there can't be more places than this, all turns together, every one is looked at
/// finely: on an offcut nothing is left to chance.
const FEW: f64 = 4e5;

/// From one place that is looked at coarsely to the next: mm at most, and as a share of the
/// piece's size (root of its area), so that small pieces are looked at as closely as large.
const COARSE: f64 = 4.0;
const COARSE_SHARE: f64 = 1.0 / 25.0;

/// Nodes of the smoothed shade stand so far apart: mm, at most.
const NODES: f64 = 2.0;

/// A degree off the grain costs so much, and a mm from where the piece is.
const TIES: [f64; 2] = [0.1, 1e-3];

/// How far the free places of all turns take the search, of all of it.
const SWEPT: f64 = 0.8;

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub enum As<'f> {
    /// A place for one piece.
    One,
    /// Places for one of a pair, to be compared with those of the other: at the same points,
    /// which stand as close as this shade's cells, mm, ask for.
    OneOfTwo(f64),
    /// Places for a pair mirrored about a line, the first on the left of it or right.
    Folded(&'f Fold, bool),
}

/// How closely a place is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// To choose among all.
    Coarsely,
    /// To move a place to where it is best.
    Finely,
    /// As a place is told of.
    Closely,
}

/// One place: a turn, by its number, and where the piece's origin lies, in cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    pub turn: u32,
    pub i: i32,
    pub j: i32,
}

/// A place and what it is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scored {
    pub score: f32,
    pub spot: Spot,
}

#[derive(Debug)]
pub struct Engine<'a> {
    pub ask: &'a Ask<'a>,
    /// The cloth; for a pair, folded.
    pub bed: Cow<'a, Bed>,
    pub grid: Grid<Cloth>,
    pub size: (usize, usize),
    few: bool,
    pub turns: Vec<Turn>,
    /// What belongs to each turn.
    turned: Vec<Turned>,
    rooms: Vec<Room>,
    coarse: Layer,
    fine: Layer,
    close: Layer,
    spread: Spread,
    /// The second of a pair is the first mirrored by this.
    pub over: Option<Rigid<Cloth, Cloth>>,
    /// What was looked at coarsely, in no order.
    pub found: Vec<Scored>,
}

impl<'a> Engine<'a> {
    /// Looks for room in every turn and scores it coarsely; `None` if it was stopped.
    ///
    /// # Errors
    /// As [`super::find`].
    pub fn prepare(ask: &'a Ask<'a>, looked_for: As, progress: Progress) -> Outcome<Option<Self>> {
        check(ask)?;
        let hand = &ask.hand;
        let (bed, over) = match looked_for {
            As::Folded(fold, left) => (Cow::Owned(ask.bed.folded(fold, left)), Some(fold.over())),
            _ => (Cow::Borrowed(ask.bed), None),
        };
        let compared = !matches!(looked_for, As::One);
        let mut turns = turns(hand, bed.warp_deg, nap_way(ask.wishes), &ask.limits);
        if let (Some(over), Some(grain)) = (&over, hand.piece.grain) {
            turns.retain(|t| {
                let second = place(hand.face, t.deg, Point::zero()).pose().then(over);
                let deg = second.turn.to_degrees();
                let nap = nap_way(ask.wishes);
                let warp = warp_of(bed.warp_deg, nap);
                let off = off_grain(grain, hand.face.other(), deg, warp, nap.is_some());
                // As far as the first one may be, from the warp or from the bias.
                off.is_none_or(|o| o.min((o - 45.0).abs()) < GRAIN_TOLERANCE)
            });
        }
        let beneath = ask.known.beneath.filter(|_| over.is_none());
        // Cut from two plies, the lower one is the partner.
        let own = |w: &&Wished| beneath.is_none() || w.wish != (Wish::LikePartner {});
        let settle = |n| Terms::settle(hand.piece, ask.wishes.iter().filter(own), &ask.known, n);
        let alike = ask.wishes.iter().filter(|w| !own(w)).map(|w| w.weight);
        let alike: f64 = alike.sum();
        let of_cloth = |w: &&Wished| w.wish.is_of_cloth();
        let below = |n| match &beneath {
            Some(b) => {
                let known = ask.known.of_beneath(b);
                let wishes = ask.wishes.iter().filter(of_cloth);
                Terms::settle(hand.piece, wishes, &known, n).map(Some)
            }
            None => Ok(None),
        };
        let cell = match looked_for {
            As::OneOfTwo(cell) => Some(cell),
            _ => ask.shade.map(Raster::cell),
        };
        let cells = cell.map_or(1.0, |c| inside_of(hand.piece).area() / c.powi(2));
        let closely = (CLOSELY * cells).min(POINTS[2] as f64) as usize;
        let all = ask.bed.bounds();
        let few = all.is_some_and(|b| {
            let cells = b.area() / ask.limits.step_mm.powi(2);
            cells * turns.len() as f64 <= FEW
        });
        let closely = if few { OF_FEW } else { closely.max(LEAST) };
        let terms = |n| Ok((settle(n)?, below(n)?));
        let terms = [terms(POINTS[0])?, terms(POINTS[1])?, terms(closely)?];
        let spread = Spread::of(terms[1].0.points());
        let mirrored = hand.face == Face::Down;
        let [coarse, fine, close] = terms;
        let layer = |(terms, lower): (Terms, Option<Terms>)| {
            let wanted = compared || lower.is_some() || terms.needs_shade();
            // Finer than the shade is known or is looked at would tell nothing.
            let apart = terms.apart();
            let closely = |s: &'a Raster<[f32; 3], Cloth>| {
                let step = (apart / 2.0).clamp(s.cell().min(NODES), NODES);
                Some((s, all?, step))
            };
            let shade = ask.shade.filter(|_| wanted).and_then(closely);
            let second = match (over, lower) {
                (Some(over), _) => Second::Over(over),
                (None, Some(lower)) => {
                    let shade = beneath.and_then(|b| closely(b.shade));
                    Second::Beneath(Lower::new(lower, shade, alike))
                }
                (None, None) => Second::None,
            };
            Layer::new(terms, shade, (&turns, mirrored), second)
        };
        let (coarse, fine, close) = (layer(coarse), layer(fine), layer(close));
        let turned = |t: &Turn| spread.turned(&place(hand.face, t.deg, Point::zero()).pose());
        let mut engine = Self {
            ask,
            bed,
            turned: turns.iter().map(turned).collect(),
            grid: Grid {
                origin: Point::zero(),
                cell: ask.limits.step_mm,
            },
            size: (0, 0),
            few,
            rooms: Vec::new(),
            coarse,
            fine,
            close,
            spread,
            over,
            found: Vec::new(),
            turns,
        };
        let Some(bounds) = engine.bed.bounds() else {
            return Ok(Some(engine));
        };
        let least = (bounds.area() / MOST_CELLS).sqrt();
        engine.grid.cell = (ask.limits.step_mm.max(least) * 1e3).ceil() / 1e3;
        engine.grid.origin = bounds.min.floor();
        let cells = (bounds.max - engine.grid.origin) / engine.grid.cell;
        engine.size = (cells.x.ceil() as usize, cells.y.ceil() as usize);
        Ok(engine.sweep(progress).then_some(engine))
    }

    /// Whether there are so few places that all of them are looked at.
    pub fn is_small(&self) -> bool {
        self.few
    }

    /// Every turn's free places; whether it went through.
    fn sweep(&mut self, progress: Progress) -> bool {
        let (width, height) = self.size;
        let piece = inside_of(self.ask.hand.piece);
        let reach = piece.rings.iter().flatten().map(|p| p.to_vector().length());
        let longest = 2.0 * reach.fold(0.0, f64::max) / self.grid.cell + 2.0;
        let longest = (longest as usize).min(width);
        let pad = longest / 64 + 3;
        let surely = Free::new(self.bed.free(&self.grid, width, height, pad), longest);
        let perhaps = Free::new(self.bed.perhaps(&self.grid, width, height, pad), longest);
        // Blocks in which one place is looked at coarsely.
        let coarse = self.turns.iter().filter(|t| t.coarse).count() as f64;
        let places = (width * height) as f64 * coarse / MOST_COARSE;
        let apart = (piece.area().sqrt() * COARSE_SHARE).min(COARSE);
        let block = match self.is_small() {
            true => 1,
            false => (apart / self.grid.cell)
                .round()
                .max(places.sqrt().ceil())
                .max(1.0) as usize,
        };
        let count = self.turns.len();
        let this = &*self;
        let told = |done: usize| progress(SWEPT * done as f64 / count as f64);
        let done = AtomicUsize::new(0);
        let turn = |k: usize| {
            let room = Room::of(&this.lying(k), this.grid.cell, &surely, &perhaps);
            let places = match this.turns[k].coarse || this.is_small() {
                true => room.one_a_block(block),
                false => Vec::new(),
            };
            let found = this.looked_at(k, places);
            told(done.fetch_add(1, Ordering::Relaxed) + 1).then_some((room, found))
        };
        if !told(0) {
            return false;
        }
        // One turn is work enough for a core.
        let turns = (0..count).into_par_iter().with_max_len(1);
        let all: Option<Vec<_>> = turns.map(turn).collect();
        let Some(all) = all else {
            return false;
        };
        for (room, found) in all {
            self.rooms.push(room);
            self.found.extend(found);
        }
        true
    }

    /// The piece in a turn, its origin in the cloth's.
    pub fn lying(&self, turn: usize) -> Region<Cloth> {
        let place = place(self.ask.hand.face, self.turns[turn].deg, Point::zero());
        inside_of(self.ask.hand.piece).moved(&place.pose())
    }

    /// Places of one turn, and what they are worth, looked at coarsely; finely if they are few.
    fn looked_at(&self, turn: usize, places: Vec<(i32, i32)>) -> Vec<Scored> {
        let mut scratch = Scratch::default();
        let look = match self.is_small() {
            true => Look::Finely,
            false => Look::Coarsely,
        };
        let scored = places.into_iter().map(|(i, j)| {
            let spot = Spot {
                turn: turn as u32,
                i,
                j,
            };
            Scored {
                score: self.score(spot, look, &mut scratch) as f32,
                spot,
            }
        });
        scored.collect()
    }

    /// Of places equally good: on the grain, and near where the piece is.
    fn ties(&self, spot: Spot, pose: &Rigid<Piece, Cloth>) -> f64 {
        let far = (pose.shift.to_point() - self.ask.hand.at).length();
        TIES[0] * self.turns[spot.turn as usize].off.abs() + TIES[1] * far
    }

    /// What a place is worth.
    pub fn score(&self, spot: Spot, look: Look, scratch: &mut Scratch) -> f64 {
        let pose = self.pose(spot);
        let worth = self.layer(look).score(spot.turn as usize, &pose, scratch);
        worth - self.ties(spot, &pose)
    }

    fn layer(&self, look: Look) -> &Layer {
        match look {
            Look::Coarsely => &self.coarse,
            Look::Finely => &self.fine,
            Look::Closely => &self.close,
        }
    }

    /// The shade under the piece's points.
    pub fn shade<'s>(&self, spot: Spot, look: Look, scratch: &'s mut Scratch) -> &'s [Shade] {
        let at = self.pose(spot).shift.to_point();
        self.layer(look).look(spot.turn as usize, at, scratch).0
    }

    /// How far the piece's points lie from each other in two places: mean square, mm².
    pub fn apart_squared(&self, a: Spot, b: Spot) -> f64 {
        let [ta, tb] = [a, b].map(|s| self.turned[s.turn as usize]);
        let by = Vector::new(f64::from(a.i - b.i), f64::from(a.j - b.j)) * self.grid.cell;
        self.spread.apart_squared(&ta, &tb, by)
    }

    /// Whether the piece surely fits there.
    pub fn fits(&self, spot: Spot) -> bool {
        let room = self.rooms.get(spot.turn as usize);
        room.is_some_and(|r| r.surely(spot.i, spot.j))
    }

    /// Whether it fits there, told exactly where cells don't tell.
    pub fn fits_exactly(&self, spot: Spot) -> bool {
        let room = self.rooms.get(spot.turn as usize);
        let perhaps = room.is_some_and(|r| r.perhaps(spot.i, spot.j));
        let piece = || inside_of(self.ask.hand.piece).moved(&self.pose(spot));
        self.fits(spot) || perhaps && self.bed.takes(&piece())
    }

    /// All places in a turn of which cells can't tell that it does not fit.
    pub fn perhaps(&self, turn: usize) -> Vec<Spot> {
        let all = self.rooms.get(turn).map(Room::all).into_iter().flatten();
        let turn = turn as u32;
        all.map(|(i, j)| Spot { turn, i, j }).collect()
    }

    pub fn place(&self, spot: Spot) -> Place {
        let by = Vector::new(f64::from(spot.i), f64::from(spot.j)) * self.grid.cell;
        let deg = self.turns[spot.turn as usize].deg;
        place(self.ask.hand.face, deg, self.grid.origin + by)
    }

    pub fn pose(&self, spot: Spot) -> Rigid<Piece, Cloth> {
        self.place(spot).pose()
    }

    /// The places of a pair; the second is the first if it is none.
    pub fn places(&self, spot: Spot) -> [Place; 2] {
        let first = self.place(spot);
        let Some(over) = &self.over else {
            return [first; 2];
        };
        let pose = first.pose().then(over);
        let deg = pose.turn.to_degrees();
        let face = first.face.other();
        let mut second = place(
            face,
            deg - 360.0 * (deg / 360.0).round(),
            pose.shift.to_point(),
        );
        second.turn_deg = (second.turn_deg * 1e5).round() / 1e5;
        [first, second]
    }

    /// A place as it is offered; of a pair the first.
    pub fn offer(&self, spot: Spot) -> Offer {
        let mut scratch = Scratch::default();
        let score = self.score(spot, Look::Closely, &mut scratch);
        let pose = self.pose(spot);
        let (kept, below) = self.close.kept(spot.turn as usize, &pose, &mut scratch);
        Offer {
            place: self.place(spot),
            score,
            kept,
            below,
        }
    }

    /// The second of a pair, and how alike the two are.
    pub fn second(&self, spot: Spot) -> (Offer, Amount) {
        let mut scratch = Scratch::default();
        let score = self.score(spot, Look::Closely, &mut scratch);
        let at = self.pose(spot).shift.to_point();
        let (first, second) = self.close.look(spot.turn as usize, at, &mut scratch);
        let [_, place] = self.places(spot);
        let kept = self.close.terms.kept(&place.pose(), second);
        let alike = unlike(first, second, first.len());
        let offer = Offer {
            place,
            score,
            kept,
            below: None,
        };
        (offer, alike)
    }
}

fn place(face: Face, turn_deg: f64, at: Point<Cloth>) -> Place {
    // As a job is written: a thousandth of what any eye or blade tells.
    let rounded = |mm: f64| (mm * 1e4).round() / 1e4;
    Place {
        x_mm: rounded(at.x),
        y_mm: rounded(at.y),
        turn_deg,
        face,
    }
}
