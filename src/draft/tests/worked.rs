//! Every construction by hand.

use std::f64::consts::PI;

use super::*;
use crate::pattern::NotchKind;

/// Where the point `q` of the piece comes to lie.
fn at(rows: &str) -> (f64, f64) {
    let drawn = drawn(&piece_with(rows, TRIANGLE));
    let found = drawn.sketches[0].points.iter().find(|(n, _)| n == "q");
    let p = found.unwrap().1;
    (p.x, p.y)
}

fn near(rows: &str, want: (f64, f64)) {
    let (x, y) = at(rows);
    let off = (x - want.0).hypot(y - want.1);
    assert!(off < 1e-6, "{rows}: {x}, {y}");
}

/// How long the line `q` of the piece is.
fn long(points: &str, row: &str) -> f64 {
    let more = format!("lines = [ {{ line = \"q\", {row} }} ]\n{TRIANGLE}");
    let text = piece_with(points, &more).replace("[[piece]]", "[lengths]\n[[piece]]");
    let text =
        format!("{text}[[ring]]\nname = \"r\"\nedges = [\"p: low\"]\ngirth = \"length(p: q)\"\n");
    drawn(&text).sewing.rings[0].girth
}

#[test]
fn measures_divided_and_multiplied() {
    near(
        "{ point = \"q\", right = \"foot length / 3\" }",
        (80.0, 0.0),
    );
    near(
        "{ point = \"q\", up = \"foot length × 0.5 − 2 cm\", right = \"3/8in\" }",
        (9.525, 100.0),
    );
    near(
        "{ point = \"q\", left = \"(foot length + 1 1/4in) / 2 - 2 * 5mm\" }",
        (-(240.0 + 31.75) / 2.0 + 10.0, 0.0),
    );
    near(
        "{ point = \"q\", right = \"10mm * foot length / 12cm\" }",
        (20.0, 0.0),
    );
    near(
        "{ point = \"q\", right = \"distance(b, c) - -length(b, a)\" }",
        (16400f64.sqrt() + 100.0, 0.0),
    );
}

#[test]
fn points_from_levels_directions_and_lines() {
    near(
        "{ point = \"q\", upright = \"b\", level = \"c\" }",
        (100.0, 80.0),
    );
    near(
        "{ point = \"q\", from = \"b\", go = \"up\", by = \"30mm\" }",
        (100.0, 30.0),
    );
    let slant = 50.0 * (PI / 6.0).sin_cos().1;
    near(
        "{ point = \"q\", from = \"c\", go = \"30°\", by = \"5cm\" }",
        (slant, 105.0),
    );
    near(
        "{ point = \"q\", from = \"c\", go = \"right\", turn = 30, by = \"5cm\" }",
        (slant, 105.0),
    );
    near(
        "{ point = \"q\", from = \"a\", go = \"towards b\", by = \"150mm\" }",
        (150.0, 0.0),
    );
    near(
        "{ point = \"q\", from = \"a\", go = \"away from b\", by = \"15mm\" }",
        (-15.0, 0.0),
    );
    // From (100, 0) to (0, 80) the left is down and to the left: (−80, −100)/√16400.
    let n = 16400f64.sqrt();
    near(
        "{ point = \"q\", from = \"b\", go = \"square to b, c\", by = \"10mm\" }",
        (100.0 - 800.0 / n, -1000.0 / n),
    );
    near("{ point = \"q\", on = \"b, c\", at = 0.25 }", (75.0, 20.0));
    near(
        "{ point = \"q\", on = \"low\", before_end = \"30mm\" }",
        (70.0, 0.0),
    );
    near(
        "{ point = \"q\", mirror = \"a\", about = [\"b\", \"d\"] }, { point = \"d\", upright = \"b\", level = \"c\" }",
        (200.0, 0.0),
    );
}

#[test]
fn lines_and_arcs_meet() {
    // 3-4-5: arcs of 60 and 80 about the ends of 100.
    let arcs = "meet = [\"circle a, 60mm\", \"circle b, 80mm\"]";
    near(
        &format!("{{ point = \"q\", {arcs}, nearest = \"c\" }}"),
        (36.0, 48.0),
    );
    near(
        &format!(
            "{{ point = \"q\", {arcs}, nearest = \"d\" }}, {{ point = \"d\", down = \"9mm\" }}"
        ),
        (36.0, -48.0),
    );
    near(
        "{ point = \"q\", meet = [\"line b, c\", \"line a, 45°\"] }",
        (4000.0 / 90.0, 4000.0 / 90.0),
    );
    near(
        "{ point = \"q\", meet = [\"circle a, 50mm\", \"line b, a\"], nearest = \"b\" }",
        (50.0, 0.0),
    );
    // Touching: one point, no choice.
    near(
        "{ point = \"q\", meet = [\"circle a, 80mm\", \"line c, right\"] }",
        (0.0, 80.0),
    );
    // The circle through a, b, c has their right angle's hypotenuse as diameter.
    near(
        "{ point = \"q\", meet = [\"circle a, b, c\", \"line d, right\"], nearest = \"b\" }, { point = \"d\", up = \"40mm\" }",
        (50.0 + 4100f64.sqrt(), 40.0),
    );
    near(
        "{ point = \"q\", meet = [\"path slope\", \"line a, 45°\"] }",
        (4000.0 / 90.0, 4000.0 / 90.0),
    );
}

