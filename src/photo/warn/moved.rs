//! Cloth that lies elsewhere in one photo than in another.

use super::{About, Warning};
use crate::adjust::median;
use crate::colour::luminance_f32;
use crate::raster::Raster;
use crate::space::{Point, Table, Vector};

/// Side of a block that is sought in the other photo, and how far it is sought, mm.
const BLOCK: f64 = 40.0;
const SOUGHT: f64 = 12.0;
/// Cells for seeking are no finer, mm.
const COARSE: f64 = 1.0;
/// Contrast of a block, as a standard deviation of the logarithm of light, under which it
/// has nothing to be known again by. *Estimate.*
const PLAIN: f64 = 0.03;
/// A block is known again from this correlation on. *Estimate.*
const AGAIN: f64 = 0.7;
/// Shifts that fit nearly as well as the best are not told from it, as along a stripe: by so
/// much of correlation, and such a share of what is missing to 1.
const AS_WELL: [f64; 2] = [0.001, 0.05];
/// So many blocks, and such a share of all, must have moved.
const BLOCKS: usize = 3;
const SHARE: f64 = 0.1;

/// Whether what lies on the table has moved by more than `limit` mm between two photos laid
/// out from above. Movement of up to 12 mm is measured; along stripes it can't be seen.
/// `None` also where the two have too little in common.
pub fn moved(
    before: &Raster<[f32; 3], Table>,
    after: &Raster<[f32; 3], Table>,
    limit: f64,
) -> Option<Warning> {
    let cell = before.cell().max(after.cell()).max(COARSE);
    let both = before.bounds().intersection(&after.bounds())?;
    let (old, new) = (
        Logs::of(before, both.min, both.max, cell),
        Logs::of(after, both.min, both.max, cell),
    );
    let side = (BLOCK / cell).round() as usize;
    let reach = (SOUGHT / cell).round() as i64;
    let mut shifts: Vec<(Point<Table>, Vector<Table>)> = Vec::new();
    let columns = (old.width / side, old.height / side);
    for r in 0..columns.1 {
        for c in 0..columns.0 {
            if let Some(by) = old.block(c * side, r * side, side, &new, reach) {
                let at =
                    both.min + Vector::new(c as f64 + 0.5, r as f64 + 0.5) * (side as f64 * cell);
                shifts.push((at, by * cell));
            }
        }
    }
    let far: Vec<_> = shifts
        .iter()
        .filter(|(_, by)| by.length() > limit)
        .collect();
    if far.len() < BLOCKS || (far.len() as f64) < SHARE * shifts.len() as f64 {
        return None;
    }
    let middle = |of: fn(&(Point<Table>, Vector<Table>)) -> f64| {
        median(&mut far.iter().map(|s| of(s)).collect::<Vec<f64>>())
    };
    let by: Vector<Table> = Vector::new(middle(|s| s.1.x), middle(|s| s.1.y));
    let at = Point::new(middle(|s| s.0.x), middle(|s| s.0.y));
    let word = |v: f64, plus: &str, minus: &str| {
        let way = if v > 0.0 { plus } else { minus };
        format!("{:.1} mm {way}", v.abs())
    };
    let ways = [
        (by.x, "to the right", "to the left"),
        (by.y, "away from you", "towards you"),
    ];
    let ways: Vec<String> = ways
        .iter()
        .filter(|(v, _, _)| v.abs() > 0.3 * by.length())
        .map(|(v, plus, minus)| word(*v, plus, minus))
        .collect();
    Some(Warning {
        about: About::Moved,
        text: format!(
            "The cloth about ({:.0}, {:.0}) mm lies {} of where it was in the other photo: lay it back, or take all photos again without touching it.",
            at.x,
            at.y,
            ways.join(" and ")
        ),
        at: Some(at),
    })
}

/// Logarithm of luminance in coarse cells; NaN where nothing is known.
struct Logs {
    width: usize,
    height: usize,
    values: Vec<f32>,
}

