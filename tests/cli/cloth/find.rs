//! The cloth found in its photo: proposed, and taken as it is named.

use super::*;

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
