//! Each cause is played through two homographies, as a table, a hand and a
//! projector would, and has to be named from the tape's readings.

use super::{Cause, CheckSquare, Finding, check_square};
use crate::calibration::table_marks::Span;
use crate::calibration::{MarkRow, Profile};
use crate::measure::Unit;
use crate::projection::from_marks;
use crate::space::{Point, Projector, Table, Vector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::TAU;

/// A table under a keystoned projector.
struct Scene {
    /// Where the marks truly are.
    marks: [Point<Table>; 4],
    /// Where they are said to be.
    typed: [Point<Table>; 4],
    /// How far beside each mark its light was set, mm.
    beside: [Vector<Table>; 4],
    /// How much larger the picture became since, about its middle.
    zoom: f64,
}

const MARKS: [[f64; 2]; 4] = [[20.0, 30.0], [1170.0, 30.0], [1170.0, 640.0], [20.0, 640.0]];

impl Scene {
    fn good() -> Self {
        let marks = MARKS.map(Point::from);
        Self {
            marks,
            typed: marks,
            beside: [Vector::zero(); 4],
            zoom: 1.0,
        }
    }

    /// The square that the program lays, and the six lengths that light has.
    fn play(&self) -> (CheckSquare, [f64; 6]) {
        // How the projector truly stands.
        let corners = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 675.0], [0.0, 675.0]];
        let pixels = [
            [40.0, 1060.0],
            [1890.0, 1040.0],
            [1790.0, 30.0],
            [110.0, 15.0],
        ];
        let (truth, _) = from_marks(corners.map(Point::from), pixels.map(Point::from)).unwrap();
        let set = |k: usize| truth.point(self.marks[k] + self.beside[k]).unwrap();
        let rows: [MarkRow; 4] = std::array::from_fn(|k| MarkRow {
            table: self.typed[k],
            projector: set(k),
        });
        let profile = Profile::of_four(&rows, [1920, 1080], false).unwrap();
        let square = check_square(&profile, Unit::Mm).unwrap();
        let aimed = profile.mapping().unwrap();
        let back = truth.inverse().unwrap();
        let middle: Point<Projector> = Point::new(960.0, 540.0);
        let falls = square.corners.map(|c| {
            let pixel = aimed.pixel(c, 0.0).unwrap();
            back.point(middle + (pixel - middle) * self.zoom).unwrap()
        });
        let lengths = Span::ALL.map(|s| (falls[s.ends()[1]] - falls[s.ends()[0]]).length());
        (square, lengths)
    }

    /// Plays it 200 times with an unsteady hand and tape, and counts
    /// the findings: right, told as `cause`, told otherwise, told to be one of
    /// two (`cause` among them), not told.
    fn told(&self, seed: u64, cause: impl Fn(&Cause) -> bool) -> [usize; 5] {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut normal = move |sigma: f64| {
            let radius = sigma * (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
            radius * (TAU * rng.random::<f64>()).cos()
        };
        let mut told = [0; 5];
        for _ in 0..200 {
            // Half a pixel of hand at each mark, half a millimetre of tape.
            let hand = [(); 4].map(|()| Vector::new(normal(0.32), normal(0.32)));
            let (square, lengths) = Scene {
                beside: std::array::from_fn(|k| self.beside[k] + hand[k]),
                ..*self
            }
            .play();
            let read = lengths.map(|l| Some(l + normal(0.5)));
            let slot = match square.judge(&read).unwrap().finding {
                Finding::Right => 0,
                Finding::Because(c) if cause(&c) => 1,
                Finding::Because(_) => 2,
                Finding::Either(all) if all.iter().any(&cause) => 3,
                Finding::Either(_) => 2,
                Finding::CantTell => 4,
            };
            told[slot] += 1;
        }
        println!("{told:?} right, told, wrongly told, one of two, not told");
        told
    }
}

fn sentence(scene: &Scene) -> String {
    let (square, lengths) = scene.play();
    square.judge(&lengths.map(Some)).unwrap().to_string()
}

fn typed(change: impl Fn(Point<Table>) -> Point<Table>) -> Scene {
    let mut scene = Scene::good();
    scene.marks = scene.marks.map(change);
    scene
}

