//! Where the piece goes in to a hair's breadth: looked for when the cells, each taken for
//! covered as soon as it is touched, leave no room. What can't be told by whole cells is
//! tried exactly, the places first where least of the piece's cells is not free.

use super::Progress;
use super::cells::{Cells, Run};
use super::engine::{Engine, Spot};
use super::pick::Accepts;
use super::room::touched;

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
    let surely = engine.bed.free(&engine.grid, width, height, 0);
    let mut places = Vec::new();
    for turn in 0..engine.turns.len() {
        if !progress(0.8 + 0.1 * turn as f64 / engine.turns.len() as f64) {
            return None;
        }
        places.extend(engine.perhaps(turn));
    }
    // Evenly some of them, if there are very many: then there is a better way in.
    let every = places.len().div_ceil(MOST).max(1);
    let mut worn: Vec<(u32, Spot)> = Vec::new();
    let mut runs = (u32::MAX, Vec::new());
    for spot in places.into_iter().step_by(every) {
        if runs.0 != spot.turn {
            let (cells, (x, y)) = touched(&engine.lying(spot.turn as usize), engine.grid.cell);
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
    let mut refused = None;
    for (k, (_, spot)) in worn.into_iter().take(TRIED).enumerate() {
        if k % 20 == 0 && !progress(0.9 + 0.1 * k as f64 / TRIED as f64) {
            return None;
        }
        if !engine.fits_exactly(spot) {
            continue;
        }
        match accepts(&engine.places(spot)) {
            Ok(()) => return Some(Ok(spot)),
            Err(why) => refused = Some(why),
        }
    }
    Some(Err(refused))
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
