//! The vernier by numbers alone: what the light does, and what eyes make of it.

use super::*;
use proptest::prelude::*;

#[derive(Clone, Copy)]
enum Eye {
    One,
    Balanced,
}

/// The lit lines of one axis as intervals, by number, when light lands `off`
/// beside its aim and everything is larger by the share `scale`.
fn lines(axis: usize, pixel: f64, off: f64, scale: f64) -> Vec<(i32, [f64; 2])> {
    let mut out: Vec<(i32, [f64; 2])> = Vec::new();
    for stroke in lit(Point::zero(), [pixel; 2]) {
        let [from, to] = [stroke.from, stroke.to].map(|p| [p.x, p.y][axis]);
        let k = (from / LIT_PITCH).round() as i32;
        // The middle's level line comes in two parts.
        if from == to && out.iter().all(|(j, _)| *j != k) {
            let half = stroke.width / 2.0;
            out.push((
                k,
                [from - half, from + half].map(|v| v * (1.0 + scale) + off),
            ));
        }
    }
    assert_eq!(out.len(), 21);
    out
}

/// The number of the line that agrees best, when `middle` says where a lit line
/// seems to be.
fn best(lines: &[(i32, [f64; 2])], middle: impl Fn([f64; 2]) -> f64) -> i32 {
    let off = |(k, line): &(i32, [f64; 2])| (middle(*line) - PITCH * f64::from(*k)).abs();
    lines
        .iter()
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .unwrap()
        .0
}

/// The same, with the two lines on either side looked at together: those on one
/// side must be off by as much as those on the other.
fn balanced(lines: &[(i32, [f64; 2])], middle: impl Fn([f64; 2]) -> f64) -> i32 {
    let off: Vec<f64> = lines
        .iter()
        .map(|(k, line)| middle(*line) - PITCH * f64::from(*k))
        .collect();
    let lean = |at: usize| {
        let beside = at.min(off.len() - 1 - at).min(2);
        let some = &off[at - beside..=at + beside];
        (some.iter().sum::<f64>() / some.len() as f64).abs()
    };
    let at = (0..lines.len()).min_by(|a, b| lean(*a).total_cmp(&lean(*b)));
    lines[at.unwrap()].0
}

/// Where a line that is lit by pixels seems to be: pixels `pixel` mm wide from
/// `phase` on, each lit by its share of the line, as bright as `seen` makes of it.
fn seen_middle([low, high]: [f64; 2], pixel: f64, phase: f64, seen: impl Fn(f64) -> f64) -> f64 {
    let first = ((low - phase) / pixel).floor() as i32;
    let last = ((high - phase) / pixel).ceil() as i32;
    let (mut sum, mut weight) = (0.0, 0.0);
    for k in first..last {
        let left = phase + pixel * f64::from(k);
        let share = ((high.min(left + pixel) - low.max(left)) / pixel).clamp(0.0, 1.0);
        sum += seen(share) * (left + pixel / 2.0);
        weight += seen(share);
    }
    sum / weight
}

fn displacements() -> impl Iterator<Item = f64> {
    (-100..=100).map(|k| f64::from(k) / 100.0)
}

/// The worst reading, mm, at every displacement and 20 phases of the pixels, by
/// an eye that sees each line's middle so, one by one or with their neighbours.
fn worst(pixel: f64, eye: Eye, middle: impl Fn([f64; 2], f64) -> f64) -> f64 {
    let mut worst = 0.0_f64;
    for off in displacements() {
        let all = lines(0, pixel, off, 0.0);
        for phase in (0..20).map(|k| pixel * f64::from(k) / 20.0) {
            let at = |line| middle(line, phase);
            let k = match eye {
                Eye::One => best(&all, at),
                Eye::Balanced => balanced(&all, at),
            };
            worst = worst.max((f64::from(k) * STEP - off).abs());
        }
    }
    worst
}

#[test]
fn the_line_that_agrees_reads_the_displacement() {
    for axis in [0, 1] {
        for off in displacements() {
            let k = best(&lines(axis, 0.63, off, 0.0), |[low, high]| {
                (low + high) / 2.0
            });
            assert!(
                (f64::from(k) * STEP - off).abs() < 0.05 + 1e-9,
                "{off} reads {k}"
            );
            let read = [f64::from(k), 0.0];
            let back = reading(read[axis], read[1 - axis]).unwrap();
            let left = off + [back.x, back.y][axis];
            assert!(left.abs() < 0.05 + 1e-9, "{off} is put right by {back:?}");
        }
    }
}

