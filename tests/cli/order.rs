//! From the order to the papers.

use super::*;
use serde_json::{Value, json};

/// Slippers in two sizes from the demo's draft: one pair lined, and two for a sister, with a
/// spare set, of another cloth. Two plies of canvas, a stack of four of felt, of which each sole has
/// two.
const JOB: &str = r#"
ghostchalk_job = 1
name = "For two sisters"

[[cloth]]
name = "canvas"
thickness_mm = 0.8

[[cloth]]
name = "sail"
thickness_mm = 0.6

[[cloth]]
name = "flannel"
thickness_mm = 0.9

[[cloth]]
name = "felt"
thickness_mm = 5
no_face = true

[[derived]]
name = "heel stiffener"
of = "heel band"
less = "1 mm"

[[make]]
name = "slippers"
draft = "slippers.draft.toml"
bought = [{ name = "thread", length = "6 m" }]
sew = ["sides", "soles"]
[[make.part]]
piece = "upper"
cloth = "canvas"
count = 2
pair = true
[[make.part]]
piece = "upper"
cloth = "flannel"
count = 2
pair = true
with = "lining"
[[make.part]]
piece = "felt sole"
cloth = "felt"
count = 4
pair = true
inside = "sole"
[[make.part]]
piece = "heel stiffener"
cloth = "felt"
count = 2
[[make.length]]
name = "stay tape"
count = 2
ring = "top line"
ease = "4 mm"
ends = "10 mm"

[[order]]
make = "slippers"
measures = { "foot length" = "255 mm" }
size = "255"
with = ["lining"]

[[order]]
make = "slippers"
measures = { "foot length" = "240 mm" }
size = "240"
count = 2
spare = 1
cloths = { canvas = "sail" }
note = "her sister"

[[panel]]
name = "top"
cloth = "canvas"
outline_mm = [[0, 0], [500, 0], [500, 400], [0, 400]]
on_table = { x_mm = 20, y_mm = 20 }

[[panel]]
name = "lower"
cloth = "canvas"
outline_mm = [[0, 0], [500, 0], [500, 400], [0, 400]]
on_table = { x_mm = 20, y_mm = 20 }
under = "top"

[[panel]]
name = "felt"
cloth = "felt"
outline_mm = [[0, 0], [400, 0], [400, 300], [0, 300]]
on_table = { x_mm = 600, y_mm = 20 }
stack = { layers = 4 }

[[placed]]
piece = "upper 255"
article = "1"
panel = "top"
x_mm = 200
y_mm = 150
turn_deg = 0
face = "up"

[[placed]]
piece = "felt sole 240"
article = "2"
panel = "felt"
x_mm = 120
y_mm = 150
turn_deg = 0
face = "up"
"#;

/// A folder with the job, in which `from` has become `to`.
fn job(b: &Bench, from: &str, to: &str) -> String {
    let folder = b.path("order");
    std::fs::create_dir_all(&folder).unwrap();
    let draft = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/slippers.draft.toml");
    std::fs::copy(draft, folder.join("slippers.draft.toml")).unwrap();
    assert!(JOB.contains(from), "{from}");
    std::fs::write(folder.join("job.toml"), JOB.replacen(from, to, 1)).unwrap();
    folder.to_str().unwrap().to_owned()
}

fn told(args: &[&str]) -> Value {
    let o = run(args);
    assert!(
        o.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&o.stderr)
    );
    serde_json::from_slice(&o.stdout).unwrap()
}