#[test]
fn lines_are_as_long_as_geometry_says() {
    let close = |got: f64, want: f64| assert!((got - want).abs() < 1e-4, "{got} {want}");
    close(
        long("", "straight = [\"a\", \"b\", \"c\"]"),
        100.0 + 16400f64.sqrt(),
    );
    // A quarter of a circle of 80 about a, either way round.
    let d = "{ point = \"d\", right = \"80mm\" }";
    let about = "arc = [\"d\", \"c\"], centre = \"a\", turn";
    close(long(d, &format!("{about} = \"left\"")), 40.0 * PI);
    close(long(d, &format!("{about} = \"right\"")), 120.0 * PI);
    // Half of one, by its radius; and by three points.
    close(
        long(
            d,
            "arc = [\"a\", \"d\"], radius = \"40mm\", turn = \"left\"",
        ),
        40.0 * PI,
    );
    close(
        long(
            "{ point = \"m\", right = \"50mm\", up = \"5cm\" }",
            "arc = [\"a\", \"m\", \"b\"]",
        ),
        50.0 * PI,
    );
    // A sixth, since the chord is the radius.
    close(
        long(
            "",
            "arc = [\"a\", \"b\"], radius = \"100mm\", turn = \"right\"",
        ),
        100.0 * PI / 3.0,
    );
    // Beside an arc of 80, 10 further in: turning left the centre is on the left.
    let row = "beside = \"arc\", by = \"10mm\" }, { line = \"arc\", arc = [\"d\", \"c\"], centre = \"a\", turn = \"left\"";
    assert!((long(d, row) - 35.0 * PI).abs() < 0.01);
    let row = "part = \"arc\", from = \"s\", to = \"c\" }, { line = \"arc\", arc = [\"d\", \"c\"], centre = \"a\", turn = \"left\"";
    close(
        long(
            &format!("{d}, {{ point = \"s\", on = \"arc\", at = 0.25 }}"),
            row,
        ),
        30.0 * PI,
    );
    close(long("", "join = [\"b, a\", \"c, a\"]"), 180.0);
    close(
        long("", "mirror = \"slope\", about = [\"a\", \"b\"]"),
        16400f64.sqrt(),
    );
}

#[test]
fn a_triangle_has_its_edges_counter_clockwise_whichever_way_it_is_drawn() {
    let turned = TRIANGLE.replace("[\"c\", \"a\"]", "[\"a\", \"c\"]");
    let other = "edges = [ { edge = \"back\", straight = [\"a\", \"c\"] }, \
        { edge = \"slope\", straight = [\"b\", \"c\"] }, { edge = \"low\", straight = [\"a\", \"b\"] } ]";
    for text in [TRIANGLE, turned.as_str(), other] {
        let notches =
            "notches = [ { edge = \"low\", at = \"30mm\", depth = \"2mm\", kind = \"vee\" } ]";
        let drawn = drawn(&piece_with("", &format!("{text}\n{notches}")));
        let net = &drawn.pieces[0];
        let ring = &net.piece.net[0].points;
        assert!((crate::shape::signed_area(ring) - 4000.0).abs() < 1e-9);
        let all = edges(&net.piece);
        let told: Vec<_> = all
            .iter()
            .map(|e| (e.name.as_str(), e.length.round()))
            .collect();
        assert!(told.contains(&("low", 100.0)) && told.contains(&("slope", 128.0)));
        let notch = net.piece.notches[0];
        assert!(
            (notch.at - Point::new(30.0, 0.0)).length() < 1e-9,
            "{notch:?}"
        );
        assert_eq!(notch.kind, NotchKind::Vee);
        assert!((notch.inward.y - 1.0).abs() < 1e-12 && notch.depth == 2.0);
    }
}

