//! Arc length along polylines: where a length falls, the part between two
//! lengths, dashes, the nearest place.

use super::pairs;
use crate::space::{Point, Vector};

/// A place on a line and the unit direction of travel there.
#[derive(Debug)]
pub struct Station<S> {
    pub at: Point<S>,
    pub along: Vector<S>,
}

/// Length of an open polyline, in units of `S`.
pub fn length<S>(line: &[Point<S>]) -> f64 {
    line.windows(2).map(|w| (w[1] - w[0]).length()).sum()
}

/// Length all round a ring, in units of `S`.
pub fn perimeter<S>(ring: &[Point<S>]) -> f64 {
    pairs(ring).map(|(a, b)| (b - a).length()).sum()
}

/// The place at arc length `s` from the start, held to the ends. `None` for a
/// line of no length.
pub fn along<S>(line: &[Point<S>], s: f64) -> Option<Station<S>> {
    let mut left = s.max(0.0);
    let mut last = None;
    for w in line.windows(2) {
        let step = w[1] - w[0];
        let len = step.length();
        if len == 0.0 {
            continue;
        }
        let dir = step / len;
        if left <= len {
            return Some(Station {
                at: w[0] + dir * left,
                along: dir,
            });
        }
        left -= len;
        last = Some(Station {
            at: w[1],
            along: dir,
        });
    }
    last
}

/// The part of a line between two arc lengths `from` < `to`, held to its ends;
/// empty if nothing is left.
pub fn part<S>(line: &[Point<S>], from: f64, to: f64) -> Vec<Point<S>> {
    let (from, to) = (from.max(0.0), to.min(length(line)));
    if to <= from {
        return Vec::new();
    }
    let mut out = Vec::new();
    let mut s = 0.0;
    out.extend(along(line, from).map(|st| st.at));
    for w in line.windows(2) {
        s += (w[1] - w[0]).length();
        if s > from && s < to {
            out.push(w[1]);
        }
    }
    out.extend(along(line, to).map(|st| st.at));
    out
}

/// Cuts a line into dashes of about `dash` with gaps of about `gap`, adjusted
/// so that a whole dash stands at either end.
pub fn dashes<S>(line: &[Point<S>], dash: f64, gap: f64) -> Vec<Vec<Point<S>>> {
    let total = length(line);
    if total <= dash {
        return vec![line.to_vec()];
    }
    let n = ((total - dash) / (dash + gap)).round().max(1.0);
    let scale = total / (n * (dash + gap) + dash);
    let (dash, pitch) = (dash * scale, (dash + gap) * scale);
    (0..=n as usize)
        .map(|k| part(line, k as f64 * pitch, k as f64 * pitch + dash))
        .filter(|d| d.len() > 1)
        .collect()
}

/// The nearest place on an open line to `p`: (arc length, distance).
pub fn nearest<S>(line: &[Point<S>], p: Point<S>) -> Option<(f64, f64)> {
    let mut best: Option<(f64, f64)> = None;
    let mut s = 0.0;
    for w in line.windows(2) {
        let step = w[1] - w[0];
        let len = step.length();
        let t = if len > 0.0 {
            ((p - w[0]).dot(step) / (len * len)).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let d = (p - (w[0] + step * t)).length();
        if best.is_none_or(|(_, old)| d < old) {
            best = Some((s + t * len, d));
        }
        s += len;
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    fn ell() -> Vec<Point<Table>> {
        vec![
            Point::new(0.0, 0.0),
            Point::new(30.0, 0.0),
            Point::new(30.0, 40.0),
        ]
    }

    #[test]
    fn lengths_fall_where_they_should() {
        let st = along(&ell(), 45.0).unwrap();
        assert_eq!(
            (st.at, st.along),
            (Point::new(30.0, 15.0), Vector::new(0.0, 1.0))
        );
        assert_eq!(part(&ell(), 20.0, 40.0).len(), 3);
        assert!((length(&part(&ell(), 20.0, 40.0)) - 20.0).abs() < 1e-12);
        assert_eq!(nearest(&ell(), Point::new(33.0, 10.0)), Some((40.0, 3.0)));
        // Closed, it has the 3-4-5 triangle's long side as well.
        assert_eq!((length(&ell()), perimeter(&ell())), (70.0, 120.0));
    }

    #[test]
    fn dashes_start_and_end_whole() {
        let d = dashes(&ell(), 6.0, 3.0);
        assert_eq!(d.first().unwrap()[0], Point::new(0.0, 0.0));
        let end = *d.last().unwrap().last().unwrap();
        assert!((end - Point::new(30.0, 40.0)).length() < 1e-9);
        let lit: f64 = d.iter().map(|d| length(d)).sum();
        assert!((lit / 70.0 - 2.0 / 3.0).abs() < 0.05);
    }
}