/// What the order comes to, written out by hand.
#[test]
fn an_order_is_every_part_that_is_cut() {
    let b = Bench::new();
    let job = job(&b, "her sister", "her sister");
    let told = told(&["order", &job, "--json"]);
    let part = |piece: &str, cloth: &str, pair: bool| {
        let count = if piece.starts_with("felt sole") { 4 } else { 2 };
        json!([piece, cloth, count, pair])
    };
    let lined = [
        part("upper 255", "canvas", true),
        part("upper 255", "flannel", true),
        part("felt sole 255", "felt", true),
        part("heel stiffener 255", "felt", false),
    ];
    let plain = [
        part("upper 240", "sail", true),
        part("felt sole 240", "felt", true),
        part("heel stiffener 240", "felt", false),
    ];
    let expected = [
        (
            "1",
            false,
            "size 255, foot length 255 mm, with lining",
            &lined[..],
        ),
        (
            "2",
            false,
            "size 240, foot length 240 mm, her sister",
            &plain[..],
        ),
        (
            "3",
            false,
            "size 240, foot length 240 mm, her sister",
            &plain[..],
        ),
        (
            "4",
            true,
            "size 240, foot length 240 mm, her sister",
            &plain[..],
        ),
    ];
    let articles = told["articles"].as_array().unwrap();
    assert_eq!(articles.len(), expected.len());
    for (a, (name, spare, note, parts)) in articles.iter().zip(expected) {
        assert_eq!((&a["article"], &a["spare"]), (&json!(name), &json!(spare)));
        assert_eq!(a["note"], note);
        let found = a["parts"].as_array().unwrap().iter();
        let found = found.map(|p| json!([p["piece"], p["cloth"], p["count"], p["pair"]]));
        assert_eq!(found.collect::<Vec<_>>(), parts, "article {name}");
        assert_eq!(a["bought"][0]["name"], "thread");
        // As long as the ring of its own size, and what is said besides.
        let tape = &a["lengths"][0];
        let (net, total) = (
            tape["net_mm"].as_f64().unwrap(),
            tape["total_mm"].as_f64().unwrap(),
        );
        assert!((total - net - 24.0).abs() < 1e-9, "{tape}");
    }
    let net = |k: usize| articles[k]["lengths"][0]["net_mm"].as_f64().unwrap();
    // The draft's opening is 1.377 of an instep girth of 250 mm in either size.
    assert!(
        (net(0) - 344.25).abs() < 0.5 && (net(1) - 344.25).abs() < 0.5,
        "{} {}",
        net(0),
        net(1)
    );
    // Two plies give left and right; four layers of felt, which has no face, two pairs.
    let sheets = &told["sheets"];
    assert_eq!(sheets[0]["panel"], "top");
    assert_eq!(
        (&sheets[0]["plies"], &sheets[1]["plies"]),
        (&json!(2), &json!(4))
    );
    let gives = &sheets[0]["gives"][0];
    assert_eq!(
        (&gives["as_drawn"], &gives["mirrored"]),
        (&json!(1), &json!(1))
    );
    let said = stdout(&run(&["order", &job]));
    assert!(
        said.contains(
            "spread top on lower, wrong sides together: upper 255 1 (1 as drawn, 1 mirrored)"
        ),
        "{said}"
    );
    assert!(
        said.contains("spread felt in 4 plies, all the same way up"),
        "{said}"
    );
    assert!(said.contains("2 x stay tape: 368."), "{said}");
}

#[test]
fn what_cant_be_ordered_says_why() {
    let b = Bench::new();
    let said = |from: &str, to: &str| {
        let job = job(&b, from, to);
        refused(&["order", &job], "job.toml")
    };
    assert!(
        said(
            "piece = \"upper\"\ncloth = \"canvas\"",
            "piece = \"vamp\"\ncloth = \"canvas\""
        )
        .contains("the pattern has no \"vamp 255\"")
    );
    assert!(said("make = \"slippers\"", "make = \"boots\"").contains("there is no make \"boots\""));
    assert!(
        said(
            "cloths = { canvas = \"sail\" }",
            "cloths = { canvas = \"silk\" }"
        )
        .contains("the cloth \"silk\" isn't there")
    );
    assert!(
        said("measures = { \"foot length\" = \"240 mm\" }\n", "").contains(
            "the size \"240\" is ordered without measures, and slippers.draft.toml is drawn for \
             measures; give the order its measures, such as measures = { \"foot length\" ="
        )
    );
    let odd = "piece = \"upper\"\ncloth = \"canvas\"\ncount = 3";
    assert!(said("piece = \"upper\"\ncloth = \"canvas\"\ncount = 2", odd)
        .contains("3 of upper 255 in canvas are ordered in pairs, and all of that cloth lies in several plies"));
    assert!(
        said("size = \"240\"", "size = \"255\"")
            .contains("\"255\" is called what has other measures")
    );
    assert!(said("layers = 4", "layers = 0").contains("layers is 0"));
    let job = job(&b, "ends = \"10 mm\"", "ends = \"-10 mm\"");
    let o = run(&["order", &job]);
    assert_eq!(o.status.code(), Some(2));
    assert!(
        sentence(&o).contains("length \"stay tape\": ends is -10 mm"),
        "{}",
        sentence(&o)
    );
    let job = self::job(&b, "\"240 mm\"", "\"400 mm\"");
    let said = refused(&["order", &job], "slippers.draft.toml");
    assert!(said.contains("foot length"), "{said}");
}

#[test]
fn the_same_hand_twice_is_told_before_the_first_cut() {
    let b = Bench::new();
    let pair = "piece = \"upper\"\ncloth = \"flannel\"\ncount = 2\npair = true";
    let job = job(&b, pair, &pair.replace("true", "false"));
    let o = run(&["order", &job]);
    assert_eq!(o.status.code(), Some(1));
    let said = stdout(&o);
    assert!(
        said.contains("this would spoil the work: article 1, flannel"),
        "{said}"
    );
    assert!(said.contains("cuts two lefts"), "{said}");
}

