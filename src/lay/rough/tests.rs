use super::*;
use crate::space::{Rigid, Vector};

fn ring(points: &[(f64, f64)]) -> Region<Table> {
    Region::ring(points.iter().map(|&(x, y)| Point::new(x, y)).collect())
}

fn block(x: f64, y: f64, w: f64, h: f64) -> Region<Table> {
    ring(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
}

fn sorted(plan: &RoughPlan) -> Vec<Vec<usize>> {
    let mut parts = plan.parts.clone();
    parts.sort();
    parts
}

#[test]
fn a_grid_comes_apart_wholly_though_the_gaps_are_just_wide_enough() {
    let sheet = block(0.0, 0.0, 410.0, 310.0);
    let kept: Vec<_> = (0..12)
        .map(|k| {
            let (i, j) = (f64::from(k % 4), f64::from(k / 4));
            block(10.0 + 100.0 * i, 10.0 + 100.0 * j, 88.0, 88.0)
        })
        .collect();
    for turn in [0.0, 0.37, 1.2] {
        let pose: Rigid<Table, Table> = Rigid::new(false, turn, Vector::new(400.0, -90.0));
        let kept: Vec<_> = kept.iter().map(|k| k.moved(&pose)).collect();
        let plan = rough_cuts(&sheet.moved(&pose), &kept, 6.0);
        assert_eq!(sorted(&plan), (0..12).map(|k| vec![k]).collect::<Vec<_>>());
        assert_eq!(plan.cuts.len(), 11);
        assert!(plan.cuts.iter().all(|c| (c.clear - 6.0).abs() < 1e-6));
        // The first goes across the short way, down the middle.
        let first = plan.cuts[0];
        assert!(((first.to - first.from).length() - 310.0).abs() < 1e-6);
        let all: f64 = plan.cuts.iter().map(|c| (c.to - c.from).length()).sum();
        assert!((all - (3.0 * 310.0 + 2.0 * 410.0)).abs() < 1e-6, "{all}");
        // A hair more than there is room for, and nothing is cut.
        let plan = rough_cuts(&sheet.moved(&pose), &kept, 6.001);
        assert_eq!((plan.cuts.len(), plan.parts.len()), (0, 1));
    }
}

#[test]
fn interlocked_pieces_stay_together_and_others_do_not() {
    let ell = [
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 30.0),
        (30.0, 30.0),
        (30.0, 100.0),
        (0.0, 100.0),
    ];
    // Its tips lie within the corner of the other.
    let turned = ell.map(|(x, y)| (100.0 - 0.6 * x, 100.0 - 0.6 * y));
    let kept = [ring(&ell), block(250.0, 20.0, 60.0, 90.0), ring(&turned)];
    let plan = rough_cuts(&block(-20.0, -20.0, 400.0, 200.0), &kept, 6.0);
    assert_eq!(sorted(&plan), [vec![0, 2], vec![1]]);
    assert_eq!(plan.cuts.len(), 1);
}

#[test]
fn the_only_gap_is_found_whatever_its_slant() {
    // Two rows of blocks with a corridor of 12.4 mm between them.
    let row = |y: f64| (0..4).map(move |k| block(30.0 * f64::from(k), y, 29.0, 20.0));
    let kept: Vec<_> = row(0.0).chain(row(32.4)).collect();
    for k in 0..40 {
        let pose = Rigid::new(k % 2 == 1, 0.08 * f64::from(k), Vector::new(50.0, 70.0));
        let moved: Vec<Region<Table>> = kept.iter().map(|r| r.moved(&pose)).collect();
        let plan = rough_cuts(&block(-300.0, -300.0, 700.0, 700.0), &moved, 6.2);
        assert_eq!(sorted(&plan), [[0, 1, 2, 3], [4, 5, 6, 7]]);
    }
}

