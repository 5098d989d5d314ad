//! The shade under one piece.

use super::fill::rows_in;
use super::map::{Doubt, Ground, STEPS};
use super::plane::{Plane, Sample, plane};
use super::shading::Shading;
use crate::adjust::quantile;
use crate::colour::{Lab, Xyz};
use crate::fault::{Fault, Outcome};
use crate::shape::Region;
use crate::space::{Piece, Point, Rigid, Vector};

/// Change of lightness (L*) from end to end of a piece that counts as a fade: *our choice*.
/// 1 is about just visible where two colours meet (common practice); a change without an edge
/// is seen less.
pub const COUNTS: f64 = 2.0;
/// χ² of two unknowns that chance exceeds in 1 of 20.
const CHI2: f64 = 5.991_464_547_107_98;

/// Spread of lightness, L*.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Standard deviation.
    pub sd: f64,
    /// 5 % lie under this.
    pub low: f64,
    /// 5 % lie over this.
    pub high: f64,
}

/// A place within a piece, and the low-passed colour there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place<S> {
    pub at: Point<S>,
    pub in_piece: Point<Piece>,
    pub colour: Lab,
}

/// How lightness changes over the piece: a plane through the low-passed shade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope<S> {
    /// Unit vector to where it gets lighter.
    pub towards: Vector<S>,
    /// The same, in the piece as drawn.
    pub in_piece: Vector<Piece>,
    /// L* in 100 mm that way, ≥ 0.
    pub per_100: f64,
    /// One standard error of it, the map's [`Doubt::tilt`] included.
    pub error: f64,
    /// L* from end to end of the piece, that way.
    pub change: f64,
    /// The most that the change may be (19 in 20).
    pub most: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fading {
    /// It fades, by [`COUNTS`] or more, and not by chance.
    Fades,
    /// It doesn't, or by less than counts.
    Even,
    CantTell,
}

/// What lies under a piece. Spaces: `S` is the map's.
#[derive(Debug, Clone, PartialEq)]
pub struct Under<S> {
    /// Colour of the mean light of its cells.
    pub mean: Lab,
    /// Of its cells, stripes and all.
    pub spread: Spread,
    /// Of the low-passed shade; `None` if that is known nowhere in the piece.
    pub shade: Option<Spread>,
    pub lightest: Option<Place<S>>,
    pub darkest: Option<Place<S>>,
    /// `None` if there are too few places for a plane.
    pub slope: Option<Slope<S>>,
    pub fading: Fading,
    /// Share of the piece's area whose colour is known, 0 to 1.
    pub seen: f64,
    /// Share of it that is blown, 0 to 1.
    pub blown: f64,
    /// The map's.
    pub doubt: Doubt,
}

impl<S> Shading<S> {
    /// What lies under a piece: `net` is what lies inside its net line, where it lies on the
    /// cloth; `pose` says how it came there.
    ///
    /// # Errors
    /// If no cell under it is known.
    pub fn under(&self, net: &Region<S>, pose: &Rigid<Piece, S>) -> Outcome<Under<S>> {
        let cells = &self.map().cells;
        let (mut lightness, mut blown) = (Vec::new(), 0u32);
        // Whole numbers: the sum does not depend on its order.
        let mut sum = [0u64; 3];
        rows_in(net, cells, |row, columns| {
            let first = row * cells.width();
            for at in first + columns.start..first + columns.end {
                let cell = &cells.values()[at];
                match self.lightness().values()[at] {
                    Some(l) => {
                        lightness.push(l);
                        for (sum, v) in sum.iter_mut().zip(cell.xyz) {
                            *sum += u64::from(v);
                        }
                    }
                    None => blown += u32::from(cell.ground == Ground::Blown),
                }
            }
        });
        let count = lightness.len() as f64;
        let mean = sum.map(|v| v as f64 / STEPS / count);
        let Some(spread) = Spread::of(&mut lightness) else {
            return Err(Fault::input(
                "the shade under this piece is not known",
                "take a photo that shows the cloth there, or lay the piece elsewhere",
            ));
        };
        let share = |cells: f64| (cells * self.map().cell().powi(2) / net.area()).clamp(0.0, 1.0);
        let mut under = Under {
            mean: Lab::from_xyz(Xyz::from(mean)),
            spread,
            shade: None,
            lightest: None,
            darkest: None,
            slope: None,
            fading: Fading::CantTell,
            seen: share(count),
            blown: share(f64::from(blown)),
            doubt: self.map().doubt(),
        };
        self.low_passed(net, pose, &mut under);
        Ok(under)
    }