#[test]
fn a_good_calibration_is_within_tolerance() {
    let scene = Scene::good();
    let (square, lengths) = scene.play();
    assert!(square.side >= 550.0);
    for (span, length) in Span::ALL.into_iter().zip(lengths) {
        assert!((length - square.expected(span)).abs() < 1e-6);
    }
    assert!(sentence(&scene).starts_with("within tolerance"));
    let [right, ..] = scene.told(1, |_| false);
    assert!(right >= 190);
}

#[test]
fn a_wrong_width_and_a_wrong_depth_are_named() {
    // The marks are 12 mm further apart than was typed: 6 mm in 600.
    let wide = typed(|p| Point::new(p.x * (1162.0 / 1150.0), p.y));
    let said = sentence(&wide);
    assert!(
        said.starts_with("widths are long and depths right: the marks lie 12."),
        "{said}"
    );
    let told = wide.told(
        2,
        |c| matches!(c, Cause::Width(by) if (by - 12.0).abs() < 4.0),
    );
    assert!(told[1] >= 190 && told[2] == 0, "{told:?}");
    let flat = typed(|p| Point::new(p.x, p.y * (602.0 / 610.0)));
    let said = sentence(&flat);
    assert!(
        said.starts_with("depths are short and widths right"),
        "{said}"
    );
    let told = flat.told(
        3,
        |c| matches!(c, Cause::Depth(by) if (by + 8.0).abs() < 4.0),
    );
    assert!(told[1] >= 190 && told[2] == 0, "{told:?}");
}

#[test]
fn a_table_out_of_square_is_named() {
    let (sin, cos) = 1_f64.to_radians().sin_cos();
    let leaning = typed(|p| Point::new(p.x + p.y * sin, p.y * cos));
    let said = sentence(&leaning);
    assert!(said.contains("1.0° out of square"), "{said}");
    let told = leaning.told(
        4,
        |c| matches!(c, Cause::Skew(deg) if (deg - 1.0).abs() < 0.3),
    );
    assert!(told[1] >= 190 && told[2] == 0, "{told:?}");
}

#[test]
fn one_mark_set_beside_is_named() {
    for k in 0..4 {
        let mut scene = Scene::good();
        scene.beside[k] = Vector::new(-6.0, 7.0);
        let said = sentence(&scene);
        assert!(
            said.contains(&format!("set mark {} again", k + 1)),
            "{said}"
        );
        let told = scene.told(5, |c| matches!(c, Cause::Mark(m, _) if *m == k));
        assert!(told[1] + told[3] >= 180 && told[2] <= 4, "{told:?}");
    }
}

#[test]
fn a_touched_zoom_and_a_slip_of_the_tape_are_named() {
    let mut scene = Scene::good();
    scene.zoom = 1.01;
    let said = sentence(&scene);
    assert!(said.starts_with("everything is long by 10."), "{said}");
    let told = scene.told(
        6,
        |c| matches!(c, Cause::Size(rate) if (rate - 10.0).abs() < 3.0),
    );
    assert!(told[1] >= 190 && told[2] == 0, "{told:?}");

    let (square, mut lengths) = Scene::good().play();
    lengths[2] += 10.0;
    let said = square.judge(&lengths.map(Some)).unwrap().to_string();
    assert!(
        said.starts_with("one reading is 10.0 mm long") && said.contains("the back edge"),
        "{said}"
    );
}

#[test]
fn what_cannot_be_told_is_not_told() {
    // Two marks beside, in no order.
    let mut scene = Scene::good();
    scene.beside[0] = Vector::new(7.0, -5.0);
    scene.beside[2] = Vector::new(6.0, -8.0);
    assert!(
        sentence(&scene).contains("can't be told"),
        "{}",
        sentence(&scene)
    );
    // One edge says nothing about why.
    let (square, lengths) = typed(|p| Point::new(p.x * 1.01, p.y)).play();
    let mut one = [None; 6];
    one[0] = Some(lengths[0]);
    let said = square.judge(&one).unwrap().to_string();
    assert!(said.contains("measure all four edges"), "{said}");
}

#[test]
fn a_reading_of_something_else_is_refused() {
    let (square, _) = Scene::good().play();
    let said = |read: [Option<f64>; 6]| square.judge(&read).unwrap_err().to_string();
    assert!(said([None; 6]).contains("no length"));
    let mut other = [None; 6];
    other[4] = Some(550.0);
    assert!(said(other).contains("the diagonal from front left"));
    other[4] = Some(f64::NAN);
    assert!(said(other).contains("read as no length"));
}
