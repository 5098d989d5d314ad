//! Outlines drawn in strokes.

use super::{area, close, pattern, piece, refused};

fn group(strokes: &[&str]) -> String {
    let paths: String = strokes
        .iter()
        .map(|data| format!("<path class='cut' d='{data}'/>"))
        .collect();
    format!("<g data-piece='a'>{paths}</g>")
}

#[test]
fn strokes_that_meet_end_to_end_are_one_outline() {
    let sides = ["M0 0H90", "M90 80H0", "M90 0V80", "M0 0V80"];
    let whole = [(-45., 40.), (45., 40.), (45., -40.), (-45., -40.)];
    for turn in 0..4 {
        let mut sides = sides;
        sides.rotate_left(turn);
        let cut = piece(&group(&sides)).cut;
        assert_eq!(cut.len(), 1);
        assert!((area(&cut[0]) - 7200.0).abs() < 1e-9);
        for corner in whole {
            let near = |p: &crate::space::Point<_>| (p.x - corner.0).hypot(p.y - corner.1) < 1e-9;
            assert!(cut[0].iter().any(near), "{cut:?}");
        }
    }
    // As the sub-paths of one shape, and two halves.
    assert_eq!(piece(&group(&[&sides.join(" ")])).cut[0].len(), 4);
    let halves = ["M0 0H90V80", "M0 0V80H90"];
    assert_eq!(piece(&group(&halves)).cut[0].len(), 4);
}

#[test]
fn ends_a_twentieth_apart_meet_halfway_even_where_they_cross() {
    let crossing = ["M-.03 0H90", "M90 0V80", "M90 80H0", "M0 80V-.03"];
    let cut = &piece(&group(&crossing)).cut[0];
    assert_eq!(cut.len(), 4, "{cut:?}");
    let short = ["M.04 0H89.97", "M90 .02V80", "M90 80H0", "M0 80V0"];
    let cut = &piece(&group(&short)).cut[0];
    assert_eq!(cut.len(), 4, "{cut:?}");
    for (x, y) in [(-44.98, 40.0), (44.985, 39.99)] {
        let halfway = |p: &crate::space::Point<_>| (p.x - x).hypot(p.y - y) < 1e-9;
        assert!(cut.iter().any(halfway), "{cut:?}");
    }
}

#[test]
fn several_outlines_and_cutouts_can_be_in_strokes() {
    let body = group(&[
        "M0 0H90V80",
        "M200 0h50v50",
        "M0 0V80H90",
        "M250 50h-50v-50",
    ])
    .replace(
        "</g>",
        "<path class='cutout' d='M10 10h5v5'/><path class='cutout' d='M10 10v5h5'/></g>",
    );
    let pattern = pattern(&body);
    let piece = &pattern.pieces[0];
    assert_eq!((piece.cut.len(), piece.cutouts.len()), (2, 1));
    assert_eq!(
        pattern.notes,
        ["piece \"a\" has 2 separate outlines; they are kept together as one piece."]
    );
    close(
        &piece.cutouts[0],
        &[(-115., 30.), (-110., 30.), (-110., 25.), (-115., 25.)],
    );
}

#[test]
fn a_gap_between_strokes_is_told_by_size_and_place() {
    let fault = refused(&group(&["M0 0H90", "M90 0.4V80", "M90 80H0", "M0 80V0"]));
    assert_eq!(
        fault.what,
        "the outline is open: it has a gap of 0.4 mm at x 90 mm, y 0.2 mm"
    );
    assert_eq!(fault.place, ["piece \"a\"", "line 2, path"]);
    let far = refused(&group(&["M0 0H90", "M90 2V80", "M90 80H0", "M0 80V0"]));
    assert!(
        far.what.contains("from x 90 mm, y 2 mm to x 90 mm, y 0 mm"),
        "{far}"
    );
}

#[test]
fn a_side_drawn_twice_is_refused() {
    let twice = ["M0 0H90", "M90 0V80", "M90 80H0", "M0 80V0", "M0 0H90"];
    let what = refused(&group(&twice)).what;
    assert!(
        what.contains("more than two strokes of the outline meet at x"),
        "{what}"
    );
}

/// Every end in one cell must not cost a step for every pair.
#[test]
fn strokes_by_the_hundred_thousand_are_joined_or_refused_in_time() {
    let count = 100_000;
    let at = |i: i32| {
        let angle = f64::from(i % count) / f64::from(count) * std::f64::consts::TAU;
        let radius = 5000.0 + 50.0 * (angle * 20.0).sin();
        format!("{:.6} {:.6}", radius * angle.cos(), radius * angle.sin())
    };
    let ring: String = (0..count)
        .map(|i| format!("M{}L{}", at(i), at(i + 1)))
        .collect();
    assert_eq!(piece(&group(&[&ring])).cut.len(), 1);
    let star: String = (0..count).map(|i| format!("M0 0L{}", at(i))).collect();
    assert!(refused(&group(&[&star])).what.contains("more than two"));
}
