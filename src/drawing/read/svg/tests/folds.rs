//! Folds, and marks that lie beside their piece.

use super::{close, in_square, pattern, refused, square};

fn fold(data: &str) -> Vec<(f64, f64)> {
    let piece = in_square(&format!("<path class='fold' d='{data}'/>"));
    assert_eq!(piece.folds.len(), 1);
    piece.folds[0].iter().map(|p| (p.x, p.y)).collect()
}

fn off(data: &str) -> String {
    let fault = refused(&square(&format!("<path class='fold' d='{data}'/>")));
    assert_eq!(fault.remedy, "draw it along the edge that lies on the fold");
    fault.what
}

#[test]
fn a_fold_becomes_the_cut_lines_own_edge() {
    let left = [(-50., -50.), (-50., 50.)];
    for data in [
        "M0 100V0",
        "M.9 99.5L0 50L-.9 .5",
        "M-.5 100.5V-.5",
        "M.8 99.2V.8",
        "M0 100V0z",
    ] {
        assert_eq!(fold(data), left, "{data}");
    }
    // The other way round, and a part of an edge.
    assert_eq!(fold("M0 0V100"), [left[1], left[0]]);
    assert_eq!(fold("M.5 10V90"), [(-50., 40.), (-50., -40.)]);
    // Over a corner, which it cuts by less than 1 mm.
    let over = fold("M0 40V.5L.5 0H30");
    assert_eq!(over, [(-50., 10.), (-50., 50.), (-20., 50.)]);
}

#[test]
fn a_fold_along_a_curve_is_the_curve_as_it_was_flattened() {
    let piece = super::piece(
        "<g data-piece='a'><path class='cut' d='M0 0H100V50Q50 80 0 50Z'/>\
         <path class='fold' d='M100.3 50Q50 80.5 0 50'/></g>",
    );
    let (fold, cut) = (&piece.folds[0], &piece.cut[0]);
    assert!(fold.len() > 5);
    assert!(fold.iter().all(|p| cut.contains(p)));
}

#[test]
fn a_fold_away_from_the_cut_line_is_refused() {
    assert_eq!(
        off("M3 100V0"),
        "the fold is not on the cut line: it is 3 mm away"
    );
    assert!(off("M0 100L20 50L0 0").contains("it is 20 mm away"));
    assert!(off("M0 100V-9").contains("it is 9 mm away"));
    // Both its ends are on the line, its middle is not.
    assert!(off("M0 50H100").contains("it is 50 mm away"));
    for data in ["M0 10V90V10", "M0 0H100V100H0z", "M0 30L.5 30"] {
        assert_eq!(
            off(data),
            "the fold is not one stroke along one edge",
            "{data}"
        );
    }
}

#[test]
fn a_fold_across_a_gap_in_its_edge_is_refused() {
    let body = "<g data-piece='a'><path class='cut' \
        d='M0 0H100V100H0V51L30 50.5L0 50Z'/><path class='fold' d='M0 100V0'/></g>";
    let what = refused(body).what;
    assert!(
        what.contains("the fold is not on the cut line: it is 30 mm away"),
        "{what}"
    );
}

#[test]
fn marks_beside_the_piece_are_listed_and_dropped() {
    let hole = "<rect class='cutout' x='40' y='40' width='20' height='20'/>\n";
    for mark in [
        "<circle class='drill' cx='150' cy='50' r='1'/>",
        "<circle class='drill' cx='50' cy='50' r='30'/>",
        "<path class='dart' d='M110 10h5v5'/>",
        "<path class='line' d='M45 45h10v10z'/>",
        "<path class='line' d='M-20 -10H300'/>",
        "<path class='grain' d='M-20 90V10'/>",
    ] {
        let pattern = pattern(&square(&format!("{hole}{mark}")));
        let tag = &mark[1..mark.find(' ').unwrap()];
        assert_eq!(
            pattern.left_out,
            [format!(
                "line 3, {tag}: it lies outside the piece, so it can't be lit."
            )]
        );
        let piece = &pattern.pieces[0];
        let kept = piece.drills.len() + piece.darts.len() + piece.lines.len();
        assert_eq!((kept, piece.grain), (0, None), "{mark}");
    }
}

#[test]
fn marks_partly_on_the_piece_are_kept_whole() {
    let piece = in_square(
        "<rect class='cutout' x='40' y='40' width='20' height='20'/>\
         <circle class='drill' cx='100' cy='50' r='1'/>\
         <path class='dart' d='M110 10L90 12L110 14'/>\
         <path class='line' d='M-20 -20L120 120'/><path class='line' d='M-5 70H105'/>\
         <path class='line' d='M45 50H50 M45 50H30'/><path class='line' d='M0 -5V105'/>\
         <path class='grain' d='M50 200V-20'/>",
    );
    assert_eq!(
        (piece.drills.len(), piece.darts.len(), piece.lines.len()),
        (1, 1, 5)
    );
    assert!(piece.grain.is_some());
    close(&piece.lines[0].points, &[(-70., 70.), (70., -70.)]);
}

#[test]
fn how_opaque_a_shape_is_means_nothing() {
    let piece = in_square("<path class='line' opacity='0' style='fill-opacity:0' d='M5 5h9'/>");
    assert_eq!(piece.lines.len(), 1);
}

#[test]
fn marks_and_points_beyond_measure_end_in_a_fault_in_time() {
    let ring: String = (0..9000)
        .map(|i| {
            let angle = f64::from(i) / 9000.0 * std::f64::consts::TAU;
            let radius = 150.0 + f64::from(i % 2);
            format!("L{} {}", radius * angle.cos(), radius * angle.sin())
        })
        .collect();
    let cut = format!("<path class='cut' d='M{}z'/>", &ring[1..]);
    let zigzag = "l1 1l1-1l-1-1l-1 1".repeat(30_000);
    for mark in [
        format!("<path class='line' d='M148 148{zigzag}'/>"),
        format!(
            "<path class='fold' d='M150 0{}'/>",
            "l.1 .1l-.1 .1l-.1 -.1l.1 -.1".repeat(30_000) + "v.5"
        ),
        "<path class='drill' d='M149 149z'/>".repeat(30_000),
    ] {
        let body = format!("<g data-piece='a'>{cut}{mark}</g>");
        let what = refused(&body).what;
        assert!(what.contains("too many marks"), "{what}");
    }
}
