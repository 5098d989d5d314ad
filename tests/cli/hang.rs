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
    assert!(o.status.success());
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
