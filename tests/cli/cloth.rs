//! The cloth: its shade from a photo, places for pieces, and what is left of it.

use super::*;
use ghostchalk::cloth::Cloth;
use ghostchalk::job::{Job, OFFCUT_VERSION, Offcut, open_state};
use ghostchalk::lay::{Checked, Laid, grounds};
use ghostchalk::work::State;

/// A copy of the demo, with its lay or without.
fn demo(laid: bool) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for file in ["slippers.svg", "slippers.seams.toml"] {
        std::fs::copy(Path::new("demo-data").join(file), folder.path().join(file)).unwrap();
    }
    let job = std::fs::read_to_string("demo-data/job.toml").unwrap();
    // Nothing is known of its cloth yet, and nothing wished.
    let known = |l: &&str| !l.starts_with("looks = ");
    let job: String = job.split_inclusive('\n').filter(known).collect();
    let wishes = job.find("# ---- what is wished").unwrap();
    let lay = job.find("# ---- the lay").unwrap();
    let rest = if laid { &job[lay..] } else { "" };
    std::fs::write(
        folder.path().join("job.toml"),
        job[..wishes].to_owned() + rest,
    )
    .unwrap();
    folder
}

/// A job as it now stands.
fn standing(folder: &Path) -> (Job, State) {
    let _alone = alone();
    open_state(folder).unwrap()
}

/// What the lay's checks say of a job as it stands, and how many pieces lie.
fn troubles(folder: &Path) -> (usize, Vec<String>) {
    let (job, state) = standing(folder);
    let stock = job.stock();
    let laid: Vec<Laid> = state
        .placed
        .values()
        .filter_map(|p| stock.laid(p, &state.panels))
        .collect();
    let grounds = grounds(&state.panels).unwrap();
    let checked = Checked::new(&laid, &grounds, None, 3.0);
    let all = checked.all();
    (
        laid.len(),
        all.iter().map(|w| checked.sentence(w)).collect(),
    )
}

#[test]
fn all_that_is_ordered_is_laid_on_the_demo_s_cloth() {
    let folder = demo(false);
    let job = folder.path().to_str().unwrap();
    let o = run(&["lay", job, "--seconds", "120", "--json", "--take"]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    assert_eq!(json["left"].as_array().unwrap().len(), 0, "{json:#}");
    let (count, wrong) = troubles(folder.path());
    assert_eq!((count, wrong), (14, Vec::<String>::new()));
    // Nothing is left to lay, and what lies stays.
    let again = run(&["lay", job]);
    assert!(stdout(&again).contains("All that is ordered is laid"));
}

#[test]
fn a_piece_moves_to_a_place_that_the_checks_allow() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let asked = |more: &[&str]| {
        let own = [
            "places",
            job,
            "upper",
            "--article",
            "1",
            "--panel",
            "sling",
            "--moves",
            "1",
        ];
        run(&[&own[..], more].concat())
    };
    let o = asked(&["--json"]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    let offers = json.as_array().unwrap();
    assert!((1..=5).contains(&offers.len()), "{json:#}");
    // Nothing has moved until it is taken.
    let before = standing(folder.path()).1.placed[&1].clone();
    let last = offers.len().to_string();
    assert_eq!(asked(&["--take", &last]).status.code(), Some(0));
    let (_, state) = standing(folder.path());
    let of = |p: &ghostchalk::lay::Placement| [p.x_mm, p.y_mm, p.turn_deg];
    assert_ne!(of(&state.placed[&1]), of(&before));
    assert_eq!(troubles(folder.path()), (14, Vec::new()));
    refused(
        &[
            "places",
            job,
            "upper",
            "--article",
            "1",
            "--panel",
            "sling",
            "--moves",
            "99",
        ],
        "99",
    );
    refused(
        &["places", job, "upper", "--article", "1", "--panel", "tent"],
        "tent",
    );
    refused(
        &[
            "places",
            job,
            "tongue",
            "--article",
            "1",
            "--panel",
            "sling",
        ],
        "tongue",
    );
}

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
fn an_offcut_is_taken_into_a_job_once() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let kept = folder.path().join("kept");
    let kept = kept.to_str().unwrap();
    refused(&["offcut", job, "--panel", "sling", "--to", kept], "sling");
    let (_, state) = standing(folder.path());
    let mut panel = state.panel("sling").unwrap().clone();
    panel.name = "sling offcut 1".to_owned();
    let offcut = Offcut {
        ghostchalk_offcut: OFFCUT_VERSION,
        from: "slippers".to_owned(),
        area_cm2: 1000.0,
        cloth: Cloth {
            name: "canvas".to_owned(),
            thickness_mm: 0.8,
            no_face: false,
        },
        panel,
    };
    let path = folder.path().join("offcut.toml");
    offcut.write(&path).unwrap();
    let path = path.to_str().unwrap();
    let own = ["spread", path, "--job", job, "--at", "100,20"];
    let o = run(&own);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let (_, state) = standing(folder.path());
    let there = state.panel("sling offcut 1").unwrap();
    let corner = there.outline().unwrap().bounds().unwrap().min;
    assert_eq!(
        [
            there.on_table.x_mm + corner.x,
            there.on_table.y_mm + corner.y
        ],
        [100.0, 20.0]
    );
    refused(&own, "sling offcut 1");
    assert_eq!(
        run(&[&own[..], &["--as", "second"]].concat()).status.code(),
        Some(0)
    );
    // The table goes on from there, and saves it.
    let text = std::fs::read_to_string(folder.path().join("job.toml")).unwrap();
    assert!(!text.contains("offcut"), "it is in the journal");
}

