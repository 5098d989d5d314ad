//! Ridges: a seam left in, or a crease. Its one flank is lit, and the other is not.

use super::ground::Logs;
use super::mask::{Mask, mean_about};
use super::spots::{Candidate, Kind, LEAST, axes};
use crate::adjust::median;
use crate::raster::Raster;
use crate::space::{Point, Table, Vector};

/// A ridge is so long at least, and so wide at most for each of its flanks, mm.
const RIDGE: [f64; 2] = [35.0, 7.0];

/// A line: its middle, the way it runs, its length and width, mm.
type Line = (Point<Table>, Vector<Table>, f64, f64);

/// Bright lines beside dark ones.
pub(super) fn ridges(field: &Raster<Logs, Table>, good: &Mask, out: &[Logs]) -> Vec<Candidate> {
    let (w, h) = (good.width, good.height);
    let light: Vec<f32> = mean_about(&out.iter().map(|v| v[0]).collect::<Vec<f32>>(), w, 1);
    let mut known: Vec<f32> = (0..w * h)
        .filter(|k| good.on[*k])
        .map(|k| light[k].abs())
        .filter(|v| v.is_finite())
        .collect();
    if known.is_empty() {
        return Vec::new();
    }
    let usual = median(&mut known);
    let limit = (0.6 * LEAST).max(3.5 * usual);
    let lines = |sign: f32| -> Vec<Line> {
        let mask = Mask::new(w, h, |k| good.on[k] && sign * light[k] > limit);
        let (number, counts) = mask.parts();
        let mut cells: Vec<Vec<usize>> = vec![Vec::new(); counts.len()];
        for (k, n) in number.iter().enumerate() {
            if *n > 0 && counts[*n as usize] as f64 * field.cell() > RIDGE[0] {
                cells[*n as usize].push(k);
            }
        }
        let long = cells
            .iter()
            .filter(|c| !c.is_empty())
            .map(|c| axes(field, c));
        long.filter(|(_, _, length, width)| *length > RIDGE[0] && *width < RIDGE[1])
            .collect()
    };
    let (bright, dark) = (lines(1.0), lines(-1.0));
    let mut found = Vec::new();
    for b in &bright {
        for d in &dark {
            let by = d.0 - b.0;
            let (aside, ahead) = (b.1.cross(by).abs(), b.1.dot(by).abs());
            let same = b.1.cross(d.1).abs() < 0.1;
            let beside = (1.0..10.0).contains(&aside) && ahead < 0.3 * b.2;
            if same && beside && (0.5..2.0).contains(&(b.2 / d.2)) {
                let middle = b.0.lerp(d.0, 0.5);
                let (long, wide) = (
                    b.2.max(d.2) / 2.0 + 2.0,
                    aside / 2.0 + (b.3 + d.3) / 4.0 + 1.0,
                );
                let (x, y) = (b.1 * long, Vector::new(-b.1.y, b.1.x) * wide);
                let outline = vec![
                    middle - x - y,
                    middle + x - y,
                    middle + x + y,
                    middle - x + y,
                ];
                found.push(Candidate {
                    kind: Kind::Ridge,
                    outline,
                    sure: 0.7,
                });
                break;
            }
        }
    }
    found
}
