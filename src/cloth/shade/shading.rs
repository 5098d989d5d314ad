//! A map made ready for pieces: lightness of every cell, and the low-passed shade.

use super::map::ShadeMap;
use super::smooth::{Smooth, smooth};
use crate::colour::Lab;
use crate::raster::Raster;
use crate::space::Point;

/// Least width of the low pass, mm: shade is told over this, the weave is not.
pub const WINDOW: f64 = 20.0;
/// Widest low pass, mm: a repeat beyond it is no stripe any more but shade.
const WIDEST: f64 = 200.0;

/// A [`ShadeMap`] with all that is worked out once, so that pieces can be asked while they
/// move.
#[derive(Debug, Clone)]
pub struct Shading<S> {
    map: ShadeMap<S>,
    window: f64,
    lightness: Raster<Option<f32>, S>,
    pub(super) smooth: Raster<Option<Smooth>, S>,
}

/// Low-passed shade at a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Soft {
    pub lab: Lab,
    /// CIEDE2000².
    pub noise2: f64,
}

impl<S> Shading<S> {
    /// `repeat` is that of the cloth's stripes or checks, mm, if it has any: the low pass is as
    /// wide, at least [`WINDOW`] and at most 200 mm.
    pub fn new(map: ShadeMap<S>, repeat: Option<f64>) -> Self {
        // What is no number counts as no repeat.
        let repeat = repeat.filter(|r| !r.is_nan()).unwrap_or(0.0);
        let window = repeat.clamp(WINDOW, WIDEST);
        let lightness = map.cells.map(|cell| {
            cell.is_cloth()
                .then(|| Lab::from_xyz(cell.colour()).l as f32)
        });
        let smooth = smooth(&map, window);
        Self {
            map,
            window,
            lightness,
            smooth,
        }
    }

    pub fn map(&self) -> &ShadeMap<S> {
        &self.map
    }

    /// Width of the low pass, mm, at half its height.
    pub fn window(&self) -> f64 {
        self.window
    }

    /// Lightness (L*, 0 to 100) of each cell; `None` where it isn't known. For pictures.
    pub fn lightness(&self) -> &Raster<Option<f32>, S> {
        &self.lightness
    }

    /// The low-passed lightness, on cells of a quarter of the window. For pictures.
    pub fn shade(&self) -> Raster<Option<f32>, S> {
        self.smooth.map(|s| s.map(|s| s.lab.l as f32))
    }

    /// Low-passed colour at a place; `None` where three quarters of the low pass don't fall on
    /// known cloth. At an edge of the cloth that is lopsided: the value stands for a place up to
    /// 0.18 windows further in.
    pub fn at(&self, p: Point<S>) -> Option<Lab> {
        self.soft(p).map(|s| s.lab)
    }

    /// Standard error of [`Shading::at`] by noise, CIEDE2000, without the map's own doubt.
    pub fn noise(&self, p: Point<S>) -> Option<f64> {
        self.soft(p).map(|s| s.noise2.sqrt())
    }

    pub(super) fn soft(&self, p: Point<S>) -> Option<Soft> {
        let v = (p - self.smooth.bounds().min) / self.smooth.cell();
        let edge = |x: f64, n: usize| (0.0..=n as f64).contains(&x);
        if !(edge(v.x, self.smooth.width()) && edge(v.y, self.smooth.height())) {
            return None;
        }
        // Half a cell along the rim is as its nearest middles.
        let hold = |x: f64, n: usize| (x - 0.5).clamp(0.0, n as f64 - 1.0);
        let x = hold(v.x, self.smooth.width());
        let y = hold(v.y, self.smooth.height());
        let (c, r) = (x as usize, y as usize);
        let (fx, fy) = (x - c as f64, y - r as f64);
        let mut sum = Soft {
            lab: Lab::default(),
            noise2: 0.0,
        };
        for (c, r, share) in [
            (c, r, (1.0 - fx) * (1.0 - fy)),
            (c + 1, r, fx * (1.0 - fy)),
            (c, r + 1, (1.0 - fx) * fy),
            (c + 1, r + 1, fx * fy),
        ] {
            if share < 1e-9 {
                continue;
            }
            let s = self.smooth.get(c, r)?.as_ref()?;
            sum.lab.l += share * s.lab.l;
            sum.lab.a += share * s.lab.a;
            sum.lab.b += share * s.lab.b;
            sum.noise2 += share * s.noise2;
        }
        Some(sum)
    }
}
