//! Files by reportlab, pypdf and fpdf2 with known geometry, and broken ones.
//! `tests/reference/pattern_files.py` made them.

mod packed;
mod tiled;

use super::*;
use crate::drawing::read::testing::{check, file, holds};
use proptest::prelude::*;

fn plain(name: &str) -> Pattern {
    parse(&file(name), &Options::default()).unwrap()
}

fn refused(name: &str) -> String {
    let fault = parse(&file(name), &Options::default()).unwrap_err();
    assert!(!fault.remedy.is_empty());
    fault.to_string()
}

#[test]
fn paths_are_where_they_were_drawn_whoever_wrote_the_file() {
    for name in [
        "reportlab_plain.pdf",
        "reportlab_inch.pdf",
        "reportlab_forms.pdf",
        "pypdf_turned.pdf",
        "pypdf_rc4.pdf",
        "pypdf_aes.pdf",
        "fpdf2.pdf",
    ] {
        check(&plain(name), name);
    }
}

#[test]
fn dashes_texts_and_the_check_square_are_told() {
    let pattern = plain("reportlab_plain.pdf");
    holds(
        &pattern.notes,
        "the check square of 50 mm measures 50.00 mm",
    );
    holds(
        &plain("reportlab_inch.pdf").notes,
        "the check square of 50.8 mm measures 50.80 mm",
    );
    let band = pattern
        .pieces
        .iter()
        .find(|p| p.name == "heel band")
        .unwrap();
    assert_eq!(band.net.len(), 1);
    holds(
        &pattern.notes,
        "1 net line, 2 notches, 1 grain line, 1 drill point",
    );
    holds(
        &pattern.left_out,
        "text at x 300 mm, y 72 mm: it lies outside every piece",
    );
}

#[test]
fn a_file_that_is_not_at_full_size_is_refused_and_the_scale_mends_it() {
    let said = refused("reportlab_shrunk.pdf");
    assert!(said.contains("says 50 mm and measures 48.50 mm"), "{said}");
    assert!(said.contains("give the scale 1.0309"), "{said}");
    let options = Options {
        scale: 50.0 / 48.5,
        ..Options::default()
    };
    let pattern = parse(&file("reportlab_shrunk.pdf"), &options).unwrap();
    holds(&pattern.notes, "measures 50.00 mm");
    // Halfway mended, the scale to give is still that of the whole way.
    let options = Options {
        scale: 1.02,
        ..Options::default()
    };
    let fault = parse(&file("reportlab_shrunk.pdf"), &options).unwrap_err();
    assert!(fault.remedy.ends_with("give the scale 1.0309"), "{fault}");
}

#[test]
fn layers_are_listed_picked_and_left_out_by_name() {
    let bytes = file("pypdf_layers.pdf");
    let info = |name: &str, on| LayerInfo {
        name: name.into(),
        on,
    };
    assert_eq!(
        layers(&bytes).unwrap(),
        [info("size 40", true), info("size 42", false)]
    );
    let pattern = plain("pypdf_layers.pdf");
    check(&pattern, "pypdf_layers.pdf");
    holds(&pattern.left_out, "its layer \"size 42\" is off");
    holds(
        &pattern.notes,
        "layers read: \"size 40\"; not read: \"size 42\" (as the file is saved)",
    );
    let pick = |names: &[&str]| Options {
        layers: Some(names.iter().map(|n| (*n).to_owned()).collect()),
        ..Options::default()
    };
    let other = parse(&bytes, &pick(&["size 42"])).unwrap();
    let width = crate::space::Bounds::from_points(&other.pieces[0].cut[0]).width();
    assert!((width - 225.0).abs() < 0.01, "{width}");
    assert_eq!(
        parse(&bytes, &pick(&["size 40", "size 42"]))
            .unwrap()
            .pieces
            .len(),
        2
    );
    let fault = parse(&bytes, &pick(&["size 44"])).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "there is no layer \"size 44\" in the file; choose among \"size 40\", \"size 42\"."
    );
}

#[test]
fn bad_files_end_in_a_sentence() {
    for (name, says) in [
        ("pypdf_password.pdf", "the file wants a password"),
        (
            "reportlab_raster.pdf",
            "a picture of the pattern, not its lines",
        ),
    ] {
        let said = refused(name);
        assert!(said.contains(says), "{said}");
    }
    let pattern = plain("pypdf_recursive.pdf");
    holds(
        &pattern.left_out,
        "it is not in the file, is damaged, or draws itself",
    );
    let parse = |bytes: &[u8]| parse(bytes, &Options::default()).unwrap_err().what;
    assert_eq!(parse(b""), "the file is empty");
    assert_eq!(parse(b"<svg/>"), "this is not a PDF");
    assert_eq!(
        parse(b"%PDF-1.7\nrubbish"),
        "the PDF is damaged, and has no page that can be read"
    );
    assert!(parse(&vec![b' '; MAX_BYTES + 1]).contains("64 MiB"));
}

