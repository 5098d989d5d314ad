//! Where the piece goes in to a hair's breadth: looked for when the cells, each taken for
//! covered as soon as it is touched, leave no room. What can't be told by whole cells is
//! tried exactly, the places first where least of the piece's cells is not free.

use super::Progress;
use super::cells::{Cells, Run};
use super::engine::{Engine, Spot, from_corner};
use super::fits::Free;
use super::pick::Accepts;
use crate::lay::inside_of;
use crate::space::Vector;

/// Places whose cells are counted at most, and that are tried exactly.
const MOST: usize = 30_000;
const TRIED: usize = 400;

/// A place of those 1 cell and one turn apart at which the piece fits exactly, else why
/// the last one was refused; `None` if it was stopped.
pub fn tight(
    engine: &Engine,
    accepts: Accepts,
    progress: Progress,
) -> Option<Result<Spot, Option<String>>> {
    let (width, height) = engine.size;
    if width == 0 || height == 0 || engine.turns.is_empty() {
        return Some(Err(None));
    }
    let pad = width / 64 + 3;
    let surely = engine.bed.free(&engine.grid, width, height, 0);
    let perhaps = engine.bed.perhaps(&engine.grid, width, height, pad);
    let perhaps = Free::new(perhaps, width);
    let mut places = Vec::new();
    for turn in 0..engine.turns.len() {
        if !progress(0.8 + 0.1 * turn as f64 / engine.turns.len() as f64) {
            return None;
        }
        places.extend(possible(engine, turn, &perhaps));
    }
    // Evenly some of them, if there are very many: then there is a better way in.
    let every = places.len().div_ceil(MOST).max(1);
    let mut worn: Vec<(u32, Spot)> = Vec::new();
    let mut runs = (u32::MAX, Vec::new());
    for spot in places.into_iter().step_by(every) {
        if runs.0 != spot.turn {
            let (cells, (x, y)) = engine.touched(spot.turn as usize);
            let back = |r: Run| Run {
                row: r.row + y,
                from: r.from + x,
                to: r.to + x,
            };
            runs = (spot.turn, cells.into_iter().map(back).collect());
        }
        worn.push((not_free(&runs.1, spot, &surely), spot));
    }
    worn.sort_unstable();
    let piece = inside_of(engine.ask.hand.piece);
    let mut refused = None;
    for (k, (_, spot)) in worn.into_iter().take(TRIED).enumerate() {
        if k % 20 == 0 && !progress(0.9 + 0.1 * k as f64 / TRIED as f64) {
            return None;
        }
        if !engine.bed.takes(&piece.moved(&engine.pose(spot))) {
            continue;
        }
        match accepts(&engine.places(spot)) {
            Ok(()) => return Some(Ok(spot)),
            Err(why) => refused = Some(why),
        }
    }
    Some(Err(refused))
}

/// Where nothing wholly taken lies under a cell that is wholly the piece's, and the
/// piece's box is on the grid.
fn possible(engine: &Engine, turn: usize, perhaps: &Free) -> Vec<Spot> {
    let spot = |i, j| Spot {
        turn: turn as u32,
        i,
        j,
    };
    let pose = engine.pose(spot(0, 0));
    let origin = engine.grid.origin.to_vector();
    let mut piece = inside_of(engine.ask.hand.piece).moved(&pose);
    for p in piece.rings.iter_mut().flatten() {
        *p -= origin;
    }
    let local = super::cells::Grid {
        origin: Vector::zero().to_point(),
        cell: engine.grid.cell,
    };
    let (width, height) = engine.size;
    let (runs, corner) = from_corner(local.within(&piece, i32::MIN / 2, i32::MAX));
    let wide = runs.iter().map(|r| r.to).max().unwrap_or(0) as usize;
    if runs.is_empty() || wide > width {
        return Vec::new();
    }
    let fits: Cells = perhaps.erode(&runs);
    let all = (0..height as i32).flat_map(|y| (0..width as i32).map(move |x| (x, y)));
    let there = all.filter(|&(x, y)| fits.has(x, y));
    there
        .map(|(x, y)| spot(x - corner.0, y - corner.1))
        .collect()
}

/// How many of the piece's cells are not free.
fn not_free(runs: &[Run], spot: Spot, free: &Cells) -> u32 {
    let (mut all, mut free_ones) = (0, 0);
    for run in runs {
        let from = run.from + spot.i;
        let to = run.to + spot.i;
        all += (to - from) as u32;
        free_ones += free.count_in(run.row + spot.j, from, to);
    }
    all - free_ones
}
