//! The search: every turn's free places, and what they are worth.

use super::apart::{Spread, Turned};
use super::bed::Fold;
use super::cells::{Cells, Grid, Run};
use super::fits::Free;
use super::layer::{Layer, Scratch};
use super::threads::each;
use super::turns::{Turn, turns};
use super::{Ask, Bed, Offer, Place, Progress, check};
use crate::fault::Outcome;
use crate::lay::wish::{Terms, nap_way};
use crate::lay::{Face, GRAIN_TOLERANCE, inside_of, off_grain};
use crate::space::{Cloth, Piece, Point, Rigid, Vector};
use std::borrow::Cow;

/// Points at which the cloth is looked at, coarsely and finely.
const POINTS: [usize; 2] = [100, 420];

/// Cells at most; on larger cloth they are larger.
const MOST_CELLS: f64 = 4e6;

/// Places looked at coarsely at most, all turns together.
const MOST_COARSE: f64 = 2e6;

/// From one place that is looked at coarsely to the next, mm.
const COARSE: f64 = 4.0;

/// A degree off the grain costs so much, and a mm from where the piece is.
const TIES: [f64; 2] = [0.1, 1e-3];

/// How far the free places of all turns take the search, of all of it.
const SWEPT: f64 = 0.8;

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub enum As<'f> {
    /// A place for one piece.
    One,
    /// Places for one of a pair, to be compared with those of the other.
    OneOfTwo,
    /// Places for a pair mirrored about a line, the first on the left of it or right.
    Folded(&'f Fold, bool),
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

/// Where the piece fits in one turn.
#[derive(Debug)]
pub struct Fit {
    cells: Cells,
    /// From the piece's origin to the corner of its cells' box.
    corner: (i32, i32),
}

#[derive(Debug)]
pub struct Engine<'a> {
    pub ask: &'a Ask<'a>,
    /// The cloth; for a pair, folded.
    pub bed: Cow<'a, Bed>,
    pub grid: Grid<Cloth>,
    pub size: (usize, usize),
    pub turns: Vec<Turn>,
    /// What belongs to each turn.
    turned: Vec<Turned>,
    fits: Vec<Fit>,
    coarse: Layer,
    fine: Layer,
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
                let off = off_grain(grain, hand.face.other(), deg, bed.warp_deg, false);
                // As far as the first one may be, from the warp or from the bias.
                off.is_none_or(|o| o.min((o - 45.0).abs()) < GRAIN_TOLERANCE)
            });
        }
        let settle = |n| Terms::settle(hand.piece, ask.wishes, &ask.known, n);
        let terms = [settle(POINTS[0])?, settle(POINTS[1])?];
        let spread = Spread::of(terms[1].points());
        let mirrored = hand.face == Face::Down;
        let all = ask.bed.bounds();
        let [coarse, fine] = terms;
        let layer = |terms: Terms, step: f64| {
            let wanted = compared || terms.needs_shade();
            let shade = ask.shade.filter(|_| wanted).zip(all);
            let shade = shade.map(|(s, b)| (s, b, step));
            Layer::new(terms, shade, (&turns, mirrored), over)
        };
        let (coarse, fine) = (layer(coarse, COARSE), layer(fine, COARSE / 2.0));
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
            fits: Vec::new(),
            coarse,
            fine,
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

    /// Every turn's free places; whether it went through.
    fn sweep(&mut self, progress: Progress) -> bool {
        let (width, height) = self.size;
        let piece = inside_of(self.ask.hand.piece);
        let reach = piece.rings.iter().flatten().map(|p| p.to_vector().length());
        let longest = 2.0 * reach.fold(0.0, f64::max) / self.grid.cell + 2.0;
        let longest = (longest as usize).min(width);
        let free = self.bed.free(&self.grid, width, height, longest / 64 + 3);
        let free = Free::new(free, longest);
        // Blocks in which one place is looked at coarsely.
        let coarse = self.turns.iter().filter(|t| t.coarse).count() as f64;
        let places = (width * height) as f64 * coarse / MOST_COARSE;
        let block = (COARSE / self.grid.cell).max(places.sqrt()).ceil().max(1.0) as usize;
        let count = self.turns.len();
        let this = &*self;
        let job = |k: usize| {
            let fit = this.fit(k, &free);
            let found = match this.turns[k].coarse {
                true => this.look_coarsely(k, &fit, block),
                false => Vec::new(),
            };
            (fit, found)
        };
        let told = |done: usize| progress(SWEPT * done as f64 / count as f64);
        let Some(all) = each(count, self.ask.limits.threads, &job, &told) else {
            return false;
        };
        for (fit, found) in all {
            self.fits.push(fit);
            self.found.extend(found);
        }
        true
    }

    /// The cells that the piece touches in a turn, its origin on a corner of the grid:
    /// from (0, 0), and where that is.
    pub fn touched(&self, turn: usize) -> (Vec<Run>, (i32, i32)) {
        let pose = place(self.ask.hand.face, self.turns[turn].deg, Point::zero()).pose();
        let piece = inside_of(self.ask.hand.piece).moved(&pose);
        let grid = Grid {
            origin: Point::zero(),
            cell: self.grid.cell,
        };
        from_corner(grid.touched(&piece, i32::MIN / 2, i32::MAX))
    }

    fn fit(&self, turn: usize, free: &Free) -> Fit {
        let (width, height) = self.size;
        let deg = self.turns[turn].deg;
        let pose = place(self.ask.hand.face, deg, Point::zero()).pose();
        let piece = inside_of(self.ask.hand.piece).moved(&pose);
        let b = piece.bounds().unwrap_or_default();
        let (across, up) = (b.width() / self.grid.cell, b.height() / self.grid.cell);
        if across > width as f64 || up > height as f64 {
            return Fit {
                cells: Cells::none(width, height, 0),
                corner: (0, 0),
            };
        }
        let (runs, corner) = self.touched(turn);
        let wide = runs.iter().map(|r| r.to).max().unwrap_or(0);
        let cells = match wide as usize <= width {
            true => free.erode(&runs),
            false => Cells::none(width, height, 0),
        };
        Fit { cells, corner }
    }

    /// One place of each block in which there is one, the nearest to the block's middle.
    fn look_coarsely(&self, turn: usize, fit: &Fit, block: usize) -> Vec<Scored> {
        let (width, height) = self.size;
        let across = width.div_ceil(block);
        let mut scratch = Scratch::default();
        let mut found = Vec::new();
        let mut best: Vec<Option<(usize, usize, usize)>> = vec![None; across];
        for top in (0..height).step_by(block) {
            best.fill(None);
            for y in top..(top + block).min(height) {
                for (w, &word) in fit.cells.row(y).iter().enumerate() {
                    let mut bits = word;
                    while bits != 0 {
                        let x = 64 * w + bits.trailing_zeros() as usize;
                        bits &= bits - 1;
                        let far = (x % block).abs_diff(block / 2) + (y - top).abs_diff(block / 2);
                        let here = &mut best[x / block];
                        if here.is_none_or(|(least, ..)| far < least) {
                            *here = Some((far, x, y));
                        }
                    }
                }
            }
            for (_, x, y) in best.iter().flatten() {
                let spot = Spot {
                    turn: turn as u32,
                    i: *x as i32 - fit.corner.0,
                    j: *y as i32 - fit.corner.1,
                };
                let pose = self.pose(spot);
                let score = self.coarse.score(turn, &pose, &mut scratch) - self.ties(spot, &pose);
                found.push(Scored {
                    score: score as f32,
                    spot,
                });
            }
        }
        found
    }

    /// Of places equally good: on the grain, and near where the piece is.
    fn ties(&self, spot: Spot, pose: &Rigid<Piece, Cloth>) -> f64 {
        let far = (pose.shift.to_point() - self.ask.hand.at).length();
        TIES[0] * self.turns[spot.turn as usize].off.abs() + TIES[1] * far
    }

    /// What a place is worth, looked at finely.
    pub fn score(&self, spot: Spot, scratch: &mut Scratch) -> f64 {
        let pose = self.pose(spot);
        self.fine.score(spot.turn as usize, &pose, scratch) - self.ties(spot, &pose)
    }

    /// How far the piece's points lie from each other in two places: mean square, mm².
    pub fn apart_squared(&self, a: Spot, b: Spot) -> f64 {
        let [ta, tb] = [a, b].map(|s| self.turned[s.turn as usize]);
        let by = Vector::new(f64::from(a.i - b.i), f64::from(a.j - b.j)) * self.grid.cell;
        self.spread.apart_squared(&ta, &tb, by)
    }

    /// Whether the piece surely fits there.
    pub fn fits(&self, spot: Spot) -> bool {
        let fit = self.fits.get(spot.turn as usize);
        fit.is_some_and(|f| f.cells.has(spot.i + f.corner.0, spot.j + f.corner.1))
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

    pub fn offer(&self, spot: Spot) -> Offer {
        let mut scratch = Scratch::default();
        let score = self.score(spot, &mut scratch);
        let pose = self.pose(spot);
        let at = pose.shift.to_point();
        let (shade, _) = self.fine.look(spot.turn as usize, at, &mut scratch);
        Offer {
            place: self.place(spot),
            score,
            kept: self.fine.terms.kept(&pose, shade),
        }
    }

    /// As [`Self::offer`], of the second of a pair, and how alike the two are.
    pub fn second(&self, spot: Spot) -> (Offer, crate::lay::wish::Amount) {
        let mut scratch = Scratch::default();
        let score = self.score(spot, &mut scratch);
        let at = self.pose(spot).shift.to_point();
        let (first, second) = self.fine.look(spot.turn as usize, at, &mut scratch);
        let [_, place] = self.places(spot);
        let kept = self.fine.terms.kept(&place.pose(), second);
        let alike = crate::lay::wish::unlike(first, second, first.len());
        (Offer { place, score, kept }, alike)
    }

    /// The shade under the piece's points, looked at finely.
    pub fn shade(&self, spot: Spot) -> Vec<crate::lay::wish::Shade> {
        let mut scratch = Scratch::default();
        let at = self.pose(spot).shift.to_point();
        self.fine
            .look(spot.turn as usize, at, &mut scratch)
            .0
            .to_vec()
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

/// Runs moved so that their rows and columns begin at 0, and where they began.
pub fn from_corner(mut runs: Vec<Run>) -> (Vec<Run>, (i32, i32)) {
    let low = |of: fn(&Run) -> i32| runs.iter().map(of).min().unwrap_or(0);
    let corner = (low(|r| r.from), low(|r| r.row));
    for run in &mut runs {
        run.row -= corner.1;
        run.from -= corner.0;
        run.to -= corner.0;
    }
    (runs, corner)
}
