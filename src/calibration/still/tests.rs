//! Each cause is played by a table and a lens in space, pointed at by an unsteady
//! hand, and has to be named.

use super::{Cause, Finding, Judged, Noted, POINTING, Seen, bare_words, judge};
use crate::measure::Unit;
use crate::space::{Point, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

/// Draws of each cause.
const DRAWS: usize = 200;

const MARKS: [[f64; 2]; 6] = [
    [20.0, 30.0],
    [1170.0, 30.0],
    [1170.0, 640.0],
    [20.0, 640.0],
    [600.0, 320.0],
    [610.0, 25.0],
];

/// Where the lens hangs, mm: off the table's middle, so that nothing is even.
const LENS: [f64; 3] = [520.0, -80.0, 1400.0];

fn meant(marks: usize) -> Vec<Point<Table>> {
    MARKS[..marks].iter().map(|m| Point::from(*m)).collect()
}

/// Turned about the table's origin, degrees, and shifted.
fn slid(p: Point<Table>, degrees: f64, by: [f64; 2]) -> Point<Table> {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Point::new(cos * p.x - sin * p.y + by[0], sin * p.x + cos * p.y + by[1])
}

/// Where a mark is seen, in the light's mm, once the lens is tilted in its place:
/// turned by `about` (radians, along x and along y). The ray that now lights the
/// mark is the one that was aimed where it met the table before.
fn tilted(p: Point<Table>, about: [f64; 2]) -> Point<Table> {
    let ray = [p.x - LENS[0], p.y - LENS[1], -LENS[2]];
    let ((sx, cx), (sy, cy)) = (about[0].sin_cos(), about[1].sin_cos());
    let ray = [ray[0], cx * ray[1] - sx * ray[2], sx * ray[1] + cx * ray[2]];
    let ray = [cy * ray[0] + sy * ray[2], ray[1], cy * ray[2] - sy * ray[0]];
    let far = -LENS[2] / ray[2];
    Point::new(LENS[0] + far * ray[0], LENS[1] + far * ray[1])
}

struct Hand(ChaCha8Rng);

impl Hand {
    fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    fn normal(&mut self, sigma: f64) -> f64 {
        let radius = sigma * (-2.0 * (1.0 - self.0.random::<f64>()).ln()).sqrt();
        radius * (TAU * self.0.random::<f64>()).cos()
    }

    /// Points at marks that are where `is` puts them.
    fn points(&mut self, marks: usize, is: impl Fn(usize, Point<Table>) -> Point<Table>) -> Judged {
        let seen = meant(marks).into_iter().enumerate().map(|(k, p)| Seen {
            number: k + 1,
            meant: p,
            seen: is(k, p) + Vector::new(self.normal(POINTING), self.normal(POINTING)),
        });
        let seen: Vec<Seen> = seen.collect();
        judge(&seen, POINTING, Unit::Mm).unwrap()
    }
}

/// How many of the draws are told as `right` says.
fn told(
    seed: u64,
    marks: usize,
    is: impl Fn(usize, Point<Table>) -> Point<Table>,
    right: impl Fn(&Finding) -> bool,
) -> usize {
    let mut hand = Hand::new(seed);
    let found = (0..DRAWS).map(|_| hand.points(marks, &is).finding);
    let right = found.filter(|f| right(f)).count();
    println!("{marks} marks: {right} of {DRAWS}");
    right
}

fn because(is: impl Fn(&Cause) -> bool) -> impl Fn(&Finding) -> bool {
    move |f| matches!(f, Finding::Because(c) if is(c))
}

/// 95 % of the draws.
const MOST: usize = 190;

#[test]
fn without_movement_it_is_still_true_in_99_of_100() {
    for marks in 1..=6 {
        let mut hand = Hand::new(marks as u64);
        let draws = 2000;
        let found = (0..draws).map(|_| hand.points(marks, |_, p| p).finding);
        let still = found.filter(|f| *f == Finding::Still).count() as f64;
        let share = still / f64::from(draws);
        // The standard deviation of the count is 0.22 %.
        assert!((0.983..0.997).contains(&share), "{marks} marks: {share}");
    }
}

#[test]
fn a_slide_is_a_shift_from_any_number_of_marks() {
    for marks in 1..=6 {
        let right = told(
            10,
            marks,
            |_, p| slid(p, 0.0, [5.0, -3.0]),
            because(
                |c| matches!(c, Cause::Shift(by) if (*by - Vector::new(5.0, -3.0)).length() < 2.5),
            ),
        );
        assert!(right >= MOST, "{marks} marks: {right}");
    }
}

#[test]
fn a_turn_is_told_from_two_marks_on() {
    let turned = |_: usize, p| slid(p, 0.5, [2.0, 1.0]);
    for marks in 2..=6 {
        let right = told(
            11,
            marks,
            turned,
            because(|c| matches!(c, Cause::Turn { degrees, .. } if (degrees - 0.5).abs() < 0.15)),
        );
        assert!(right >= MOST, "{marks} marks: {right}");
    }
    // The first mark alone can't tell it, and says so.
    let said = Hand::new(12).points(1, turned).to_string();
    assert!(said.contains("beside the mark:"), "{said}");
    assert!(said.contains("can't tell a shift from a turn"), "{said}");
}

#[test]
fn a_touched_zoom_is_a_size_from_three_marks_on() {
    // About a place off the marks' middle, and turned a little.
    let zoomed = |_: usize, p: Point<Table>| {
        let p = slid(p, 0.2, [0.0, 0.0]);
        Point::new(400.0 + (p.x - 400.0) * 1.01, 900.0 + (p.y - 900.0) * 1.01)
    };
    for marks in 3..=6 {
        let right = told(
            13,
            marks,
            zoomed,
            because(|c| matches!(c, Cause::Size { rate, .. } if (rate - 10.0).abs() < 2.5)),
        );
        assert!(right >= MOST, "{marks} marks: {right}");
    }
    let said = Hand::new(14).points(3, zoomed).to_string();
    assert!(said.contains("too small by"), "{said}");
    // From two it can't be told from a mark that was moved.
    let two = Hand::new(14).points(2, zoomed);
    assert_eq!(two.finding, Finding::CantTell);
    assert!(two.to_string().contains("a change of size"), "{two}");
}

#[test]
fn a_mark_that_was_moved_is_named() {
    for marks in 3..=6 {
        for moved in 0..marks {
            let right = told(
                15,
                marks,
                |k, p| {
                    if k == moved {
                        slid(p, 0.0, [-4.0, 5.0])
                    } else {
                        p
                    }
                },
                because(|c| matches!(c, Cause::Mark { number, .. } if *number == moved + 1)),
            );
            assert!(right >= MOST, "{marks} marks, mark {}: {right}", moved + 1);
        }
    }
}

#[test]
fn a_tilt_is_told_from_four_marks_on() {
    let tilt = |_: usize, p| tilted(p, [0.03, -0.02]);
    for marks in 4..=6 {
        let right = told(16, marks, tilt, because(|c| *c == Cause::Tilt));
        assert!(right >= MOST, "{marks} marks: {right}");
    }
    let mut hand = Hand::new(17);
    let four = hand.points(4, tilt).to_string();
    assert!(four.contains("several marks were moved"), "{four}");
    // With six, several moved marks are no tilt.
    let six = hand.points(6, |k, p| match k {
        0 => slid(p, 0.0, [6.0, 0.0]),
        4 => slid(p, 0.0, [0.0, 9.0]),
        _ => p,
    });
    assert_eq!(six.finding, Finding::CantTell, "{six}");
    assert!(!hand.points(6, tilt).to_string().contains("can't"));
}

#[test]
fn marks_in_a_line_or_in_one_place_say_what_they_can() {
    let line = |k: usize| Point::new(100.0 * k as f64, 50.0);
    let seen = |to: &dyn Fn(Point<Table>) -> Point<Table>| -> Vec<Seen> {
        let one = |k| Seen {
            number: k + 1,
            meant: line(k),
            seen: to(line(k)),
        };
        (0..5).map(one).collect()
    };
    let turned = judge(&seen(&|p| slid(p, 1.0, [0.0; 2])), POINTING, Unit::Mm).unwrap();
    assert_eq!(turned.word(), "turn");
    let bent = seen(&|p| Point::new(p.x, p.y + (p.x - 200.0).abs() / 5.0));
    let bent = judge(&bent, POINTING, Unit::Mm).unwrap();
    assert_eq!(bent.word(), "unclear");
    let here = Seen {
        number: 1,
        meant: line(1),
        seen: line(1) + Vector::new(7.0, 0.0),
    };
    let other = Seen {
        seen: line(1) - Vector::new(7.0, 0.0),
        ..here
    };
    assert_eq!(
        judge(&[here, other], POINTING, Unit::Mm).unwrap().word(),
        "unclear"
    );
    assert!(judge(&[], POINTING, Unit::Mm).is_err());
    let nowhere = Seen {
        seen: Point::new(f64::NAN, 0.0),
        ..here
    };
    assert!(judge(&[nowhere], POINTING, Unit::Mm).is_err());
}

#[test]
fn what_is_noted_has_its_number_of_marks_and_millimetres() {
    let seen = Seen {
        number: 1,
        meant: Point::new(0.0, 0.0),
        seen: Point::new(3.0, 4.0),
    };
    let judged = judge(&[seen], POINTING, Unit::Mm).unwrap();
    let noted = Noted::from(&judged).on("2031-05-17".to_owned());
    assert_eq!(
        (noted.marks, noted.rms_mm, noted.finding.as_str()),
        (1, Some(5.0), "shift")
    );
}

#[test]
fn what_is_covered_is_said() {
    assert!(bare_words(0, 4).contains("all 4 marks are covered"));
    assert!(bare_words(2, 4).starts_with("2 of 4 marks are covered; two marks can't"));
    assert!(bare_words(5, 20).contains("15 of 20"));
    assert_eq!(bare_words(4, 4), "all 4 marks are bare");
    assert!(bare_words(0, 0).contains("keeps no marks"));
}
