//! Words that are about no piece stand wholly on the table and in the light: beyond
//! the rim of either they lie on the floor, or are cut off.

use crate::shape::{Region, bounds};
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::{Person, Side};
use crate::work::Bench;

/// Between words' ground and the rim, mm.
const RIM: f64 = 10.0;

/// From one place that is tried to the next, mm; and at most so many deep.
const STEP: f64 = 8.0;
const MOST: usize = 300;

/// How far off the middle is tried, of the width: light may lie askew.
const ASIDE: [f64; 7] = [0.0, 0.06, -0.06, 0.12, -0.12, 0.2, -0.2];

/// A lit part of the table, as a person at a side of it sees it.
#[derive(Debug)]
pub struct Top<'a> {
    lit: &'a Region<Table>,
    side: Side,
    seen: Bounds<Person>,
}

impl<'a> Top<'a> {
    /// `None` if nothing is lit.
    pub fn new(lit: &'a Region<Table>, side: Side) -> Option<Self> {
        let points = lit.rings.iter().flatten();
        let seen = bounds(points.map(|p| side.to_person(p.to_vector()).to_point()))?;
        Some(Self { lit, side, seen })
    }

    /// What is known of the lit table, surest first: between its marks, as far as its
    /// cloths and marks, and all that is lit, table or not.
    pub fn known(
        between: &'a Region<Table>,
        bench: &'a Bench,
        lit: &'a Region<Table>,
    ) -> Vec<Self> {
        let side = bench.ways().stands;
        let all = [Some(between), bench.table_top(), Some(lit)];
        let all = all.into_iter().flatten();
        all.filter_map(|lit| Self::new(lit, side)).collect()
    }

    /// As the person sees it, mm.
    pub fn seen(&self) -> &Bounds<Person> {
        &self.seen
    }

    /// The room of a block, across and deep, mm, as near to the person as it may stand, clear of
    /// `but`.
    pub fn near(&self, block: [f64; 2], but: Option<&Bounds<Person>>) -> Option<Bounds<Person>> {
        let (low, count) = self.rows(block)?;
        let rows = (0..=count).map(|k| low + STEP * k as f64);
        self.first(block, rows, but)
    }

    /// The same as near to the middle as it may stand, clear of `but`.
    pub fn middle(&self, block: [f64; 2], but: Option<&Bounds<Person>>) -> Option<Bounds<Person>> {
        let (_, count) = self.rows(block)?;
        let middle = self.seen.center().y;
        let rows = (0..=count).map(|k| {
            let off = STEP * k.div_ceil(2) as f64;
            middle + if k % 2 == 1 { off } else { -off }
        });
        self.first(block, rows, but)
    }

    /// The lowest row that a block's middle may stand in, and how many more there are;
    /// `None` if the block is too large.
    fn rows(&self, [across, deep]: [f64; 2]) -> Option<(f64, usize)> {
        // A hair more than the rim, for on its boundary nothing is sure.
        let keep = 2.0 * RIM + 1.0;
        let free = self.seen.height() - deep - keep;
        let fits = free >= 0.0 && across + keep <= self.seen.width();
        let low = self.seen.min.y + (deep + keep) / 2.0;
        fits.then(|| (low, ((free / STEP) as usize).min(MOST)))
    }

    fn first(
        &self,
        [across, deep]: [f64; 2],
        mut rows: impl Iterator<Item = f64>,
        but: Option<&Bounds<Person>>,
    ) -> Option<Bounds<Person>> {
        let half = Vector::new(across / 2.0, deep / 2.0);
        let (middle, width) = (self.seen.center().x, self.seen.width());
        let place = |y: f64| {
            let rooms = ASIDE.into_iter().map(move |share| {
                let at: Point<Person> = Point::new(middle + width * share, y);
                Bounds::new(at - half, at + half)
            });
            rooms
                .filter(|room| but.is_none_or(|but| !but.intersects(room)))
                .find(|room| self.holds(room))
        };
        rows.find_map(place)
    }

    /// Whether a room lies off the rim all round.
    fn holds(&self, room: &Bounds<Person>) -> bool {
        let room = room.inflate(RIM, RIM);
        let at = |t: f64, u: f64| {
            let p = room.min + Vector::new(room.width() * t, room.height() * u);
            self.side.to_table(p.to_vector()).to_point()
        };
        [0.0, 0.25, 0.5, 0.75, 1.0].into_iter().all(|t| {
            let round = [at(t, 0.0), at(t, 1.0), at(0.0, t), at(1.0, t)];
            round.into_iter().all(|p| self.lit.contains(p))
        })
    }
}

/// A room on the table as the person sees it.
pub fn seen(side: Side, room: &Bounds<Table>) -> Bounds<Person> {
    let [a, b] = [room.min, room.max].map(|p| side.to_person(p.to_vector()).to_point());
    Bounds::new(a.min(b), a.max(b))
}

/// The room on the table that the person sees so: the inverse of [`seen`].
pub fn on_table(side: Side, room: &Bounds<Person>) -> Bounds<Table> {
    let [a, b] = [room.min, room.max].map(|p| side.to_table(p.to_vector()).to_point());
    Bounds::new(a.min(b), a.max(b))
}