    /// All that is told from the low-passed shade.
    fn low_passed(&self, net: &Region<S>, pose: &Rigid<Piece, S>, under: &mut Under<S>) {
        let smooth = &self.smooth;
        let (mut samples, mut lightness) = (Vec::new(), Vec::new());
        let mut noise2 = 0.0;
        let mut ends: Option<[(f64, usize, usize); 2]> = None;
        rows_in(net, smooth, |row, columns| {
            for column in columns {
                let Some(Some(s)) = smooth.get(column, row) else {
                    continue;
                };
                let (p, l) = (smooth.centre(column, row), s.lab.l);
                samples.push(Sample {
                    at: [p.x + s.off[0], p.y + s.off[1]],
                    value: l,
                });
                lightness.push(l as f32);
                noise2 += s.noise2;
                let here = (l, column, row);
                let [dark, light] = ends.get_or_insert([here, here]);
                if l < dark.0 {
                    *dark = here;
                }
                if l > light.0 {
                    *light = here;
                }
            }
        });
        under.shade = Spread::of(&mut lightness);
        let back = pose.inverse();
        let place = |(_, column, row): (f64, usize, usize)| {
            let at = smooth.centre(column, row);
            let colour = smooth.get(column, row).and_then(|s| s.map(|s| s.lab));
            colour.map(|colour| Place {
                at,
                in_piece: back.point(at),
                colour,
            })
        };
        under.darkest = ends.and_then(|e| place(e[0]));
        under.lightest = ends.and_then(|e| place(e[1]));
        let Some(plane) = plane(&samples).filter(|p| !p.is_thin(self.window())) else {
            return;
        };
        let known = noise2 / samples.len() as f64;
        let cov = self.slope_cov(&plane, samples.len(), known, under.doubt.tilt);
        under.fading = self.judge(&plane, cov, &samples, &back, under);
    }

    /// Covariance of the slope, per mm². Neighbours share the window, so that fewer places are
    /// independent than there are samples: a tent speaks for 1.5 windows each way. That is more
    /// than the piece's rim lets it: the error is stated about a third too large on a piece of
    /// 250 by 110 mm, the more the smaller it is. What is left of real shade is less independent
    /// than noise, so that caution is left in.
    fn slope_cov(&self, plane: &Plane, count: usize, known: f64, tilt: f64) -> [f64; 3] {
        let each = (1.5 * self.window() / self.smooth.cell()).powi(2).max(1.0);
        let independent = count as f64 / each;
        // What is left over is the lesser for having been fitted; of few places it says nothing,
        // and the cells' noise, of all three of L*, a* and b*, stands in for it.
        let var = if independent > 4.0 {
            plane.var * independent / (independent - 3.0)
        } else {
            plane.var.max(known)
        };
        let tilt2 = (tilt / 100.0).powi(2);
        let [xx, xy, yy] = plane.cov.map(|v| v * each * var);
        [xx + tilt2, xy, yy + tilt2]
    }

    fn judge(
        &self,
        plane: &Plane,
        cov: [f64; 3],
        samples: &[Sample],
        back: &Rigid<S, Piece>,
        under: &mut Under<S>,
    ) -> Fading {
        let steep = Vector::<S>::new(plane.slope[0], plane.slope[1]);
        let size = steep.length();
        let towards = if size > 0.0 {
            steep / size
        } else {
            Vector::new(1.0, 0.0)
        };
        let [xx, xy, yy] = cov;
        let (ux, uy) = (towards.x, towards.y);
        let error = (xx * ux * ux + 2.0 * xy * ux * uy + yy * uy * uy)
            .max(0.0)
            .sqrt();
        let along = samples.iter().map(|s| s.at[0] * ux + s.at[1] * uy);
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
            (a.min(v), b.max(v))
        });
        let far = high - low + self.smooth.cell();
        let change = size * far;
        let most = (size + CHI2.sqrt() * error) * far;
        under.slope = Some(Slope {
            towards,
            in_piece: back.vector(towards),
            per_100: 100.0 * size,
            error: 100.0 * error,
            change,
            most,
        });
        let det = xx * yy - xy * xy;
        let (gx, gy) = (steep.x, steep.y);
        let chi2 = (yy * gx * gx - 2.0 * xy * gx * gy + xx * gy * gy) / det;
        // No error at all: what is there is there.
        let not_by_chance = if det > 0.0 { chi2 > CHI2 } else { size > 0.0 };
        if change >= COUNTS && not_by_chance {
            Fading::Fades
        } else if most < COUNTS || (change < COUNTS && not_by_chance) {
            Fading::Even
        } else {
            Fading::CantTell
        }
    }
}

impl Spread {
    /// Of some lightnesses, which are put in another order; `None` of none.
    fn of(values: &mut [f32]) -> Option<Self> {
        let count = values.len() as f64;
        let mean = values.iter().map(|v| f64::from(*v)).sum::<f64>() / count;
        let squares = values.iter().map(|v| (f64::from(*v) - mean).powi(2));
        Some(Self {
            sd: (squares.sum::<f64>() / count).sqrt(),
            low: quantile(values, 0.05)?,
            high: quantile(values, 0.95)?,
        })
    }
}
