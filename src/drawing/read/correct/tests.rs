//! Corrections of what other programs' files were read as, held against the files' true
//! geometry, and of slips that drawings invite.

use super::*;
use crate::drawing::read::testing::{check, file, holds};
use crate::drawing::read::{ReadOptions, parse, slip, svg};
use crate::drawing::write;
use crate::pattern::Polyline;
use crate::shape::{bounds, nearest, signed_area};

/// What reading and writing once more may move a line by, mm.
const NEAR: f64 = 0.012;

fn read(name: &str) -> Pattern {
    parse(&file(name), &ReadOptions::default()).unwrap()
}

fn drawn(body: &str) -> Pattern {
    let page = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='500mm' height='500mm' \
         viewBox='0 0 500 500'>{body}</svg>"
    );
    svg::parse(page.as_bytes()).unwrap()
}

fn find<'p>(pattern: &'p Pattern, name: &str) -> &'p PatternPiece {
    pattern.pieces.iter().find(|p| p.name == name).unwrap()
}

fn at(pattern: &Pattern, name: &str) -> usize {
    pattern.pieces.iter().position(|p| p.name == name).unwrap()
}

/// The first stroke that was read as `taken`.
fn stroke(pattern: &Pattern, piece: usize, taken: &Taken) -> usize {
    let all = strokes(&pattern.pieces[piece]);
    all.iter().position(|s| s.taken == *taken).unwrap()
}

/// Written as our own drawing and read again.
fn again(made: &Pattern) -> Pattern {
    svg::parse(write::svg(&made.pieces).as_bytes()).unwrap()
}

fn off(a: &Polyline, b: &Polyline, closed: bool) -> f64 {
    let whole = |line: &Polyline| -> Polyline {
        let back = line.first().filter(|_| closed);
        line.iter().chain(back).copied().collect()
    };
    let worst = |a: &Polyline, b: &Polyline| {
        let b = whole(b);
        let far = |&p| nearest(&b, p).map_or(f64::INFINITY, |(_, d)| d);
        a.iter().map(far).fold(0.0, f64::max)
    };
    worst(a, b).max(worst(b, a))
}

fn alike(a: &Pattern, b: &Pattern) {
    assert_eq!(a.pieces.len(), b.pieces.len());
    for (a, b) in a.pieces.iter().zip(&b.pieces) {
        let told = |p: &PatternPiece| {
            let kinds: Vec<_> = p.notches.iter().map(|n| n.kind).collect();
            let lines = (p.cut.len(), p.cutouts.len(), p.net.len(), p.lines.len());
            let marks = (
                p.folds.len(),
                p.darts.len(),
                p.drills.len(),
                p.grain.is_some(),
            );
            (p.name.clone(), (p.cut_count, p.pair), kinds, lines, marks)
        };
        assert_eq!(told(a), told(b));
        let rings = |p: &PatternPiece| [p.cut.clone(), p.cutouts.clone()].concat();
        for (x, y) in rings(a).iter().zip(&rings(b)) {
            assert!(off(x, y, true) < NEAR, "{}: {}", a.name, off(x, y, true));
        }
        let lines = |p: &PatternPiece| [p.net.clone(), p.lines.clone()].concat();
        for (x, y) in lines(a).iter().zip(&lines(b)) {
            assert_eq!(x.closed, y.closed);
            assert!(off(&x.points, &y.points, x.closed) < NEAR);
        }
        for (x, y) in a.folds.iter().zip(&b.folds) {
            assert!(off(x, y, false) < NEAR);
        }
        let marks = |p: &PatternPiece| {
            let clips = p
                .notches
                .iter()
                .flat_map(|n| [n.at, n.at + n.inward * n.depth]);
            let others = p.drills.iter().chain(p.grain.iter().flatten()).copied();
            clips.chain(others).collect::<Polyline>()
        };
        for (x, y) in marks(a).iter().zip(&marks(b)) {
            assert!((*x - *y).length() < NEAR, "{}: {x:?} {y:?}", a.name);
        }
    }
}

