//! What a four-sided figure holds: a tag's frame and bits, or not.

use super::family::{BITS, CELLS, MOST_WRONG, matched, mirrored};
use super::grey::Grey;
use crate::projection::Homography;
use crate::space::{Photo, Point};
use nalgebra::{Matrix3, Vector3};

/// Plane of a tag's cells: x to the right, y down, 0 to 8 over the black square.
#[derive(Debug, Clone, Copy)]
pub(super) enum Cell {}

/// How far outside the black square the white about it is looked at, cells: it is one cell wide
/// at least, and a blurred edge lightens only slowly.
const WHITE_AT: f64 = 0.6;
/// How white that must be, from black (−1) over half way (0) to the white cells within (1): paper
/// is as white there; cloth under a tag that was cut out too closely seldom is.
const WHITE_IS: f64 = 0.4;
/// Least step from black to white, of 255.
const LEAST_STEP: f64 = 20.0;
/// Of 28 cells of the border and 32 places about it, so many may be of the wrong shade in a tag
/// that is whole, and in what may be one that is half covered.
const WHOLE: [usize; 2] = [2, 2];
const COVERED: [usize; 2] = [8, 9];

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Reading {
    Tag(Told),
    /// A tag's bits, but part of it or of the white about it is hidden.
    Covered(Option<u16>),
    /// A tag's frame, whole, with bits that are none of ours.
    Unknown,
    Mirrored(u16),
    None,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Told {
    pub id: u16,
    /// Which of the figure's corners is the tag's upper left one.
    pub upper_left: usize,
    pub wrong: u32,
    pub margin: f64,
}

/// Reads a figure whose corners are given in the photo, clockwise to the eye.
pub(super) fn read(grey: &Grey, corners: [Point<Photo>; 4]) -> Reading {
    let n = CELLS as f64;
    let cells: [Point<Cell>; 4] = [[0.0, 0.0], [n, 0.0], [n, n], [0.0, n]].map(Point::from);
    let Some(map) = Homography::through(cells, corners) else {
        return Reading::None;
    };
    let step = grey.step as f64;
    // What lies beyond the photo is not known.
    let at = |x: f64, y: f64| {
        let p = map.point(Point::new(x, y))? / step;
        let within = p.x > 0.0 && p.y > 0.0 && p.x < grey.width as f64 && p.y < grey.height as f64;
        within.then(|| grey.between(p.x, p.y))
    };
    let Some(mut frame) = Frame::of(&at) else {
        return Reading::None;
    };
    let bits: Vec<[f64; 3]> = (0..BITS * BITS)
        .map(|k| [(k % BITS) as f64 + 1.5, (k / BITS) as f64 + 1.5])
        .filter_map(|[x, y]| Some([x, y, cell(&at, x, y)?]))
        .collect();
    frame.against_white_within(&bits);
    let (mut code, mut margin) = (0u64, 0.0);
    for [x, y, v] in bits {
        let above = frame.above(v, x, y);
        code = code << 1 | u64::from(above > 0.0);
        margin += above.abs().min(1.0) / (BITS * BITS) as f64;
    }
    let whole = frame.wrong[0] <= WHOLE[0] && frame.wrong[1] <= WHOLE[1];
    match matched(code, MOST_WRONG) {
        Some(found) if whole => Reading::Tag(Told {
            id: found.id,
            upper_left: found.turns,
            wrong: found.wrong,
            margin,
        }),
        Some(found) => Reading::Covered(Some(found.id)),
        None if !whole => Reading::None,
        None => match (matched(mirrored(code), 0), matched(code, 5)) {
            (Some(found), _) => Reading::Mirrored(found.id),
            (None, Some(found)) => Reading::Covered(Some(found.id)),
            // One shade all over is a patch, not a tag.
            (None, None) if (6..=30).contains(&code.count_ones()) => Reading::Unknown,
            _ => Reading::None,
        },
    }
}

/// A cell's mean, its outer quarter left out.
fn cell(at: &impl Fn(f64, f64) -> Option<f64>, x: f64, y: f64) -> Option<f64> {
    let mut sum = 0.0;
    for dy in [-0.25, 0.0, 0.25] {
        for dx in [-0.25, 0.0, 0.25] {
            sum += at(x + dx, y + dy)?;
        }
    }
    Some(sum / 9.0)
}

/// The shades of black and white, each a plane over the tag, since light is uneven.
struct Frame {
    black: [f64; 3],
    white: [f64; 3],
    /// Places about the border: x, y, shade.
    about: Vec<[f64; 3]>,
    /// How many cells of the border, and places about it, are of the wrong shade.
    wrong: [usize; 2],
}

impl Frame {
    fn of(at: &impl Fn(f64, f64) -> Option<f64>) -> Option<Self> {
        let n = CELLS as f64;
        let (mut border, mut about) = (Vec::with_capacity(28), Vec::with_capacity(32));
        for k in 0..CELLS {
            let v = k as f64 + 0.5;
            for (x, y) in [(v, 0.5), (v, n - 0.5), (0.5, v), (n - 0.5, v)] {
                // The corners belong to the upper and lower rows.
                if x == v || (1..CELLS - 1).contains(&k) {
                    border.push([x, y, cell(at, x, y)?]);
                }
            }
            let (near, far) = (-WHITE_AT, n + WHITE_AT);
            for (x, y) in [(v, near), (v, far), (near, v), (far, v)] {
                about.push([x, y, at(x, y)?]);
            }
        }
        let mut frame = Self {
            black: plane(&border)?,
            white: plane(&about)?,
            about,
            wrong: [0; 2],
        };
        let sound = [[0.0, 0.0], [n, 0.0], [n, n], [0.0, n]]
            .iter()
            .all(|[x, y]| frame.step(*x, *y) >= LEAST_STEP);
        let above = |[x, y, v]: &[f64; 3]| frame.above(*v, *x, *y) > 0.0;
        let too_light = border.iter().filter(|p| above(p)).count();
        let too_dark = frame.about.iter().filter(|p| !above(p)).count();
        frame.wrong = [too_light, too_dark];
        let frame_like = frame.wrong[0] <= COVERED[0] && frame.wrong[1] <= COVERED[1];
        (sound && frame_like).then_some(frame)
    }

    /// Takes white from the white cells within, if there are enough, and looks again at what
    /// is about the border.
    fn against_white_within(&mut self, bits: &[[f64; 3]]) {
        let white = bits.iter().filter(|[x, y, v]| self.above(*v, *x, *y) > 0.0);
        let white: Vec<[f64; 3]> = white.copied().collect();
        // Every code has ten or more; fewer would fix no plane.
        if white.len() < 8 {
            return;
        }
        let Some(within) = plane(&white) else { return };
        let outer = std::mem::replace(&mut self.white, within);
        let dark = |[x, y, v]: &&[f64; 3]| self.above(*v, *x, *y) < WHITE_IS;
        self.wrong[1] = self.about.iter().filter(dark).count();
        self.white = outer;
    }

    fn step(&self, x: f64, y: f64) -> f64 {
        on(&self.white, x, y) - on(&self.black, x, y)
    }

    /// −1 black, 0 half way, 1 white.
    fn above(&self, v: f64, x: f64, y: f64) -> f64 {
        let middle = f64::midpoint(on(&self.white, x, y), on(&self.black, x, y));
        (v - middle) / (self.step(x, y) / 2.0)
    }
}

fn on(plane: &[f64; 3], x: f64, y: f64) -> f64 {
    plane[0] + plane[1] * x + plane[2] * y
}

/// The plane v = a + b x + c y of least squares.
fn plane(all: &[[f64; 3]]) -> Option<[f64; 3]> {
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for [x, y, v] in all {
        let row = Vector3::new(1.0, *x, *y);
        normal += row * row.transpose();
        right += row * *v;
    }
    let solved = normal.cholesky()?.solve(&right);
    Some([solved[0], solved[1], solved[2]])
}