/// A photo from straight above, 1.5 px a mm, of the table from (0, −10) to (610, 300) mm: dark
/// discs, and on brown wood a striped cloth of 500 by 180 mm about (300, 140), turned by 2°, with
/// a hole of 18 mm; or no cloth.
fn striped(path: &Path, cloth: bool) {
    let discs = [(20.0, 10.0), (590.0, 10.0), (590.0, 280.0), (20.0, 280.0)];
    let mut seed = 3u32;
    let picture = image::RgbImage::from_fn(915, 465, |x, y| {
        // Nine readings a pixel, so that edges lie where they lie.
        let mut sum = [0.0; 3];
        for k in 0..9 {
            let (i, j) = (f64::from(k % 3), f64::from(k / 3));
            let x = (f64::from(x) + (i + 0.5) / 3.0) / 1.5;
            let y = 300.0 - (f64::from(y) + (j + 0.5) / 3.0) / 1.5;
            let (sin, cos) = 2f64.to_radians().sin_cos();
            let (u, v) = (x - 300.0, y - 140.0);
            let (u, v) = (cos * u + sin * v, cos * v - sin * u);
            let hole = (x - 200.0).hypot(y - 130.0) < 9.0;
            let light = if discs.iter().any(|(a, b)| (x - a).hypot(y - b) < 6.0) {
                [0.02; 3]
            } else if cloth && u.abs() < 250.0 && v.abs() < 90.0 && !hole {
                if (v / 12.0).floor().rem_euclid(2.0) == 0.0 {
                    [0.05, 0.09, 0.25]
                } else {
                    [0.7, 0.66, 0.5]
                }
            } else {
                [0.3, 0.18, 0.1]
            };
            sum = std::array::from_fn(|c| sum[c] + light[c] / 9.0);
        }
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let noise = 1.0 + 0.02 * (f64::from(seed >> 8) / f64::from(1 << 24) - 0.5);
        image::Rgb(sum.map(|v| code(v * noise)))
    });
    picture.save(path).unwrap();
}