#[test]
fn a_file_at_the_wrong_scale_is_put_right_by_the_size_of_its_largest_piece() {
    // The longer side of the largest piece in `pattern_files.json`.
    for (name, wrong, longer) in [
        ("reportlab_plain.pdf", 0.5, 124.999876),
        ("ezdxf_r12.dxf", 3.0, 224.999229),
        ("svgwrite.svg", 1.0 / 25.4, 124.999876),
    ] {
        let at = |scale| {
            let options = ReadOptions {
                scale,
                ..ReadOptions::default()
            };
            parse(&file(name), &options).unwrap()
        };
        let mut desk = CorrectionDesk::of(at(wrong));
        let by = desk.scale_to(longer).unwrap();
        // At another scale curves are flattened to as many mm: that is all it is off by.
        assert!(
            (by * wrong - 1.0).abs() < 0.04 / longer / wrong,
            "{name}: {by}"
        );
        assert!(desk.scale_to(0.0).is_err() && desk.scale_to(9e9).is_err());
        let first = Correction::Name {
            piece: 0,
            name: "first".into(),
        };
        desk.correct(first.clone());
        let kept = desk.read_again(at(1.0));
        assert_eq!(desk.fault(), None);
        holds(&desk.made().notes, &format!("{longer:.0} mm by "));
        let is_size = |n: &&String| n.contains("the largest piece");
        assert_eq!(desk.made().notes.iter().filter(is_size).count(), 1);
        // Looks go by sizes: another reading may tell other strokes.
        assert_eq!(kept, desk.corrections() == [first]);
        desk.take_back(0);
        check(&again(desk.made()), name);
    }
    assert_eq!(slip(25.3).map(|s| s.0), Some(25.4));
    assert_eq!(slip(0.7501).map(|s| s.0), Some(72.0 / 96.0));
    assert_eq!(slip(1.1), None);
}

#[test]
fn what_was_guessed_of_a_file_is_corrected_written_and_read_again() {
    for name in ["reportlab_plain.pdf", "ezdxf_r2018_mm.dxf"] {
        let as_read = read(name);
        check(&again(&as_read), name);
        let band = at(&as_read, "heel band");
        let notch = stroke(&as_read, band, &Taken::Notch(NotchKind::Slit));
        let drill = stroke(&as_read, band, &Taken::Drill);
        let take = |stroke, taken| Correction::Take {
            piece: band,
            stroke,
            taken,
        };
        let corrections = [
            Correction::Name {
                piece: band,
                name: " counter ".into(),
            },
            Correction::Count {
                piece: band,
                cut: 4,
                pair: true,
            },
            take(notch, Taken::Notch(NotchKind::Double)),
            take(drill, Taken::LeftOut),
            Correction::TurnGrain { piece: band },
            Correction::LeaveOut {
                piece: at(&as_read, "sole"),
            },
        ];
        let made = corrected(&as_read, &corrections).unwrap();
        let back = again(&made);
        alike(&made, &back);
        assert_eq!(made.pieces.len(), as_read.pieces.len() - 1);
        let (was, is) = (&as_read.pieces[band], find(&back, "counter"));
        assert_eq!((is.cut_count, is.pair), (4, true));
        assert_eq!(is.drills.len() + 1, was.drills.len());
        let double = is.notches.iter().filter(|n| n.kind == NotchKind::Double);
        assert_eq!(double.count(), 1);
        let ([tail, head], [t, h]) = (was.grain.unwrap(), is.grain.unwrap());
        assert!((tail - h).length() < NEAR && (head - t).length() < NEAR);
        holds(
            &made.left_out,
            "drill point of \"counter\": it was left out by hand",
        );
        // What the reader had to say is said still.
        for note in as_read.notes.iter().filter(|n| !n.contains("largest")) {
            holds(&made.notes, note);
        }
        // Its outline is what it was in the file.
        assert!(off(&was.cut[0], &is.cut[0], true) < NEAR);
    }
}

/// A piece with its net line, one notch, and a line that runs into it from the edge.
const PIECE: &str = "<g data-piece='a'>\
    <rect class='cut' x='10' y='10' width='100' height='80'/>\
    <rect class='net' x='16' y='16' width='88' height='68'/>\
    <path class='line' d='M10 40h7'/>\
    <path class='line' d='M40 10v80'/>\
    <path class='notch' d='M60 10v4'/>\
    <path class='grain' d='M90 80v-60'/></g>";

