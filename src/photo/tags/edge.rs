//! One side of a tag's black square, found in the photo at full resolution: where the light
//! between black and white is half way.
//!
//! Half of *linear* light: a lens spreads light, so that a straight edge's half light stays where
//! the edge is, whatever the blur, if that is the same on both sides. Half of the codes that a
//! camera writes lies nearer to the black by half the blur's standard deviation.

use crate::adjust::median;
use crate::photo::Picture;
use crate::space::{Photo, Point, Vector};
use nalgebra::{Matrix3, Vector3};

/// Most places along a side that are told apart.
const PLACES: f64 = 48.0;
/// Of a place's step from black to white, least, against the median of all along the side.
const LEAST_STEP: f64 = 0.4;
/// What lies farther off than so many standard deviations is not of the edge (Tukey's biweight;
/// Huber, *Robust Statistics*, 1981: 4.685 keeps 95 % of the normal's efficiency).
const TUKEY: f64 = 4.685;
/// A side is bent if it differs from straight by more than so many standard errors.
const BENT: f64 = 4.0;

/// Why a side is not to be had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lost {
    /// A part of it is hidden.
    Covered,
    /// It is blurred, or small, so that black and white are not reached within a cell.
    Blurred,
    /// It is neither straight nor evenly bent.
    Crumpled,
}

/// A side from one corner to the next, clockwise to the eye: the black on its right.
#[derive(Debug, Clone, Copy)]
pub(super) struct Side {
    from: Point<Photo>,
    along: Vector<Photo>,
    out: Vector<Photo>,
    length: f64,
    /// Offset outward, px: over 1, s, s² with s from −1 at `from` to 1 at the other corner.
    offset: Vector3<f64>,
    /// Of the offset's three numbers.
    covariance: Matrix3<f64>,
    /// Standard deviation of what single places differ by, px.
    pub scatter: f64,
    /// Of the light's fall from white to black, px.
    pub blur: f64,
    /// The white is as bright as a camera can write.
    pub clipped: bool,
}

/// The fall of light at one place along a side.
struct Place {
    s: f64,
    /// Offset outward, px.
    at: f64,
    step: f64,
    white: f64,
    /// Between a quarter and three quarters of the step, px.
    quarters: f64,
}

impl Side {
    /// Looks for the side near the line between two corners, as far as `reach` px in and out;
    /// `cell` is the length of a tag's cell there, px.
    pub fn near(
        picture: &Picture,
        corners: [Point<Photo>; 2],
        reach: f64,
        cell: f64,
    ) -> Result<Self, Lost> {
        let [from, to] = corners;
        let length = (to - from).length();
        let along = (to - from) / length;
        let mut side = Self {
            from,
            along,
            out: Vector::new(along.y, -along.x),
            length,
            offset: Vector3::zeros(),
            covariance: Matrix3::zeros(),
            scatter: 0.0,
            blur: 0.0,
            clipped: false,
        };
        // Blurred corners are round.
        let clear = (0.5 * cell).max(reach);
        let usable = length - 2.0 * clear;
        if usable < 8.0 {
            return Err(Lost::Blurred);
        }
        let count = usable.min(PLACES).floor();
        let run = usable / count;
        let places: Vec<Option<Place>> = (0..count as usize)
            .map(|k| side.place(picture, clear + run * (k as f64 + 0.5), run, reach))
            .collect();
        side.fit(places)?;
        Ok(side)
    }

