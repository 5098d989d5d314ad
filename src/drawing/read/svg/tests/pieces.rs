//! What becomes of groups and shapes.

use super::{close, in_square, pattern, piece, read, refused, sample, square};
use crate::pattern::NotchKind;
use crate::space::{Point, Vector};

#[test]
fn a_piece_with_every_role_is_read_whole() {
    let pattern = read(&sample("every_role.svg")).unwrap();
    assert_eq!(pattern.left_out, [] as [&str; 0]);
    let [piece] = pattern.pieces.as_slice() else {
        panic!("{} pieces", pattern.pieces.len());
    };
    assert_eq!(
        (piece.name.as_str(), piece.cut_count, piece.pair),
        ("upper", 2, true)
    );
    close(
        &piece.cut[0],
        &[(-50., -40.), (50., -40.), (50., 40.), (-50., 40.)],
    );
    assert_eq!(piece.cutouts.len(), 1);
    assert!(piece.net[0].closed && !piece.net[1].closed);
    let kinds: Vec<_> = piece
        .notches
        .iter()
        .map(|n| (n.kind, n.at, n.inward, n.depth))
        .collect();
    assert_eq!(
        kinds,
        [
            (
                NotchKind::Slit,
                Point::new(0.0, 40.0),
                Vector::new(0.0, -1.0),
                5.0
            ),
            (
                NotchKind::Double,
                Point::new(50.0, 0.0),
                Vector::new(-1.0, 0.0),
                6.0
            ),
            (
                NotchKind::Vee,
                Point::new(-50.0, 0.0),
                Vector::new(1.0, 0.0),
                4.0
            ),
        ]
    );
    assert_eq!(
        piece.grain,
        Some([Point::new(0.0, -20.0), Point::new(0.0, 20.0)])
    );
    close(&piece.folds[0], &[(-50., -40.), (-50., 40.)]);
    assert_eq!(piece.lines.len(), 1);
    close(&piece.darts[0], &[(10., -40.), (15., -10.), (20., -40.)]);
    assert_eq!(
        piece.drills,
        [Point::new(-20.0, 20.0), Point::new(20.0, 20.0)]
    );
    assert_eq!(piece.label_at, Some(Point::new(-30.0, -10.0)));
}

#[test]
fn editor_layers_with_labels_are_pieces() {
    let pattern = read(&sample("layers.svg")).unwrap();
    let names: Vec<_> = pattern.pieces.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["front", "back yoke"]);
    assert_eq!(pattern.pieces[0].notches.len(), 2);
    assert_eq!(pattern.left_out.len(), 3, "{:?}", pattern.left_out);
    assert!(pattern.left_out[0].contains("line 6, g \"guides\": it is hidden"));
    assert!(pattern.left_out[1].contains("text"));
    assert!(pattern.left_out[2].contains("outside every piece"));
}

#[test]
fn a_plain_drawing_gives_its_outermost_closed_shapes() {
    let pattern = read(&sample("plain.svg")).unwrap();
    let names: Vec<_> = pattern.pieces.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["sole", "piece 1", "piece 2"]);
    assert_eq!(pattern.left_out.len(), 3, "{:?}", pattern.left_out);
}

#[test]
fn shapes_that_overlap_are_both_outermost() {
    let body = "<rect width='50' height='50'/><rect x='40' y='40' width='20' height='20'/>";
    assert_eq!(pattern(body).pieces.len(), 2);
}

#[test]
fn an_old_editors_document_type_is_dealt_with() {
    let pattern = read(&sample("old_editor.svg")).unwrap();
    assert_eq!(pattern.pieces[0].name, "collar");
    assert_eq!(pattern.left_out, [] as [&str; 0]);
}

#[test]
fn a_group_hands_its_role_down_and_a_shape_overrules_it() {
    let piece = in_square(
        "<g id='notch-group' data-notch='vee'><g><path d='M0 50h5'/></g>\
         <path class='double' d='M0 60h5'/><path data-role='net' d='M0 70h5'/></g>",
    );
    let kinds: Vec<_> = piece.notches.iter().map(|n| n.kind).collect();
    assert_eq!(kinds, [NotchKind::Vee, NotchKind::Double]);
    assert_eq!(piece.net.len(), 1);
}

#[test]
fn a_lone_closed_shape_without_a_role_is_the_cut_line() {
    let body = "<g data-piece='a'><path d='M2 2h9'/><rect width='20' height='20'/>\
        <circle cx='5' cy='5' r='2'/></g>";
    let pattern = pattern(body);
    assert_eq!(pattern.pieces[0].cut[0].len(), 4);
    assert_eq!(pattern.left_out.len(), 2);
    let two = body.replace("<circle", "<circle r='1' cx='90'/><circle");
    assert!(refused(&two).what.contains("any of 2"));
}