/// A PDF of one page with this content, uncompressed.
fn page(content: &str) -> Vec<u8> {
    let head = "%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n\
                2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n\
                3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 1000 1000]/Contents 4 0 R>>endobj\n";
    let stream = format!(
        "4 0 obj<</Length {}>>stream\n{content}\nendstream endobj\n",
        content.len()
    );
    format!("{head}{stream}trailer<</Root 1 0 R>>\n").into_bytes()
}

#[test]
fn texts_beyond_a_hundred_thousand_are_left_out() {
    let font = "/Resources<</Font<</F<</Type/Font/Subtype/Type1/BaseFont/Courier>>>>>>/Contents";
    let show = "(sole) Tj 0 90 Td ".repeat(100_010);
    let content = format!("100 100 200 200 re S BT /F 9 Tf 150 150 Td {show}ET");
    let text = String::from_utf8(page(&content))
        .unwrap()
        .replace("/Contents", font);
    let found = parse(text.as_bytes(), &Options::default()).unwrap();
    assert_eq!(found.pieces[0].name, "sole");
    holds(&found.left_out, "9 more: they come after 100 000 others");
}

#[test]
fn a_page_that_cant_be_unpacked_is_listed() {
    let text = String::from_utf8(page("100 100 200 200 re S")).unwrap();
    let holds_what = |text: &str| parse(text.as_bytes(), &Options::default()).unwrap();
    let list = text.replace("/Contents 4 0 R", "/Contents[4 0 R 5 0 R]");
    let broken =
        "5 0 obj<</Length 9/Filter/DCTDecode>>stream\n100 0 m S\nendstream endobj\ntrailer";
    let found = holds_what(&list.replace("trailer", broken));
    holds(&found.left_out, "page 1, content: it is missing or damaged");
    assert!(found.notes.iter().all(|n| !n.contains("may be missing")));
    let found = holds_what(&text.replace("/Count 1", "/Count 3"));
    holds(&found.notes, "says that it has 3 pages, and 1 were found");
    let second = "[3 0 R 6 0 R]/Count 2";
    let other =
        "6 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]/Contents 7 0 R>>endobj\ntrailer";
    let two = text
        .replace("[3 0 R]/Count 1", second)
        .replace("trailer", other);
    holds(
        &holds_what(&two).left_out,
        "page 2, content: it is missing or damaged",
    );
}

fn pattern(content: &str) -> Pattern {
    parse(&page(content), &Options::default()).unwrap()
}

#[test]
fn what_shows_nothing_is_no_piece() {
    let square = "100 100 200 200 re";
    let white = format!("1 g {square} f 0 g 400 400 200 200 re S");
    let found = pattern(&white);
    assert_eq!(found.pieces.len(), 1);
    holds(&found.left_out, "it is white");
    let clipped = format!("q 0 0 50 50 re W n {square} S Q 400 400 200 200 re S");
    holds(
        &pattern(&clipped).left_out,
        "it is clipped away, or off the page",
    );
    let twice = format!("{square} S {square} S");
    let found = pattern(&twice);
    assert_eq!(found.pieces.len(), 1);
    holds(&found.left_out, "it is drawn twice");
}

/// The first colour of a palette may be any; of an ink, 0 is none.
#[test]
fn a_palettes_first_colour_is_not_white() {
    let spaces = "/Resources<</ColorSpace<</P[/Indexed/DeviceRGB 1<000000ffffff>]\
                  /I[/Separation/Red/DeviceRGB<</FunctionType 2/Domain[0 1]/N 1>>]>>>>/Contents";
    let content = "/P CS 0 SC 100 100 200 200 re S /I CS 0 SCN 400 400 200 200 re S";
    let text = String::from_utf8(page(content))
        .unwrap()
        .replace("/Contents", spaces);
    let found = parse(text.as_bytes(), &Options::default()).unwrap();
    assert_eq!(found.pieces.len(), 1, "{:?}", found.left_out);
    holds(&found.left_out, "path at x 141 mm, y 141 mm: it is white");
}

#[test]
fn a_clip_that_is_no_rectangle_is_told() {
    let inside = "100 100 200 200 re S";
    let with = |clip: &str| pattern(&format!("q {clip} W n {inside} Q")).left_out;
    holds(
        &with("0 0 m 900 0 l 400 900 l h"),
        "page 1, clip: it is no upright rectangle",
    );
    assert!(with("0 0 m 900 0 l 900 900 l 0 900 l").is_empty());
    assert!(with("0 0 900 900 re").is_empty());
}