#[test]
fn a_half_is_mirrored_with_all_that_is_on_it() {
    let more = "mirror = [\"a\", \"c\"]\nallowance = \"6mm\"\ndrills = [\"k\", \"c\"]\nedges = [ \
        { edge = \"low\", whole = true, straight = [\"a\", \"b\"], allowance = \"1cm\" }, \
        { edge = \"slope\", straight = [\"b\", \"c\"], mirrored = \"other slope\", corner = \"squared\" } ]\n\
        notches = [ { edge = \"low\", at = 0 }, { edge = \"low\", at = 0.5 }, { edge = \"slope\", at = \"20mm\", once = true } ]\n\
        darts = [ { edge = \"low\", at = \"40mm\", width = \"6mm\", depth = \"20mm\" } ]";
    let drawn = drawn(&piece_with(
        "{ point = \"k\", right = \"9mm\", up = \"30mm\" }",
        more,
    ));
    let net = &drawn.pieces[0];
    let all = edges(&net.piece);
    let names: Vec<_> = net.piece.edges.iter().map(|e| e.name.as_str()).collect();
    assert_eq!(names.len(), 3);
    for (name, length) in [
        ("low", 200.0),
        ("slope", 16400f64.sqrt()),
        ("other slope", 16400f64.sqrt()),
    ] {
        let edge = all.iter().find(|e| e.name == name).unwrap();
        assert!((edge.length - length).abs() < 1e-9, "{name}");
        assert_eq!(edge.allowance, Some(if name == "low" { 10.0 } else { 6.0 }));
    }
    // The middle's notch is one; a notch goes half its allowance deep.
    let mut xs: Vec<f64> = net.piece.notches.iter().map(|n| n.at.x.round()).collect();
    xs.sort_by(f64::total_cmp);
    assert_eq!(xs, [-50.0, 0.0, 50.0, 84.0]);
    let low = net.piece.notches.iter().filter(|n| n.at.y.abs() < 1e-9);
    assert!(low.clone().count() == 3 && low.clone().all(|n| n.depth == 5.0 && n.inward.y > 0.999));
    assert_eq!(net.piece.drills.len(), 3);
    let tips: Vec<_> = net
        .piece
        .darts
        .iter()
        .map(|d| (d[1].x.round(), d[1].y.round()))
        .collect();
    assert_eq!(tips, [(40.0, 20.0), (-40.0, 20.0)]);
    let corner = |name: &str| net.makes[names.iter().position(|n| *n == name).unwrap()].corner;
    // Squared at its beginning, and at the same place of the other half, where "low" begins.
    use crate::pattern::Corner::{Mitred, Squared};
    assert_eq!(
        (corner("slope"), corner("low"), corner("other slope")),
        (Squared, Squared, Mitred)
    );
}

#[test]
fn notches_fall_where_another_edge_has_them() {
    let more = format!(
        "{TRIANGLE}\nnotches = [ {{ notch = \"n\", edge = \"low\", at = \"30mm\" }} ]\n\
         [[piece]]\nname = \"o\"\npoints = [ {{ point = \"a\" }}, {{ point = \"b\", right = \"12cm\" }}, {{ point = \"c\", up = \"80mm\" }} ]\n\
         {TRIANGLE}\nnotches = [ {{ edge = \"low\", with = \"p: low\", falls = \"n\" }}, \
         {{ edge = \"low\", with = \"p: low\", falls = \"n\", reversed = true }}, \
         {{ edge = \"low\", with = \"p: low\", falls = \"n\", walk = \"in proportion\" }} ]"
    );
    let drawn = drawn(&piece_with("", &more));
    let xs: Vec<f64> = drawn.pieces[1]
        .piece
        .notches
        .iter()
        .map(|n| n.at.x)
        .collect();
    for (x, want) in xs.iter().zip([30.0, 70.0, 36.0]) {
        assert!((x - want).abs() < 1e-9, "{xs:?}");
    }
}