    /// The fall of light about `t` px along the side, averaged over `run` px along it.
    fn place(&self, picture: &Picture, t: f64, run: f64, reach: f64) -> Option<Place> {
        let fine = (reach / 16.0).max(0.5);
        let half = (reach / fine).ceil();
        let looks = (2.0 * half) as usize + 1;
        let rows = run.ceil();
        let mut fall = vec![0.0; looks];
        for row in 0..rows as usize {
            let t = t + run * ((row as f64 + 0.5) / rows - 0.5);
            let foot = self.from + self.along * t;
            for (k, sum) in fall.iter_mut().enumerate() {
                let p = foot + self.out * ((k as f64 - half) * fine);
                let [red, green, blue] = picture.between(p.x, p.y);
                *sum += (red + 2.0 * green + blue) / (4.0 * rows);
            }
        }
        // Black and white where a fifth of the reach is left.
        let level = (0.2 * looks as f64).round().max(1.0) as usize;
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
        let black = mean(&fall[..level]);
        let white = mean(&fall[looks - level..]);
        let step = white - black;
        if step <= 0.0 {
            return None;
        }
        // The way up through half nearest to where it is looked for.
        let half_way = black + 0.5 * step;
        let ways = (1..looks).filter(|&k| fall[k - 1] < half_way && fall[k] >= half_way);
        let middle = looks as f64 / 2.0;
        let far = |k: &usize| (*k as f64 - middle).abs();
        let up = ways.min_by(|a, b| far(a).total_cmp(&far(b)))?;
        let (low, high) = (black + 0.25 * step, black + 0.75 * step);
        let below = (0..up).rev().find(|&k| fall[k] < low)?;
        let above = (up..looks).find(|&k| fall[k] >= high)?;
        let between = |k: usize, v: f64| k as f64 + (v - fall[k]) / (fall[k + 1] - fall[k]);
        Some(Place {
            s: 2.0 * t / self.length - 1.0,
            at: (between(up - 1, half_way) - half) * fine,
            step,
            white,
            quarters: (between(above - 1, high) - between(below, low)) * fine,
        })
    }

    /// Fits an evenly bent line, or a straight one where the bend is not to be told from none.
    fn fit(&mut self, places: Vec<Option<Place>>) -> Result<(), Lost> {
        let seen: Vec<&Place> = places.iter().flatten().collect();
        if 2 * seen.len() < places.len() || seen.len() < 6 {
            return Err(Lost::Covered);
        }
        let step = middle(&seen, |p| p.step);
        let sound = |p: &&Place| p.step >= LEAST_STEP * step;
        let (s, at): (Vec<f64>, Vec<f64>) = places
            .iter()
            .flatten()
            .filter(sound)
            .map(|p| (p.s, p.at))
            .unzip();
        let bent = robust(&s, &at, 3).ok_or(Lost::Covered)?;
        let bend = bent.offset[2];
        let found = if bend.abs() > BENT * bent.covariance[(2, 2)].sqrt() {
            bent
        } else {
            robust(&s, &at, 2).ok_or(Lost::Covered)?
        };
        // What is hidden leaves no fall of light, or one elsewhere.
        let limit = (4.0 * found.scatter).max(0.7);
        let on = |p: &Place| {
            let off = p.at - found.offset.dot(&powers(p.s));
            p.step >= LEAST_STEP * step && off.abs() <= limit
        };
        let (mut gap, mut longest, mut missing) = (0, 0, 0);
        for place in &places {
            gap = if place.as_ref().is_some_and(on) {
                0
            } else {
                gap + 1
            };
            missing += usize::from(gap > 0);
            longest = longest.max(gap);
        }
        if longest as f64 > (0.15 * places.len() as f64).max(2.0) || 4 * missing > places.len() {
            return Err(Lost::Covered);
        }
        if found.scatter > (0.004 * self.length).max(0.5) || bend.abs() > 0.02 * self.length {
            return Err(Lost::Crumpled);
        }
        self.offset = found.offset;
        self.covariance = found.covariance;
        self.scatter = found.scatter;
        // Of a normal blur, quarter and three quarters are 1.349 standard deviations apart; what
        // looking between pixels adds has a variance of 1/6 px².
        let blur = middle(&seen, |p| p.quarters) / 1.349;
        self.blur = (blur * blur - 1.0 / 6.0).max(0.01).sqrt();
        self.clipped = middle(&seen, |p| p.white) > 0.985;
        Ok(())
    }

