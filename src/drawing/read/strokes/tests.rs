//! Pieces from loose strokes.

use kurbo::{Affine, BezPath};
use proptest::prelude::*;

use super::*;
use crate::drawing::read::drawn::flatten::Budget;
use crate::drawing::read::testing::holds;
use crate::fault::Fault;
use crate::pattern::PatternPiece;
use crate::shape::signed_area;

const AS_DRAWN: Given = Given {
    join: JOIN,
    scale: 1.0,
};

/// A sheet of strokes drawn as SVG paths, a dashed one begun with `~`, and texts as
/// (x, y, height, words). mm, y down.
fn sheet(paths: &[&str], texts: &[(f64, f64, f64, &str)]) -> Sheet {
    let place = |number: usize| Where {
        part: Part::Line,
        number,
        what: "stroke".into(),
    };
    let stroke = |(k, data): (usize, &&str)| Stroke {
        path: BezPath::from_svg(data.trim_start_matches('~')).unwrap(),
        dashed: data.starts_with('~'),
        layer: None,
        told: None,
        notch: NotchKind::Slit,
        place: place(k + 1),
    };
    let text = |&(x, y, height, words): &(f64, f64, f64, &str)| Text {
        at: Point::new(x, y),
        words: words.into(),
        height,
        place: place(900),
    };
    Sheet {
        strokes: paths.iter().enumerate().map(stroke).collect(),
        texts: texts.iter().map(text).collect(),
    }
}

fn read(paths: &[&str], texts: &[(f64, f64, f64, &str)]) -> Outcome<Pattern> {
    pieces(
        &sheet(paths, texts),
        AS_DRAWN,
        Vec::new(),
        LeftOut::default(),
    )
}

fn pattern(paths: &[&str]) -> Pattern {
    read(paths, &[]).unwrap()
}

/// The one piece of a square of 100 and what is drawn in it.
fn in_square(paths: &[&str]) -> PatternPiece {
    let all: Vec<&str> = [SQUARE].iter().chain(paths).copied().collect();
    let mut pattern = pattern(&all);
    assert_eq!(pattern.pieces.len(), 1, "{:?}", pattern.notes);
    assert_eq!(pattern.left_out, [""; 0]);
    pattern.pieces.remove(0)
}

fn refused(paths: &[&str], texts: &[(f64, f64, f64, &str)]) -> Fault {
    read(paths, texts).unwrap_err()
}

const SQUARE: &str = "M0 0H100V100H0Z";

#[test]
fn strokes_that_all_but_meet_are_one_outline_and_the_gap_is_told() {
    let sides = ["M0 0H90", "M90 80V.08", "M90 80H0", "M0 0.02V80"];
    let pattern = pattern(&sides);
    assert!((signed_area(&pattern.pieces[0].cut[0]) - 7200.0).abs() < 9.0);
    holds(
        &pattern.notes,
        "ends of strokes up to 0.08 mm apart were joined",
    );
    holds(&pattern.notes, "joined from 4 strokes");
    let far = sides.map(|s| s.replace(".08", ".2"));
    let far: Vec<&str> = far.iter().map(String::as_str).collect();
    assert!(refused(&far, &[]).what.contains("no closed line"));
}

#[test]
fn a_line_from_side_to_side_stays_within_and_one_that_hangs_off_is_no_part() {
    let sides = [
        "M0 0H50",
        "M50 0H90",
        "M90 0V80",
        "M90 80H40",
        "M40 80H0",
        "M0 80V0",
    ];
    let mut all = sides.to_vec();
    // From joint to joint, and from a corner to nowhere.
    all.extend(["M50 0L40 80", "M0 0L30 60"]);
    let piece = &pattern(&all).pieces[0];
    assert!(
        (signed_area(&piece.cut[0]) - 7200.0).abs() < 1e-6,
        "{:?}",
        piece.cut
    );
    assert_eq!(piece.lines.len(), 2);
    // Two loops that a bridge joins are two pieces.
    let two = [
        "M0 0H50V50",
        "M0 0V50H50",
        "M50 50L100 50",
        "M100 50H150V90",
        "M100 50V90H150",
    ];
    let two = pattern(&two);
    assert_eq!(two.pieces.len(), 2);
    assert_eq!(
        two.left_out,
        ["line 3, stroke: it lies outside every piece."]
    );
}

