//! Points, outlines, notches and darts that do not hold.

use super::*;

#[test]
fn points_that_are_not_there_or_need_each_other() {
    says(
        &point("from = \"z\""),
        &["line 13", "point \"q\"", "no point named \"z\""],
    );
    says(&point("from = \"sole: z\""), &["no piece named \"sole\""]);
    says(
        &point("from = \"r\" }, { point = \"r\", from = \"q\""),
        &["line 13", "need each other: p: q, p: r"],
    );
    says(&point("from = \"q\""), &["need each other"]);
    let text = point("up = \"deep\"").replace(
        "[[piece]]",
        "[lengths]\ndeep = \"distance(p: a, p: q)\"\n[[piece]]",
    );
    says(&text, &["need each other", "deep"]);
    says(&point("on = \"a, q\", at = 1"), &["need each other"]);
    says(
        &point("up = \"1mm\" }, { point = \"q\""),
        &["two points named \"q\""],
    );
    // Backwards, and far more than fit the stack if each waited for the next.
    let rows: Vec<String> = (0..300)
        .map(|k| format!("{{ point = \"r{k}\", from = \"r{}\" }}", k + 1))
        .collect();
    let rows = rows.join(",\n") + ", { point = \"r300\" }";
    says(&piece_with(&rows, TRIANGLE), &["wait for one another"]);
}

#[test]
fn what_does_not_meet_says_by_how_much() {
    says(
        &point("meet = [\"circle a, 20mm\", \"circle b, 50mm\"]"),
        &["line 13", "miss by 30 mm"],
    );
    says(
        &point("meet = [\"circle a, 200mm\", \"circle b, 50mm\"]"),
        &["miss by 50 mm"],
    );
    says(
        &point("meet = [\"circle a, 20mm\", \"line c, right\"]"),
        &["miss by 60 mm"],
    );
    says(
        &point("meet = [\"line a, b\", \"line c, right\"]"),
        &["side by side, 80 mm apart"],
    );
    says(
        &point("meet = [\"circle a, 60mm\", \"circle b, 80mm\"]"),
        &["meet in 2 places", "nearest"],
    );
    says(&point("meet = [\"circle a, 60mm\"]"), &["must name two"]);
    says(
        &point("meet = [\"square a\", \"line a, b\"]"),
        &["nothing that can meet"],
    );
    says(
        &point("meet = [\"path low\", \"circle a, 6mm\"]"),
        &["straight lines only"],
    );
    says(
        &point("on = \"a, b\", at = \"101mm\""),
        &["beyond the end", "101 mm", "100 mm long"],
    );
    says(&point("on = \"a, b\", at = 1.2"), &["beyond the end"]);
    says(
        &point("go = \"northwards\", by = \"1mm\""),
        &["not a direction"],
    );
    says(&point("go = \"up\""), &["both go and by"]);
    says(
        &point("go = \"towards a\", by = \"1mm\""),
        &["gives no direction"],
    );
}

#[test]
fn outlines_that_do_not_hold() {
    let chain = "edges = [ { edge = \"low\", straight = [\"a\", \"b\"] },\n{ edge = \"slope\", straight = [\"c\", \"d\"] } ]";
    says(
        &piece_with("{ point = \"d\", up = \"2m\" }", chain),
        &[
            "line 16",
            "edge \"slope\"",
            "does not follow \"low\"",
            "128.062 mm",
        ],
    );
    let open = "edges = [ { edge = \"low\", straight = [\"a\", \"b\"] },\n{ edge = \"slope\", straight = [\"b\", \"c\"] } ]";
    says(
        &piece_with("", open),
        &["piece \"p\"", "does not close", "80 mm"],
    );
    let crossed = "edges = [ { edge = \"one\", straight = [\"a\", \"b\", \"c\"] }, { edge = \"two\", straight = [\"c\", \"d\", \"a\"] } ]";
    says(
        &piece_with(
            "{ point = \"d\", right = \"90mm\", down = \"5mm\" }",
            crossed,
        ),
        &["crosses itself", "\"one\" and \"two\""],
    );
    says(
        &piece_with("", &format!("mirror = [\"a\", \"c\"]\n{TRIANGLE}")),
        &["crosses itself"],
    );
    let off = open.replace("[\"a\", \"b\"]", "[\"d\", \"b\"]");
    says(
        &piece_with(
            "{ point = \"d\", right = \"3mm\" }",
            &format!("mirror = [\"a\", \"c\"]\n{off}"),
        ),
        &["ends 3 mm off the line"],
    );
    says(&piece_with("", ""), &["no edges"]);
    says(
        &piece_with(
            "",
            "edges = [ { edge = \"low\", straight = [\"a\", \"a\"] } ]",
        ),
        &["no length"],
    );
    says(
        &piece_with(
            "",
            "edges = [ { edge = \"low\", straight = [\"a\", \"b\"] } ]",
        ),
        &["does not close"],
    );
    says(
        &piece_with("", "edges = [ { edge = \"low\" } ]"),
        &["how it is drawn"],
    );
    says(
        &piece_with("", &TRIANGLE.replace("\"slope\"", "\"low\"")),
        &["two edges or lines named \"low\""],
    );
    says(
        &piece_with(
            "",
            &TRIANGLE.replace("edge = \"low\",", "edge = \"low\", whole = true,"),
        ),
        &["drawn half"],
    );
    let arc = TRIANGLE.replace(
        "straight = [\"b\", \"c\"]",
        "arc = [\"b\", \"c\"], radius = \"5cm\", turn = \"left\"",
    );
    says(&piece_with("", &arc), &["radius is 14.031 mm too short"]);
    let flat = TRIANGLE.replace("straight = [\"b\", \"c\"]", "arc = [\"b\", \"d\", \"c\"]");
    says(
        &piece_with("{ point = \"d\", on = \"b, c\", at = 0.5 }", &flat),
        &["one straight line"],
    );
}