#[test]
fn a_clip_cuts_lines_where_it_ends() {
    // A square of 200, of which a clip shows the right half, and a line closes it.
    let content = "q 200 0 800 1000 re W n 100 100 200 200 re S Q 200 100 m 200 300 l S";
    let found = pattern(content);
    let bounds = crate::space::Bounds::from_points(&found.pieces[0].cut[0]);
    let mm = crate::measure::MM_PER_PT;
    assert!(
        (bounds.width() - 100.0 * mm).abs() < 1e-6 && (bounds.height() - 200.0 * mm).abs() < 1e-6
    );
}

#[test]
fn content_without_end_is_refused() {
    let form = "/Resources<</XObject<</F 5 0 R>>>>/Contents";
    let own = "5 0 obj<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Length 1>>stream\nn\nendstream endobj\ntrailer";
    let drawn = |times: usize| {
        let content = format!("100 100 200 200 re S {}", "/F Do ".repeat(times));
        let text = String::from_utf8(page(&content)).unwrap();
        let text = text.replace("/Contents", form).replace("trailer", own);
        parse(text.as_bytes(), &Options::default())
    };
    assert!(drawn(20_000).is_ok());
    let fault = drawn(20_001).unwrap_err();
    assert!(
        fault
            .what
            .contains("draws repeated parts more than 20 000 times"),
        "{fault}"
    );
    let deep = "q ".repeat(600);
    let fault = parse(&page(&deep), &Options::default()).unwrap_err();
    assert!(fault.what.contains("512 deep"));
    let marks = |n: usize| parse(&page(&"/a BMC ".repeat(n)), &Options::default());
    let said = |n| marks(n).map_err(|f| f.what).err().unwrap_or_default();
    assert!(said(513).contains("groups lie more than 512 deep within one another"));
    assert!(!said(512).contains("512 deep"), "{}", said(512));
    let lines: String = (0..500_001)
        .map(|k| format!("{} {} m 9 9 l S ", k % 997, k / 997))
        .collect();
    let begun = std::time::Instant::now();
    let fault = parse(&page(&lines), &Options::default()).unwrap_err();
    println!("500 001 lines: {:?}", begun.elapsed());
    assert!(fault.what.contains("500 000 strokes"), "{fault}");
}

#[test]
fn numbers_that_are_none_get_nowhere() {
    for bad in ["1e400", "99999999999999999999", "-", "nan", "4..5"] {
        let content = format!("100 100 200 200 re S {bad} 20 m 30 {bad} l S");
        let found = parse(&page(&content), &Options::default()).unwrap();
        assert_eq!(found.pieces.len(), 1);
    }
}

/// A page of 10 MB: one outline of 560 000 points.
#[test]
fn a_page_of_ten_megabytes_is_read() {
    let count = 560_000;
    let points = (0..count).map(|k| {
        let (sin, cos) = (f64::from(k) / f64::from(count) * std::f64::consts::TAU).sin_cos();
        let radius = 400.0 + 20.0 * (50.0 * f64::from(k) / f64::from(count) * 6.0).sin().abs();
        format!(
            "{:.4} {:.4} l\n",
            500.0 + radius * cos,
            500.0 + radius * sin
        )
    });
    let content = format!("500 500 m\n{}s", points.collect::<String>());
    assert!(content.len() > 9_500_000, "{}", content.len());
    let bytes = page(&content);
    let begun = std::time::Instant::now();
    let found = parse(&bytes, &Options::default()).unwrap();
    println!("10 MB page: {:?}", begun.elapsed());
    assert_eq!(found.pieces.len(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn a_file_with_bytes_changed_never_panics(
        which in 0..6usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..10),
        cut in any::<prop::sample::Index>(),
        shorten in any::<bool>(),
    ) {
        let names = ["reportlab_forms.pdf", "pypdf_layers.pdf", "pypdf_turned.pdf",
            "reportlab_tiled_bare.pdf", "pypdf_aes.pdf", "fpdf2.pdf"];
        let mut bytes = file(names[which]);
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if shorten {
            bytes.truncate(cut.index(bytes.len()));
        }
        let _ = layers(&bytes);
        if let Ok(pattern) = parse(&bytes, &Options::default()) {
            let finite = |p: &crate::space::Point<_>| p.x.is_finite() && p.y.is_finite();
            prop_assert!(pattern.pieces.iter().flat_map(|p| p.cut.iter().flatten()).all(finite));
        }
    }
}
