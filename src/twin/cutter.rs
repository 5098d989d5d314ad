//! A person who cuts along light: an outside witness of what hand, tool, plies and focus
//! put into an edge.

use super::normal;
use super::rig::Rig;
use crate::space::{Point, Table, Vector};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

/// What a cutter does wrong, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Faults {
    /// Standard deviation of the blade across the line it follows.
    pub hand: f64,
    /// How far outside the line the hand keeps, everywhere.
    pub outside: f64,
    /// The blade lifts the cloth by so much wherever it cuts.
    pub lift: f64,
    /// Standard deviation of the lift along the line.
    pub uneven: f64,
    /// How far inward the eye sees the light's edge: it spills. By place a third more or
    /// less.
    pub spill: f64,
    /// Standard deviation of the lower ply's slide, on each axis.
    pub slide: f64,
}

/// Errors along a line change over this length, mm.
const LENGTH: f64 = 120.0;

/// A cutter at a rig's table.
#[derive(Debug, Clone)]
pub struct Cutter {
    faults: Faults,
    rng: ChaCha8Rng,
}

impl Cutter {
    pub fn new(faults: Faults, seed: u64) -> Self {
        Self {
            faults,
            rng: ChaCha8Rng::seed_from_u64(seed),
        }
    }

    /// Cuts along a closed line of light (counter-clockwise, points of the table where it
    /// falls), and gives back where the blade went through the flat cloth, and through the
    /// lower ply if there is one.
    pub fn cut(
        &mut self,
        rig: &Rig,
        line: &[Point<Table>],
    ) -> (Vec<Point<Table>>, Vec<Point<Table>>) {
        let f = self.faults;
        let [x, y, z] = rig.lens();
        let n = line.len();
        let round: f64 = (0..n).map(|k| (line[(k + 1) % n] - line[k]).length()).sum();
        let mut waves = |size: f64| Wave::new(&mut self.rng, size, round);
        let (hand, lift, spill) = (waves(f.hand), waves(f.uneven), waves(f.spill / 3.0));
        let slide = normal::pair(&mut self.rng);
        let slide = Vector::new(slide[0], slide[1]) * f.slide;
        let (mut along, mut cut) = (0.0, Vec::with_capacity(n));
        for k in 0..n {
            let (before, here, after) = (line[(k + n - 1) % n], line[k], line[(k + 1) % n]);
            let way = (after - before).normalize();
            let out = Vector::new(way.y, -way.x);
            // Light for the flat cloth meets lifted cloth nearer to the lens; the cloth
            // there came from further out by as much as it is lifted straight up.
            let raised = f.lift + lift.at(along);
            let ray = Vector::new(x, y) - here.to_vector();
            let met = here + ray * (raised / z);
            let off = f.outside + hand.at(along) - f.spill + spill.at(along);
            cut.push(met + out * off);
            along += (after - here).length();
        }
        let lower = cut.iter().map(|p| *p + slide).collect();
        (cut, lower)
    }
}

/// A smooth random function round a closed line: a few waves with random phases.
struct Wave {
    parts: Vec<(f64, f64, f64)>,
}

impl Wave {
    fn new(rng: &mut ChaCha8Rng, size: f64, round: f64) -> Self {
        let count = ((round / LENGTH).ceil() as usize).max(2);
        // Cosine and sine of each wave, of equal share.
        let share = size / (count as f64).sqrt();
        let parts = (1..=count).map(|k| {
            let [a, b] = normal::pair(rng);
            (TAU * k as f64 / round, a * share, b * share)
        });
        Self {
            parts: parts.collect(),
        }
    }

    fn at(&self, along: f64) -> f64 {
        let each = self.parts.iter().map(|(w, a, b)| {
            let (sin, cos) = (w * along).sin_cos();
            a * cos + b * sin
        });
        each.sum()
    }
}