#[test]
fn a_photo_s_cloth_is_proposed_and_what_is_named_of_it_is_taken() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let picture = folder.path().join("table.png");
    striped(&picture, true);
    let found = folder.path().join("found.png");
    let (picture, found) = (picture.to_str().unwrap(), found.to_str().unwrap());
    let marks = [
        "--mark=20,10=32,433",
        "--mark=590,10=883,437",
        "--mark=590,280=888,28",
        "--mark=20,280=28,32",
    ];
    let asked = |more: &[&str]| {
        let own = [
            "photo", job, picture, "--panel", "remnant", "--find", "--json",
        ];
        run(&[&own[..], &marks[..], more].concat())
    };
    let o = asked(&["--found-picture", found]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    // 500 · 180 less π · 9², mm².
    let area = json["area_cm2"].as_f64().unwrap();
    assert!((area - 897.5).abs() < 3.0, "{json:#}");
    assert_eq!(json["holes"].as_array().unwrap().len(), 1);
    let across = json["holes"][0]["across_mm"].as_f64().unwrap();
    assert!((across - 18.0).abs() < 0.5, "{across}");
    let grain = json["grain"]["deg"].as_f64().unwrap();
    assert!((grain - 2.0).abs() < 0.2, "{grain}");
    assert!((json["stripes"]["period_mm"].as_f64().unwrap() - 24.0).abs() < 0.1);
    assert!(image::open(found).unwrap().width() > 900);
    // Nothing has changed until it is taken.
    let before = standing(folder.path()).1.panel("remnant").unwrap().clone();
    assert_eq!(before.outline_mm.len(), 14);
    assert_eq!(
        asked(&["--take", "outline,holes,grain,stripes"])
            .status
            .code(),
        Some(0)
    );
    let (_, state) = standing(folder.path());
    let panel = state.panel("remnant").unwrap();
    assert!((panel.outline().unwrap().area() - 90_000.0).abs() < 300.0);
    assert!((panel.grain_deg - 2.0).abs() < 0.2);
    let outs: Vec<&str> = panel.keep_out.iter().map(|k| k.name.as_str()).collect();
    assert_eq!(outs, ["hole 1"]);
    assert!(panel.looks.as_ref().unwrap().stripes.is_some());
    // A second time the hole is known.
    assert_eq!(asked(&["--take", "holes"]).status.code(), Some(0));
    assert_eq!(
        standing(folder.path())
            .1
            .panel("remnant")
            .unwrap()
            .keep_out
            .len(),
        1
    );
    let own = [
        "photo", job, picture, "--panel", "remnant", "--find", "--take", "99",
    ];
    refused(&[&own[..], &marks[..]].concat(), "99");
    striped(Path::new(picture), false);
    let bare = refused(&[&own[..6], &marks[..]].concat(), "table.png");
    assert!(bare.contains("no cloth is seen"), "{bare}");
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

/// A photo from straight above, 1 px a mm, of a table of 1200 by 800 mm with a disc in each
/// corner: `cloth` says how light the cloth is at a place of the table, mm, where there is any.
fn above(path: &Path, cloth: impl Fn(f64, f64) -> Option<f64>) {
    let discs = [(30.0, 30.0), (1170.0, 30.0), (1170.0, 770.0), (30.0, 770.0)];
    let picture = image::RgbImage::from_fn(1200, 800, |x, y| {
        let (x, y) = (f64::from(x) + 0.5, 799.5 - f64::from(y));
        let near = discs.iter().map(|(a, b)| (x - a).hypot(y - b));
        let dark = (9.5 - near.fold(f64::MAX, f64::min)).clamp(0.0, 1.0);
        let ground = cloth(x, y).unwrap_or(0.7);
        image::Rgb([code(ground * (1.0 - dark) + 0.02 * dark); 3])
    });
    picture.save(path).unwrap();
}

/// sRGB's code of linear light.
fn code(linear: f64) -> u8 {
    let v = match linear <= 0.003_130_8 {
        true => 12.92 * linear,
        false => 1.055 * linear.powf(1.0 / 2.4) - 0.055,
    };
    (255.0 * v).round() as u8
}

/// Two plies of canvas, 600 by 400 mm, the lower one's corner 10 mm to the right of the upper
/// one's and 15 mm nearer; an upper cut from both, and a placement of it.
const PLIES: &str = r#"
[[panel]]
name = "top"
cloth = "canvas"
outline_mm = [[0, 0], [600, 0], [600, 400], [0, 400]]
grain_deg = 0
on_table = { x_mm = 50, y_mm = 300 }

[[panel]]
name = "lower"
cloth = "canvas"
outline_mm = [[0, 0], [600, 0], [600, 400], [0, 400]]
grain_deg = 0
on_table = { x_mm = 60, y_mm = 285 }
under = "top"
mark = [
  { name = "cross", x_mm = 40, y_mm = 30 },
  { name = "patch", x_mm = 560, y_mm = 50 },
  { name = "eyelet", x_mm = 70, y_mm = 360 },
]

[[placed]]
piece = "upper"
article = "1"
panel = "top"
x_mm = 300
y_mm = 200
turn_deg = 90
face = "up"
"#;

#[test]
fn a_pair_cut_from_two_plies_is_judged_on_both() {
    let folder = demo(false);
    let job = folder.path().join("job.toml");
    let text = std::fs::read_to_string(&job).unwrap();
    let head = &text[..text.find("[[panel]]").unwrap()];
    std::fs::write(&job, head.to_owned() + PLIES).unwrap();
    let at = folder.path().to_str().unwrap();
    let file = |name: &str| folder.path().join(name);
    let inside = |u: f64, v: f64| (0.0..600.0).contains(&u) && (0.0..400.0).contains(&v);
    let fade = |u: f64| 0.2 + 0.4 * u / 600.0;
    let top = file("top.png");
    above(&top, |x, y| {
        let (u, v) = (x - 50.0, y - 300.0);
        inside(u, v).then(|| fade(u))
    });
    let look = |photo: &Path, panel: &str, more: &[&str]| {
        let photo = photo.to_str().unwrap();
        let panel = format!("--panel={panel}");
        let own = [
            "photo",
            at,
            photo,
            &panel,
            "--mark=30,30=33,768",
            "--mark=1170,30=1166,773",
            "--mark=1170,770=1172,27",
            "--mark=30,770=27,32",
            "--white=980,100,1150,280",
            "--json",
        ];
        run(&[&own[..], more].concat())
    };
    assert_eq!(look(&top, "top", &["--keep"]).status.code(), Some(0));
    // The lower ply, turned over: its cloth space runs from right to left there, and 200 mm
    // further up. A black dot stands at each of its marks.
    let dots = [(40.0, 30.0), (560.0, 50.0), (70.0, 360.0)];
    let lower = file("lower.png");
    let shown = |x: f64, y: f64, light: &dyn Fn(f64) -> f64| {
        let (u, v) = (900.0 - x, y - 200.0);
        let off = dots.iter().map(|(a, b)| (u - a).hypot(v - b));
        let dark = (4.5 - off.fold(f64::MAX, f64::min)).clamp(0.0, 1.0);
        inside(u, v).then(|| light(u) * (1.0 - dark) + 0.02 * dark)
    };
    // As it lies under the upper one, it is as light at each place: 10 mm more of its own.
    above(&lower, |x, y| shown(x, y, &|u| fade(u + 10.0)));
    let marks = [
        "--cloth-mark=cross=862,571",
        "--cloth-mark=patch=339,548",
        "--cloth-mark=eyelet=828,242",
    ];
    let kept = look(&lower, "lower", &[&marks[..], &["--keep"]].concat());
    assert_eq!(
        kept.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&kept.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&kept)).unwrap();
    assert_eq!(json["turned_over"], true, "{json:#}");
    let shade = || {
        let o = run(&["shade", at, "--json"]);
        let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
        (o.status.code(), json)
    };
    let (status, json) = shade();
    let pieces = json["pieces"].as_array().unwrap();
    let names: Vec<&str> = pieces.iter().map(|p| p["name"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        ["upper 1 on top", "upper 1 on lower beneath top, mirrored"]
    );
    // Both get lighter the same way, and lightness is the same to what a code value is worth.
    let lightness = |k: usize| pieces[k]["lab"][0].as_f64().unwrap();
    assert!((lightness(0) - lightness(1)).abs() < 0.3, "{json:#}");
    let per_100 = |k: usize| pieces[k]["fade_per_100_mm"].as_f64().unwrap();
    assert!((per_100(0) - per_100(1)).abs() < 0.3, "{json:#}");
    let pair = &json["pairs"][0];
    assert!(pair["of_100_95"].as_f64().unwrap() < 1.0, "{json:#}");
    assert_eq!(status, Some(0));
    // What is offered says what the lower ply is like there.
    let o = run(&[
        "places",
        at,
        "heel band",
        "--article",
        "1",
        "--panel",
        "top",
    ]);
    assert!(
        stdout(&o).contains("both plies: alike within"),
        "{}",
        stdout(&o)
    );
    // Faded the other way, partners are apart.
    above(&lower, |x, y| shown(x, y, &|u| fade(600.0 - u)));
    look(&lower, "lower", &[&marks[..], &["--keep"]].concat());
    let (status, json) = shade();
    assert_eq!(status, Some(1), "{json:#}");
    // Marks that are not there, one alone, and one by another's name end in a sentence.
    for (bad, says) in [
        (vec!["--cloth-mark=cross=862,571"], "1 of the two marks"),
        (
            vec![marks[0], "--cloth-mark=hem=339,548"],
            "no mark \"hem\"",
        ),
        (
            vec![marks[0], "--cloth-mark=patch=828,242"],
            "mm off each other",
        ),
    ] {
        let o = look(&lower, "lower", &bad);
        let said = String::from_utf8_lossy(&o.stderr).into_owned();
        assert_eq!(o.status.code(), Some(2), "{said}");
        assert!(said.contains(says), "{said}");
    }
    let o = look(&lower, "top", &marks[..2]);
    assert_eq!(o.status.code(), Some(2));
}
