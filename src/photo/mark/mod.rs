//! A mark in a photo: from a click near it to its middle.
//!
//! Crosses and checker corners are places that gradients are perpendicular to (W. Förstner
//! & E. Gülch, *A Fast Operator for Detection and Precise Location of Distinct Points,
//! Corners and Centres of Circular Features*, 1987), tried about the click at several
//! sizes; rings round each tell whether four arms or four fields lie there; then both lines
//! are followed outwards, fitted and intersected. A disc is the patch that stands out, and
//! its edge an ellipse; the ellipse's middle is taken for the disc's, which on a table
//! 1 m away, tilted by 30°, is 0.02 mm off for a radius of 6 mm.

mod disc;
mod grey;
mod lines;
mod ring;

use crate::fault::{Fault, Outcome, short};
use crate::photo::Picture;
use crate::space::{Photo, Point};
use grey::Grey;
use nalgebra::{Matrix2, Vector2};
use ring::Crossing;

/// No mark is said to be known better than this, px on each axis: what sharpening and
/// compression leave. *Estimate.*
const FINEST: f64 = 0.04;
/// Arms and discs are looked at out to so far beyond the reach, px.
const AROUND: f64 = 64.0;
/// Sizes at which gradients are summed, px of radius.
const SIZES: [f64; 5] = [5.0, 8.0, 13.0, 21.0, 34.0];

/// What a mark looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Two strokes that cross.
    Cross,
    /// A filled disc.
    Disc,
    /// The corner at which two dark fields meet two light ones.
    Checker,
}

/// A mark that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Snap {
    /// Its middle.
    pub px: Point<Photo>,
    /// Standard error of that on each axis, px.
    pub error: f64,
    pub look: Look,
    /// Light on a dark ground; of a checker, false.
    pub light: bool,
}

/// The mark nearest to a click, within `reach` px of it (3 to 200): of one look, or of any.
///
/// # Errors
/// If there is none, or the click lies outside the photo.
pub fn snap(
    picture: &Picture,
    click: Point<Photo>,
    reach: f64,
    look: Option<Look>,
) -> Outcome<Snap> {
    let [w, h] = picture.size().map(|v| v as f64);
    let inside = click.x >= 0.0 && click.x <= w && click.y >= 0.0 && click.y <= h;
    if !(inside && (3.0..=200.0).contains(&reach)) {
        return Err(Fault::input(
            format!(
                "({}, {}) px is no place in the photo",
                short(click.x),
                short(click.y)
            ),
            "click on a mark",
        ));
    }
    let at = click.to_array();
    let grey = Grey::about(picture, at, reach + AROUND);
    let wanted = |one: Look| look.is_none_or(|l| l == one);
    let mut found = Vec::new();
    if wanted(Look::Cross) || wanted(Look::Checker) {
        found.extend(crossings(&grey, at, reach).filter(|s| wanted(s.look)));
    }
    if wanted(Look::Disc) {
        // A disc must stand alone in what is looked at.
        let parts = [reach + 10.0, reach + 24.0, reach + AROUND];
        found.extend(parts.into_iter().find_map(|far| {
            let grey = Grey::about(picture, at, far);
            let (px, error, _, light) = disc::find(&grey, at, reach)?;
            Some(Snap {
                px: px.into(),
                error: error.hypot(FINEST),
                look: Look::Disc,
                light,
            })
        }));
    }
    let off = |s: &Snap| (s.px - click).length();
    let nearest = found
        .into_iter()
        .filter(|s| off(s) <= reach && s.error < 0.25 * reach);
    let nearest = nearest.min_by(|a, b| off(a).total_cmp(&off(b)));
    nearest.ok_or_else(|| {
        let what = match look {
            None => "cross, disc or checker corner",
            Some(Look::Cross) => "cross",
            Some(Look::Disc) => "disc",
            Some(Look::Checker) => "checker corner",
        };
        Fault::input(
            format!(
                "there is no {what} within {} px of ({}, {})",
                short(reach.round()),
                short(click.x.round()),
                short(click.y.round())
            ),
            "click on the middle of a mark, or see that it is sharp and not hidden",
        )
    })
}