fn take(stroke: usize, taken: Taken) -> Correction {
    Correction::Take {
        piece: 0,
        stroke,
        taken,
    }
}

#[test]
fn a_stroke_is_taken_for_something_else() {
    let as_read = drawn(PIECE);
    let kinds: Vec<_> = strokes(&as_read.pieces[0])
        .iter()
        .map(|s| s.taken.words())
        .collect();
    assert_eq!(
        kinds,
        [
            "cut line",
            "net line",
            "inner line",
            "inner line",
            "notch, slit",
            "grain line"
        ]
    );
    let with = |all: &[Correction]| {
        let made = corrected(&as_read, all).unwrap();
        alike(&made, &again(&made));
        made
    };
    // A short line from the edge is a notch after all, and a notch is only a line.
    let made = with(&[take(2, Taken::Notch(NotchKind::Vee)), take(4, Taken::Line)]);
    let piece = &made.pieces[0];
    assert_eq!(piece.notches.len(), 1);
    assert_eq!(piece.notches[0].kind, NotchKind::Vee);
    assert!((piece.notches[0].depth - 7.0).abs() < NEAR);
    assert!((piece.notches[0].inward.x - 1.0).abs() < 1e-6);
    assert_eq!(piece.lines.len(), 2);
    // Another line is the grain: what was read so is an inner line now.
    let made = with(&[take(3, Taken::Grain), Correction::TurnGrain { piece: 0 }]);
    let [tail, head] = made.pieces[0].grain.unwrap();
    // Drawn downwards on the page, and turned.
    assert!(tail.y < 0.0 && head.y > 0.0 && (tail.x - -20.0).abs() < NEAR);
    assert_eq!(made.pieces[0].lines.len(), 2);
    // The net line is the cut line: the piece is smaller, and what lay round it is listed.
    let made = with(&[take(1, Taken::Cut), take(4, Taken::LeftOut)]);
    let area = signed_area(&made.pieces[0].cut[0]);
    assert!((area - 88.0 * 68.0).abs() < 1.0, "{area}");
    assert!(made.pieces[0].net.is_empty());
    holds(&made.left_out, "it lies outside the piece");
    // A line along the edge is the fold.
    let half = drawn(
        "<g data-piece='a'><rect class='cut' x='10' y='10' width='100' height='80'/>\
         <path class='line' d='M10 10v80'/></g>",
    );
    let made = corrected(&half, &[take(1, Taken::Fold)]).unwrap();
    alike(&made, &again(&made));
    assert!((crate::shape::length(&made.pieces[0].folds[0]) - 80.0).abs() < NEAR);
}

