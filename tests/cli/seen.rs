//! Whether the guides are seen: two photos of the demo's table, the projector dark and white.

use super::*;

/// The projector's white ÷ the room's light, which gets less along the table: 1.5 : 1 is
/// passed at x = 560 mm, 1.2 : 1 at 760.
fn ratio(x: f64) -> f64 {
    1.34 - x / 666.7
}

/// A photo from straight above, 1 px a mm: a table of 1200 by 800 mm with a dark disc in each
/// corner, all of it covered with plain cloth; `white` of the projector's light.
fn photo(path: &Path, white: f64) {
    let code = |linear: f64| {
        let v = match linear <= 0.003_130_8 {
            true => 12.92 * linear,
            false => 1.055 * linear.powf(1.0 / 2.4) - 0.055,
        };
        (255.0 * v).round() as u8
    };
    let discs = [(30.0, 30.0), (1170.0, 30.0), (1170.0, 770.0), (30.0, 770.0)];
    let picture = image::RgbImage::from_fn(1200, 800, |x, y| {
        let (x, y) = (f64::from(x) + 0.5, 799.5 - f64::from(y));
        let near = discs.iter().map(|(a, b)| (x - a).hypot(y - b));
        let off = near.fold(f64::MAX, f64::min);
        let dark = (9.5 - off).clamp(0.0, 1.0);
        let ground = 0.5 * (1.0 - dark) + 0.03 * dark;
        image::Rgb([code(0.6 * ground * (1.0 + white * ratio(x).max(0.02))); 3])
    });
    picture.save(path).unwrap();
}

/// Clicked on beside the marks.
const MARKS: [&str; 4] = [
    "--mark=30,30=33,768",
    "--mark=1170,30=1166,773",
    "--mark=1170,770=1172,27",
    "--mark=30,770=27,32",
];

#[test]
fn where_the_guide_is_lost_is_told_piece_by_piece_and_what_helps() {
    let b = Bench::new();
    let job = b.demo("x_mm = 158", "x_mm = 158");
    let (dark, white) = (b.str("dark.png"), b.str("white.png"));
    photo(Path::new(&dark), 0.0);
    photo(Path::new(&white), 1.0);
    let picture = b.str("seen.png");
    let asked = |more: &[&str]| {
        let own = ["seen", &job, &dark, &white];
        let o = run(&[&own[..], &MARKS[..], more].concat());
        assert_eq!(
            o.status.code(),
            Some(0),
            "{}",
            String::from_utf8_lossy(&o.stderr)
        );
        stdout(&o)
    };
    let told = asked(&["--json", "--picture", &picture]);
    let json: serde_json::Value = serde_json::from_str(&told).unwrap();
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    // Every stretch lies where the light says, to within the square it is told over.
    let mut worst = f64::INFINITY;
    let pieces = json["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 14);
    for piece in pieces {
        for s in piece["stretches"].as_array().unwrap() {
            let x = number(&s["at_mm"][0]);
            let contrast = number(&s["contrast"]);
            worst = worst.min(contrast);
            match s["seen"].as_str().unwrap() {
                "lost" => assert!(x > 740.0 && contrast < 1.2, "{piece:#}"),
                "hard to see" => assert!((540.0..780.0).contains(&x), "{piece:#}"),
                other => panic!("{other}"),
            }
        }
    }
    let total = |key: &str| number(&json[key]);
    for key in ["seen_mm", "hard_to_see_mm", "lost_mm"] {
        assert!(total(key) > 300.0, "{json:#}");
    }
    assert_eq!(total("not_measured_mm"), 0.0);
    assert!((number(&json["contrast"]["worst"]) - worst).abs() < 1e-12);
    // The room is dimmed until the least has 1.5 : 1; no other remedy comes before that.
    let least = worst - 1.0;
    let dims = [0.5, 0.25, 0.1];
    let enough = dims.iter().find(|d| least / **d >= 0.52);
    let tried = json["tried"].as_array().unwrap();
    match enough {
        Some(d) => {
            let want = format!("dim the room to {:.0} %", 100.0 * d);
            assert_eq!(json["helps"], want.as_str(), "{least} {tried:#?}");
        }
        None => assert!(tried.len() > dims.len(), "{least} {tried:#?}"),
    }
    // All three are in the picture, each in its own pattern.
    let image = image::open(&picture).unwrap().to_rgb8();
    let count = |c: [u8; 3]| image.pixels().filter(|p| p.0 == c).count() as f64;
    let [seen, hard, lost] = [[86, 180, 233], [230, 159, 0], [213, 94, 0]].map(count);
    assert!((seen / total("seen_mm") - 3.0).abs() < 0.5, "{seen}");
    assert!(
        (hard / total("hard_to_see_mm") - 3.0 * 0.7).abs() < 0.7,
        "{hard}"
    );
    assert!((lost / total("lost_mm") - 1.96).abs() < 0.8, "{lost}");
    // In words.
    let words = asked(&[]);
    assert!(words.contains(": 1 at its worst"), "{words}");
    assert!(words.contains("What helps: "), "{words}");
    assert!(words.contains("lost for "), "{words}");
}

#[test]
fn photos_that_do_not_tell_end_in_a_sentence() {
    let b = Bench::new();
    let (dark, white) = (b.str("dark.png"), b.str("white.png"));
    photo(Path::new(&dark), 0.0);
    photo(Path::new(&white), 1.0);
    let asked = |one: &str, two: &str, more: &[&str], place: &str| {
        let own = ["seen", "demo-data", one, two];
        refused(&[&own[..], &MARKS[..], more].concat(), place)
    };
    let said = asked(&white, &dark, &[], "white.png and ");
    assert!(said.contains("no brighter"), "{said}");
    asked(&dark, "demo-data/job.toml", &[], "projector white");
    asked(&dark, "nowhere.jpg", &[], "nowhere.jpg");
    let own = b.write("notes.txt", "my own");
    asked(&dark, &white, &["--picture", &own], "notes.txt");
    refused(&["seen", "demo-data", &dark, &white], "dark.png");
    refused(
        &["seen", "demo-data", &dark, &white, "--mark", "30,30"],
        "30,30",
    );
}