/// Crosses and checker corners about a click that are seen about as well as the best.
fn crossings(grey: &Grey, click: [f64; 2], reach: f64) -> impl Iterator<Item = Snap> + use<> {
    let slopes = Slopes::of(grey);
    let mut seen: Vec<([f64; 2], Crossing)> = Vec::new();
    for size in SIZES {
        for start in starts(click, reach, size) {
            let Some(at) = slopes.gather(start, size) else {
                continue;
            };
            let off = (at[0] - click[0]).hypot(at[1] - click[1]);
            let known = |(b, _): &([f64; 2], Crossing)| (at[0] - b[0]).hypot(at[1] - b[1]) < 0.3;
            if off > reach + 2.0 || seen.iter().any(known) {
                continue;
            }
            if let Some(crossing) = ring::crossing(grey, at, AROUND) {
                seen.push((at, crossing));
            }
        }
    }
    let most = seen.iter().map(|(_, c)| c.agree).max().unwrap_or(0);
    seen.retain(|(_, c)| 3 * c.agree >= 2 * most);
    let mut found = Vec::new();
    for (at, crossing) in seen {
        let Some((px, _)) = lines::cross(grey, at, &crossing) else {
            continue;
        };
        // Once more about the place itself, out to where its arms end.
        let Some(crossing) = ring::crossing(grey, px, AROUND) else {
            continue;
        };
        if let Some((px, error)) = lines::cross(grey, px, &crossing) {
            found.push(Snap {
                px: px.into(),
                error: error.hypot(FINEST),
                look: if crossing.strokes {
                    Look::Cross
                } else {
                    Look::Checker
                },
                light: crossing.light,
            });
        }
    }
    found.into_iter()
}

/// Where to begin: a grid over the reach.
fn starts(click: [f64; 2], reach: f64, size: f64) -> Vec<[f64; 2]> {
    let step = (0.7 * size).max(reach / 10.0);
    let n = (reach / step).ceil() as i32;
    let mut out = Vec::new();
    for r in -n..=n {
        for c in -n..=n {
            let by = [f64::from(c) * step, f64::from(r) * step];
            if by[0].hypot(by[1]) <= reach + step / 2.0 {
                out.push([click[0] + by[0], click[1] + by[1]]);
            }
        }
    }
    out
}

/// Gradients of a part of the photo.
struct Slopes<'a> {
    grey: &'a Grey,
    each: Vec<[f64; 2]>,
}

impl<'a> Slopes<'a> {
    fn of(grey: &'a Grey) -> Self {
        let [w, h] = grey.size();
        let v = |c: usize, r: usize| grey.value(c.min(w - 1), r.min(h - 1));
        let mut each = Vec::with_capacity(w * h);
        for r in 0..h {
            for c in 0..w {
                // Sobel's, smoothed across.
                let (a, b) = (c.saturating_sub(1), r.saturating_sub(1));
                let side = |c: usize| v(c, b) + 2.0 * v(c, r) + v(c, r + 1);
                let level = |r: usize| v(a, r) + 2.0 * v(c, r) + v(c + 1, r);
                each.push([side(c + 1) - side(a), level(r + 1) - level(b)]);
            }
        }
        Self { grey, each }
    }

    /// The place near `start` that the gradients within `size` are perpendicular to, in a
    /// few steps. `None` if they fix none, or it runs away.
    fn gather(&self, start: [f64; 2], size: f64) -> Option<[f64; 2]> {
        let [w, h] = self.grey.size();
        let mut at = start;
        for _ in 0..6 {
            let [c0, r0] = self.grey.pixel([at[0] - size, at[1] - size]);
            let [c1, r1] = self.grey.pixel([at[0] + size, at[1] + size]);
            let (mut n, mut b) = (Matrix2::zeros(), Vector2::zeros());
            for r in r0..=r1.min(h - 1) {
                for c in c0..=c1.min(w - 1) {
                    let p = self.grey.centre(c, r);
                    let d = Vector2::new(p[0] - at[0], p[1] - at[1]);
                    let far = d.norm_squared() / (size * size);
                    if far >= 1.0 {
                        continue;
                    }
                    let g = Vector2::from(self.each[r * w + c]);
                    let part = g * g.transpose() * (1.0 - far);
                    n += part;
                    b += part * d;
                }
            }
            let (trace, det) = (n.trace(), n.determinant());
            // A single edge fixes a line only.
            if trace <= 0.0 || 4.0 * det < 0.02 * trace * trace {
                return None;
            }
            let step = n.try_inverse()? * b;
            at = [at[0] + step.x, at[1] + step.y];
            let strayed = (at[0] - start[0]).hypot(at[1] - start[1]) > 1.5 * size;
            if strayed || !self.grey.holds(at[0], at[1], 3.0) {
                return None;
            }
            if step.norm() < 0.02 {
                break;
            }
        }
        Some(at)
    }
}

#[cfg(test)]
mod tests;
