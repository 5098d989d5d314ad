//! Takes parts that overlap apart: part by part each moves to where its overlaps weigh
//! least, and what goes on overlapping weighs more and more.
//!
//! After the separation procedure of Gardeyn, Vanden Berghe & Wauters (2025): passes over
//! the overlapping parts in random order; strikes without progress, after which the best so
//! far is taken up again. Theirs lets several workers try each pass and keeps the best one's.
//! Here workers take apart different lays: while most attempts fail, as they do when the lay
//! is nearly full, two attempts are worth more than one that is a little better.

use super::engine::{Board, Spot};
use super::guide::Table;
use super::probe::Probe;
use super::seek::{Extent, OVERLAPPING, Ways, seek};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// A loss this much smaller is progress.
const PROGRESS: f32 = 0.98;

/// How long it is tried.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patience {
    /// Passes without progress that make a strike.
    pub passes: usize,
    /// Strikes without progress that make it give up.
    pub strikes: usize,
}

/// How far it has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Stage {
    Going,
    /// No part overlaps any more.
    Apart,
    /// Given up; the best lies on the board, and this is its loss.
    Stuck(f32),
}

/// One who takes lays apart.
#[derive(Debug)]
pub(super) struct Worker {
    pub board: Board,
    pub stage: Stage,
    losses: Table,
    weights: Table,
    probe: Probe,
    rng: ChaCha8Rng,
    patience: Patience,
    best: (f32, Vec<Option<Spot>>),
    /// The best loss when this strike began.
    began: f32,
    idle: usize,
    strikes: usize,
    /// Passes so far, of all attempts.
    pub passes: u64,
}

impl Worker {
    pub fn new(board: Board, seed: u64) -> Self {
        let n = board.shapes.len();
        Self {
            losses: Table::new(n, 0.0),
            weights: Table::new(n, 1.0),
            probe: Probe::new(&board.shapes),
            rng: ChaCha8Rng::seed_from_u64(seed),
            patience: Patience {
                passes: 0,
                strikes: 0,
            },
            best: (0.0, Vec::new()),
            began: 0.0,
            idle: 0,
            strikes: 0,
            passes: 0,
            stage: Stage::Apart,
            board,
        }
    }

    /// How many places were tried so far.
    pub fn tried(&self) -> u64 {
        self.probe.tried
    }

    /// Begins anew with the parts as they lie on a board.
    pub fn begin(&mut self, board: Board, patience: Patience) {
        self.board = board;
        self.patience = patience;
        self.weights = Table::new(self.board.shapes.len(), 1.0);
        self.note_all();
        self.best = (self.losses.total(), self.board.spots());
        self.began = self.best.0;
        (self.idle, self.strikes) = (0, 0);
        self.stage = if self.best.0 == 0.0 {
            Stage::Apart
        } else {
            Stage::Going
        };
    }

    /// So many passes more, unless it ends before.
    pub fn advance(&mut self, passes: usize, ways: &[Ways]) {
        let frames = self.board.frames.iter();
        let extents: Vec<Extent> = frames.map(|f| (f.bounds, f.area)).collect();
        for _ in 0..passes {
            if self.stage != Stage::Going {
                return;
            }
            self.pass(ways, &extents);
            self.judge();
        }
    }

    /// What a pass has come to.
    fn judge(&mut self) {
        let total = self.losses.total();
        self.idle += 1;
        if total < self.best.0 {
            if total < PROGRESS * self.best.0 {
                self.idle = 0;
            }
            self.best = (total, self.board.spots());
        }
        if total == 0.0 {
            self.stage = Stage::Apart;
            return;
        }
        self.weights.learn(&self.losses);
        if self.idle < self.patience.passes {
            return;
        }
        if self.best.0 < PROGRESS * self.began {
            self.strikes = 0;
        } else {
            self.strikes += 1;
        }
        self.began = self.best.0;
        self.idle = 0;
        self.board.restore(&self.best.1);
        self.note_all();
        if self.strikes >= self.patience.strikes {
            self.stage = Stage::Stuck(self.best.0);
        }
    }

    fn note_all(&mut self) {
        for part in 0..self.board.shapes.len() {
            self.probe.note(&self.board, part, &mut self.losses);
        }
    }

    /// Moves every part that overlaps once, if there is a better place for it.
    fn pass(&mut self, ways: &[Ways], extents: &[Extent]) {
        self.passes += 1;
        let overlaps = |p: &usize| self.losses.of(*p) > 0.0;
        let mut parts: Vec<usize> = (0..ways.len()).filter(overlaps).collect();
        parts.shuffle(&mut self.rng);
        for part in parts {
            // A neighbour may have left meanwhile.
            if self.losses.of(part) == 0.0 {
                continue;
            }
            let Self {
                board,
                weights,
                probe,
                rng,
                ..
            } = self;
            let now = board.spot(part);
            let seen = (&board.shapes[part], &ways[part], extents);
            let mut cost = |spot: &Spot, bound: f32| probe.loss(board, weights, part, spot, bound);
            let found = seek(seen, now, OVERLAPPING, 0.0, rng, &mut cost);
            if let Some((spot, _)) = found.filter(|(spot, _)| Some(*spot) != now) {
                self.board.lay(part, spot);
                self.probe.note(&self.board, part, &mut self.losses);
            }
        }
    }
}

/// All workers at once, a core each where there are so many: so many passes.
pub(super) fn advance(workers: &mut [Worker], passes: usize, ways: &[Ways]) {
    let workers = workers.par_iter_mut().with_max_len(1);
    workers.for_each(|w| w.advance(passes, ways));
}
