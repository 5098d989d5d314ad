//! Size, place and direction.

use std::f64::consts::PI;

use super::{area, close, in_square, parse, piece, read, sample};

#[test]
fn an_f_drawn_to_read_f_reads_f_with_y_up() {
    let pattern = read(&sample("letter_f.svg")).unwrap();
    let cut = &pattern.pieces[0].cut[0];
    assert_eq!(cut.len(), 10);
    let has = |x: f64, y: f64| cut.iter().any(|p| (p.x - x).hypot(p.y - y) < 1e-9);
    // The stem is on the left, the long arm at the top right, and nothing at
    // the bottom right.
    assert!(has(-15.0, -30.0) && has(-15.0, 30.0) && has(15.0, 30.0));
    assert!(!has(15.0, -30.0));
    assert!((area(cut) - (600.0 + 200.0 + 150.0)).abs() < 1e-9);
}

#[test]
fn the_origin_is_the_centre_of_the_exact_box_of_the_cut_line() {
    // The curve's top is at 30, its control points' at 40.
    let curved = piece("<path id='a' d='M0 0 C0 40 60 40 60 0 Z'/>");
    let low = curved.cut[0]
        .iter()
        .map(|p| p.y)
        .fold(f64::INFINITY, f64::min);
    let high = curved.cut[0]
        .iter()
        .map(|p| p.y)
        .fold(f64::NEG_INFINITY, f64::max);
    assert!((high - 15.0).abs() < 1e-9, "{high}");
    assert!(low > -15.0 - 1e-9 && low < -15.0 + 0.02, "{low}");
    // Two outlines share one origin; what is not cut has no say in it.
    let two = "<g data-piece='b'><rect class='cut' width='10' height='10'/>\
        <rect class='cut' x='90' width='10' height='50'/><path class='net' d='M0 0H500'/></g>";
    close(
        &piece(two).cut[0],
        &[(-50., 15.), (-40., 15.), (-40., 25.), (-50., 25.)],
    );
}

#[test]
fn outlines_run_counter_clockwise_and_cutouts_clockwise() {
    for outer in ["M0 0H90V90H0Z", "M0 0V90H90V0Z"] {
        for inner in ["M30 30h20v20h-20z", "M30 30v20h20v-20z"] {
            let piece = piece(&format!("<path d='{outer} {inner}'/>"));
            assert!((area(&piece.cut[0]) - 8100.0).abs() < 1e-9);
            assert!((area(&piece.cutouts[0]) + 400.0).abs() < 1e-9);
        }
    }
}

/// However it is drawn: as a shape, as arcs, in large units or small, turned.
#[test]
fn a_circle_keeps_its_area_and_stays_within_the_tolerance() {
    for body in [
        "<circle cx='200' cy='200' r='100'/>",
        "<circle r='1' transform='rotate(20) scale(100)'/>",
        "<ellipse rx='1' ry='1000' transform='scale(100 0.1)'/>",
        "<rect width='200' height='200' rx='100'/>",
        "<path d='M-100 0a100 100 10 0 1 200 0a100 100 0 0 1-200 0z'/>",
        "<path transform='scale(1e-3 1e-3)' d='M-1e5 0A1e5 1e5 0 1 1-1e5 1A1e5 1e5 0 0 1-1e5 0'/>",
    ] {
        let circle = piece(body);
        let cut = &circle.cut[0];
        let worst = cut.iter().zip(cut.iter().cycle().skip(1)).map(|(&a, &b)| {
            let middle = a.lerp(b, 0.5).to_vector().length();
            let end = a.to_vector().length();
            (100.0 - middle).max((end - 100.0).abs())
        });
        let worst = worst.fold(0.0, f64::max);
        assert!(worst <= 0.02 && worst > 0.004, "{body}: {worst}");
        // A chord n-gon of that sagitta.
        let least = (PI - 2.0 * PI * 0.02 / 100.0) * 1e4;
        assert!(area(cut) < PI * 1e4 && area(cut) > least, "{body}");
    }
}

