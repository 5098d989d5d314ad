//! Holes: where the table is seen through the cloth.

use super::apart::Apart;
use super::edge::refined;
use super::mask::Mask;
use super::ring::zero_lines;
use super::window::Window;
use crate::raster::Raster;
use crate::shape::{Hull, Region, Ring, signed_area};
use crate::space::Table;

/// Smaller holes are not listed, mm across. All of [`ALL`] mm and more are looked for.
pub const LEAST: f64 = 6.0;
/// Holes of this size and more are what is promised, mm across.
pub const ALL: f64 = 10.0;

/// A place must look like table so clearly, in logarithms of odds, on average.
const CLEAR: f32 = -1.2;

/// With what lies within it, it is no larger than so many times itself.
const ISLANDS: f64 = 1.05;

/// A small part that is bent about something, its hull so many times its own area, is the shaded
/// side of an eyelet's ring.
const SICKLE: f64 = 16.0;
const BENT: f64 = 1.15;

/// A hole in the cloth.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// Counter-clockwise.
    pub outline: Ring<Table>,
    /// Diameter of the disc of its area, mm.
    pub across: f64,
}

/// The largest first.
pub(super) fn holes(light: &Raster<[f32; 3], Table>, apart: &Apart) -> Vec<Hole> {
    let (w, h) = (apart.whole.width, apart.whole.height);
    let inside = apart.whole.shrunk((2.0 / apart.field.cell()) as f32);
    let odds = apart.odds.values();
    let open = Mask::new(w, h, |k| inside.on[k] && odds[k] < 0.0);
    let (number, counts) = open.parts();
    let mut sums = vec![0.0f32; counts.len()];
    for (k, n) in number.iter().enumerate() {
        sums[*n as usize] += odds[k];
    }
    let mut cells: Vec<Vec<usize>> = vec![Vec::new(); counts.len()];
    for (k, n) in number.iter().enumerate().filter(|(_, n)| **n > 0) {
        cells[*n as usize].push(k);
    }
    let mut found = Vec::new();
    for (n, cells) in cells.iter().enumerate().skip(1) {
        let area = counts[n] as f64 * apart.field.cell().powi(2);
        let across = |area: f64| 2.0 * (area / std::f64::consts::PI).sqrt();
        if across(area) < 0.6 * LEAST || sums[n] / counts[n] as f32 > CLEAR {
            continue;
        }
        let window = Window::about(cells, [w, h], 5);
        let own = window.mask(|k| number[k] as usize == n);
        // An eyelet's ring may look like table: in a hole, there is nothing else.
        let full = own.filled().on.iter().filter(|on| **on).count();
        if full as f64 > ISLANDS * counts[n] as f64 {
            continue;
        }
        let near = own.grown(2.0);
        let own = window.raster(
            &apart.odds,
            |own, k| if near.on[own] { odds[k] } else { 1.0 },
        );
        // The window's rim is no edge.
        let Some(line) = zero_lines(&own)
            .into_iter()
            .filter(|r| signed_area(r) < 0.0)
            .min_by(|a, b| signed_area(a).total_cmp(&signed_area(b)))
        else {
            continue;
        };
        let mut outline = refined(light, &line);
        outline.reverse();
        let area = Region::ring(outline.clone()).area().max(0.0);
        let across = across(area);
        let hull = Hull::of(outline.iter().copied()).map_or(0.0, |h| signed_area(h.corners()));
        if across < SICKLE && hull > BENT * area {
            continue;
        }
        if across >= LEAST {
            found.push(Hole { outline, across });
        }
    }
    found.sort_by(|a, b| b.across.total_cmp(&a.across));
    found
}