#[test]
fn the_eye_reads_a_tenth_at_any_phase_of_the_pixels() {
    for pixel in [0.5, 0.56, 0.63, 0.7, 0.8] {
        let linear = worst(pixel, Eye::One, |l, phase| {
            seen_middle(l, pixel, phase, |share| share)
        });
        assert!(linear < 0.1, "{pixel}: {linear}");
        // Lightness over what the room gives, as a share of the full light.
        for room in [0.1_f64, 0.25, 1.0] {
            let lightness = |share: f64| (share + room).cbrt() - room.cbrt();
            let by = worst(pixel, Eye::One, |l, phase| {
                seen_middle(l, pixel, phase, lightness)
            });
            assert!(by < 0.1, "{pixel}, room {room}: {by}");
        }
        let dark = worst(pixel, Eye::One, |l, phase| {
            seen_middle(l, pixel, phase, f64::cbrt)
        });
        assert!(dark < 0.165, "{pixel}: {dark}");
        let dark = worst(pixel, Eye::Balanced, |l, phase| {
            seen_middle(l, pixel, phase, f64::cbrt)
        });
        assert!(dark < 0.12, "{pixel}: {dark}");
    }
}

#[test]
fn whole_pixels_could_not_be_read_to_a_tenth() {
    let pixel = 0.63;
    let whole = worst(pixel, Eye::One, |l, phase| {
        seen_middle(l, pixel, phase, |share| if share < 0.5 { 0.0 } else { 1.0 })
    });
    assert!(whole > 0.2, "{whole}");
}

#[test]
fn reading_again_takes_out_what_a_wrong_size_does() {
    for scale in [-0.01, -0.003, 0.003, 0.01] {
        for off in displacements() {
            let mut left = off;
            for _ in 0..6 {
                let k = best(&lines(0, 0.63, left, scale), |[low, high]| {
                    (low + high) / 2.0
                });
                left += reading(f64::from(k), 0.0).unwrap().x;
                if k == 0 {
                    break;
                }
            }
            assert!(left.abs() < 0.11, "{off} at {scale}: {left}");
        }
    }
}

#[test]
fn nothing_off_the_scale_is_read() {
    for bad in [10.5, -11.0, f64::NAN, f64::INFINITY] {
        let said = reading(0.0, bad).unwrap_err().to_string();
        assert!(said.contains("no line") && said.contains("away"), "{said}");
        assert!(reading(bad, 0.0).is_err());
    }
    let half = reading(2.5, -10.0).unwrap();
    assert!((half - Vector::new(-0.25, 1.0)).length() < 1e-12);
    assert_eq!(reading(0.0, 0.0).unwrap().x.to_bits(), 0.0_f64.to_bits());
}

proptest! {
    #[test]
    fn strokes_never_overlap(
        pixel in prop::array::uniform2(0.1..3.0f64),
        aim in prop::array::uniform2(-900.0..900.0f64),
    ) {
        let boxes: Vec<_> = lit(Point::from(aim), pixel)
            .iter()
            .map(|s| euclid::Box2D::from_points(s.corners()))
            .collect();
        prop_assert_eq!(boxes.len(), 43);
        for (k, a) in boxes.iter().enumerate() {
            for b in &boxes[..k] {
                // Parts of the middle's cross share a border.
                prop_assert!(!a.inflate(-1e-9, -1e-9).intersects(b));
            }
        }
    }
}

#[test]
fn outlines_go_round_counter_clockwise() {
    for stroke in lit(Point::new(300.0, 200.0), [0.6, 0.8]) {
        let c = stroke.corners();
        let area = (c[1] - c[0]).cross(c[3] - c[0]);
        let length = (stroke.to - stroke.from).length();
        assert!((area - length * stroke.width).abs() < 1e-9);
    }
}

#[test]
fn a_pixel_is_measured_along_each_axis() {
    use crate::projection::{Homography, Mapping};
    // A quarter turn: 2 px to the millimetre along y, 1.25 along x.
    let rows = [[0.0, 2.0, 10.0], [1.25, 0.0, 5.0], [0.0, 0.0, 1.0]];
    let mapping = Mapping::plane(Homography::from_rows(rows).unwrap());
    let [x, y] = pixel_along(&mapping, Point::new(100.0, 80.0)).unwrap();
    assert!((x - 0.8).abs() < 1e-9 && (y - 0.5).abs() < 1e-9, "{x} {y}");
}