#[test]
fn a_notch_is_snapped_onto_the_line_and_set_square_to_it() {
    // Drawn askew, 0.8 mm off the left edge, and from the inside outwards.
    let notch = in_square("<path class='notch' d='M4.8 53 L0.8 50'/>").notches[0];
    assert_eq!(notch.at, Point::new(-50.0, 0.0));
    assert_eq!(notch.inward, Vector::new(1.0, 0.0));
    assert!((notch.depth - 5.0).abs() < 1e-9);
    // At a corner it takes the bisector.
    for (x, y) in [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)] {
        let corner = in_square(&format!("<path class='notch' d='M{x} {y}L45 52'/>")).notches[0];
        let expected = Vector::new(50.0 - x, y - 50.0).normalize();
        assert!((corner.inward - expected).length() < 1e-9, "{x}, {y}");
    }
    // On a cutout the cloth is outside of it.
    let hole = in_square(
        "<rect class='cutout' x='40' y='40' width='20' height='20'/>\
         <path class='notch' d='M40 50h-5'/>",
    );
    assert_eq!(hole.notches[0].inward, Vector::new(-1.0, 0.0));
}

#[test]
fn the_longest_stroke_is_the_grain_and_the_short_ones_its_head() {
    let body = "<g class='grain'><path d='M47 25 L50 20 L53 25'/><path d='M50 80V20'/></g>";
    let grain = in_square(body).grain.unwrap();
    assert_eq!(grain, [Point::new(0.0, -30.0), Point::new(0.0, 30.0)]);
    let second = square(&body.replace("</g>", "<path d='M60 80V40'/></g>"));
    assert!(refused(&second).what.contains("two strokes"));
    let bent = "<path class='grain' d='M50 80V20L30 25'/>";
    assert!(refused(&square(bent)).what.contains("not one straight"));
    assert!(
        refused(&square("<path class='grain' d='M5 5V5'/>"))
            .what
            .contains("no length")
    );
    assert_eq!(in_square("").grain, None);
}

#[test]
fn a_closed_fold_or_dart_goes_back_to_its_start() {
    let piece = in_square("<path class='dart' d='M10 10h5v5z'/>");
    close(
        &piece.darts[0],
        &[(-40., 40.), (-35., 40.), (-35., 35.), (-40., 40.)],
    );
}

#[test]
fn a_label_stands_where_its_text_or_its_box_does() {
    let at = |body: &str| in_square(body).label_at.unwrap();
    assert_eq!(
        at("<text class='label' x='10 20' y='30'>a</text>"),
        Point::new(-40.0, 20.0)
    );
    let span = "<text class='label'><tspan x='10' y='30'>a</tspan></text>";
    assert_eq!(at(span), Point::new(-40.0, 20.0));
    assert_eq!(
        at("<rect id='label' width='20' height='40'/>"),
        Point::new(-40.0, 30.0)
    );
}

#[test]
fn an_open_cut_line_is_closed_across_a_gap_of_a_twentieth() {
    let almost = "<g data-piece='a'><path class='cut' d='M0 0h9v9h-9v-8.96'/></g>";
    assert_eq!(piece(almost).cut[0].len(), 4);
}

#[test]
fn what_cannot_be_told_is_listed_once_and_by_place() {
    let pattern = pattern(&square(
        "\n<image href='a.png'/>\n<text>words</text>\n<text> </text>\n\
         <path data-role='ntoch' d='M0 5h5'/>\n<path d='M1 1h5'/>\n\
         <path class='net' clip-path='url(#c)' d='M1 1h5'/>\n\
         <g visibility='hidden'><path class='net' d='M1 1h5'/></g>\n\
         <foreignObject/><defs><path/></defs><g/><desc/><clipPath id='c'><path/></clipPath>",
    ));
    let starts = [
        "line 3, image: it is no shape",
        "line 4, text: it is text",
        "line 6, path: its role \"ntoch\"",
        "line 7, path: nothing says",
        "line 8, path: its clip path",
        "line 9, path: it is hidden",
        "line 10, foreignObject: it is no shape",
    ];
    assert_eq!(
        pattern.left_out.len(),
        starts.len(),
        "{:?}",
        pattern.left_out
    );
    for (sentence, start) in pattern.left_out.iter().zip(starts) {
        assert!(sentence.starts_with(start), "{sentence} is not {start}");
    }
    assert_eq!(pattern.pieces[0].net.len(), 1);
}

#[test]
fn a_hidden_piece_is_left_out_and_all_hidden_is_a_fault() {
    let hidden = "<g data-piece='b' display='none'><rect width='9' height='9'/></g>";
    let both = pattern(&(square("") + hidden));
    assert_eq!((both.pieces.len(), both.left_out.len()), (1, 1));
    let faint = hidden.replace("display='none'", "visibility='hidden'");
    assert_eq!(pattern(&(square("") + &faint)).pieces.len(), 1);
    assert!(
        refused(&(hidden.to_owned() + "<circle r='9'/>"))
            .what
            .contains("hidden")
    );
}
