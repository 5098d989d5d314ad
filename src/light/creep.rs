//! Dashes that creep along a guide band: where print and texture hide a still light, the eye
//! still sees one that moves. Only asked for; then it is all that moves on the table.

use crate::shape::{Caps, Region, difference, part, stroke, union};
use crate::space::{Piece, Point};

/// Steps in which a dash creeps to where the next one was.
pub const STEPS: usize = 5;

/// Steps a second: 4 mm a step, 20 mm/s. An eye that looks elsewhere notices movement of about
/// a degree a second and more, 14 mm from 0.8 m off (*estimate*).
pub const RATE: f64 = 5.0;

/// From dash to dash along the cut line, mm, but for what makes a whole number of them go
/// round an outline; the share of it that is lit, in steps. 12 mm lit, 8 mm dark: a dash is
/// longer than a band is wide, so that it points along the edge (*estimate*).
const PITCH: f64 = 20.0;
const LIT: usize = 3;

/// Light wider than this, mm, is waste that is lit: it is dark only so far from the cut line.
const DEEP: f64 = 12.0;

/// A gap reaches so far beyond the band, mm: through it, however its outer edge was rounded.
const THROUGH: f64 = 1.0;

/// What is dark, at a step, of a band of `width` mm round a piece whose area is `inside`.
///
/// Round each outline, gaps by arc length; what a dash of another part of the outline lights,
/// in a slot or an inward corner, stays lit. So the dashes of all steps together are the band,
/// and every place on the cut line is lit in at least [`LIT`] of [`STEPS`] steps.
pub(super) fn gaps(inside: &Region<Piece>, width: f64, step: usize) -> Region<Piece> {
    let reach = if width > DEEP { DEEP } else { width + THROUGH };
    let (mut dark, mut lit) = (Vec::new(), Vec::new());
    for ring in &inside.rings {
        // Twice round, so that a dash may go over the beginning.
        let twice: Vec<Point<Piece>> = ring.iter().chain(ring).copied().collect();
        let closed: Vec<Point<Piece>> = ring.iter().chain(ring.first()).copied().collect();
        let round = crate::shape::length(&closed);
        let count = (round / PITCH).round().max(1.0);
        let pitch = round / count;
        let share = |steps: usize| pitch * steps as f64 / STEPS as f64;
        for k in 0..count as usize {
            let from = k as f64 * pitch + share(step % STEPS);
            let to = from + share(LIT);
            let add = |all: &mut Vec<Region<Piece>>, from, to| {
                let line = part(&twice, from, to);
                if line.len() > 1 {
                    all.push(stroke(&line, reach, Caps::Flat));
                }
            };
            add(&mut lit, from, to);
            add(&mut dark, to, from + pitch);
        }
    }
    difference(&union(&dark), &union(&lit))
}

#[cfg(test)]
mod tests {
    use super::super::band;
    use super::*;
    use crate::shape::{difference, intersection, offset};
    use crate::space::Vector;

    /// A blob with a narrow slot and a hole: corners both ways, and edges that face each other.
    fn piece() -> Region<Piece> {
        let ring = (0..180)
            .map(|k| {
                let a = std::f64::consts::TAU * f64::from(k) / 180.0;
                let r = 70.0 * (1.0 + 0.15 * (2.0 * a).sin() + 0.06 * (3.0 * a).cos());
                Point::new(r * a.cos(), r * a.sin())
            })
            .collect();
        let slot = [(-1.0, 0.0), (1.0, 0.0), (1.0, 90.0), (-1.0, 90.0)];
        let slot = Region::ring(slot.map(|(x, y)| Point::new(x, y)).to_vec());
        let whole = difference(&Region::ring(ring), &slot);
        difference(&whole, &Region::disc(Point::new(-35.0, -10.0), 9.0))
    }

    fn dashes(piece: &Region<Piece>, width: f64) -> Vec<Region<Piece>> {
        let band = band::outside(piece, &[], &[], width).band;
        let at = |step| difference(&band, &gaps(piece, width, step));
        (0..STEPS).map(at).collect()
    }

    #[test]
    fn all_steps_together_are_the_band_and_none_lies_in_the_piece() {
        for width in [3.0, 8.0, 30.0] {
            let piece = piece();
            let band = band::outside(&piece, &[], &[], width).band;
            let all = dashes(&piece, width);
            let together = union(&all);
            assert!(difference(&band, &together).area() < 1e-3, "{width}");
            for dash in &all {
                assert!(intersection(dash, &piece).area() < 1e-3);
                assert!(difference(dash, &band).area() < 1e-3);
            }
        }
    }

    #[test]
    fn two_fifths_of_a_plain_edge_are_dark_and_the_rest_of_the_waste_stays_lit() {
        let disc = Region::<Piece>::disc(Point::new(3.0, 4.0), 80.0);
        for width in [3.0, 12.0] {
            let whole = offset(&disc, width).area() - disc.area();
            for lit in dashes(&disc, width) {
                let share = lit.area() / whole;
                // A fan of a round edge is lit alike at every distance.
                assert!((share - 0.6).abs() < 0.01, "{width}: {share}");
            }
        }
        let near = offset(&disc, DEEP).area() - disc.area();
        let whole = offset(&disc, 30.0).area() - disc.area();
        for lit in dashes(&disc, 30.0) {
            let dark = whole - lit.area();
            assert!((dark / near - 0.4).abs() < 0.01, "{}", dark / near);
        }
    }

    /// Every place along the cut line, a hundredth of a mm outside it, is lit for a part of
    /// the time, and all but those in the slot and by its corners are dark for a part.
    #[test]
    fn every_place_of_the_edge_is_lit_part_of_the_time() {
        let piece = piece();
        let all = dashes(&piece, 3.0);
        let mut dark = 0.0;
        let mut places = 0.0;
        for ring in &piece.rings {
            for (a, b) in crate::shape::pairs(ring) {
                if (b - a).length() < 0.1 {
                    continue;
                }
                let along = (b - a).normalize();
                let out = Vector::new(along.y, -along.x) * 0.01;
                let steps = ((b - a).length() / 0.7).ceil();
                for k in 0..steps as usize {
                    let at = a.lerp(b, (k as f64 + 0.5) / steps) + out;
                    let lit = all.iter().filter(|r| r.contains(at)).count();
                    assert!(lit >= LIT, "{lit} of {STEPS} at {at:?}");
                    places += 1.0;
                    dark += f64::from(u8::from(lit < STEPS));
                }
            }
        }
        assert!(dark / places > 0.6, "{}", dark / places);
    }

    /// Each step is the one before, moved along the edge.
    #[test]
    fn dashes_creep_anticlockwise_by_a_fifth_of_their_pitch() {
        let radius = 80.0;
        let disc = Region::<Piece>::disc(Point::origin(), radius);
        let all = dashes(&disc, 3.0);
        let count = (std::f64::consts::TAU * radius / PITCH).round();
        let turn = std::f64::consts::TAU / count / STEPS as f64;
        let lit = |step: usize, angle: f64| {
            let at = Point::new(angle.cos(), angle.sin()) * (radius + 1.5);
            all[step % STEPS].contains(at)
        };
        for k in 0..500 {
            let angle = f64::from(k) * 0.0123;
            for step in 0..STEPS {
                let near = [-0.002, 0.002].map(|off| lit(step, angle + off));
                if near[0] == near[1] {
                    assert_eq!(lit(step + 1, angle + turn), near[0], "{k} {step}");
                }
            }
        }
    }
}
