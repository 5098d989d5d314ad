//! What a lay is worth, and how it gets better while every part lies free.

use super::construct::free_spot;
use super::engine::{Board, Spot};
use super::floor::Floor;
use super::probe::Probe;
use super::seek::{Extent, Trials, Ways, seek};
use super::{FitPlace, Part, Task};
use crate::lay::Face;
use crate::space::{Cloth, Piece, Rigid, Vector};
use rand::{Rng, RngExt};

/// What two of a pair count that lie side by side; by their distance less and less.
const NEAR: f64 = 0.25;

/// What a part counts that lies in its frame's first corner: what is left over is whole.
const FIRST_CORNER: f64 = 0.05;

/// How hard another place is looked for.
const ELSEWHERE: Trials = Trials {
    anywhere: 60,
    around: 40,
    kept: 2,
};

/// Nothing gained by less than this.
pub(super) const GAIN: f64 = 1e-4;

/// What lays are worth.
pub(super) struct Score<'a> {
    task: &'a Task<'a>,
    /// Of each part the other of its pair, and the pair.
    partner: Vec<Option<(usize, [usize; 2])>>,
    /// Diagonal of each part's box, mm.
    reach: Vec<f64>,
    /// Box of each panel.
    boxes: Vec<[f64; 4]>,
}

impl<'a> Score<'a> {
    pub fn new(task: &'a Task<'a>) -> Self {
        let mut partner = vec![None; task.parts.len()];
        for &[a, b] in task.pairs {
            partner[a] = Some((b, [a, b]));
            partner[b] = Some((a, [a, b]));
        }
        let diagonal = |p: &Part| {
            p.outline
                .bounds()
                .map_or(0.0, |b| b.size().to_vector().length())
        };
        let corner = |s: &super::Spread| {
            let b = s.outline.bounds().unwrap_or_default();
            [b.min.x, b.min.y, b.width().max(1.0), b.height().max(1.0)]
        };
        Self {
            task,
            partner,
            reach: task.parts.iter().map(diagonal).collect(),
            boxes: task.spreads.iter().map(corner).collect(),
        }
    }

    /// A part by itself.
    fn alone(&self, p: &FitPlace) -> f64 {
        let [x, y, w, h] = self.boxes[p.spread];
        let along = (p.pose.shift.x - x) / w + (p.pose.shift.y - y) / h;
        let wish = self.task.wishes.place(p.part, p.spread, &p.pose);
        wish - FIRST_CORNER * along / 2.0
    }

    /// A pair.
    fn pair(&self, pair: [usize; 2], a: &FitPlace, b: &FitPlace) -> f64 {
        let (a, b) = if a.part == pair[0] { (a, b) } else { (b, a) };
        let close = if a.spread == b.spread {
            let d = (a.pose.shift - b.pose.shift).length();
            1.0 / (1.0 + d / self.reach[a.part].max(1.0))
        } else {
            0.0
        };
        let wish = (self.task.wishes).pair(pair, [a.spread, b.spread], [&a.pose, &b.pose]);
        wish + NEAR * close
    }

    /// A part with its partner, if that is placed.
    pub fn of(&self, p: &FitPlace, places: &[Option<FitPlace>]) -> f64 {
        let other = self.partner[p.part].and_then(|(q, pair)| Some((places[q]?, pair)));
        let pair = other.map_or(0.0, |(q, pair)| self.pair(pair, p, &q));
        finite(self.alone(p)) + finite(pair)
    }

    /// A whole lay.
    pub fn all(&self, places: &[FitPlace]) -> f64 {
        let alone: f64 = places.iter().map(|p| finite(self.alone(p))).sum();
        let find = |k: usize| places.iter().find(|p| p.part == k);
        let pairs = self.task.pairs.iter().filter_map(|&[a, b]| {
            let (p, q) = (find(a)?, find(b)?);
            Some(finite(self.pair([a, b], p, q)))
        });
        alone + pairs.sum::<f64>()
    }
}

/// A wish that is no number is none.
fn finite(wish: f64) -> f64 {
    if wish.is_finite() { wish } else { 0.0 }
}

/// What boards are of, in the task's terms.
#[derive(Clone, Copy)]
pub(super) struct Ground<'a> {
    pub task: &'a Task<'a>,
    /// The task's number of each part on the board.
    pub known: &'a [usize],
    pub floors: &'a [Floor],
    pub ways: &'a [Ways],
    pub extents: &'a [Extent],
}

