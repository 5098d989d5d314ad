//! What can be wrong with a draft, and what is said of it.

use proptest::prelude::*;

use super::*;

/// A draft with the point `q` as its row 13.
fn point(row: &str) -> String {
    piece_with(&format!("{{ point = \"q\", {row} }}"), TRIANGLE)
}

fn says(text: &str, words: &[&str]) {
    let said = said(text);
    for word in words {
        assert!(said.contains(word), "{said}\n  lacks {word}");
    }
}

#[test]
fn units_are_checked() {
    let at = "line 13: point \"q\" of \"p\"";
    says(&point("up = \"12\""), &[at, "plain number where a length"]);
    says(
        &point("up = \"foot length * foot length\""),
        &[at, "an area, not a length"],
    );
    says(&point("up = \"foot length + 3\""), &[at, "can't be added"]);
    says(&point("up = \"foot length / 2mm\""), &[at, "plain number"]);
    says(
        &point("up = \"3 / foot length\""),
        &[at, "neither a length"],
    );
    says(
        &point("up = \"foot length / 0\""),
        &[at, "divided by nothing"],
    );
    says(&point("up = \"foot length * 1000000\""), &[at, "kilometre"]);
    says(
        &point("go = \"up\", by = \"1mm\", turn = \"2mm\""),
        &[at, "plain number is wanted"],
    );
}

#[test]
fn formulas_that_are_none() {
    for (formula, word) in [
        (
            "foot lenght / 2",
            "no measure or length named \"foot lenght\"",
        ),
        ("2 +", "can't be worked out"),
        ("", "can't be worked out"),
        ("(2mm", "can't be worked out"),
        ("2mm)", "can't be worked out"),
        ("2mm 3mm", "can't be worked out"),
        ("foot length ^ 2", "means nothing"),
        ("{v000}", "means nothing"),
        ("1,250mm", "two ways"),
        ("12 furlongs", "unit"),
        ("length(nothing)", "no edge or line"),
        ("length(low", "not closed"),
        ("distance(a)", "names one point"),
        ("* 2mm", "can't be worked out"),
        ("2mm / / 3", "can't be worked out"),
    ] {
        says(
            &point(&format!("up = \"{formula}\"")),
            &["line 13", "\"q\"", word],
        );
    }
    let long = "1mm+".repeat(80) + "1mm";
    says(&point(&format!("up = \"{long}\"")), &["longer than 300"]);
}

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
    says(&point("go = \"towards a\", by = \"1mm\""), &["very place"]);
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
fn files_that_are_no_drafts() {
    says("", &["ghostchalk_draft = 1"]);
    says("a = = 1", &["line 1", "can't be read", "mend that line"]);
    says("name = \"a\"", &["missing"]);
    says(
        "ghostchalk_draft = 2",
        &["line 1", "version 2", "knows version 1"],
    );
    says("ghostchalk_draft = \"one\"", &["not a version number"]);
    says(
        &piece_with("", &format!("{TRIANGLE}\ncolour = \"blue\"")),
        &[
            "line 16",
            "piece \"p\"",
            "\"colour\" is not known",
            "known are",
        ],
    );
    says(&with("extra = 1"), &["\"extra\" is not known"]);
    says(
        &with("[[piece]]\nname = \"a:b\""),
        &["line 8", "can't be a name"],
    );
    says(
        &piece_with("", &format!("{TRIANGLE}\ncut = 0")),
        &["whole number from 1"],
    );
    says(
        &with("[[piece]]\nname = \"a\"\npoints = 3"),
        &["list of rows"],
    );
    says(
        &with("[[measure]]\nname = \"x\"\nleast = \"9mm\"\nmost = \"3mm\"\nusual = \"4mm\""),
        &["measure \"x\"", "range"],
    );
    says(
        &with("[[measure]]\nname = \"x y\"\nleast = 9"),
        &["plain number"],
    );
    says(&with("[[measure]]\nname = \"x-y\""), &["formula"]);
    says(
        &with("[lengths]\n\"foot length\" = \"2mm\""),
        &["measure already"],
    );
    let seam = |rest: &str| format!("{}[[seam]]\nname = \"s\"\n{rest}", piece_with("", TRIANGLE));
    says(
        &seam("one = [\"p: low\"]\nother = [\"p: high\"]"),
        &["seam \"s\"", "\"high\""],
    );
    says(
        &seam("one = [\"low\"]\nother = [\"p: low\"]"),
        &["of which piece"],
    );
    says(
        &seam("one = [\"p: low\"]\nother = [\"p: slope\"]\ntolerance = \"0mm\""),
        &["not above 0"],
    );
    says(&"#".repeat(600 * 1024), &["512 KB"]);
    let rows = "{ point = \"z\" },".repeat(401);
    says(&piece_with(&rows, TRIANGLE), &["more than 400"]);
    let sums: Vec<String> = (0..390)
        .map(|k| format!("{{ point = \"p{k}\", up = \"1mm+1mm\", left = \"2mm/2\" }}"))
        .collect();
    let piece = |n: usize| {
        let line = "straight = [\"p0\", \"p1\"]";
        let edges = format!("edges = [ {{ edge = \"e\", {line} }} ]");
        format!(
            "[[piece]]\nname = \"n{n}\"\npoints = [{}]\n{edges}\n",
            sums.join(",")
        )
    };
    let pieces: String = (0..4).map(piece).collect();
    says(&with(&pieces), &["more than 3000 formulas"]);
}