/// Each kind of transform against its closed form, and nested from the
/// outside in.
#[test]
fn transforms_move_a_point_as_their_closed_forms_say() {
    let (sin, cos) = 30_f64.to_radians().sin_cos();
    let tan = 20_f64.to_radians().tan();
    let cases = [
        ("translate(5)", (35.0, 20.0)),
        ("translate(5 -7)", (35.0, 13.0)),
        ("scale(2)", (60.0, 40.0)),
        ("scale(2,-3)", (60.0, -60.0)),
        (
            "rotate(30)",
            (30.0 * cos - 20.0 * sin, 30.0 * sin + 20.0 * cos),
        ),
        (
            "rotate(30 10 10)",
            (
                10.0 + 20.0 * cos - 10.0 * sin,
                10.0 + 20.0 * sin + 10.0 * cos,
            ),
        ),
        ("skewX(20)", (30.0 + 20.0 * tan, 20.0)),
        ("skewY(20)", (30.0, 20.0 + 30.0 * tan)),
        ("matrix(1 2 3 4 5 6)", (95.0, 146.0)),
        ("translate(1,2) scale(3)", (91.0, 62.0)),
    ];
    for (transform, (x, y)) in cases {
        // Wide enough to hold them all, with its middle at the page's corner.
        let body = format!(
            "<g data-piece='a'><rect class='cut' x='-500' y='-500' width='1000' height='1000'/>\
             <circle class='drill' cx='30' cy='20' r='1' transform='{transform}'/></g>"
        );
        let p = piece(&body).drills[0];
        let off = (p.x - x).hypot(p.y + y);
        assert!(off < 1e-9, "{transform}: {p:?}");
    }
    let nested = in_square(
        "<g transform='translate(1,2)'><svg x='10' y='20' width='50' height='100' \
         viewBox='0 0 25 50'><a transform='scale(3)'><path class='drill' d='M1 1z'/></a></svg></g>",
    );
    let p = nested.drills[0];
    assert!((p.x - (1.0 + 10.0 + 6.0 - 50.0)).abs() < 1e-9);
    assert!((p.y - (50.0 - (2.0 + 20.0 + 6.0))).abs() < 1e-9);
}

#[test]
fn a_unit_inside_a_viewbox_is_a_number_of_user_units() {
    let p = in_square("<circle class='drill' cx='10mm' cy='1in' r='1'/>").drills[0];
    assert!((p.x - (960.0 / 25.4 - 50.0)).abs() < 1e-9);
    assert!((p.y - (50.0 - 96.0)).abs() < 1e-9);
}

#[test]
fn without_a_width_a_user_unit_is_a_px() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg'><rect width='96' height='192'/></svg>";
    let pattern = parse(svg.as_bytes()).unwrap();
    close(
        &pattern.pieces[0].cut[0],
        &[(-12.7, -25.4), (12.7, -25.4), (12.7, 25.4), (-12.7, 25.4)],
    );
    assert_eq!(
        pattern.notes,
        [
            "the drawing's size is not given, taken as 1/96 inch; measure a piece before you trust it."
        ]
    );
}

#[test]
fn a_size_in_px_is_noted_once_and_one_in_mm_is_not() {
    let rect = "<rect width='9' height='9'/>";
    let notes = |root: &str| {
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 10 10' {root}>{rect}</svg>"
        );
        parse(svg.as_bytes()).unwrap().notes
    };
    let px = "the drawing's size is given in px, taken as 1/96 inch; measure a piece before you trust it.";
    assert_eq!(notes("width='96px' height='96px'"), [px]);
    assert_eq!(notes("width='96' height='96'"), [px]);
    assert_eq!(notes("width='10mm' height='10mm'"), [] as [&str; 0]);
    assert_eq!(notes("style='width:1cm;height:1cm'"), [] as [&str; 0]);
}

#[test]
fn a_size_in_the_roots_style_is_honoured_before_its_attributes() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='96' viewBox='0 0 10 10' \
        style='fill:none; width: 100mm'><rect width='1' height='2'/></svg>";
    let pattern = parse(svg.as_bytes()).unwrap();
    close(
        &pattern.pieces[0].cut[0],
        &[(-5., -10.), (5., -10.), (5., 10.), (-5., 10.)],
    );
    assert_eq!(pattern.notes, [] as [&str; 0]);
    let fault = parse(svg.replace("100mm", "100%").as_bytes()).unwrap_err();
    assert!(fault.what.contains("no size of its own"), "{fault}");
    assert!(parse(svg.replace("100mm", "9em").as_bytes()).is_err());
}

#[test]
fn an_inner_drawing_without_size_shows_nothing_and_is_listed() {
    let body = "<svg width='0' height='5'><rect width='9' height='9'/></svg><circle r='9'/>";
    let pattern = super::pattern(body);
    assert_eq!(pattern.pieces.len(), 1);
    assert!(pattern.left_out[0].contains("no size"));
}
