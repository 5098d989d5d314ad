//! The head as a ball, and the shadow it throws on the table's plane.

use crate::projection::LensPlace;
use crate::space::{Bounds, Point, Table, Vector};
use std::f64::consts::TAU;

/// A ball above the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    /// What its middle is straight above.
    pub at: Point<Table>,
    /// Its middle above the table, mm.
    pub height: f64,
    /// mm.
    pub radius: f64,
}

/// An ellipse on the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oval {
    pub middle: Point<Table>,
    /// Half its length, and half its width, mm.
    pub half: [f64; 2],
    /// Which way its length runs: a unit vector.
    pub along: Vector<Table>,
}

/// The cone from the lens that touches a ball.
struct Cone {
    /// From the lens' foot to the ball, on the table: a unit vector.
    along: Vector<Table>,
    /// Of its axis, from straight down.
    tilt: f64,
    /// Between axis and side.
    half: f64,
}

impl Head {
    /// Whether the lens hangs higher than the head's top: only then does its shadow end.
    pub fn is_below(&self, lens: &LensPlace) -> bool {
        lens.height > self.height + self.radius
    }

    /// Whether the head takes the lens' light from a place of the table: it does if the way
    /// there comes nearer to its middle than its radius.
    pub fn hides(&self, lens: &LensPlace, p: Point<Table>) -> bool {
        let ray = (p - lens.foot).extend(-lens.height);
        let middle = (self.at - lens.foot).extend(self.height - lens.height);
        let nearest = (middle.dot(ray) / ray.square_length()).clamp(0.0, 1.0);
        (ray * nearest - middle).square_length() < self.radius * self.radius
    }

    fn cone(&self, lens: &LensPlace) -> Option<Cone> {
        if !self.is_below(lens) {
            return None;
        }
        let flat = self.at - lens.foot;
        let (far, drop) = (flat.length(), lens.height - self.height);
        Some(Cone {
            // Straight below, every way is along.
            along: match far > 0.0 {
                true => flat / far,
                false => Vector::new(1.0, 0.0),
            },
            tilt: far.atan2(drop),
            half: (self.radius / far.hypot(drop)).asin(),
        })
    }

    /// Its shadow; `None` if it does not end.
    ///
    /// Along the plane through lens and head the cone's sides meet the table h·tan(θ ± α) from
    /// the foot, with θ the axis' tilt and α the half angle; the section's eccentricity is
    /// sin θ / cos α.
    pub fn oval(&self, lens: &LensPlace) -> Option<Oval> {
        let Cone { along, tilt, half } = self.cone(lens)?;
        let [near, far] = [tilt - half, tilt + half].map(|a| lens.height * a.tan());
        let long = (far - near) / 2.0;
        let eccentricity = tilt.sin() / half.cos();
        let wide = long * (1.0 - eccentricity * eccentricity).max(0.0).sqrt();
        Some(Oval {
            middle: lens.foot + along * ((near + far) / 2.0),
            half: [long, wide],
            along,
        })
    }

    /// Its shadow's outline, `count` places of it: where the cone's sides, at equal steps about
    /// its axis, meet the table. Empty if it does not end.
    pub fn outline(&self, lens: &LensPlace, count: u32) -> Vec<Point<Table>> {
        let Some(Cone { along, tilt, half }) = self.cone(lens) else {
            return Vec::new();
        };
        let across = Vector::new(-along.y, along.x);
        let ((st, ct), (sa, ca)) = (tilt.sin_cos(), half.sin_cos());
        let place = |k: u32| {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(count)).sin_cos();
            let down = ca * ct - sa * cos * st;
            let out = (ca * st + sa * cos * ct) / down;
            let aside = sa * sin / down;
            lens.foot + (along * out + across * aside) * lens.height
        };
        (0..count).map(place).collect()
    }

    /// The least box about its shadow; `None` if it does not end.
    ///
    /// Seen along an axis of the table the ball is a disc, and the shadow ends where the two
    /// lines from the lens that touch the disc meet the table.
    pub fn reach(&self, lens: &LensPlace) -> Option<Bounds<Table>> {
        if !self.is_below(lens) {
            return None;
        }
        let drop = lens.height - self.height;
        let ends = |by: f64| {
            let (tilt, half) = (by.atan2(drop), (self.radius / by.hypot(drop)).asin());
            [tilt - half, tilt + half].map(|a| lens.height * a.tan())
        };
        let flat = self.at - lens.foot;
        let ([left, right], [near, far]) = (ends(flat.x), ends(flat.y));
        let [low, high] = [Vector::new(left, near), Vector::new(right, far)];
        Some(Bounds::new(lens.foot + low, lens.foot + high))
    }
}
