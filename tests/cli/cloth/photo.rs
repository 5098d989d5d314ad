//! The shade of the cloth, from a photo of the table.

use super::*;

/// A photo from straight above, 1 px a mm: a table of 1200 by 800 mm with a dark disc in each
/// corner, and on it cloth that gets lighter along the table.
fn photo(path: &Path) {
    above(path, |x, y| {
        let cloth = (50.0..950.0).contains(&x) && (300.0..760.0).contains(&y);
        // A weave of a grey value or two.
        let weave = if (x as i32 + y as i32) % 3 == 0 {
            0.006
        } else {
            0.0
        };
        cloth.then(|| 0.15 + 0.4 * (x - 50.0) / 900.0 + weave)
    });
}

#[test]
fn a_photo_tells_where_the_fade_lies_under_each_piece() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let picture = folder.path().join("table.png");
    photo(&picture);
    let picture = picture.to_str().unwrap();
    // Clicked on beside the marks.
    let marks = [
        "--mark=30,30=33,768",
        "--mark=1170,30=1166,773",
        "--mark=1170,770=1172,27",
        "--mark=30,770=27,32",
    ];
    let own = [
        "photo",
        job,
        picture,
        "--panel",
        "sling",
        "--white",
        "980,100,1150,700",
    ];
    let o = run(&[&own[..], &marks[..], &["--keep", "--json"]].concat());
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    assert!(json["rms_px"].as_f64().unwrap() < 0.1, "{json:#}");
    assert!(
        json["standard_error_mm"].as_f64().unwrap() < 3.0,
        "{json:#}"
    );
    let o = run(&["shade", job, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    let pieces = json["pieces"].as_array().unwrap();
    let upper = pieces.iter().find(|p| p["piece"] == "upper").unwrap();
    // CIE L* of the two ends of 100 mm about x = 158 + 50 on the cloth, held against the table's
    // white: by hand.
    let lightness = |linear: f64| 116.0 * (linear / 0.7 * 0.88f64).cbrt() - 16.0;
    let at = |x: f64| 0.15 + 0.4 * (x - 50.0) / 900.0;
    let per_100 = upper["fade_per_100_mm"].as_f64().unwrap();
    let (low, high) = (lightness(at(158.0)), lightness(at(258.0)));
    let by_hand = high - low;
    assert!(
        (per_100 - by_hand).abs() < 0.25 * by_hand,
        "{per_100} {by_hand}"
    );
    // Both lie as far along the fade: partners match.
    let pairs = json["pairs"].as_array().unwrap();
    let pair = pairs.iter().find(|p| p["name"] == "upper 1").unwrap();
    assert!(pair["mean"].as_f64().unwrap() < 1.7, "{pair:#}");
    assert_eq!(o.status.code(), Some(0), "{json:#}");
    assert!(json["unknown"].as_array().unwrap().contains(&"felt".into()));
}

#[test]
fn what_is_no_photo_and_marks_that_are_none_end_in_a_sentence() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    refused(
        &["photo", job, "demo-data/job.toml", "--mark", "0,0=1,1"],
        "job.toml",
    );
    let picture = folder.path().join("table.png");
    photo(&picture);
    let picture = picture.to_str().unwrap();
    refused(&["photo", job, picture, "--mark", "30,30"], "30,30");
    refused(&["photo", job, picture, "--mark", "2=30,30"], "mark 2");
    refused(&["photo", job, picture], "table.png");
    refused(&["photo", job, picture, "--panel", "tent"], "tent");
    refused(&["photo", job, picture, "--white", "3,4,1,2"], "3,4,1,2");
}

#[test]
fn the_demo_s_shade_is_what_its_photo_tells_and_its_report_shows_it() {
    let folder = tempfile::tempdir().unwrap();
    for file in std::fs::read_dir("demo-data").unwrap().map(|f| f.unwrap()) {
        if file.path().is_file() {
            std::fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
        }
    }
    let job = folder.path().to_str().unwrap();
    let photo = folder.path().join("table.jpg");
    let asked = [
        "photo",
        job,
        photo.to_str().unwrap(),
        "--mark=25,20=67,1374",
        "--mark=1175,20=1992,1334",
        "--mark=1175,780=1869,161",
        "--mark=25,780=144,190",
        "--tag-sheet=1009.5,70",
        "--white=1005,425,1145,635",
        "--white=65,256,555,284",
        "--white=65,754,295,782",
        "--white=877,45,957,285",
        "--panel=felt",
        "--keep",
    ];
    assert_eq!(run(&asked).status.code(), Some(0));
    let map = |file: &str| {
        let about = folder.path().join(file);
        ghostchalk::job::read_shade::<ghostchalk::space::Cloth>(&about).unwrap()
    };
    let (kept, now) = (map("felt.shade.toml"), map("felt.shade-1.toml"));
    assert_eq!(kept.bounds(), now.bounds());
    let mut cells = 0;
    let b = kept.bounds();
    for (x, y) in (0..128).flat_map(|x| (0..141).map(move |y| (x, y))) {
        let at = ghostchalk::space::Vector::new(f64::from(x), f64::from(y)) * 2.0;
        let at = b.min + at + ghostchalk::space::Vector::new(1.0, 1.0);
        let [one, two] = [&kept, &now].map(|m| m.colour(at));
        assert_eq!(one.is_some(), two.is_some(), "{at:?}");
        if let (Some(one), Some(two)) = (one, two) {
            assert!((one.y - two.y).abs() < 1e-3, "{at:?}: {one:?} {two:?}");
            cells += 1;
        }
    }
    assert!(cells > 10_000, "{cells}");
    let report = folder.path().join("shade.svg");
    let shade = run(&["shade", job, "--report", report.to_str().unwrap()]);
    assert!(shade.status.code().is_some_and(|c| c < 2));
    let svg = std::fs::read_to_string(&report).unwrap();
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let words: Vec<&str> = doc
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .filter_map(|n| n.text())
        .collect();
    for wanted in ["sling (canvas)", "felt (felt)", "1", "14"] {
        assert!(words.contains(&wanted), "{wanted}: {words:?}");
    }
    assert!(
        words
            .iter()
            .any(|w| w.starts_with("left and right of upper"))
    );
    refused(&["shade", job, "--report", "shade.png"], "shade.png");
}
