//! A plane through lightness, robustly: a stain must not make a fade.

use crate::adjust::median;

/// Huber's constant: 95 % as good as least squares where errors are normal (Huber & Ronchetti,
/// *Robust Statistics*, 2009).
const HUBER: f64 = 1.345;
/// From the median of absolute deviations to a normal standard deviation.
const MAD: f64 = 1.482_602_218_505_602;
/// Fewest places for a plane.
const FEWEST: usize = 6;

/// A place and its value.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    pub at: [f64; 2],
    pub value: f64,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Plane {
    /// Value per unit of place.
    pub slope: [f64; 2],
    /// Covariance of the slope, xx, xy, yy, if samples had errors of variance 1, independent.
    pub cov: [f64; 3],
    /// Variance of a sample's error.
    pub var: f64,
    /// How far the samples reach to either side of their middle where they reach least:
    /// standard deviation, mm.
    pub reach: f64,
}

/// Samples that lie within less than this share of the low pass, as a standard deviation (of an
/// even strip 0.29 of its width), tell of no slope across them: what they differ by is what the
/// window's rim lets in.
const THIN: f64 = 1.0 / 12.0;

impl Plane {
    pub fn is_thin(&self, window: f64) -> bool {
        self.reach < THIN * window
    }
}

/// Weights, middles and products of one weighted fit.
struct Sums {
    middle: [f64; 3],
    xx: f64,
    xy: f64,
    yy: f64,
    xv: f64,
    yv: f64,
}

fn sums(samples: &[Sample], weight: impl Fn(usize) -> f64) -> Sums {
    let mut total = [0.0; 4];
    for (k, s) in samples.iter().enumerate() {
        let w = weight(k);
        for (sum, v) in total.iter_mut().zip([s.at[0], s.at[1], s.value, 1.0]) {
            *sum += w * v;
        }
    }
    let middle = [0, 1, 2].map(|k| total[k] / total[3]);
    let mut out = Sums {
        middle,
        xx: 0.0,
        xy: 0.0,
        yy: 0.0,
        xv: 0.0,
        yv: 0.0,
    };
    for (k, s) in samples.iter().enumerate() {
        let w = weight(k);
        let (x, y, v) = (
            s.at[0] - middle[0],
            s.at[1] - middle[1],
            s.value - middle[2],
        );
        out.xx += w * x * x;
        out.xy += w * x * y;
        out.yy += w * y * y;
        out.xv += w * x * v;
        out.yv += w * y * v;
    }
    out
}

/// Inverse of the symmetric matrix of products; `None` if the places lie on a line.
fn inverse(s: &Sums) -> Option<[f64; 3]> {
    let det = s.xx * s.yy - s.xy * s.xy;
    (det > 1e-9 * s.xx * s.yy).then(|| [s.yy / det, -s.xy / det, s.xx / det])
}

/// The lesser of the two principal moments of the places.
fn least(s: &Sums) -> f64 {
    let half = (s.xx + s.yy) / 2.0;
    let off = ((s.xx - s.yy) / 2.0).hypot(s.xy);
    (half - off).max(0.0)
}

/// Huber's M-estimate by reweighting, its scale by the median of what is left over.
pub(super) fn plane(samples: &[Sample]) -> Option<Plane> {
    if samples.len() < FEWEST {
        return None;
    }
    let count = samples.len() as f64;
    let plain = sums(samples, |_| 1.0);
    let spread = inverse(&plain)?;
    let solve = |s: &Sums, i: &[f64; 3]| [i[0] * s.xv + i[1] * s.yv, i[1] * s.xv + i[2] * s.yv];
    let mut slope = solve(&plain, &spread);
    let mut middle = plain.middle;
    let mut left: Vec<f64> = Vec::new();
    let mut sorted: Vec<f64> = Vec::new();
    let mut bend = 0.0;
    for _ in 0..10 {
        left.clear();
        left.extend(samples.iter().map(|s| {
            s.value
                - middle[2]
                - slope[0] * (s.at[0] - middle[0])
                - slope[1] * (s.at[1] - middle[1])
        }));
        sorted.clear();
        sorted.extend(left.iter().map(|v| v.abs()));
        bend = HUBER * MAD * median(&mut sorted);
        // Half of them lie on the plane: nothing to weigh.
        if bend < 1e-12 {
            break;
        }
        let s = sums(samples, |k| (bend / left[k].abs()).min(1.0));
        let Some(i) = inverse(&s) else { break };
        let next = solve(&s, &i);
        let moved = (next[0] - slope[0]).hypot(next[1] - slope[1]);
        (slope, middle) = (next, s.middle);
        if moved < 1e-6 * next[0].hypot(next[1]) {
            break;
        }
    }
    // Huber's estimate of the variance, without its small correction K (from memory).
    let held: f64 = left.iter().map(|v| v.abs().min(bend).powi(2)).sum();
    let within = left.iter().filter(|v| v.abs() <= bend).count() as f64 / count;
    let var = held / (count - 3.0) / within.powi(2).max(1e-6);
    Some(Plane {
        slope,
        cov: spread,
        var,
        reach: (least(&plain) / count).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(value: impl Fn(f64, f64) -> f64) -> Vec<Sample> {
        let places = (0..20).flat_map(|r| (0..30).map(move |c| (f64::from(c), f64::from(r))));
        places
            .map(|(x, y)| Sample {
                at: [x, y],
                value: value(x, y),
            })
            .collect()
    }

    #[test]
    fn a_plane_is_itself() {
        let found = plane(&grid(|x, y| 3.0 + 0.5 * x - 0.25 * y)).unwrap();
        assert!((found.slope[0] - 0.5).abs() < 1e-12 && (found.slope[1] + 0.25).abs() < 1e-12);
        assert!(found.var < 1e-20);
    }

    /// Plain least squares would give 0.39 and 0.46 here.
    #[test]
    fn a_stain_in_a_corner_makes_no_slope() {
        let ripple = |x: f64, y: f64| 0.02 * (12.9 * x + 78.2 * y).sin();
        let found = plane(&grid(|x, y| {
            let stain = if x > 24.0 && y > 12.0 { 40.0 } else { 0.0 };
            ripple(x, y) + stain
        }));
        let [x, y] = found.unwrap().slope;
        assert!(x.hypot(y) < 0.004, "{x} {y}");
    }

    #[test]
    fn places_on_a_line_or_too_few_are_no_plane() {
        let line: Vec<Sample> = (0..50)
            .map(|k| Sample {
                at: [f64::from(k), 2.0 * f64::from(k)],
                value: 1.0,
            })
            .collect();
        assert!(plane(&line).is_none());
        assert!(plane(&grid(|_, _| 0.0)[..5]).is_none());
    }
}
