//! How times grow with what there is to do.

use crate::table::Table;

/// Times, ms, by size.
#[derive(Debug)]
pub struct Growth {
    /// What the size counts.
    of: &'static str,
    steps: &'static [&'static str],
    rows: Vec<(f64, Vec<f64>)>,
}

/// An exponent, and its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exponent {
    pub is: f64,
    /// `None` of two sizes, which any exponent goes through.
    pub error: Option<f64>,
}

/// The straight line through the logarithms of size and time, by least squares. `None` of
/// fewer than two sizes.
pub fn exponent(points: &[(f64, f64)]) -> Option<Exponent> {
    let logs = points.iter().map(|&(x, y)| (x.ln(), y.ln()));
    let logs: Vec<(f64, f64)> = logs
        .filter(|l| l.0.is_finite() && l.1.is_finite())
        .collect();
    let n = logs.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| logs.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(|l| l.0), mean(|l| l.1));
    let wide: f64 = logs.iter().map(|l| (l.0 - x).powi(2)).sum();
    if logs.len() < 2 || wide <= 0.0 {
        return None;
    }
    let is = logs.iter().map(|l| (l.0 - x) * (l.1 - y)).sum::<f64>() / wide;
    let left = logs.iter().map(|l| (l.1 - y - is * (l.0 - x)).powi(2));
    let left: f64 = left.sum();
    let error = (logs.len() > 2).then(|| (left / (n - 2.0) / wide).sqrt());
    Some(Exponent { is, error })
}

impl Growth {
    pub fn new(of: &'static str, steps: &'static [&'static str]) -> Self {
        Self {
            of,
            steps,
            rows: Vec::new(),
        }
    }

    /// A time for each step; NaN where there is none.
    pub fn add(&mut self, size: f64, ms: Vec<f64>) {
        let told: Vec<String> = ms.iter().map(|v| format!("{v:.3}")).collect();
        eprintln!("{} {size}: {} ms", self.of, told.join(", "));
        self.rows.push((size, ms));
    }

    /// The times, and the exponents over all sizes and over the upper half of them.
    pub fn print(&self) {
        let mut table = Table::new(
            [],
            std::iter::once(self.of).chain(self.steps.iter().copied()),
        );
        for (size, ms) in &self.rows {
            let cells = ms.iter().map(|v| match v.is_finite() {
                true => format!("{v:.3}"),
                false => String::new(),
            });
            table.row(std::iter::once(format!("{size}")).chain(cells));
        }
        let half = self.rows.len() / 2;
        let ranges = [&self.rows[..], &self.rows[half..]];
        let count = if half > 1 { 2 } else { 1 };
        for rows in ranges.into_iter().take(count) {
            let [Some(from), Some(to)] = [rows.first(), rows.last()] else {
                continue;
            };
            let cells = (0..self.steps.len()).map(|k| {
                let points: Vec<(f64, f64)> = rows.iter().map(|r| (r.0, r.1[k])).collect();
                match exponent(&points) {
                    Some(Exponent {
                        is,
                        error: Some(error),
                    }) => format!("{is:.2} ± {error:.2}"),
                    Some(Exponent { is, .. }) => format!("{is:.2}"),
                    None => String::new(),
                }
            });
            let head = format!("exponent, {} to {}", from.0, to.0);
            table.row(std::iter::once(head).chain(cells));
        }
        table.print();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_is_found_and_what_scatters_is_told() {
        let cube = [(10.0, 2e3), (20.0, 16e3), (50.0, 250e3)];
        let found = exponent(&cube).unwrap();
        assert!((found.is - 3.0).abs() < 1e-12 && found.error.unwrap() < 1e-7);
        let rough = [(1.0, 1.0), (10.0, 20.0), (100.0, 100.0)];
        let found = exponent(&rough).unwrap();
        // The middle one is off by ln 2: two thirds of that are left there, a third at each end.
        assert!((found.is - 1.0).abs() < 1e-12);
        let left = 2f64.ln().powi(2) * (4.0 + 1.0 + 1.0) / 9.0;
        let error = (left / (2.0 * 10f64.ln().powi(2))).sqrt();
        assert!((found.error.unwrap() - error).abs() < 1e-12);
        assert_eq!(exponent(&cube[..2]).unwrap().error, None);
        assert_eq!(exponent(&cube[..1]), None);
        // A step that was not timed there counts for nothing.
        let gap = [cube[0], (15.0, f64::NAN), cube[1], cube[2]];
        assert!((exponent(&gap).unwrap().is - 3.0).abs() < 1e-12);
    }
}