#[test]
fn notches_are_told_in_every_way_they_are_drawn() {
    let piece = in_square(&[
        "M20 0V5",
        "M100 30H106",
        "M40 100L42 95L44 100",
        "M60 100L62 96",
        "M64 100L62 96",
        "M0 60L-3 63L3 63Z",
        "M80 0V4",
        "M85 0V4",
    ]);
    let mut found: Vec<_> = piece
        .notches
        .iter()
        .map(|n| (n.kind, (n.at.x + 50.0).round(), (50.0 - n.at.y).round()))
        .collect();
    found.sort_by(|a, b| (a.1, a.2).partial_cmp(&(b.1, b.2)).unwrap());
    use NotchKind::{Double, Slit, Vee};
    let wanted = [
        (Vee, 0.0, 60.0),
        (Slit, 20.0, 0.0),
        (Vee, 42.0, 100.0),
        (Vee, 62.0, 100.0),
        (Double, 83.0, 0.0),
        (Slit, 100.0, 30.0),
    ];
    let found: Vec<_> = found
        .into_iter()
        .map(|(k, x, y)| (k, if x == 82.0 { 83.0 } else { x }, y))
        .collect();
    assert_eq!(found, wanted);
    assert!(piece.lines.is_empty());
}

#[test]
fn drill_points_are_circles_and_crosses_and_letters_are_not() {
    let piece = in_square(&[
        "M30 32A2 2 0 1 1 30 28A2 2 0 1 1 30 32Z",
        "M48 50H52",
        "M50 48V52",
        "M70 74A2 4 0 1 1 70 66A2 4 0 1 1 70 74Z",
    ]);
    let mut drills: Vec<_> = piece
        .drills
        .iter()
        .map(|d| (d.x.round(), d.y.round()))
        .collect();
    drills.sort_by(|a, b| a.partial_cmp(b).unwrap());
    assert_eq!(drills, [(-20.0, 20.0), (0.0, 0.0)]);
    assert_eq!(piece.lines.len(), 1);
}

#[test]
fn the_grain_has_an_arrowhead_or_its_name() {
    let arrow = in_square(&["M20 80V20", "M17 25L20 20", "M23 25L20 20", "M40 90V5"]);
    let at = |x: f64, y: f64| crate::space::Point::new(x - 50.0, 50.0 - y);
    assert_eq!(arrow.grain, Some([at(20.0, 80.0), at(20.0, 20.0)]));
    assert_eq!(arrow.lines.len(), 1);
    let filled = in_square(&["M20 20V80", "M17 75L20 80L23 75Z"]);
    assert_eq!(filled.grain, Some([at(20.0, 20.0), at(20.0, 80.0)]));
    let named = read(
        &[SQUARE, "M20 20V80", "M60 20V80"],
        &[(22.0, 50.0, 3.0, "Grain line")],
    );
    let named = named.unwrap();
    // Up the page, for want of a head.
    assert_eq!(
        named.pieces[0].grain,
        Some([at(20.0, 80.0), at(20.0, 20.0)])
    );
    assert_eq!(in_square(&["M20 80V20"]).grain, None);
    let unfound = read(&[SQUARE], &[(22.0, 50.0, 3.0, "GRAIN")]).unwrap();
    holds(&unfound.left_out, "it names a grain, but no straight line");
}

#[test]
fn of_lines_that_keep_their_distance_one_is_the_net_line() {
    let inner = "M10 10H90V90H10Z";
    let deep = "M20 20H80V80H20Z";
    let net = |paths: &[&str]| {
        let piece = in_square(paths);
        let lines = piece.net.iter().filter(|l| l.closed);
        (
            lines
                .map(|l| signed_area(&l.points).abs())
                .collect::<Vec<_>>(),
            piece.lines.len(),
        )
    };
    assert_eq!(net(&[inner]), (vec![6400.0], 0));
    assert_eq!(net(&[inner, deep]), (vec![6400.0], 1));
    assert_eq!(net(&[inner, &format!("~{deep}")]), (vec![3600.0], 1));
    // A pocket's place keeps no distance; a line of stitches that does is a net line.
    assert_eq!(net(&["M20 30H50V60H20Z"]), (vec![], 1));
    let open = in_square(&["~M10 0V90H90V0"]);
    assert_eq!((open.net.len(), open.net[0].closed), (1, false));
    assert_eq!(in_square(&["~M10 90L90 10"]).lines.len(), 1);
}

