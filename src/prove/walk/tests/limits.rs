//! More than is looked at is told.

use super::*;

/// That is said, to be looked at.
fn says(found: &[Finding], what: &str) {
    let hit = found.iter().find(|f| f.what.contains(what));
    let hit = hit.unwrap_or_else(|| panic!("{what}: {found:?}"));
    assert_eq!(hit.severity, Severity::Check);
}

#[test]
fn a_dart_of_too_many_points_is_told_and_counts_as_one() {
    // One of 17 points, before and after it one that is closed.
    let mut a = cloth("a", &straight(100.0), 50.0, &[]);
    let dart = |x: f64| {
        let [foot, tip, other] = [(x, -1.0), (x + 2.0, 20.0), (x + 4.0, -1.0)];
        [foot, tip, other].map(|(x, y)| Point::new(x, y)).to_vec()
    };
    let long = || -> Polyline {
        let at = |k: i32| Point::new(50.0 + f64::from(k % 2), f64::from(k));
        (0..17).map(at).collect()
    };
    a.darts = vec![dart(10.0), long(), dart(80.0)];
    let laid = Laid::new(&a);
    assert_eq!((laid.darts.len(), laid.adrift.len()), (2, 1));
    let told = |laid: &Laid| laid.adrift.last().map(|a| a.what.clone()).unwrap();
    assert_eq!(told(&laid), "a dart of more than 16 points is not closed");
    a.darts = (0..120).map(|_| long()).collect();
    assert_eq!(told(&Laid::new(&a)), "only the first 100 darts are closed");
}

fn proposed(pieces: &[PatternPiece]) -> (Vec<Proposal>, Vec<Finding>) {
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    propose(&laid, &Sewing::default())
}

#[test]
fn edges_of_too_many_notches_to_propose_seams_for_are_told() {
    let crowded = |n: u32| {
        let marks: Vec<_> = (1..=n).map(|k| (2.0 * f64::from(k), S)).collect();
        let one = cloth("a", &straight(300.0), 90.0, &marks);
        proposed(&[one, cloth("b", &straight(300.0), 80.0, &marks)])
    };
    let both = |found: &[Proposal]| found.iter().any(|p| p.one == "a: e" && p.other == "b: e");
    let (_, found) = crowded(100);
    assert!(found.is_empty(), "{found:?}");
    let (some, found) = crowded(101);
    assert!(!both(&some));
    says(&found, "more than 100 notches: \"a: e\", \"b: e\"");
}

#[test]
fn more_pairs_than_are_compared_and_more_proposals_than_are_shown_are_told() {
    // The pieces' ends are too short to be proposed; edge and far edge are alike.
    let alike = |n: u32, long: f64| -> Vec<PatternPiece> {
        let named = |k: u32| format!("{long} {k}");
        let each = (0..n).map(|k| cloth(&named(k), &straight(long), 10.0, &[]));
        each.collect()
    };
    let (some, found) = proposed(&alike(60, 200.0));
    assert!(some.len() == 60 && found.is_empty(), "{}", some.len());
    // 300 edges are 44 850 pairs.
    let (some, found) = proposed(&alike(150, 200.0));
    assert!(some.len() <= 100);
    says(&found, "not all were compared");
    let (some, found) = proposed(&[alike(60, 200.0), alike(60, 300.0)].concat());
    assert_eq!(some.len(), 100);
    says(&found, "more seams could be proposed than the 100");
}

#[test]
fn where_no_notches_are_compared_that_is_told_and_no_notch_is_missed() {
    // Three edges of 400 on either side: 1.44 million pairs.
    let row = |side: &str| -> Vec<PatternPiece> {
        let notches: Vec<_> = (1..=400).map(|k| (2.0 * f64::from(k), S)).collect();
        let named = |k: u32| format!("{side}{k}");
        let each = (0..3).map(|k| cloth(&named(k), &straight(810.0), 50.0, &notches));
        each.collect()
    };
    let pieces = [row("a"), row("b")].concat();
    let (one, other) = (["a0: e", "a1: e", "a2: e"], ["b0: e", "b1: e", "b2: e"]);
    let (result, found) = walked(&pieces, &seam(&one, &other, 0.0));
    says(&found, "so many notches that they are not compared");
    assert!(found.len() == 1 && result.landings.is_empty());
}
