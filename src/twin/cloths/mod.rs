//! Cloths on a table, drawn by formula: what a camera would see of them, and what is true of
//! them. House slippers are cut from faded deck-chair canvas, so that is what mostly lies here.
//!
//! A seed makes a cloth. Everything is a function of the place on the table, in linear light;
//! the camera ([`Shot`]) looks at it from above, tilted, adds noise and writes 8 bits; and
//! [`Shot::above`] lays its picture out in mm by the homography that it was taken with.

mod blob;
mod dye;
mod ground;
mod make;
mod shot;
mod speckle;
#[cfg(test)]
mod tests;

pub use make::cloth;
pub use shot::{Above, Shot};

use crate::space::{Bounds, Point, Table, Vector};
use blob::Blob;
use dye::Dye;
use ground::Ground;

/// Share of the light that the white sheets beside the cloth give back: office paper.
pub const PAPER: f64 = 0.88;

/// A dirty or bleached place.
#[derive(Debug, Clone)]
pub struct Stain {
    blob: Blob,
    /// What is left of the light, by channel.
    keeps: [f64; 3],
    /// Over so many mm it begins.
    soft: f64,
}

/// A metal eyelet: a bright ring about a dark middle.
#[derive(Debug, Clone, Copy)]
pub struct Eyelet {
    pub at: Point<Table>,
    /// Of the ring's outside, mm.
    pub radius: f64,
}

/// A seam left in: a bright flank, and a dark one.
#[derive(Debug, Clone, Copy)]
pub struct Ridge {
    pub from: Point<Table>,
    pub to: Point<Table>,
    width: f64,
    strength: f64,
}

/// A cloth on a table.
#[derive(Debug, Clone)]
pub struct Cloth {
    pub seed: u64,
    /// What it is, in a few words.
    pub kind: &'static str,
    /// What there is of the table.
    pub table: Bounds<Table>,
    /// White sheets in its corners.
    pub sheets: Vec<Bounds<Table>>,
    /// Degrees from straight above.
    pub tilt_deg: f64,
    azimuth: f64,
    /// Warp, degrees counter-clockwise from +x, 0 to 180.
    pub grain_deg: f64,
    outline: Blob,
    holes: Vec<Blob>,
    stains: Vec<Stain>,
    pub eyelets: Vec<Eyelet>,
    pub ridge: Option<Ridge>,
    dye: Dye,
    ground: Ground,
    /// Where the lamp's side is, what of the light a shadow takes, by channel (what still falls
    /// there is of another hue), and how wide it is, mm.
    shadow: (Vector<Table>, [f64; 3], f64),
    /// What of the light is missing in the corners.
    falloff: f64,
}

impl Cloth {
    /// The true outline, counter-clockwise.
    pub fn outline(&self) -> Vec<Point<Table>> {
        self.outline.ring()
    }

    /// The true outlines of its holes, counter-clockwise.
    pub fn holes(&self) -> Vec<Vec<Point<Table>>> {
        self.holes.iter().map(Blob::ring).collect()
    }

    /// The outlines of its stains at half their strength.
    pub fn stains(&self) -> Vec<Vec<Point<Table>>> {
        self.stains.iter().map(|s| s.blob.ring()).collect()
    }

    /// From a stripe to the next like it, mm; none if it has no stripes.
    pub fn repeat(&self) -> Option<f64> {
        self.dye.repeat()
    }

    /// Whether there is cloth.
    pub fn is_cloth(&self, p: Point<Table>) -> bool {
        self.outline.holds(p) && !self.holes.iter().any(|h| h.holds(p))
    }

    /// Share of the light that the surface gives back, red, green and blue.
    pub fn reflectance(&self, p: Point<Table>) -> [f64; 3] {
        self.gives_back(p, self.is_cloth(p))
    }

    fn gives_back(&self, p: Point<Table>, cloth: bool) -> [f64; 3] {
        if !cloth {
            if self.sheets.iter().any(|s| s.contains(p)) {
                return [PAPER; 3];
            }
            return self.ground.at(p);
        }
        let mut v = self.dye.at(p);
        for s in &self.stains {
            let depth = s.blob.depth(p);
            if depth > -2.0 * s.soft {
                let share = speckle::step(depth / s.soft);
                v = std::array::from_fn(|k| v[k] * (1.0 + share * (s.keeps[k] - 1.0)));
            }
        }
        if let Some(r) = &self.ridge {
            let along = r.to - r.from;
            let length = along.length();
            let by = p - r.from;
            let s = by.dot(along) / length;
            let t = along.cross(by) / length / r.width;
            if (0.0..=length).contains(&s) && t.abs() < 4.0 {
                // The slope of a bump, lit from one side.
                let lit = 1.0 + r.strength * 1.65 * t * (-t * t / 2.0).exp();
                v = v.map(|v| v * lit);
            }
        }
        for e in &self.eyelets {
            let off = (p - e.at).length() / e.radius;
            if off < 1.0 {
                let bright = 0.5 + 0.3 * ((p.x + p.y) / e.radius).sin();
                v = if off < 0.45 { [0.03; 3] } else { [bright; 3] };
            }
        }
        v
    }

    /// The light that comes from a place: what falls on it, and what it gives back.
    pub fn light(&self, p: Point<Table>) -> [f64; 3] {
        let middle = self.table.center();
        let half = self.table.size() / 2.0;
        let (u, v) = (
            (p.x - middle.x) / half.width,
            (p.y - middle.y) / half.height,
        );
        let mut falls = [1.0 - self.falloff * (u * u + v * v) / 2.0; 3];
        let cloth = self.is_cloth(p);
        if !cloth && !self.sheets.iter().any(|s| s.contains(p)) {
            // The cloth stands between the lamp and the table beside it.
            let (towards, takes, wide) = self.shadow;
            let mut depth = self.outline.depth(p + towards);
            for hole in &self.holes {
                if hole.near(p + towards) {
                    depth = depth.min(-hole.depth(p + towards));
                }
            }
            let share = speckle::step(depth / wide);
            falls = std::array::from_fn(|k| falls[k] * (1.0 - takes[k] * share));
        }
        let back = self.gives_back(p, cloth);
        std::array::from_fn(|k| back[k] * falls[k])
    }

    /// Mean light of the cloth in even light, without its holes: red, green and blue.
    pub fn mean(&self) -> [f64; 3] {
        let (mut sum, mut n) = ([0.0; 3], 0.0);
        let step = 0.7;
        let size = self.table.size();
        for j in 0..(size.height / step) as usize {
            for i in 0..(size.width / step) as usize {
                let p = self.table.min + Vector::new(i as f64 + 0.5, j as f64 + 0.5) * step;
                if self.is_cloth(p) {
                    let v = self.reflectance(p);
                    sum = std::array::from_fn(|k| sum[k] + v[k]);
                    n += 1.0;
                }
            }
        }
        sum.map(|v| v / n)
    }
}