#[test]
fn papers_are_written_and_nothing_else_is_written_over() {
    let b = Bench::new();
    let job = job(&b, "her sister", "her sister");
    let pdf = b.str("tickets.pdf");
    let made = told(&["tickets", &job, "-o", &pdf, "--json"]);
    assert_eq!(made["pages"], 2, "{made}");
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
    // Over a PDF it is written again; over nothing else.
    told(&[
        "tickets", &job, "-o", &pdf, "--json", "--unit", "in", "--paper", "letter",
    ]);
    let other = b.write("note.txt", "mine");
    refused(&["tickets", &job, "-o", &other], "note.txt");
    refused(&["paper", &job, "upper", "-o", &pdf], "name one of");
    let made = told(&[
        "paper",
        &job,
        "upper 255",
        "-o",
        &pdf,
        "--mirrored",
        "--json",
    ]);
    assert_eq!(made["pages"], 1, "{made}");
    let list = b.str("list.pdf");
    told(&["order", &job, "--list", &list, "--json"]);
    assert!(std::fs::read(&list).unwrap().starts_with(b"%PDF-"));
    assert_eq!(
        stdout(&run(&["ledger", &job])).trim(),
        "Nothing has been cut."
    );
}

#[test]
fn bias_strips_are_worked_out() {
    let told = told(&[
        "strips", "1000x500", "--width", "30mm", "--length", "2m", "--json",
    ]);
    // (1000 − 500) / 30√2 = 11.8; each 500√2.
    assert_eq!((&told["count"], &told["joins"]), (&json!(11), &json!(10)));
    assert!((told["each_mm"].as_f64().unwrap() - 707.107).abs() < 1e-3);
    // 3 of them: 2121.3 − 2 · 12√2 − 30 = 2057.4.
    assert_eq!(told["for_length"], 3);
    for (cloth, width) in [("1000", "30mm"), ("1000x-5", "30mm"), ("1000x500", "-3")] {
        let o = run(&["strips", cloth, "--width", width]);
        assert_eq!(o.status.code(), Some(2), "{cloth} {width}");
    }
    // Cloth that is not enough is no bad input.
    for (cloth, length, code) in [
        ("1000x500", "2m", 0),
        ("1000x500", "100m", 1),
        ("500x500", "2m", 1),
    ] {
        let own = ["strips", cloth, "--width", "30mm", "--length", length];
        assert_eq!(run(&own).status.code(), Some(code), "{cloth} {length}");
        let o = run(&[&own[..], &["--json"]].concat());
        assert_eq!(o.status.code(), Some(code), "{cloth} {length}");
    }
}

#[test]
fn the_ledger_says_what_was_cut_and_what_is_left() {
    let b = Bench::new();
    let cut = r#"
[[cutting.part]]
id = 1
placed = 1
piece = "upper"
article = "1"
cloth = "canvas"
panel = "sling"
face = "up"
plies = 1
spoilt = true
by = { when = "2031-05-17T14:03:22Z", profile = "table.toml", trim_mm = 0.25, error_mm = 0.4 }
[[cutting.part]]
id = 2
placed = 2
piece = "upper"
article = "1"
cloth = "canvas"
panel = "sling"
face = "up"
plies = 1
"#;
    let job = b.demo(
        "# ---- what is wished of places",
        &format!("{cut}\n# ---- what is wished"),
    );
    let file = b.str("cut.csv");
    let told = told(&["ledger", &job, "--csv", &file, "--json"]);
    assert_eq!(told["parts"][0]["trim_mm"], 0.25);
    assert_eq!(told["parts"][1]["recut_of"], 1);
    // One of two is spoilt: as much is spoilt as became a part, and the rest is left.
    let y = &told["yields"][0];
    assert_eq!(y["parts_mm2"], y["spoilt_mm2"]);
    let left = told["left"].as_array().unwrap();
    let area: f64 = left.iter().map(|l| l["area_cm2"].as_f64().unwrap()).sum();
    let whole = y["area_mm2"].as_f64().unwrap() / 100.0;
    let gone = 2.0 * y["parts_mm2"].as_f64().unwrap() / 100.0;
    assert!(
        area < whole - gone && area > 0.8 * (whole - gone),
        "{area} of {whole} less {gone}"
    );
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(
        text.starts_with("part,when,article,") && text.lines().count() == 3,
        "{text}"
    );
    let said = stdout(&run(&["ledger", &job]));
    assert!(
        said.contains("in place of 1") && said.contains("is left"),
        "{said}"
    );
    // Nothing of another's is written over.
    let other = b.write("sums.csv", "a,b\n1,2\n");
    refused(&["ledger", &job, "--csv", &other], "sums.csv");
}
