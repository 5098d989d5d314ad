//! `hang`: what it says of a table and a projector, and the page it draws.

use super::{Bench, refused, run, stdout};

const WANTED: [&str; 6] = [
    "hang",
    "--table",
    "1200x800mm",
    "--picture",
    "1920x1080",
    "--throw",
];

#[test]
fn a_projector_is_hung_above_a_table_and_drawn() {
    let bench = Bench::new();
    let page = bench.str("my table.svg");
    let o = run(&[
        &WANTED[..],
        &["1.2", "--ceiling", "2.5m", "--json", "-o", &page],
    ]
    .concat());
    // It would hang above the ceiling: a no, and all the rest as ever.
    assert_eq!(o.status.code(), Some(1));
    let said: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    // A picture 16 by 9 that covers 800 mm with 5 % to spare each way is wider than the table.
    let width = said["picture_mm"][0].as_f64().unwrap();
    assert!(width > 1200.0 && width < 1600.0, "{said}");
    assert!(
        (said["height_mm"].as_f64().unwrap() - 1.2 * width).abs() < 1e-6,
        "{said}"
    );
    assert!(
        (said["pixel_mm"][0].as_f64().unwrap() - width / 1920.0).abs() < 1e-9,
        "{said}"
    );
    let against = said["warnings"].as_array().unwrap();
    assert_eq!((against.len(), &said["notes"]), (1, &serde_json::json!([])));
    let drawn = std::fs::read_to_string(&page).unwrap();
    assert!(drawn.starts_with("<svg "), "{drawn}");

    // Again, over its own page, and in inches; but not over what is none.
    let again = run(&[&WANTED[..], &["1.2", "--unit", "in", "-o", &page]].concat());
    assert!(again.status.success());
    assert!(stdout(&again).contains(" in"), "{}", stdout(&again));
    let letter = bench.write("letter.svg", "Dear Aunt");
    refused(
        &[&WANTED[..], &["1.2", "-o", &letter]].concat(),
        "letter.svg",
    );
    assert_eq!(std::fs::read_to_string(&letter).unwrap(), "Dear Aunt");
}

#[test]
fn what_cannot_hang_is_told_with_its_word() {
    for (changed, place) in [
        (["--throw", "0"], "--throw"),
        (["--ceiling", "12"], "--ceiling"),
        (["--person", "far"], "--person"),
        (["--offset", "half"], "--offset"),
        (["-o", "page.txt"], "page.txt"),
    ] {
        let throw: &[&str] = if changed[0] == "--throw" {
            &[]
        } else {
            &["1.2", changed[0]]
        };
        refused(&[&WANTED[..], throw, &changed[1..]].concat(), place);
    }
    let said = refused(
        &[
            "hang",
            "--table",
            "1200",
            "--picture",
            "1920x1080",
            "--throw",
            "1.2",
        ],
        "--table",
    );
    assert!(said.contains("1200x800mm"), "{said}");
}

#[test]
fn where_it_cannot_hang_so_it_ends_with_1() {
    let cases: [(&[&str], i32, &str); 4] = [
        (&["1.0", "--ceiling", "2.5m"], 0, ""),
        (
            &["1.2", "--ceiling", "2m"],
            1,
            "the ceiling is 2000 mm above it",
        ),
        (
            &["1.2", "--height", "500mm"],
            1,
            "no higher than the head's top",
        ),
        (
            &["1.2", "--height", "1200mm"],
            1,
            "the table is not covered",
        ),
    ];
    for (more, code, say) in cases {
        let o = run(&[&WANTED[..], more].concat());
        let said = String::from_utf8_lossy(&o.stderr).into_owned();
        assert_eq!(o.status.code(), Some(code), "{more:?}: {said}");
        assert_eq!(said.contains("warning: "), code == 1, "{said}");
        assert!(said.contains(say), "{said}");
        assert!(stdout(&o).contains("The place where hands work"));
    }
}

#[test]
fn an_offset_that_may_be_a_share_is_told_as_it_was_taken() {
    for (offset, noted) in [
        ("0.5", true),
        ("0.5%", false),
        ("50%", false),
        ("0%", false),
    ] {
        let o = run(&[&WANTED[..], &["1.0", "--offset", offset]].concat());
        let said = String::from_utf8_lossy(&o.stderr).into_owned();
        let note = "note: the lens offset was taken as 0.5 % of the picture's height";
        assert_eq!(said.contains(note), noted, "{offset}: {said}");
        assert_eq!(said.contains("write 50%"), noted, "{offset}: {said}");
        assert_eq!(o.status.code(), Some(0), "{offset}: {said}");
    }
    let json = run(&[&WANTED[..], &["1.0", "--offset", "0.5", "--json"]].concat());
    let told: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(told["notes"].as_array().map(Vec::len), Some(1), "{told}");
}
