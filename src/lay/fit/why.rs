//! Why a part found no place.

use super::Task;
use super::arrange::{shapes, ways};
use super::construct::{FIRST, free_spot};
use super::engine::{Board, Shape, Spot};
use super::floor::frames;
use super::probe::Probe;
use super::seek::{Extent, Ways};
use super::separate::{Patience, Worker};
use super::turns::Turns;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt;
use std::sync::Arc;

/// The reason, as far as trying tells: each is found by laying the part alone on panels that
/// nothing is laid on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// No panel of its cloth is spread.
    NoCloth,
    /// It goes on no panel of its cloth, whichever way it is turned.
    TooLarge,
    /// It would go on one, but not along the grain.
    Grain,
    /// It would go on one, if nothing else lay there.
    NoRoom,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Why::NoCloth => "no panel of its cloth is spread",
            Why::TooLarge => "too large for any panel of its cloth",
            Why::Grain => "fits on no panel along its grain",
            Why::NoRoom => "no room left",
        })
    }
}

/// How long it is tried to bring a part that is alone into a panel.
const ALONE: Patience = Patience {
    passes: 30,
    strikes: 2,
};

/// Starts of it.
const STARTS: usize = 4;

pub(super) fn why(task: &Task, part: usize, seed: u64) -> Why {
    let cloth = task.parts[part].cloth;
    if task.spreads.iter().all(|s| s.cloth != cloth) {
        return Why::NoCloth;
    }
    let one = Task {
        parts: &task.parts[part..=part],
        ..*task
    };
    let Some(shape) = shapes(&one).pop().flatten() else {
        return Why::TooLarge;
    };
    let (frames, floors) = frames(task.spreads, &task.rules, f64::from(shape.area), false);
    let along = ways(task, part, &floors);
    let any: Ways = along
        .iter()
        .map(|w| w.as_ref().map(|_| Turns::Any))
        .collect();
    let board = Board::new(Arc::new([shape]), frames);
    if fits(&board, &along, seed) {
        Why::NoRoom
    } else if fits(&board, &any, seed) {
        Why::Grain
    } else {
        Why::TooLarge
    }
}

/// Whether the only part of a board goes on it.
fn fits(board: &Board, ways: &Ways, seed: u64) -> bool {
    let extents: Vec<Extent> = board.frames.iter().map(|f| (f.bounds, f.area)).collect();
    let open: Vec<usize> = (0..ways.len()).filter(|&k| ways[k].is_some()).collect();
    if open.is_empty() {
        return false;
    }
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut probe = Probe::new(&board.shapes);
    let mut any = |_: &Spot, _: [f32; 4]| 0.0;
    if free_spot(
        board,
        &mut probe,
        (0, ways, &extents),
        FIRST,
        &mut rng,
        &mut any,
    )
    .is_some()
    {
        return true;
    }
    // Where it must be fitted in: from the middles of panels, by what sticks out.
    let mut worker = Worker::new(board.clone(), seed);
    (0..STARTS).any(|k| {
        let frame = open[k % open.len()];
        let turn = ways[frame].as_ref().map_or(0.0, |t| t.pick(&mut rng));
        let mut start = board.clone();
        start.lay(0, centred(&board.shapes[0], extents[frame].0, frame, turn));
        worker.begin(start, ALONE);
        worker.advance(rng.random_range(60..80), std::slice::from_ref(ways));
        worker.stage == super::separate::Stage::Apart
    })
}

/// Box on box.
fn centred(shape: &Shape, f: [f32; 4], frame: usize, turn: f32) -> Spot {
    let b = shape.turned_box(turn);
    Spot {
        frame,
        turn,
        x: (f[0] + f[2] - b[0] - b[2]) / 2.0,
        y: (f[1] + f[3] - b[1] - b[3]) / 2.0,
    }
}