#[test]
fn notches_and_darts_beyond_their_edge() {
    let notch = |row: &str| piece_with("", &format!("{TRIANGLE}\nnotches = [\n{{ {row} }} ]"));
    says(
        &notch("edge = \"low\", at = \"101mm\""),
        &["line 17", "notch on \"low\"", "beyond the end"],
    );
    says(
        &notch("edge = \"high\", at = 0"),
        &["no edge named \"high\""],
    );
    says(&notch("edge = \"low\""), &["not clear where"]);
    says(
        &notch("edge = \"low\", at = 0, before_end = 0"),
        &["not clear where"],
    );
    says(
        &notch("edge = \"low\", point = \"c\""),
        &["80 mm beside the line"],
    );
    says(
        &notch("edge = \"low\", at = 0.5, kind = \"round\""),
        &["not known"],
    );
    says(
        &notch("edge = \"low\", at = 0.5, depth = \"0mm\""),
        &["0 mm deep"],
    );
    says(
        &notch("edge = \"low\", with = \"p: low\", falls = \"n\""),
        &["no notch named \"n\""],
    );
    says(
        &notch("notch = \"n\", edge = \"low\", with = \"p: low\", falls = \"n\""),
        &["by one another"],
    );
    let longer = format!(
        "{TRIANGLE}\nnotches = [ {{ notch = \"n\", edge = \"slope\", at = \"120mm\" }}, {{ edge = \"low\", with = \"slope\", falls = \"n\" }} ]"
    );
    says(&piece_with("", &longer), &["20 mm beyond this edge"]);
    let dart = |row: &str| piece_with("", &format!("{TRIANGLE}\ndarts = [\n{{ {row} }} ]"));
    says(
        &dart("edge = \"low\", at = \"1mm\", width = \"4mm\", depth = \"2cm\""),
        &["does not fit"],
    );
    says(
        &dart("edge = \"low\", at = 0.5, width = \"4mm\""),
        &["a depth or a tip"],
    );
}

#[test]
fn a_cutout_is_a_plain_hole_within_its_piece() {
    let points = "{ point = \"h\", right = \"20mm\", up = \"20mm\" },\n\
                  { point = \"k\", right = \"40mm\", up = \"20mm\" },\n\
                  { point = \"m\", right = \"20mm\", up = \"40mm\" },\n\
                  { point = \"n\", right = \"35mm\", up = \"35mm\" },\n\
                  { point = \"z\", right = \"200mm\", up = \"20mm\" }";
    let with = |through: &str| {
        let line = format!("{{ line = \"hole\", straight = [{through}], cutout = true }}");
        piece_with(points, &format!("lines = [ {line} ]\n{TRIANGLE}"))
    };
    for sound in ["\"h\", \"k\", \"m\", \"h\"", "\"h\", \"m\", \"k\", \"h\""] {
        let cutouts = &drawn(&with(sound)).pieces[0].piece.cutouts;
        assert!((crate::shape::signed_area(&cutouts[0]) + 200.0).abs() < 1e-9);
    }
    for (bad, why) in [
        (
            "\"h\", \"n\", \"k\", \"m\", \"h\"",
            "the cutout crosses itself",
        ),
        ("\"h\", \"k\", \"h\"", "holds no area"),
        ("\"h\", \"z\", \"n\", \"h\"", "reaches beyond the net line"),
    ] {
        says(&with(bad), &["\"hole\"", why]);
    }
}