    /// Where this side meets the next, and the standard error along each of x and y, px.
    pub fn meets(&self, next: &Self) -> Option<(Point<Photo>, f64)> {
        let (mut s, mut r) = (1.0, -1.0);
        for _ in 0..8 {
            let gap = self.at(s) - next.at(r);
            let (u, v) = (self.slope(s), next.slope(r));
            let across = u.cross(v);
            if across.abs() < 1e-3 * u.length() * v.length() {
                return None;
            }
            s -= gap.cross(v) / across;
            r -= gap.cross(u) / across;
        }
        let sine = self.slope(s).normalize().cross(next.slope(r).normalize());
        let variance = |side: &Self, s: f64| powers(s).dot(&(side.covariance * powers(s)));
        // The two sides' errors lie along their normals: trace of N⁻¹ diag(v) N⁻ᵀ, halved.
        let both = variance(self, s) + variance(next, r);
        Some((self.at(s), (both / 2.0).sqrt() / sine.abs()))
    }

    fn at(&self, s: f64) -> Point<Photo> {
        let t = f64::midpoint(s, 1.0) * self.length;
        self.from + self.along * t + self.out * self.offset.dot(&powers(s))
    }

    fn slope(&self, s: f64) -> Vector<Photo> {
        let rise = self.offset[1] + 2.0 * s * self.offset[2];
        self.along * (self.length / 2.0) + self.out * rise
    }
}

fn powers(s: f64) -> Vector3<f64> {
    Vector3::new(1.0, s, s * s)
}

struct Fitted {
    offset: Vector3<f64>,
    covariance: Matrix3<f64>,
    scatter: f64,
}

/// Polynomial of `terms` numbers through places, outliers weighed down by how far they lie off.
fn robust(s: &[f64], at: &[f64], terms: usize) -> Option<Fitted> {
    let n = s.len();
    if n < terms + 3 {
        return None;
    }
    let mut weights = vec![1.0; n];
    let (mut offset, mut covariance) = (Vector3::zeros(), Matrix3::zeros());
    let mut scatter = 0.0;
    for round in 0..12 {
        let (mut normal, mut right) = (Matrix3::identity(), Vector3::zeros());
        normal.view_mut((0, 0), (terms, terms)).fill(0.0);
        for ((s, at), w) in s.iter().zip(at).zip(&weights) {
            let mut row = powers(*s);
            row.rows_mut(terms, 3 - terms).fill(0.0);
            normal += row * row.transpose() * *w;
            right += row * (*at * *w);
        }
        let inverse = normal.cholesky()?.inverse();
        offset = inverse * right;
        let off: Vec<f64> = s
            .iter()
            .zip(at)
            .map(|(s, at)| at - offset.dot(&powers(*s)))
            .collect();
        // The median of absolute deviations is 0.6745 standard deviations of a normal.
        let spread = middle(&off, |v| v.abs()) / 0.6745;
        if round < 10 {
            let reach = TUKEY * spread.max(1e-3);
            for (w, v) in weights.iter_mut().zip(&off) {
                let u = (v / reach).clamp(-1.0, 1.0);
                *w = (1.0 - u * u).powi(2);
            }
        } else {
            // Kept or left out, for a variance that means what it says.
            let kept = |w: &f64| *w > 0.0;
            let count = weights.iter().filter(|w| kept(w)).count();
            let free = count.saturating_sub(terms).max(1) as f64;
            let sum: f64 = off
                .iter()
                .zip(&weights)
                .filter(|(_, w)| kept(w))
                .map(|(v, _)| v * v)
                .sum();
            scatter = (sum / free).sqrt();
            for w in &mut weights {
                *w = f64::from(*w > 0.0);
            }
            covariance = inverse * (scatter * scatter);
        }
    }
    // Terms that were not asked for are nought, and surely so.
    for k in terms..3 {
        covariance.row_mut(k).fill(0.0);
        covariance.column_mut(k).fill(0.0);
    }
    Some(Fitted {
        offset,
        covariance,
        scatter,
    })
}