#[test]
fn folds_cutouts_seams_and_rings_are_as_the_file_says() {
    let more = "allowance = \"6mm\"\nstitched = \"2mm\"\ncut = 4\npair = true\ngrain = [\"a\", \"c\"]\nlabel = \"k\"\n\
        lines = [ { line = \"hole\", straight = [\"h\", \"k\", \"m\", \"h\"], cutout = true }, { line = \"stitch\", straight = [\"h\", \"m\"], show = true } ]\n\
        edges = [ { edge = \"low\", straight = [\"a\", \"b\"] }, { edge = \"slope\", straight = [\"b\", \"c\"] }, { edge = \"back\", straight = [\"c\", \"a\"], fold = true } ]\n\
        [[seam]]\nname = \"s\"\none = [\"p: low\"]\nother = [\"p: slope\", \"p: back\"]\nease = \"-foot length / 24\"\ntolerance = \"2mm\"\n\
        [[ring]]\nname = \"r\"\nedges = [\"p: low\"]\ngirth = \"foot length\"\nat = \"mid-wall\"\ncloth = \"1/8in\"\nsewn = \"239mm\"\n";
    let points = "{ point = \"h\", right = \"20mm\", up = \"20mm\" }, { point = \"k\", from = \"h\", right = \"20mm\" }, { point = \"m\", from = \"h\", up = \"20mm\" }";
    let drawn = drawn(&piece_with(points, more));
    let net = &drawn.pieces[0];
    assert!((crate::shape::signed_area(&net.piece.cutouts[0]) + 200.0).abs() < 1e-9);
    assert_eq!(
        (net.piece.lines.len(), net.piece.cut_count, net.piece.pair),
        (1, 4, true)
    );
    let back = net
        .piece
        .edges
        .iter()
        .position(|e| e.name == "back")
        .unwrap();
    assert!(net.makes[back].on_fold && net.piece.edges[back].allowance == Some(0.0));
    assert_eq!(net.makes[0].stitched, 2.0);
    let seam = &drawn.sewing.seams[0];
    assert_eq!(
        (seam.ease, seam.tolerance, seam.other.len()),
        (-10.0, 2.0, 2)
    );
    let ring = &drawn.sewing.rings[0];
    assert_eq!(
        (ring.girth, ring.cloth, ring.sewn),
        (240.0, 3.175, Some(239.0))
    );
}

#[test]
fn length_and_width_scale_apart() {
    // Grain along x: the length is x here.
    let more = format!(
        "{TRIANGLE}\ngrain = [\"a\", \"b\"]\nnotches = [ {{ edge = \"slope\", at = 0.5 }} ]"
    );
    let draft = parse(&piece_with("", &more)).unwrap();
    let asked = Measures {
        length: 1.1,
        width: 0.9,
        ..Measures::default()
    };
    let drawn = draft.draw(&asked).unwrap();
    let (ring, notch) = (
        &drawn.pieces[0].piece.net[0].points,
        drawn.pieces[0].piece.notches[0],
    );
    let top = crate::shape::bounds(ring.iter().copied()).unwrap().max;
    assert!((top.x - 110.0).abs() < 1e-9 && (top.y - 72.0).abs() < 1e-9);
    assert!((notch.at - Point::new(55.0, 36.0)).length() < 1e-9);
    // Square to the scaled edge, and into the piece.
    assert!(
        notch
            .inward
            .dot(crate::space::Vector::new(-110.0, 72.0))
            .abs()
            < 1e-9
    );
    assert!(notch.inward.x < 0.0 && (notch.inward.length() - 1.0).abs() < 1e-12);
    assert!(drawn.notes[0].contains("110 %"));
    let wild = Measures {
        length: f64::NAN,
        ..Measures::default()
    };
    assert!(draft.draw(&wild).is_err());
}

#[test]
fn a_measure_near_the_end_of_its_range_asks_for_a_toile() {
    let draft = parse(&piece_with("", TRIANGLE)).unwrap();
    let notes = |mm: f64| {
        draft
            .draw(&Measures::default().with("foot length", mm))
            .unwrap()
            .notes
    };
    assert!(notes(211.0).is_empty() && notes(289.0).is_empty());
    assert!(
        notes(209.0)[0].contains("make a toile")
            && notes(300.0)[0].contains("200.0 mm to 300.0 mm")
    );
    for mm in [199.9, 300.1, f64::NAN, f64::INFINITY] {
        let fault = draft
            .draw(&Measures::default().with("foot length", mm))
            .unwrap_err();
        assert!(fault.to_string().contains("foot length"), "{fault}");
    }
    assert!(draft.draw(&Measures::default().with("hip", 1.0)).is_err());
    assert_eq!(draft.measures()[0].usual, 240.0);
}

#[test]
fn a_length_is_searched_for() {
    // A right angle's hypotenuse of 125 over 100: the other side is 75.
    let text = piece_with("{ point = \"q\", up = \"rise\" }", TRIANGLE).replace(
        "[[piece]]",
        "[lengths]\nrise = { until = \"distance(p: b, p: q)\", is = \"125mm\", least = \"0mm\", most = \"2m\" }\n[[piece]]",
    );
    let drawn = drawn(&text);
    let q = drawn.sketches[0]
        .points
        .iter()
        .find(|(n, _)| n == "q")
        .unwrap()
        .1;
    assert!((q.y - 75.0).abs() < 1e-3, "{q:?}");
}
