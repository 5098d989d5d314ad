//! Repeating a measurement, and the figures that are kept of it.

use ghostchalk::fault::Outcome;
use std::time::{Duration, Instant};

/// Times in ms, in the order taken.
#[derive(Debug, Clone, Default)]
pub struct Samples(Vec<f64>);

impl Samples {
    pub fn of(times: Vec<f64>) -> Self {
        Self(times)
    }

    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// The least value that at least `share` of all do not exceed.
    pub fn quantile(&self, share: f64) -> f64 {
        let mut sorted = self.0.clone();
        sorted.sort_by(f64::total_cmp);
        let rank = (share * sorted.len() as f64).ceil() as usize;
        sorted.get(rank.max(1) - 1).copied().unwrap_or(f64::NAN)
    }
}

/// The middle of so many runs, ms.
pub fn median(runs: usize, run: &mut dyn FnMut()) -> f64 {
    let timed = (0..runs).map(|_| {
        let mut laps = Laps::start();
        run();
        laps.lap()
    });
    Samples::of(timed.collect()).quantile(0.5)
}

/// How often to measure.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    /// Runs before the first that counts.
    pub warm_up: usize,
    pub runs: usize,
    /// Slow measurements stop after this long ...
    pub budget: Duration,
    /// ... once they have this many runs.
    pub least: usize,
}

impl Plan {
    pub const FULL: Self = Self {
        warm_up: 5,
        runs: 60,
        budget: Duration::from_secs(6),
        least: 10,
    };
    pub const QUICK: Self = Self {
        warm_up: 1,
        runs: 12,
        budget: Duration::from_secs(1),
        least: 3,
    };

    /// Runs `frame` with the number of the run, and keeps the times that it
    /// returns, in ms. Names of the times come from the caller.
    pub fn repeat<const N: usize>(
        &self,
        mut frame: impl FnMut(usize) -> Outcome<[f64; N]>,
    ) -> Outcome<[Samples; N]> {
        let mut all: [Vec<f64>; N] = std::array::from_fn(|_| Vec::new());
        let warm_up = self.warm_up;
        for k in 0..warm_up {
            frame(k)?;
        }
        let start = Instant::now();
        for k in 0..self.runs {
            if k >= self.least && start.elapsed() > self.budget {
                break;
            }
            for (kept, ms) in all.iter_mut().zip(frame(warm_up + k)?) {
                kept.push(ms);
            }
        }
        Ok(all.map(Samples::of))
    }
}

/// A stopwatch for the parts of one run.
#[derive(Debug)]
pub struct Laps(Instant);

impl Laps {
    pub fn start() -> Self {
        Self(Instant::now())
    }

    /// Milliseconds since the start or the last lap.
    pub fn lap(&mut self) -> f64 {
        let now = Instant::now();
        let ms = (now - self.0).as_secs_f64() * 1e3;
        self.0 = now;
        ms
    }
}
