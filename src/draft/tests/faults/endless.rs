//! Searches that find nothing, and drafts that would grow without end.

use super::*;

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
