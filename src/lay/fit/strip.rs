//! Parts on a strip of fixed width, its length made as small as can be found: cloth off the
//! roll, and the form in which the literature states its results.
//!
//! After Gardeyn, Vanden Berghe & Wauters (2025): shorten the strip, take apart what now
//! overlaps; if that fails, begin again from another lay that nearly was one, two of its
//! large parts exchanged. What is ours: the shortening grows while it succeeds and shrinks
//! while it fails, so that it needs no clock to know how far on it is.

use super::construct::{FIRST, by_size, free_spot};
use super::engine::{Board, Frame, Shape, Spot};
use super::probe::Probe;
use super::seek::Ways;
use super::separate::{Patience, Stage, Worker, advance};
use super::turns::Turns;
use super::{Effort, outline};
use crate::fault::{Fault, Outcome};
use crate::shape::Region;
use crate::space::{Cloth, Piece, Rigid, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The strip is shortened by shares between these.
const SHORTEN: [f64; 2] = [2e-5, 0.02];

/// The first of them.
const FIRST_SHARE: f64 = 0.01;

/// After so many failures it is shortened by half as much.
const FAILURES: usize = 2;

/// How long is tried while there is much to gain, and at the end.
const WIDE: Patience = Patience {
    passes: 100,
    strikes: 2,
};
const NARROW: Patience = Patience {
    passes: 60,
    strikes: 2,
};

/// Passes from one look at all workers to the next.
const ROUND: usize = 5;

/// Lays that nearly were one, at most.
const KEPT: usize = 12;

/// A part for a strip.
#[derive(Debug, Clone)]
pub struct StripPart {
    /// Its area about its origin.
    pub outline: Region<Piece>,
    /// The turns it may have, degrees; at least one.
    pub turns_deg: Vec<f64>,
}

/// A lay on a strip from the origin along +x, its width along +y.
#[derive(Debug, Clone)]
pub struct StripLay {
    /// Where each part lies.
    pub poses: Vec<Rigid<Piece, Cloth>>,
    pub length: f64,
    /// Share of the strip that the parts cover, per cent.
    pub density: f64,
    /// Passes that it took, and places that were tried.
    pub passes: u64,
    pub tried: u64,
}

/// Where the search is.
#[derive(Debug, Clone, Copy)]
pub struct StripProgress {
    pub passes: u64,
    /// Of the best lay so far.
    pub length: f64,
    pub density: f64,
}

/// The shortest lay found; `keep_going` is asked after every pass.
///
/// # Errors
/// If a part has no area, no turn, or fits into the width in none.
pub fn strip(
    parts: &[StripPart],
    width: f64,
    effort: &Effort,
    keep_going: &mut dyn FnMut(&StripProgress) -> bool,
) -> Outcome<StripLay> {
    let mut shapes = Vec::new();
    for (k, part) in parts.iter().enumerate() {
        let shape = outline::exact(&part.outline).and_then(|r| Shape::new(&r));
        shapes.push(shape.ok_or_else(|| {
            Fault::input(
                format!("part {k} has no outline that can be laid"),
                "draw it as one closed outline that does not cross itself",
            )
        })?);
    }
    let ways = parts.iter().map(|p| {
        let middles = p.turns_deg.iter().map(|t| t.to_radians() as f32).collect();
        vec![Some(Turns::Near {
            middles,
            slack: 0.0,
        })]
    });
    let area = parts.iter().map(|p| p.outline.area()).sum();
    let search = Search {
        area,
        ways: ways.collect(),
        width: width as f32,
        rng: ChaCha8Rng::seed_from_u64(effort.seed),
    };
    search.check(&shapes)?;
    let found = search.run(shapes, effort, keep_going)?;
    let pose = |s: Spot| {
        let shift = Vector::new(f64::from(s.x), f64::from(s.y));
        Rigid::new(false, f64::from(s.turn), shift)
    };
    Ok(StripLay {
        poses: found.spots.into_iter().flatten().map(pose).collect(),
        length: found.length,
        density: density(area, width, found.length),
        passes: found.passes,
        tried: found.tried,
    })
}

struct Found {
    spots: Vec<Option<Spot>>,
    length: f64,
    passes: u64,
    tried: u64,
}

fn density(area: f64, width: f64, length: f64) -> f64 {
    100.0 * area / (width * length)
}

struct Search {
    area: f64,
    ways: Vec<Ways>,
    width: f32,
    rng: ChaCha8Rng,
}

/// Spots, and how much overlap they had.
type Near = (f32, Vec<Option<Spot>>);

impl Search {
    fn check(&self, shapes: &[Shape]) -> Outcome<()> {
        let fits = |shape: &Shape, ways: &Ways| match &ways[0] {
            Some(Turns::Near { middles, .. }) => middles.iter().any(|&t| {
                let b = shape.turned_box(t);
                b[3] - b[1] < self.width
            }),
            _ => true,
        };
        match (0..shapes.len()).find(|&k| !fits(&shapes[k], &self.ways[k])) {
            None => Ok(()),
            Some(k) => Err(Fault::input(
                format!("part {k} is wider than the strip"),
                "take a wider strip, or allow it to be turned",
            )),
        }
    }

    /// Left-bottom-fill on a strip long enough.
    fn first(&mut self, shapes: Vec<Shape>) -> Outcome<(Board, f32)> {
        let longest = shapes.iter().map(|s| s.size.diameter).fold(0.0, f32::max);
        let mut length = (self.area as f32 / self.width * 1.5).max(longest * 1.01);
        let mut board = Board::new(shapes.into(), frame(length, self.width)?);
        let mut probe = Probe::new(&board.shapes);
        for part in by_size(&board.shapes.clone()) {
            loop {
                let extents = [(board.frames[0].bounds, board.frames[0].area)];
                let width = self.width;
                // Along first; across it decides between places as far along.
                let mut cost =
                    |_: &Spot, b: [f32; 4]| b[2] + 0.1 * b[0] + 0.1 * length * b[3] / width;
                let at = (part, &self.ways[part], &extents[..]);
                let rng = &mut self.rng;
                match free_spot(&board, &mut probe, at, FIRST, rng, &mut cost) {
                    Some((spot, _)) => {
                        board.lay(part, spot);
                        break;
                    }
                    None => {
                        length *= 1.2;
                        let spots = board.spots();
                        board = board.reframed(frame(length, self.width)?);
                        board.restore(&spots);
                    }
                }
            }
        }
        let end = used(&board);
        Ok((board, end))
    }

    fn run(
        mut self,
        shapes: Vec<Shape>,
        effort: &Effort,
        keep_going: &mut dyn FnMut(&StripProgress) -> bool,
    ) -> Outcome<Found> {
        let (board, end) = self.first(shapes)?;
        let mut best = (end, board.spots());
        let worker = |k: u64| Worker::new(board.clone(), effort.seed.wrapping_mul(31) + k + 1);
        let mut workers: Vec<Worker> = (0..effort.workers.clamp(1, 8) as u64).map(worker).collect();
        let mut goals = vec![f32::INFINITY; workers.len()];
        let mut share = FIRST_SHARE;
        let mut near: Vec<Near> = Vec::new();
        let mut failed = 0;
        loop {
            for (worker, goal) in workers.iter_mut().zip(&mut goals) {
                match worker.stage {
                    // Another has found as short a lay meanwhile.
                    Stage::Going if *goal < best.0 => continue,
                    Stage::Going => {}
                    Stage::Apart if goal.is_finite() => {
                        let end = used(&worker.board);
                        if end < best.0 {
                            best = (end, worker.board.spots());
                            near.clear();
                            share = (share * if failed == 0 { 1.3 } else { 1.0 }).min(SHORTEN[1]);
                            failed = 0;
                        }
                    }
                    Stage::Apart => {}
                    Stage::Stuck(loss) => {
                        near.push((loss, worker.board.spots()));
                        near.sort_by(|a, b| a.0.total_cmp(&b.0));
                        near.truncate(KEPT);
                        failed += 1;
                        if failed % FAILURES == 0 {
                            share = (share * 0.5).max(SHORTEN[0]);
                            near.clear();
                        }
                    }
                }
                let length = (f64::from(best.0) * (1.0 - share)) as f32;
                let start = self.start(&best.1, &near, &worker.board);
                let board = self.shortened(&worker.board, &start, length)?;
                let patience = if share > 1e-3 { WIDE } else { NARROW };
                worker.begin(board, patience);
                *goal = length;
            }
            advance(&mut workers, ROUND, &self.ways);
            let passes = workers.iter().map(|w| w.passes).sum();
            let length = f64::from(best.0);
            let progress = StripProgress {
                passes,
                length,
                density: density(self.area, f64::from(self.width), length),
            };
            if !keep_going(&progress) || passes >= effort.passes {
                return Ok(Found {
                    spots: best.1,
                    length,
                    passes,
                    tried: workers.iter().map(Worker::tried).sum(),
                });
            }
        }
    }

    /// Where the next attempt starts: the best lay; after a failure one that nearly was one,
    /// two large parts of it exchanged.
    fn start(&mut self, best: &[Option<Spot>], near: &[Near], board: &Board) -> Vec<Option<Spot>> {
        if near.is_empty() {
            return best.to_vec();
        }
        // The better the likelier.
        let at: f64 = self.rng.random_range(0.0..1.0);
        let mut spots = near[(at * at * near.len() as f64) as usize].1.clone();
        let order = by_size(&board.shapes);
        let large = order.len().div_ceil(4).max(2).min(order.len());
        let (a, b) = (
            order[self.rng.random_range(0..large)],
            order[self.rng.random_range(0..large)],
        );
        if let (Some(p), Some(q)) = (spots[a], spots[b]) {
            spots[a] = Some(Spot { turn: p.turn, ..q });
            spots[b] = Some(Spot { turn: q.turn, ..p });
        }
        spots
    }

    /// The lay on a strip of another length: at a random place along it, what lies beyond
    /// moves back, and what reaches over the end with it.
    fn shortened(&mut self, board: &Board, spots: &[Option<Spot>], length: f32) -> Outcome<Board> {
        let mut next = board.reframed(frame(length, self.width)?);
        let mut old = 0.0f32;
        let boxes: Vec<_> = spots
            .iter()
            .enumerate()
            .map(|(part, s)| {
                let s = (*s)?;
                let b = board.shapes[part].turned_box(s.turn);
                old = old.max(s.x + b[2]);
                Some((s, b))
            })
            .collect();
        let (cut, back) = (
            self.rng.random_range(0.0..1.0) * old,
            (old - length).max(0.0),
        );
        for (part, at) in boxes.into_iter().enumerate() {
            let Some((mut s, b)) = at else { continue };
            if s.x + (b[0] + b[2]) / 2.0 > cut {
                s.x -= back;
            }
            // A hair's breadth from the edges: touching counts as crossing.
            let hair = 1e-5 * length;
            s.x = s.x.min(length - b[2] - hair).max(hair - b[0]);
            s.y = s.y.min(self.width - b[3] - hair).max(hair - b[1]);
            next.lay(part, s);
        }
        Ok(next)
    }
}

fn frame(length: f32, width: f32) -> Outcome<Vec<Frame>> {
    match Frame::rectangle(length, width) {
        Some(frame) => Ok(vec![frame]),
        None => Err(Fault::input(
            "the strip has no width",
            "give its width as a length",
        )),
    }
}

/// How far along the strip parts reach.
fn used(board: &Board) -> f32 {
    let ends = (0..board.shapes.len()).filter_map(|p| board.bounds(p));
    ends.map(|b| b[2]).fold(0.0, f32::max)
}

#[cfg(test)]
mod tests;