impl Ground<'_> {
    pub fn place(&self, part: usize, spot: &Spot) -> FitPlace {
        let floor = &self.floors[spot.frame];
        let shift = Vector::new(f64::from(spot.x), f64::from(spot.y)) + floor.origin;
        let pose: Rigid<Piece, Cloth> = Rigid::new(
            self.task.parts[self.known[part]].face == Face::Down,
            f64::from(spot.turn),
            shift,
        );
        FitPlace {
            part: self.known[part],
            spread: floor.spread,
            pose,
        }
    }

    /// By the task's numbers.
    pub fn places(&self, spots: &[Option<Spot>]) -> Vec<Option<FitPlace>> {
        let mut places = vec![None; self.task.parts.len()];
        for (part, spot) in spots.iter().enumerate() {
            places[self.known[part]] = spot.as_ref().map(|s| self.place(part, s));
        }
        places
    }

    pub fn score(&self, score: &Score, spots: &[Option<Spot>]) -> f64 {
        let places: Vec<FitPlace> = self.places(spots).into_iter().flatten().collect();
        score.all(&places)
    }

    /// The best free place found for a part, and what it is worth.
    pub fn best_free(
        &self,
        (board, probe, score): (&Board, &mut Probe, &Score),
        part: usize,
        trials: Trials,
        rng: &mut impl Rng,
    ) -> Option<(Spot, f64)> {
        let places = self.places(&board.spots());
        let mut cost = |s: &Spot, _: [f32; 4]| -score.of(&self.place(part, s), &places) as f32;
        let at = (part, &self.ways[part], self.extents);
        let (spot, _) = free_spot(board, probe, at, trials, rng, &mut cost)?;
        Some((spot, score.of(&self.place(part, &spot), &places)))
    }

    /// Moves a part to a better free place, if one is found. What was gained.
    pub fn relocate(
        &self,
        board: &mut Board,
        (probe, score): (&mut Probe, &Score),
        part: usize,
        rng: &mut impl Rng,
    ) -> f64 {
        let Some(now) = board.spot(part) else {
            return 0.0;
        };
        let places = self.places(&board.spots());
        let was = score.of(&self.place(part, &now), &places);
        let best = self.best_free((&*board, probe, score), part, ELSEWHERE, rng);
        match best {
            Some((spot, is)) if is > was + GAIN => {
                board.lay(part, spot);
                is - was
            }
            _ => 0.0,
        }
    }

    /// Lets two parts change places, if both lie free then and it is better so. What was
    /// gained.
    pub fn exchange(
        &self,
        board: &mut Board,
        (probe, score): (&mut Probe, &Score),
        [a, b]: [usize; 2],
        rng: &mut impl Rng,
    ) -> f64 {
        let (Some(p), Some(q)) = (board.spot(a), board.spot(b)) else {
            return 0.0;
        };
        if self.ways[a][q.frame].is_none() || self.ways[b][p.frame].is_none() {
            return 0.0;
        }
        let before = board.spots();
        let was = self.score(score, &before);
        board.lift(b);
        let around = Trials {
            anywhere: 0,
            around: 25,
            kept: 1,
        };
        for (part, other, there) in [(a, p, q), (b, q, p)] {
            let turns = self.ways[part][there.frame].as_ref();
            let turn = turns.map_or(other.turn, |t| t.nearest(other.turn));
            board.lay(part, Spot { turn, ..there });
            match self.best_free((&*board, &mut *probe, score), part, around, rng) {
                Some((spot, _)) => board.lay(part, spot),
                None => {
                    board.restore(&before);
                    return 0.0;
                }
            }
        }
        let gain = self.score(score, &board.spots()) - was;
        if gain > GAIN {
            return gain;
        }
        board.restore(&before);
        0.0
    }

    /// The place that is wished most for a part, whoever lies there.
    pub fn most_wished(
        &self,
        board: &Board,
        score: &Score,
        part: usize,
        rng: &mut impl Rng,
    ) -> Option<Spot> {
        let places = self.places(&board.spots());
        let trials = Trials {
            anywhere: rng.random_range(5..80),
            around: 0,
            kept: 1,
        };
        let seen = (&board.shapes[part], &self.ways[part], self.extents);
        let mut cost = |s: &Spot, _: f32| {
            let b = board.shapes[part].turned_box(s.turn);
            let f = self.extents[s.frame].0;
            let is_in = s.x + b[0] > f[0] && s.x + b[2] < f[2];
            if is_in && s.y + b[1] > f[1] && s.y + b[3] < f[3] {
                -score.of(&self.place(part, s), &places) as f32
            } else {
                f32::INFINITY
            }
        };
        let found = seek(seen, None, trials, f32::NEG_INFINITY, rng, &mut cost)?;
        Some(found.0)
    }
}