#[test]
fn texts_name_pieces_and_say_how_many() {
    let third = "M600 0H700V100H600Z";
    let two = [SQUARE, "M200 0H300V100H200Z", "M400 0H500V100H400Z", third];
    let texts = [
        (620.0, 30.0, 8.0, "sole"),
        (20.0, 30.0, 8.0, "sole"),
        (20.0, 50.0, 4.0, "Cut 1 pair"),
        (20.0, 60.0, 4.0, "sewn by hand"),
        (220.0, 30.0, 8.0, "sole"),
        (220.0, 60.0, 4.0, "cut 3 on the fold"),
    ];
    let pattern = read(&two, &texts).unwrap();
    let told: Vec<_> = pattern
        .pieces
        .iter()
        .map(|p| (p.name.as_str(), p.cut_count, p.pair))
        .collect();
    assert_eq!(
        told,
        [
            ("sole", 2, true),
            ("sole 2", 3, false),
            ("piece 1", 1, false),
            ("sole 3", 1, false)
        ]
    );
    holds(&pattern.notes, "\"sole\" is the name of several pieces");
    holds(&pattern.left_out, "it is text, and no label");
    let counts = [
        ("cut 2", Some((2, false))),
        ("cut: 2 pairs", Some((4, true))),
        ("cut 4 (mirrored)", Some((4, true))),
        ("cut 3 mirrored", None),
        ("cutout 2", None),
        ("cut 0", None),
        ("cut 99999999999", None),
        ("uncut 2", None),
    ];
    for (words, wanted) in counts {
        assert_eq!(naming::count_said(words), wanted, "{words}");
    }
}

#[test]
fn a_check_square_proves_the_scale_or_stops_the_reading() {
    let piece = "M0 0H300V200H0Z";
    let square = |side: f64| format!("M400 0h{side}v{side}h-{side}Z");
    let said = |side: f64, words: &str| read(&[piece, &square(side)], &[(405.0, 20.0, 4.0, words)]);
    for (side, words) in [
        (50.0, "5 cm"),
        (50.2, "50 x 50 mm"),
        (50.8, "2 x 2 in"),
        (101.6, "Test square 4\" (10.16 cm)"),
        (100.0, "100mm"),
    ] {
        let pattern = said(side, words).unwrap();
        assert_eq!(pattern.pieces.len(), 1, "{words}");
        holds(&pattern.notes, "the file is at full size");
    }
    for (side, words, scale) in [
        (48.5, "5 cm", "1.0309"),
        (52.0, "2 in", "0.9769"),
        (37.5, "5 cm", "1.3333"),
        (66.67, "5 cm", "0.7500"),
    ] {
        let fault = said(side, words).unwrap_err();
        assert!(fault.what.contains("is not at full size"), "{fault}");
        assert!(fault.remedy.ends_with(scale), "{fault}");
    }
    // Not meant by its text, or without one: a piece like another.
    assert_eq!(said(50.0, "12 cm").unwrap().pieces.len(), 2);
    assert_eq!(pattern(&[piece, &square(50.0)]).pieces.len(), 2);
    assert_eq!(
        read(&[&square(50.0)], &[(405.0, 20.0, 4.0, "5 cm")])
            .unwrap()
            .pieces
            .len(),
        1
    );
}

#[test]
fn what_is_not_sound_is_listed_and_the_rest_is_read() {
    let eight = "M200 0L260 60V0L200 60Z";
    let pattern = pattern(&[SQUARE, eight]);
    assert_eq!(pattern.pieces.len(), 1);
    holds(
        &pattern.left_out,
        "it would make no piece: the outline crosses or touches itself",
    );
    assert!(
        refused(&[eight], &[])
            .what
            .contains("crosses or touches itself")
    );
    assert!(refused(&[], &[]).what.contains("no closed line"));
    assert!(refused(&["M0 0H9"], &[]).what.contains("no closed line"));
}

/// Hatching by the hundred thousand, and a star of ends at one place.
#[test]
fn floods_of_strokes_end_in_time() {
    let begun = std::time::Instant::now();
    let mut hatched = sheet(&[SQUARE], &[]);
    let line = BezPath::from_svg("M1 1L99 1").unwrap();
    for k in 0..100_000 {
        let mut stroke = hatched.strokes[0].clone();
        stroke.path = Affine::translate((0.0, f64::from(k) * 0.00097)) * line.clone();
        hatched.strokes.push(stroke);
    }
    let pattern = pieces(&hatched, AS_DRAWN, Vec::new(), LeftOut::default()).unwrap();
    assert_eq!(pattern.pieces.len(), 1);
    println!("100 000 hatch lines: {:?}", begun.elapsed());
    for k in 1..hatched.strokes.len() {
        let end = (f64::from(k as u32) * 0.001).sin_cos();
        let mut star = BezPath::new();
        star.move_to((50.0, 50.0));
        star.line_to((50.0 + 40.0 * end.0, 50.0 + 40.0 * end.1));
        hatched.strokes[k].path = star;
    }
    assert!(pieces(&hatched, AS_DRAWN, Vec::new(), LeftOut::default()).is_ok());
    println!("and a star: {:?}", begun.elapsed());
}