#[test]
fn a_length_that_can_not_be_found_says_how_far_off_it_is() {
    let text = piece_with("{ point = \"q\", up = \"rise\" }", TRIANGLE).replace(
        "[[piece]]",
        "[lengths]\nrise = { until = \"distance(p: a, p: q)\", is = \"125mm\", least = \"5mm\", most = \"25mm\" }\n[[piece]]",
    );
    says(
        &text,
        &[
            "line 8",
            "length \"rise\"",
            "no length from 5 to 25 mm",
            "-120 mm",
            "-100 mm",
            "change the least, the most or",
        ],
    );
    // No measure counts for it, so none is to be checked.
    assert!(!said(&text).contains("check"));
}

/// A girth that does not go with the foot's length shows in what is searched for.
#[test]
fn a_length_that_can_not_be_found_says_which_measures_to_check() {
    let draft = parse(SLIPPERS).unwrap();
    // Ever slimmer, until no throat will do.
    let said = (70..95).rev().find_map(|share| {
        let asked = Measures::default()
            .with("foot length", 295.0)
            .with("instep girth", 2.95 * f64::from(share));
        draft.draw(&asked).err().map(|fault| fault.to_string())
    });
    let said = said.unwrap();
    let remedy = "check foot length and instep girth";
    assert!(
        said.contains("length \"throat depth\"") && said.contains(remedy),
        "{said}"
    );
}

/// Searches and rows that wait for one another share one stack, however they are mixed.
#[test]
fn searches_within_searches_are_not_deeper_than_rows_may_be() {
    let search = |k: usize, until: &str| {
        format!(
            "l{k} = {{ until = \"{until}\", is = \"10mm\", least = \"1mm\", most = \"20mm\" }}\n"
        )
    };
    let nested = |count: usize, rows: usize| -> String {
        let lengths: String = (0..count)
            .map(|k| search(k, &format!("distance(p: a, p: r{k}x0)")))
            .collect();
        // Each search waits for a run of points, the last of which waits for the next one.
        let points = (0..count).flat_map(|k| {
            (0..rows).map(move |r| match (r + 1 < rows, k + 1 < count) {
                (true, _) => format!("{{ point = \"r{k}x{r}\", from = \"r{k}x{}\" }}", r + 1),
                (_, true) => format!("{{ point = \"r{k}x{r}\", up = \"l{}\" }}", k + 1),
                _ => format!("{{ point = \"r{k}x{r}\", up = \"l{k}\" }}"),
            })
        });
        let points: Vec<String> = points.collect();
        let text = piece_with(&points.join(",\n"), TRIANGLE);
        text.replace("[[piece]]", &format!("[lengths]\n{lengths}[[piece]]"))
    };
    assert!((parse(&nested(1, 20)).unwrap().draw(&Measures::default())).is_ok());
    for (count, rows) in [(70, 1), (3, 50), (10, 39)] {
        says(&nested(count, rows), &["more than 60 rows wait"]);
    }
}

