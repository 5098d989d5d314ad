//! A lay on panels: built up, then made room in, then improved.
//!
//! That a part which found no room is laid over others and all are taken apart is how Gardeyn,
//! Vanden Berghe & Wauters (2025) pass from one strip length to the next; here it is one more
//! part instead of a little less length.

use super::construct::{FIRST, by_size};
use super::engine::{Board, Shape, Spot};
use super::floor::{Floor, frames};
use super::guide::Table;
use super::improve::{GAIN, Ground, Score};
use super::outline::grown;
use super::probe::Probe;
use super::seek::{Extent, OVERLAPPING, Ways, seek};
use super::separate::{Patience, Stage, Worker, advance};
use super::turns::Turns;
use super::{Effort, FitPlace, Progress, Task};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::sync::Arc;

/// How long all are taken apart for one part more, and for a nicer lay.
const FOR_A_PART: Patience = Patience {
    passes: 60,
    strikes: 2,
};
const FOR_A_WISH: Patience = Patience {
    passes: 12,
    strikes: 1,
};

/// Attempts to make room for a part before it is left.
const ATTEMPTS: usize = 6;

/// Passes from one look at all workers to the next.
const ROUND: usize = 5;

/// Rounds of improving without gain, for each part, after which it is done.
const DONE: usize = 12;

/// A move of one part costs about as much as so many hundredths of a pass over all.
const MOVES: usize = 4;

/// What was found.
pub(super) struct Found {
    pub places: Vec<FitPlace>,
    pub passes: u64,
    pub stopped: bool,
}

/// The shapes of all parts, grown by half of what is kept between them. A part that the
/// engine does not take has none.
pub(super) fn shapes(task: &Task) -> Vec<Option<Shape>> {
    let half = task.rules.between / 2.0;
    let shape = |p: &super::Part| {
        let tries = grown(&p.outline, p.face, half);
        tries.iter().find_map(|ring| Shape::new(ring))
    };
    task.parts.iter().map(shape).collect()
}

/// The turns that a part may have on each floor.
pub(super) fn ways(task: &Task, part: usize, floors: &[Floor]) -> Ways {
    let p = &task.parts[part];
    let turns = floors.iter().map(|f| {
        let s = &task.spreads[f.spread];
        let grain = task.rules.grain();
        (s.cloth == p.cloth).then(|| Turns::of(p, s.warp_deg, s.one_way, grain))
    });
    turns.collect()
}

/// Lays what it can.
pub(super) fn arrange(
    task: &Task,
    effort: &Effort,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Found {
    let made = shapes(task);
    // The board's parts are those that have a shape.
    let known: Vec<usize> = (0..made.len()).filter(|&k| made[k].is_some()).collect();
    let shapes: Arc<[Shape]> = made.into_iter().flatten().collect();
    let least = shapes.iter().map(|s| s.area).fold(f32::INFINITY, f32::min);
    let (frames, floors) = frames(task.spreads, &task.rules, f64::from(least), true);
    let mut found = Found {
        places: Vec::new(),
        passes: 0,
        stopped: false,
    };
    if shapes.is_empty() || frames.is_empty() {
        return found;
    }
    let extents: Vec<Extent> = frames.iter().map(|f| (f.bounds, f.area)).collect();
    let ways: Vec<Ways> = known.iter().map(|&k| ways(task, k, &floors)).collect();
    let score = Score::new(task);
    let board = Board::new(shapes, frames);
    let worker = |k: u64| Worker::new(board.clone(), effort.seed.wrapping_mul(31) + k + 1);
    let mut run = Run {
        ground: Ground {
            task,
            known: &known,
            floors: &floors,
            ways: &ways,
            extents: &extents,
        },
        score: &score,
        probe: Probe::new(&board.shapes),
        rng: ChaCha8Rng::seed_from_u64(effort.seed),
        workers: (0..effort.workers.clamp(1, 8) as u64).map(worker).collect(),
        board,
        passes: 0,
        moves: 0,
        effort,
        keep_going,
        stopped: false,
    };
    run.build();
    run.make_room();
    run.improve();
    let spots = run.board.spots();
    found.places = run.ground.places(&spots).into_iter().flatten().collect();
    (found.passes, found.stopped) = (run.passes, run.stopped);
    found
}

struct Run<'a> {
    ground: Ground<'a>,
    score: &'a Score<'a>,
    board: Board,
    probe: Probe,
    rng: ChaCha8Rng,
    workers: Vec<Worker>,
    passes: u64,
    moves: usize,
    effort: &'a Effort,
    keep_going: &'a mut dyn FnMut(&Progress) -> bool,
    stopped: bool,
}