#[test]
fn an_arm_is_cut_off_though_the_line_runs_on_into_a_piece() {
    // A sheet like a U; the right arm is filled by one long piece.
    let sheet = ring(&[
        (0.0, 0.0),
        (300.0, 0.0),
        (300.0, 400.0),
        (200.0, 400.0),
        (200.0, 100.0),
        (100.0, 100.0),
        (100.0, 400.0),
        (0.0, 400.0),
    ]);
    // What lies along the bottom is too close to it to be parted from it, so
    // that any line that parts the piece in the left arm from both would have
    // to go round a corner; a cut across the left arm alone does it.
    let kept = [
        block(10.0, 10.0, 280.0, 80.0),
        block(10.0, 120.0, 80.0, 260.0),
        block(210.0, 94.0, 80.0, 290.0),
    ];
    let plan = rough_cuts(&sheet, &kept, 6.0);
    assert_eq!(sorted(&plan), [vec![0, 2], vec![1]]);
    assert_eq!(plan.cuts.len(), 1);
    let cut = plan.cuts[0];
    assert!((cut.clear - 15.0).abs() < 1e-9 && (cut.to.x - cut.from.x).abs() < 100.1);
}

#[test]
fn only_the_stretches_that_are_needed_are_cut() {
    // Above and below the line there is a piece in the first tooth only.
    let sheet = ring(&[
        (0.0, 0.0),
        (300.0, 0.0),
        (300.0, 300.0),
        (200.0, 300.0),
        (200.0, 50.0),
        (100.0, 50.0),
        (100.0, 300.0),
        (0.0, 300.0),
    ]);
    let kept = [
        block(10.0, 10.0, 280.0, 30.0),
        block(10.0, 100.0, 80.0, 150.0),
    ];
    let plan = rough_cuts(&sheet, &kept, 6.0);
    assert_eq!((plan.cuts.len(), plan.parts.len()), (1, 2));
    assert!(plan.cuts[0].to.x < 101.0 && plan.cuts[0].from.x < 101.0);
}

#[test]
fn a_sheet_with_a_hole_or_in_two_pieces_is_no_trouble() {
    let mut sheet = block(0.0, 0.0, 300.0, 300.0);
    let mut hole = block(100.0, 100.0, 100.0, 100.0);
    hole.rings[0].reverse();
    sheet.append(hole);
    sheet.append(block(400.0, 0.0, 100.0, 100.0));
    let kept = [
        block(110.0, 10.0, 80.0, 80.0),
        block(110.0, 210.0, 80.0, 80.0),
        block(410.0, 10.0, 80.0, 80.0),
    ];
    let plan = rough_cuts(&sheet, &kept, 6.0);
    assert_eq!(sorted(&plan), [[0], [1], [2]]);
    // One stretch on either side of the hole.
    assert_eq!(plan.cuts.len(), 2);
    assert!(plan.cuts.iter().all(|c| (c.to - c.from).length() < 150.0));
}

#[test]
fn light_beside_the_part_in_hand_is_not_touched_either() {
    let mut sheet = block(0.0, 0.0, 148.0, 400.0);
    sheet.append(block(152.0, 0.0, 148.0, 400.0));
    let parts = |beyond: f64| {
        let kept = [
            block(10.0, 120.0, 130.0, 120.0),
            block(10.0, 260.0, 130.0, 120.0),
            block(beyond, 20.0, 100.0, 360.0),
        ];
        rough_cuts(&sheet, &kept, 6.0).parts.len()
    };
    // A cut between the first two ends at x = 148.
    assert_eq!((parts(153.0), parts(154.5)), (2, 3));
}

#[test]
fn nonsense_is_borne() {
    let sheet = block(0.0, 0.0, 300.0, 300.0);
    let out = [
        block(-50.0, 20.0, 100.0, 50.0),
        block(900.0, 0.0, 50.0, 50.0),
        Region::default(),
        ring(&[(f64::NAN, 0.0), (1.0, 0.0), (1.0, 1.0)]),
        block(200.0, 150.0, 60.0, 60.0),
        block(210.0, 160.0, 60.0, 60.0),
    ];
    let plan = rough_cuts(&sheet, &out, 6.0);
    assert_eq!(
        sorted(&plan),
        [vec![0], vec![1], vec![2], vec![3], vec![4, 5]]
    );
    assert_eq!(plan.cuts.len(), 1);
    for clear in [f64::NAN, -3.0, 0.0] {
        assert_eq!(rough_cuts(&sheet, &out, clear).parts.len(), 5);
    }
    assert_eq!(rough_cuts(&sheet, &out, f64::INFINITY).cuts.len(), 0);
    assert_eq!(rough_cuts(&Region::default(), &out, 6.0).parts.len(), 6);
    assert_eq!(rough_cuts(&sheet, &[], 6.0), RoughPlan::default());
}
