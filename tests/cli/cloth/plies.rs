//! The shade of two plies, each from a photo of its own.

use super::*;

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