impl Run<'_> {
    /// Counts passes and asks; whether to go on.
    fn goes_on(&mut self, passes: u64) -> bool {
        self.passes += passes;
        let spots = self.board.spots();
        let progress = Progress {
            passes: self.passes,
            placed: spots.iter().flatten().count(),
            of: self.ground.task.parts.len(),
            score: self.ground.score(self.score, &spots),
        };
        let wanted = (self.keep_going)(&progress);
        self.stopped = self.stopped || !wanted;
        wanted && self.passes < self.effort.passes
    }

    /// The largest first, each where it is wished most.
    fn build(&mut self) {
        for part in by_size(&self.board.shapes) {
            let seen = (&self.board, &mut self.probe, self.score);
            let best = self.ground.best_free(seen, part, FIRST, &mut self.rng);
            if let Some((spot, _)) = best {
                self.board.lay(part, spot);
            }
            if !self.goes_on(1) {
                return;
            }
        }
    }

    fn left(&self) -> Vec<usize> {
        let all = by_size(&self.board.shapes).into_iter();
        all.filter(|&k| {
            self.board.spot(k).is_none() && self.ground.ways[k].iter().any(Option::is_some)
        })
        .collect()
    }

    /// Lays what is left over others, and takes all apart; more than once for each, with
    /// others first.
    fn make_room(&mut self) {
        for attempt in 0..ATTEMPTS {
            for part in self.left() {
                if self.stopped || self.passes >= self.effort.passes {
                    return;
                }
                // It may have found room where others moved.
                let seen = (&self.board, &mut self.probe, self.score);
                let free = self.ground.best_free(seen, part, FIRST, &mut self.rng);
                if let Some((spot, _)) = free {
                    self.board.lay(part, spot);
                    continue;
                }
                let starts: Vec<Board> = (0..self.workers.len())
                    .filter_map(|k| self.over_others(part, attempt + k))
                    .collect();
                if let Some(board) = self.taken_apart(starts, FOR_A_PART, |_| true) {
                    self.board = board;
                }
            }
        }
    }

    /// The board with one part more, over others; on later attempts some of them anywhere too.
    fn over_others(&mut self, part: usize, attempt: usize) -> Option<Board> {
        let mut board = self.board.clone();
        let weights = Table::new(board.shapes.len(), 1.0);
        let (ground, rng, probe) = (&self.ground, &mut self.rng, &mut self.probe);
        if attempt > 0 {
            for other in 0..board.shapes.len() {
                let shared = |f: usize| ground.ways[part][f].is_some();
                if board.spot(other).is_some_and(|s| shared(s.frame))
                    && rng.random_range(0..ATTEMPTS) < attempt.min(ATTEMPTS - 1)
                {
                    let shape = &board.shapes[other];
                    let spot =
                        super::seek::anywhere(shape, &ground.ways[other], ground.extents, rng);
                    if let Some(spot) = spot {
                        board.lay(other, spot);
                    }
                }
            }
        }
        let seen = (&board.shapes[part], &ground.ways[part], ground.extents);
        let mut cost = |spot: &Spot, bound: f32| probe.loss(&board, &weights, part, spot, bound);
        let (spot, _) = seek(seen, None, OVERLAPPING, 0.0, rng, &mut cost)?;
        board.lay(part, spot);
        Some(board)
    }

    /// Takes boards apart, one a worker; the first that comes apart and that will do.
    fn taken_apart(
        &mut self,
        starts: Vec<Board>,
        patience: Patience,
        will_do: impl Fn(&Board) -> bool,
    ) -> Option<Board> {
        let n = starts.len();
        for (worker, start) in self.workers.iter_mut().zip(starts) {
            worker.begin(start, patience);
        }
        loop {
            let busy = &mut self.workers[..n];
            for w in busy.iter() {
                if w.stage == Stage::Apart && will_do(&w.board) {
                    return Some(w.board.clone());
                }
            }
            if busy.iter().all(|w| w.stage != Stage::Going) {
                return None;
            }
            let before: u64 = busy.iter().map(|w| w.passes).sum();
            advance(busy, ROUND, self.ground.ways);
            let after: u64 = busy.iter().map(|w| w.passes).sum();
            if !self.goes_on(after - before) {
                return None;
            }
        }
    }

    /// Moves parts as long as something is gained.
    fn improve(&mut self) {
        let laid: Vec<usize> = (0..self.board.shapes.len())
            .filter(|&k| self.board.spot(k).is_some())
            .collect();
        if laid.is_empty() {
            return;
        }
        let mut idle = 0;
        while idle < DONE * laid.len() && !self.stopped && self.passes < self.effort.passes {
            idle += 1;
            let mut any = |n: usize| self.rng.random_range(0..n);
            let (a, b, what) = (laid[any(laid.len())], laid[any(laid.len())], any(10));
            let gain = match what {
                0..=6 => {
                    let with = (&mut self.probe, self.score);
                    let rng = &mut self.rng;
                    self.ground.relocate(&mut self.board, with, a, rng)
                }
                7 | 8 if a != b => {
                    let with = (&mut self.probe, self.score);
                    let rng = &mut self.rng;
                    self.ground.exchange(&mut self.board, with, [a, b], rng)
                }
                9 => self.push(a),
                _ => 0.0,
            };
            if gain > GAIN {
                idle = 0;
            }
            self.moves += 1;
            if self.moves.is_multiple_of(MOVES) && !self.goes_on(1) {
                return;
            }
        }
    }

    /// Lays a part where it is wished most, and takes apart what lies there. What was gained.
    fn push(&mut self, part: usize) -> f64 {
        let was = self.ground.score(self.score, &self.board.spots());
        let mut starts = Vec::new();
        for _ in 0..self.workers.len() {
            let (board, rng) = (&self.board, &mut self.rng);
            if let Some(spot) = self.ground.most_wished(board, self.score, part, rng) {
                let mut start = self.board.clone();
                start.lay(part, spot);
                starts.push(start);
            }
        }
        let ground = self.ground;
        let score = self.score;
        let better = |b: &Board| ground.score(score, &b.spots()) > was + GAIN;
        match self.taken_apart(starts, FOR_A_WISH, better) {
            Some(board) => {
                self.board = board;
                self.ground.score(self.score, &self.board.spots()) - was
            }
            None => 0.0,
        }
    }
}
