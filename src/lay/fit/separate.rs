//! Takes parts that overlap apart: part by part each moves to where its overlaps weigh
//! least, and what goes on overlapping weighs more and more.
//!
//! After the separation procedure of Gardeyn, Vanden Berghe & Wauters (2025): passes over
//! the overlapping parts in random order by several workers at once, of which the best is
//! kept; strikes without progress, after which the best so far is taken up again.

use super::engine::{Board, Probe, Spot};
use super::guide::Table;
use super::seek::{Extent, OVERLAPPING, Ways, seek};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

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

/// One who works on a copy of the board.
#[derive(Debug)]
struct Worker {
    board: Board,
    losses: Table,
    probe: Probe,
    rng: ChaCha8Rng,
}

impl Worker {
    /// Moves every part that overlaps once, if there is a better place for it.
    fn pass(&mut self, weights: &Table, ways: &[Ways], extents: &[Extent]) {
        let laid = |p: &usize| self.losses.of(*p) > 0.0;
        let mut parts: Vec<usize> = (0..ways.len()).filter(laid).collect();
        parts.shuffle(&mut self.rng);
        for part in parts {
            // A neighbour may have left meanwhile.
            if self.losses.of(part) == 0.0 {
                continue;
            }
            let Self {
                board,
                losses,
                probe,
                rng,
            } = self;
            let now = board.spot(part);
            let seen = (&board.shapes[part], &ways[part], extents);
            let mut cost =
                |spot: &Spot, bound: f32| probe.loss(board, weights, part, spot, bound);
            let found = seek(seen, now, OVERLAPPING, 0.0, rng, &mut cost);
            if let Some((spot, _)) = found.filter(|(spot, _)| Some(*spot) != now) {
                board.lay(part, spot);
                probe.note(board, part, losses);
            }
        }
    }
}

/// The board on which parts are taken apart, and those who do it.
#[derive(Debug)]
pub(super) struct Separation {
    pub board: Board,
    losses: Table,
    weights: Table,
    workers: Vec<Worker>,
    /// Passes so far.
    pub passes: u64,
}

impl Separation {
    /// With so many workers, one a thread.
    pub fn new(board: Board, workers: usize, seed: u64) -> Self {
        let n = board.shapes.len();
        let losses = Table::new(n, 0.0);
        let worker = |k: usize| Worker {
            probe: Probe::new(&board.shapes),
            board: board.clone(),
            losses: losses.clone(),
            rng: ChaCha8Rng::seed_from_u64(seed.wrapping_mul(31).wrapping_add(k as u64 + 1)),
        };
        Self {
            workers: (0..workers.max(1)).map(worker).collect(),
            weights: Table::new(n, 1.0),
            losses,
            board,
            passes: 0,
        }
    }

    /// Takes other frames, and lays the parts as they lie.
    pub fn reframe(&mut self, board: &Board) {
        self.board = board.clone();
        for w in &mut self.workers {
            w.board = board.clone();
        }
    }

    /// How many places were tried so far.
    pub fn tried(&self) -> u64 {
        self.workers.iter().map(|w| w.probe.tried).sum()
    }

    /// The losses anew, of all parts.
    fn note_all(&mut self) {
        let probe = &mut self.workers[0].probe;
        for part in 0..self.board.shapes.len() {
            probe.note(&self.board, part, &mut self.losses);
        }
    }

    /// Takes all parts apart where they lie on the board. True if none overlaps any more;
    /// else the best that was found lies on the board, and its loss is told.
    ///
    /// `go_on` is asked after every pass; the answer no ends it.
    pub fn separate(
        &mut self,
        ways: &[Ways],
        patience: Patience,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> Result<(), f32> {
        let frames = self.board.frames.iter();
        let extents: Vec<Extent> = frames.map(|f| (f.bounds, f.area)).collect();
        self.weights = Table::new(ways.len(), 1.0);
        self.note_all();
        let mut best = (self.losses.total(), self.board.spots());
        let mut strikes = 0;
        while best.0 > 0.0 && strikes < patience.strikes {
            let began = best.0;
            let mut idle = 0;
            while idle < patience.passes {
                self.pass(ways, &extents);
                let total = self.losses.total();
                idle += 1;
                if total < best.0 {
                    if total < PROGRESS * best.0 {
                        idle = 0;
                    }
                    best = (total, self.board.spots());
                }
                if total == 0.0 {
                    return Ok(());
                }
                if !go_on(self.passes) {
                    strikes = patience.strikes;
                    break;
                }
                self.weights.learn(&self.losses);
            }
            strikes = if best.0 < PROGRESS * began {
                0
            } else {
                strikes + 1
            };
            self.board.restore(&best.1);
            self.note_all();
        }
        if best.0 > 0.0 { Err(best.0) } else { Ok(()) }
    }

    /// One pass by every worker; the best is taken.
    fn pass(&mut self, ways: &[Ways], extents: &[Extent]) {
        self.passes += 1;
        let spots = self.board.spots();
        let (losses, weights) = (&self.losses, &self.weights);
        let work = |w: &mut Worker| {
            w.board.restore(&spots);
            w.losses.clone_from(losses);
            w.pass(weights, ways, extents);
            w.losses.weighed(weights)
        };
        let (first, others) = self.workers.split_at_mut(1);
        let results: Vec<f32> = std::thread::scope(|scope| {
            let theirs: Vec<_> = others
                .iter_mut()
                .map(|w| scope.spawn(move || work(w)))
                .collect();
            let own = work(&mut first[0]);
            // A worker that panicked has found nothing.
            let theirs = theirs.into_iter().map(|t| t.join().unwrap_or(f32::MAX));
            std::iter::once(own).chain(theirs).collect()
        });
        let best = (0..results.len()).min_by(|&a, &b| results[a].total_cmp(&results[b]));
        let best = &self.workers[best.unwrap_or(0)];
        self.board.restore(&best.board.spots());
        self.losses.clone_from(&best.losses);
    }
}