impl Logs {
    fn of(
        raster: &Raster<[f32; 3], Table>,
        low: Point<Table>,
        high: Point<Table>,
        cell: f64,
    ) -> Self {
        let many = |length: f64| (length / cell + 1e-9).floor().max(0.0) as usize;
        let (width, height) = (many(high.x - low.x), many(high.y - low.y));
        let fine = ((cell / raster.cell()).round() as usize).max(1);
        let mut values = Vec::with_capacity(width * height);
        for r in 0..height {
            for c in 0..width {
                let (mut sum, mut count) = (0.0f32, 0.0f32);
                for j in 0..fine {
                    for i in 0..fine {
                        let part =
                            |k: usize, n: usize| (k as f64 + (n as f64 + 0.5) / fine as f64) * cell;
                        let p = low + Vector::new(part(c, i), part(r, j));
                        if let Some(v) = raster.at(p) {
                            sum += luminance_f32(*v);
                            count += 1.0;
                        }
                    }
                }
                // NaN stays NaN, which `max` alone would not see to.
                values.push((sum / count).max(1e-3).ln() + 0.0 * sum);
            }
        }
        Self {
            width,
            height,
            values,
        }
    }

    fn get(&self, c: usize, r: usize) -> f32 {
        self.values[r * self.width + c]
    }

