//! Mean colour along lines, line by line: what stripes are seen in, and how they repeat.

use super::stripes::Spot;

/// Finer is texture, which may be a twill's diagonal, mm from a stripe to the next.
const FINEST: f64 = 7.0;
/// Spread of the profile, in logarithms of light: less is a fade, or nothing. *Estimate.*
const CONTRAST: f64 = 0.04;
/// Stripes change over so many mm or less; a fade does not.
const HARD: usize = 3;
/// Bins of the profile, mm.
pub(super) const BIN: f64 = 0.5;
/// The repeat fits itself moved on by one so well, and mirrored, as a correlation. *Estimate.*
const REPEATS: f64 = 0.75;
const MIRRORS: f64 = 0.92;

/// Mean colour across the stripes.
pub(super) struct Profile {
    low: f64,
    bins: Vec<([f64; 3], f64)>,
}

impl Profile {
    pub(super) fn of<'a>(spots: impl Iterator<Item = &'a Spot>, deg: f64) -> Self {
        let (sin, cos) = deg.to_radians().sin_cos();
        let placed: Vec<(f64, [f64; 3])> =
            spots.map(|(p, v)| (cos * p.y - sin * p.x, *v)).collect();
        let low = placed.iter().map(|p| p.0).fold(f64::MAX, f64::min);
        let high = placed.iter().map(|p| p.0).fold(f64::MIN, f64::max);
        Self::between(placed.into_iter(), low, ((high - low) / BIN) as usize + 2)
    }

    pub(super) fn between(
        placed: impl Iterator<Item = (f64, [f64; 3])>,
        low: f64,
        count: usize,
    ) -> Self {
        let mut bins = vec![([0.0; 3], 0.0); count];
        for (t, v) in placed {
            let at = (t - low) / BIN;
            let (k, part) = (at as usize, at.fract());
            for (k, share) in [(k, 1.0 - part), (k + 1, part)] {
                if let Some(b) = bins.get_mut(k) {
                    for (sum, v) in b.0.iter_mut().zip(v) {
                        *sum += share * v;
                    }
                    b.1 += share;
                }
            }
        }
        // Few cells say little of a line.
        let most = bins.iter().map(|b| b.1).fold(0.0, f64::max);
        for b in &mut bins {
            if b.1 > 0.08 * most {
                b.0 = b.0.map(|s| s / b.1);
            } else {
                *b = ([f64::NAN; 3], 0.0);
            }
        }
        Self { low, bins }
    }

    fn at(&self, k: i64) -> Option<&[f64; 3]> {
        let b = self.bins.get(usize::try_from(k).ok()?)?;
        (b.1 > 0.0).then_some(&b.0)
    }

    /// Correlation of this and another moved on by `by` bins; `None` if they have little in
    /// common.
    pub(super) fn with(&self, other: &Self, by: i64) -> Option<f64> {
        let (mut ab, mut aa, mut bb, mut n) = (0.0, 0.0, 0.0, 0);
        for k in 0..self.bins.len() as i64 {
            if let (Some(a), Some(b)) = (self.at(k), other.at(k + by)) {
                for c in 0..3 {
                    ab += a[c] * b[c];
                    aa += a[c] * a[c];
                    bb += b[c] * b[c];
                }
                n += 1;
            }
        }
        (f64::from(n) * BIN > 12.0 && aa > 0.0 && bb > 0.0).then(|| ab / (aa * bb).sqrt())
    }

    /// Whether it has contrast, in hard steps, more than once.
    pub(super) fn is_stripes(&self) -> bool {
        let known: Vec<&([f64; 3], f64)> = self.bins.iter().filter(|b| b.1 > 0.0).collect();
        let n = known.len() as f64;
        let square = |of: &dyn Fn(usize) -> f64| (0..3).map(of).map(|v| v * v).sum::<f64>();
        let spread = (known.iter().map(|b| square(&|c| b.0[c])).sum::<f64>() / n).sqrt();
        let step = (HARD as f64 / BIN) as usize;
        let steps: Vec<f64> = (step..known.len())
            .map(|k| square(&|c| known[k].0[c] - known[k - step].0[c]).sqrt())
            .collect();
        // Twice the spread is the height of even stripes.
        let mut hard = 0;
        let mut k = 0;
        while k < steps.len() {
            if steps[k] > spread {
                hard += 1;
                k += 2 * step;
            }
            k += 1;
        }
        spread > CONTRAST && hard >= 3
    }

    /// Period, a place, and whether it reads the same both ways.
    pub(super) fn repeat(&self) -> Option<(f64, f64, bool)> {
        let n = self.bins.len() as i64;
        let corr: Vec<f64> = (0..n * 7 / 10)
            .map(|by| self.with(self, by).unwrap_or(f64::NAN))
            .collect();
        let least = (FINEST / BIN) as usize;
        let first = (1..corr.len()).find(|k| corr[*k] < 0.3)?;
        let top = |k: usize| {
            k > 0 && k + 1 < corr.len() && corr[k] >= corr[k - 1] && corr[k] >= corr[k + 1]
        };
        let tops: Vec<usize> = (first.max(least)..corr.len()).filter(|k| top(*k)).collect();
        let most = tops.iter().map(|k| corr[*k]).fold(0.0, f64::max);
        if most < REPEATS {
            return None;
        }
        let lag = tops.into_iter().find(|k| corr[*k] > 0.9 * most)?;
        let fine = |k: usize| {
            let (a, b, c) = (corr[k - 1], corr[k], corr[k + 1]);
            k as f64 + 0.5 * (a - c) / (a - 2.0 * b + c).min(-1e-9)
        };
        let mut period = fine(lag);
        // More repeats say it finer.
        for times in 2.. {
            let about = (period * f64::from(times)).round() as usize;
            let near =
                about.saturating_sub(2).max(1)..(about + 3).min(corr.len().saturating_sub(1));
            let Some(k) = near
                .filter(|k| top(*k) && corr[*k] > 0.6)
                .max_by(|a, b| corr[*a].total_cmp(&corr[*b]))
            else {
                break;
            };
            period = fine(k) / f64::from(times);
        }
        let folded = self.folded(period);
        let n = folded.len();
        let all: f64 = folded.iter().flatten().map(|v| v * v).sum();
        // Twice the middle, in bins, so that middles between bins count.
        let mirrored = |twice: usize| {
            let pair = |k: usize| (&folded[k % n], &folded[(twice + 2 * n - k) % n]);
            (0..n)
                .map(pair)
                .map(|(a, b)| (0..3).map(|c| a[c] * b[c]).sum::<f64>())
                .sum::<f64>()
                / all
        };
        let twice = (0..2 * n).max_by(|a, b| mirrored(*a).total_cmp(&mirrored(*b)))?;
        let light = |k: f64| {
            let about = (-2..=2).map(|d| folded[(k + f64::from(d) + n as f64) as usize % n][0]);
            about.sum::<f64>()
        };
        let (at, same) = if mirrored(twice) > MIRRORS {
            let one = twice as f64 / 2.0;
            let two = (one + n as f64 / 2.0) % n as f64;
            (if light(one) <= light(two) { one } else { two }, true)
        } else {
            (darkest(&folded), false)
        };
        let period = period * BIN;
        Some((period, self.low + at / n as f64 * period, same))
    }

    /// One repeat, its lines the means over all repeats.
    fn folded(&self, period: f64) -> Vec<[f64; 3]> {
        let n = (period.round() as usize).max(8);
        let mut sums = vec![([0.0; 3], 0.0); n];
        for (k, b) in self.bins.iter().enumerate().filter(|(_, b)| b.1 > 0.0) {
            let at = (k as f64 / period).fract() * n as f64;
            let own = &mut sums[at.round() as usize % n];
            for c in 0..3 {
                own.0[c] += b.0[c];
            }
            own.1 += 1.0;
        }
        sums.into_iter()
            .map(|(v, n)| if n > 0.0 { v.map(|v| v / n) } else { [0.0; 3] })
            .collect()
    }
}

/// The middle of the longest run that is darker than half way.
fn darkest(folded: &[[f64; 3]]) -> f64 {
    let n = folded.len();
    let light: Vec<f64> = folded.iter().map(|v| v[0]).collect();
    let low = light.iter().copied().fold(f64::MAX, f64::min);
    let high = light.iter().copied().fold(f64::MIN, f64::max);
    let dark = |k: usize| light[k % n] < 0.75 * low + 0.25 * high;
    let mut best = (0, 0.0);
    for first in (0..n).filter(|k| dark(*k) && !dark(k + n - 1)) {
        let long = (0..n).take_while(|k| dark(first + k)).count();
        if long > best.0 {
            best = (long, (first as f64 + (long as f64 - 1.0) / 2.0) % n as f64);
        }
    }
    best.1
}