#[test]
fn what_can_not_be_is_refused_by_the_name_of_its_stroke_and_the_last_pieces_stand() {
    let mut desk = CorrectionDesk::of(drawn(PIECE));
    desk.correct(Correction::Name {
        piece: 0,
        name: "front".into(),
    });
    let stands = desk.made().clone();
    assert_eq!(stands.pieces[0].name, "front");
    let cut = |cut, pair| Correction::Count {
        piece: 0,
        cut,
        pair,
    };
    let name = |name: &str| Correction::Name {
        piece: 0,
        name: name.into(),
    };
    for (wrong, says) in [
        (
            take(1, Taken::Notch(NotchKind::Slit)),
            "stroke 2, notch, slit of \"front\"",
        ),
        (take(3, Taken::Fold), "stroke 4, fold of \"front\""),
        (take(2, Taken::Cut), "stroke 3, cut line of \"front\""),
        (take(0, Taken::LeftOut), "no cut line"),
        (take(0, Taken::Line), "no cut line"),
        (take(9, Taken::Line), "no stroke 10"),
        (cut(3, true), "an even one for pairs"),
        (cut(0, false), "1 to 999"),
        (Correction::LeaveOut { piece: 0 }, "no piece is left"),
        (Correction::LeaveOut { piece: 4 }, "no piece 5"),
    ] {
        let count = desk.corrections().len();
        desk.correct(wrong);
        let said = desk.fault().unwrap_or_default();
        assert!(said.contains(says), "{said}");
        assert_eq!(desk.made(), &stands);
        desk.take_back(count);
        assert_eq!((desk.fault(), desk.made()), (None, &stands));
    }
    // What can't be is shown as it was said, until it is put right.
    let mut pairs = desk.clone();
    pairs.correct(cut(1, true));
    assert_eq!(pairs.named(0), Some(("front".into(), 1, true)));
    pairs.correct(cut(2, true));
    assert_eq!((pairs.fault(), pairs.made().pieces[0].pair), (None, true));
    for wrong in ["", "a\nb", &"x".repeat(61)] {
        let mut desk = desk.clone();
        desk.correct(name(wrong));
        assert!(desk.fault().is_some_and(|f| f.contains("a piece's name")));
    }
    // Two steps that go together only: the first waits for the second.
    desk.correct(take(0, Taken::LeftOut));
    assert!(desk.fault().is_some());
    desk.correct(take(1, Taken::Cut));
    assert!(
        desk.fault().is_none_or(|f| f.contains("notch")),
        "{:?}",
        desk.fault()
    );
    let area = |desk: &CorrectionDesk| signed_area(&desk.made().pieces[0].cut[0]);
    assert!((area(&desk) - 88.0 * 68.0).abs() < 1.0);
    // The notch stood on the old line, and says so.
    holds(&desk.made().left_out, "notch");
    // What only says again what was read takes the correction back.
    let mut desk = CorrectionDesk::of(drawn(PIECE));
    desk.correct(take(4, Taken::Line));
    assert!(desk.is_changed());
    desk.correct(take(4, Taken::Notch(NotchKind::Slit)));
    assert!(!desk.is_changed() && desk.made() == desk.read());
    for _ in 0..2 {
        desk.correct(Correction::TurnGrain { piece: 0 });
    }
    assert!(!desk.is_changed());
}

#[test]
fn lines_in_a_frame_that_was_taken_for_a_piece_are_pieces_of_their_own() {
    let sheet = drawn(
        "<g data-piece='sheet'><rect class='cut' width='400' height='300'/>\
         <rect class='line' x='20' y='20' width='100' height='80'/>\
         <path class='line' d='M25 25v60'/>\
         <path class='notch' d='M60 0v5'/>\
         <path class='line' d='M60 20v5'/>\
         <rect class='line' x='200' y='20' width='150' height='80'/></g>",
    );
    let all = strokes(&sheet.pieces[0]);
    let number = |w: f64| {
        let wide = |s: &Stroke| bounds(s.points.iter().copied()).unwrap().width();
        all.iter().position(|s| (wide(s) - w).abs() < 1e-6).unwrap()
    };
    let own = |w: f64, name: &str| take(number(w), Taken::Piece(name.into()));
    // The frame stays a piece until it is said to be none.
    let made = corrected(&sheet, &[own(100.0, "cap")]).unwrap();
    assert_eq!(made.pieces.len(), 2);
    let notch = all
        .iter()
        .position(|s| bounds(s.points.iter().copied()).unwrap().height() == 5.0);
    let made = corrected(
        &sheet,
        &[
            own(100.0, "cap"),
            own(150.0, "band"),
            take(0, Taken::LeftOut),
            take(notch.unwrap(), Taken::Notch(NotchKind::Slit)),
        ],
    )
    .unwrap();
    alike(&made, &again(&made));
    let size = |name: &str| {
        let b = bounds(find(&made, name).cut[0].iter().copied()).unwrap();
        [b.width(), b.height()].map(|v| (v * 10.0).round() / 10.0)
    };
    assert_eq!((size("cap"), size("band")), ([100.0, 80.0], [150.0, 80.0]));
    let cap = find(&made, "cap");
    assert_eq!((cap.lines.len(), cap.notches.len()), (1, 1));
    assert!(find(&made, "band").lines.is_empty());
    // What belongs to none is listed.
    holds(
        &made.left_out,
        "notch, slit of \"sheet\": it lies outside every piece",
    );
    holds(
        &made.left_out,
        "cut line of \"sheet\": it was left out by hand",
    );
    // Two of one name are not.
    let twice = corrected(&sheet, &[own(100.0, "cap"), own(150.0, "cap")]);
    assert!(
        twice
            .unwrap_err()
            .to_string()
            .contains("two pieces are named")
    );
}