    /// By how many cells a block has moved; `None` if it is plain, is not all in both, or is
    /// not known again.
    fn block(
        &self,
        c: usize,
        r: usize,
        side: usize,
        other: &Logs,
        reach: i64,
    ) -> Option<Vector<Table>> {
        let own: Vec<f32> = (r..r + side)
            .flat_map(|y| (c..c + side).map(move |x| self.get(x, y)))
            .collect();
        let n = own.len() as f32;
        let mean = own.iter().sum::<f32>() / n;
        let spread = own.iter().map(|v| (v - mean).powi(2)).sum::<f32>();
        // Of what is not all in the photo it is no number.
        let contrast = f64::from((spread / n).sqrt());
        if contrast.is_nan() || contrast <= PLAIN {
            return None;
        }
        let span = (2 * reach + 1) as usize;
        let mut fits = vec![f64::NEG_INFINITY; span * span];
        for dy in -reach..=reach {
            for dx in -reach..=reach {
                let (x0, y0) = (c as i64 + dx, r as i64 + dy);
                let inside = x0 >= 0
                    && y0 >= 0
                    && x0 as usize + side <= other.width
                    && y0 as usize + side <= other.height;
                if !inside {
                    continue;
                }
                let (x0, y0) = (x0 as usize, y0 as usize);
                let (mut sum, mut squares, mut product) = (0.0f32, 0.0f32, 0.0f32);
                for j in 0..side {
                    let row = &other.values[(y0 + j) * other.width + x0..][..side];
                    for (v, o) in row.iter().zip(&own[j * side..]) {
                        sum += v;
                        squares += v * v;
                        product += v * (o - mean);
                    }
                }
                let there = squares - sum * sum / n;
                let fit = f64::from(product / (there * spread).max(1e-12).sqrt());
                if fit.is_finite() {
                    fits[(dy + reach) as usize * span + (dx + reach) as usize] = fit;
                }
            }
        }
        let best = fits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if best < AGAIN {
            return None;
        }
        // The least shift of those that fit as well.
        let least = best - AS_WELL[0] - AS_WELL[1] * (1.0 - best);
        let middle = reach as f64;
        let spots = (0..span).flat_map(|y| (0..span).map(move |x| (x, y)));
        let far = |(x, y): &(usize, usize)| (*x as f64 - middle).hypot(*y as f64 - middle);
        let (x, y) = spots
            .filter(|(x, y)| fits[y * span + x] >= least)
            .min_by(|a, b| far(a).total_cmp(&far(b)))?;
        // Between cells: a parabola through three.
        let at = |x: usize, y: usize| fits[y * span + x];
        let finer = |before: f64, here: f64, after: f64| {
            let bend = before - 2.0 * here + after;
            let off = 0.5 * (before - after) / bend;
            if bend < -1e-4 && off.abs() <= 1.0 {
                off
            } else {
                0.0
            }
        };
        let inner = x > 0 && y > 0 && x + 1 < span && y + 1 < span;
        let (fx, fy) = if inner {
            (
                finer(at(x - 1, y), at(x, y), at(x + 1, y)),
                finer(at(x, y - 1), at(x, y), at(x, y + 1)),
            )
        } else {
            (0.0, 0.0)
        };
        Some(Vector::new(x as f64 - middle + fx, y as f64 - middle + fy))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Bounds;

    /// A stained cloth from (60, 50) to (300, 230), moved by so much, under such light.
    fn photo(by: [f64; 2], light: f64, stripes: bool) -> Raster<[f32; 3], Table> {
        let table = Bounds::new(Point::zero(), Point::new(360.0, 280.0));
        let mut seed = (by[0] * 64.0 + light * 7919.0) as u32 + 3;
        Raster::over(table, 1.0, |_, _, p: Point<Table>| {
            let (x, y) = (p.x - by[0], p.y - by[1]);
            let cloth = (60.0..300.0).contains(&x) && (50.0..230.0).contains(&y);
            let v = if !cloth {
                0.3
            } else if stripes {
                if (x / 17.0).floor() as i64 % 2 == 0 {
                    0.6
                } else {
                    0.2
                }
            } else {
                0.4 + 0.1 * ((x * 0.21).sin() * (y * 0.17).cos() + (x * 0.07 + y * 0.11).sin())
            };
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(seed >> 8) / f64::from(1u32 << 24) - 0.5;
            [(v * light * (1.0 + p.x / 1000.0) + 0.01 * noise) as f32; 3]
        })
    }

    #[test]
    fn a_cloth_that_stays_is_not_moved_by_another_light() {
        let before = photo([0.0, 0.0], 1.0, false);
        assert_eq!(moved(&before, &photo([0.0, 0.0], 0.6, false), 1.0), None);
        assert_eq!(moved(&before, &photo([0.4, 0.3], 1.0, false), 1.0), None);
        let striped = photo([0.0, 0.0], 1.0, true);
        assert_eq!(moved(&striped, &photo([0.0, 0.0], 0.7, true), 1.0), None);
        // Nothing in common is nothing to say.
        let far = before.map(|_| [f32::NAN; 3]);
        assert_eq!(moved(&before, &far, 1.0), None);
    }

    #[test]
    fn a_cloth_that_was_pushed_is_told_with_its_way() {
        let before = photo([0.0, 0.0], 1.0, false);
        let warning = moved(&before, &photo([5.5, -3.0], 0.8, false), 1.0).unwrap();
        let said = &warning.text;
        let numbers: Vec<f64> = said.split(' ').filter_map(|w| w.parse().ok()).collect();
        let near = |v: f64, truth: f64| (v - truth).abs() < 0.2;
        assert!(near(numbers[0], 5.5) && near(numbers[1], 3.0), "{said}");
        assert!(said.contains("mm to the right and"), "{said}");
        assert!(
            said.contains("towards you") && said.contains("lay it back"),
            "{said}"
        );
        let at = warning.at.unwrap();
        assert!(
            (at.x - 180.0).abs() < 60.0 && (at.y - 140.0).abs() < 60.0,
            "{at:?}"
        );
        let striped = photo([0.0, 0.0], 1.0, true);
        let warning = moved(&striped, &photo([4.0, 0.0], 1.0, true), 1.0).unwrap();
        assert!(
            warning.text.contains("4.0 mm to the right"),
            "{}",
            warning.text
        );
    }
}
