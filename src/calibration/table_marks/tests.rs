//! Tables whose marks are known, measured.

use super::*;
use proptest::prelude::*;

fn taped(m: [[f64; 2]; 4]) -> TapeReadings {
    let m: [Point<Table>; 4] = m.map(Point::from);
    let d = |s: Span| Some((m[s.ends()[1]] - m[s.ends()[0]]).length());
    TapeReadings {
        front: d(Span::Front),
        right: d(Span::Right),
        back: d(Span::Back),
        left: d(Span::Left),
        diagonal_13: d(Span::Diagonal13),
        diagonal_24: d(Span::Diagonal24),
    }
}

#[test]
fn one_degree_out_of_square_is_14_mm_over_800() {
    let (sin, cos) = 89_f64.to_radians().sin_cos();
    let tape = TapeReadings {
        right: None,
        back: None,
        ..taped([
            [0.0, 0.0],
            [1200.0, 0.0],
            [1200.0 + 800.0 * cos, 800.0 * sin],
            [800.0 * cos, 800.0 * sin],
        ])
    };
    let s = survey(&tape).unwrap();
    // 800 · cos 89° = 13.96.
    assert!((s.marks[3].x - 13.961_925).abs() < 1e-5, "{:?}", s.marks);
    assert!((s.out_of_square + 1.0).abs() < 1e-6);
    assert_eq!(
        s.to_string(),
        "the corner at mark 1 has 89.0°; the readings go together to 0.0 mm"
    );
}

#[test]
fn a_plain_table_is_plain() {
    let tape = TapeReadings {
        front: Some(1200.0),
        left: Some(500.0),
        diagonal_13: Some(1300.0),
        diagonal_24: Some(1300.0),
        ..TapeReadings::default()
    };
    let s = survey(&tape).unwrap();
    assert!((s.marks[2] - Point::new(1200.0, 500.0)).length() < 1e-6);
    assert_eq!(
        s.to_string(),
        "the table is square; the readings go together to 0.0 mm"
    );
    assert_eq!(s.shape, Shape::Parallelogram);
}

#[test]
fn a_slip_of_the_tape_is_found_and_its_size_said() {
    let mut tape = taped([[0.0, 0.0], [1210.0, 0.0], [1195.0, 806.0], [-8.0, 795.0]]);
    tape.diagonal_13 = tape.diagonal_13.map(|d| d + 10.0);
    let s = survey(&tape).unwrap();
    assert!(!s.closes);
    let by = s.alone.iter().find(|a| a.0 == Span::Diagonal13).unwrap().1;
    assert!((by - 10.0).abs() < 0.1, "{by}");
    assert!(
        s.to_string()
            .contains("the diagonal 1 to 3 read 10.0 mm too long"),
        "{s}"
    );
    // Unequal opposite edges do not pass for a parallelogram either.
    let s = survey(&TapeReadings {
        back: None,
        right: None,
        ..tape
    })
    .unwrap();
    assert!(!s.closes && s.to_string().contains("the back edge and right side too"));
    // With three edges, nothing checks.
    let s = survey(&TapeReadings { back: None, ..tape }).unwrap();
    assert!(
        s.closes && s.to_string().contains("measure the fourth edge"),
        "{s}"
    );
}

#[test]
fn what_is_missing_or_impossible_is_said() {
    let full = taped([[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]]);
    let said = |t: TapeReadings| survey(&t).unwrap_err().to_string();
    assert!(
        said(TapeReadings {
            front: None,
            back: None,
            ..full
        })
        .contains("front edge")
    );
    assert!(
        said(TapeReadings {
            left: None,
            right: None,
            ..full
        })
        .contains("left side")
    );
    assert!(
        said(TapeReadings {
            diagonal_24: None,
            ..full
        })
        .contains("diagonal 2 to 4 is missing")
    );
    assert!(
        said(TapeReadings {
            front: Some(f64::NAN),
            ..full
        })
        .contains("front edge")
    );
    assert!(
        said(TapeReadings {
            left: Some(0.8),
            ..full
        })
        .contains("0.8 mm")
    );
    assert!(
        said(TapeReadings {
            diagonal_13: Some(4000.0),
            ..full
        })
        .contains("no four marks")
    );
}

proptest! {
    #[test]
    fn exact_readings_give_the_marks_back(
        w in 300.0..3000.0f64, h in 300.0..2000.0f64, off in prop::array::uniform4(-40.0..40.0f64),
    ) {
        let m = [[0.0, 0.0], [w, 0.0], [w + off[0], h + off[1]], [off[2], h + off[3]]];
        let full = taped(m);
        for tape in [full, TapeReadings { back: None, ..full }, TapeReadings { left: None, ..full }] {
            let s = survey(&tape).unwrap();
            for (a, b) in s.marks.iter().zip(m) {
                prop_assert!((*a - Point::from(b)).length() < 1e-4, "{:?} {:?}", s.marks, m);
            }
            prop_assert!(s.closes);
        }
    }
}