/// What would take minutes ends in a sentence: long edges over a fine grid, words by
/// the thousand beside lines that may be the grain, texts beside squares.
#[test]
fn floods_beyond_any_pattern_are_refused() {
    let flood = |paths: &[String], texts: &[(f64, f64, f64, &str)]| {
        let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
        let fault = refused(&paths, texts);
        assert!(fault.what.contains("too many marks"), "{fault}");
    };
    // 2 000 edges of 90 m.
    let comb: String = (0..1000)
        .map(|k| format!("L{} {k}L0 {k}.5", 90_000))
        .collect();
    flood(&[format!("M0 0{comb}L-9 1000L-9 0Z")], &[]);
    // Texts are looked at for each piece.
    let many: Vec<String> = (0..20_500)
        .map(|k| format!("M{} {}h1v1h-1Z", k % 200 * 3, k / 200 * 3))
        .collect();
    let texts = vec![(1e4, 1e4, 4.0, "sole"); 20_500];
    flood(&many, &texts);
    let square = [(0., 0.), (50., 0.), (50., 50.), (0., 50.)]
        .map(Into::into)
        .to_vec();
    let texts = sheet(&[], &vec![(5e4, 5e4, 4.0, "60 mm"); 20_500]).texts;
    let found = square::check_square(&vec![&square; 20_500], &texts, &mut Budget::new());
    assert!(found.is_err());
    let lines = (0..20_500).map(|k| {
        format!(
            "M1 {}h{}",
            1.0 + f64::from(k) * 0.2,
            50.0 + f64::from(k) * 0.001
        )
    });
    let grains: Vec<String> = std::iter::once("M0 0H1000V5000H0Z".to_owned())
        .chain(lines)
        .collect();
    let texts = vec![(999.0, 999.0, 4.0, "grain"); 20_500];
    flood(&grains, &texts);
}

proptest! {
    /// However an outline is parted into strokes, and in whatever order and direction
    /// they are drawn, it is the same outline.
    #[test]
    fn an_outline_is_the_same_however_it_is_parted(
        radii in prop::collection::vec(60.0..120.0f64, 5..30),
        cuts in prop::collection::vec(any::<prop::sample::Index>(), 2..12),
        turned in prop::collection::vec(any::<bool>(), 30),
        shuffle in any::<u64>(),
    ) {
        let n = radii.len();
        let at = |k: usize| {
            let (sin, cos) = (k as f64 / n as f64 * std::f64::consts::TAU).sin_cos();
            Point::new(radii[k % n] * cos, radii[k % n] * sin)
        };
        let whole: BezPath = {
            let mut path = BezPath::new();
            path.move_to(at(0));
            (1..n).for_each(|k| path.line_to(at(k)));
            path.close_path();
            path
        };
        let mut stops: Vec<usize> = cuts.iter().map(|c| c.index(n)).collect();
        stops.sort_unstable();
        stops.dedup();
        prop_assume!(stops.len() > 1);
        let mut parts = Vec::new();
        for (k, &from) in stops.iter().enumerate() {
            let to = stops.get(k + 1).copied().unwrap_or(stops[0] + n);
            let mut path = BezPath::new();
            path.move_to(at(from));
            (from + 1..=to).for_each(|k| path.line_to(at(k)));
            parts.push(if turned[k] { path.reverse_subpaths() } else { path });
        }
        let turn = (shuffle % parts.len() as u64) as usize;
        parts.rotate_left(turn);
        if shuffle % 2 == 0 {
            parts.reverse();
        }
        let one = sheet(&["M0 0"], &[]).strokes.remove(0);
        let with = |paths: Vec<BezPath>| Sheet {
            strokes: paths.into_iter().map(|path| Stroke { path, ..one.clone() }).collect(),
            texts: Vec::new(),
        };
        let read = |sheet: &Sheet| pieces(sheet, AS_DRAWN, Vec::new(), LeftOut::default()).unwrap();
        let (a, b) = (read(&with(vec![whole])), read(&with(parts)));
        prop_assert_eq!(b.pieces.len(), 1);
        let (a, b) = (&a.pieces[0].cut[0], &b.pieces[0].cut[0]);
        prop_assert_eq!(a.len(), b.len());
        for p in a {
            prop_assert!(b.iter().any(|q| (*p - *q).length() < 1e-9));
        }
    }
}