#[test]
fn notches_that_hang_on_one_another_are_so_many_at_most() {
    let chain = |count: usize| {
        let rows: Vec<String> = (0..count)
            .map(|k| {
                format!(
                    "{{ notch = \"n{k}\", edge = \"low\", with = \"low\", falls = \"n{}\" }}",
                    k + 1
                )
            })
            .collect();
        let last = format!("{{ notch = \"n{count}\", edge = \"low\", at = \"9mm\" }}");
        piece_with(
            "",
            &format!("{TRIANGLE}\nnotches = [\n{},\n{last} ]", rows.join(",\n")),
        )
    };
    assert_eq!(piece(&drawn(&chain(50)), "p").piece.notches.len(), 1);
    says(&chain(300), &["more than 60 notches"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_formula_makes_it_stumble(text in "[a-z0-9 .,+*/()\"½×{}^:-]{0,40}") {
        let text = text.replace('"', "\\\"");
        if let Ok(draft) = parse(&point(&format!("up = \"{text}\""))) {
            drop(draft.draw(&Measures::default()));
        }
    }

    #[test]
    fn no_damage_to_a_draft_makes_it_stumble(at in 0..SLIPPERS.len(), n in 1..12usize, with in "[a-z0-9\"=,{}\\[\\]. \n-]{0,6}") {
        let (mut from, mut to) = (at, (at + n).min(SLIPPERS.len()));
        while !SLIPPERS.is_char_boundary(from) { from -= 1; }
        while !SLIPPERS.is_char_boundary(to) { to += 1; }
        let text = format!("{}{with}{}", &SLIPPERS[..from], &SLIPPERS[to..]);
        match parse(&text).and_then(|d| d.draw(&Measures::default())) {
            Err(fault) => prop_assert!(fault.kind == crate::fault::Kind::Input, "{}", fault),
            Ok(drawn) => prop_assert!(drawn.pieces.iter().all(|p| p.piece.net[0].points.len() > 2)),
        }
    }
}

/// Joined with itself over and over, a line of two points has more stretches than there is
/// memory; pulled too far, it is longer than lengths can be told of.
#[test]
fn lines_that_grow_without_end_are_refused() {
    let mut lines = "{ line = \"l0\", straight = [\"a\", \"q\"] }".to_owned();
    for k in 1..40 {
        let before = k - 1;
        lines += &format!(", {{ line = \"l{k}\", join = [\"l{before}\", \"l{before}\"] }}");
    }
    let more = format!("lines = [ {lines} ]\n{TRIANGLE}");
    let on = "{ point = \"q\", from = \"a\", right = \"1mm\" },\n\
              { point = \"z\", on = \"l39\", at = 0.5 }";
    says(&piece_with(on, &more), &["16384 stretches"]);
    let points = "{ point = \"q\", from = \"a\", right = \"0.00001mm\" },\n\
                  { point = \"r\", from = \"a\", right = \"900m\" },\n\
                  { point = \"z\", on = \"l\", at = 0.5 }";
    let line = "lines = [ { line = \"l\", curve = [\"a\", \"q\", \"r\"], start = \"up\", \
                start_pull = \"900m\" } ]";
    says(
        &piece_with(points, &format!("{line}\n{TRIANGLE}")),
        &["longer than a kilometre"],
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

/// No longer than is drawn, and of no more stretches, but each bends.
#[test]
fn lines_that_bend_without_end_are_refused() {
    let mut lines = "{ line = \"l0\", curve = [\"a\", \"q\", \"a\"], start = \"up\" }".to_owned();
    for k in 1..12 {
        let before = k - 1;
        lines += &format!(", {{ line = \"l{k}\", join = [\"l{before}\", \"l{before}\"] }}");
    }
    let points = "{ point = \"q\", right = \"10cm\", up = \"10cm\" },\n\
                  { point = \"z\", on = \"l11\", at = 0.5 }";
    says(
        &piece_with(points, &format!("lines = [ {lines} ]\n{TRIANGLE}")),
        &["at most 200000 are drawn"],
    );
}