/// The middle of what is said of each.
fn middle<T>(all: &[T], of: impl Fn(&T) -> f64) -> f64 {
    median(&mut all.iter().map(of).collect::<Vec<f64>>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{GrayImage, ImageFormat, Luma};
    use statrs::distribution::{ContinuousCDF, Normal};
    use std::io::Cursor;

    /// A straight edge through (100, 100), `slope` px down a px to the right, white above it: what a
    /// normal blur makes of it, in closed form.
    fn edge(slope: f64, blur: f64, light: [f64; 2]) -> Picture {
        let normal = Normal::new(0.0, blur).unwrap();
        let picture = GrayImage::from_fn(200, 200, |x, y| {
            let (x, y) = (f64::from(x) + 0.5 - 100.0, f64::from(y) + 0.5 - 100.0);
            let above = (slope * x - y) / slope.hypot(1.0);
            let v = light[0] + (light[1] - light[0]) * normal.cdf(above);
            let code = 255.0 * (1.055 * v.powf(1.0 / 2.4) - 0.055);
            Luma([code.round() as u8])
        });
        let mut bytes = Vec::new();
        picture
            .write_to(&mut Cursor::new(&mut bytes), ImageFormat::Png)
            .unwrap();
        Picture::read(&bytes).unwrap()
    }

    #[test]
    fn an_edge_is_where_it_was_before_the_blur() {
        for (slope, blur) in [(0.03, 0.7), (0.31, 1.5), (-0.2, 2.5)] {
            let picture = edge(slope, blur, [0.03, 0.8]);
            // Looked for 1.2 px too low on the left, 0.8 px too high on the right.
            let at = |x: f64, off: f64| Point::new(100.0 + x, 100.0 + slope * x + off);
            let ends = [at(-80.0, 1.2), at(80.0, -0.8)];
            let near = |ends| Side::near(&picture, ends, 3.2 * blur + 1.5, 20.0).unwrap();
            let rough = near(ends);
            let side = near([-1.0, 1.0].map(|s| rough.at(s)));
            assert!((side.blur / blur - 1.0).abs() < 0.1, "{blur} {}", side.blur);
            for s in [-1.0, -0.3, 0.4, 1.0] {
                let p = side.at(s);
                let off = (p.y - 100.0) - slope * (p.x - 100.0);
                // Half of the codes would be 0.4 times the blur off.
                assert!(off.abs() < 0.01, "{slope} {blur} {s}: {off}");
            }
        }
    }

    #[test]
    fn what_is_half_hidden_or_not_there_is_lost() {
        let ends = |slope: f64| {
            [
                Point::new(20.0, 100.0 - 80.0 * slope),
                Point::new(180.0, 100.0 + 80.0 * slope),
            ]
        };
        let picture = edge(0.0, 0.8, [0.03, 0.8]);
        assert!(Side::near(&picture, ends(0.0), 6.0, 20.0).is_ok());
        // The edge leaves the strip that is looked at.
        assert_eq!(
            Side::near(&picture, ends(0.15), 6.0, 20.0).unwrap_err(),
            Lost::Covered
        );
        // White and black the other way round.
        let [a, b] = ends(0.0);
        assert_eq!(
            Side::near(&picture, [b, a], 6.0, 20.0).unwrap_err(),
            Lost::Covered
        );
        assert_eq!(
            Side::near(&picture, [a, a.lerp(b, 0.1)], 6.0, 2.0).unwrap_err(),
            Lost::Blurred
        );
    }

    #[test]
    fn outliers_are_left_out_and_bends_kept() {
        let s: Vec<f64> = (0..40).map(|k| f64::from(k) / 20.0 - 0.975).collect();
        let mut at: Vec<f64> = s.iter().map(|s| 0.3 - 0.2 * s + 0.5 * s * s).collect();
        for k in [3, 17, 18, 30, 31] {
            at[k] += 4.0;
        }
        let fitted = robust(&s, &at, 3).unwrap();
        assert!((fitted.offset - Vector3::new(0.3, -0.2, 0.5)).norm() < 1e-9);
        assert!(robust(&s[..4], &at[..4], 3).is_none());
    }
}
