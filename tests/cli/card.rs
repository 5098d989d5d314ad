//! A card template, from a photo to a piece.

use super::*;

/// A white sheet and a dark card on a brown table, straight from above at 1.43 px a mm, as
/// PNG; along the card's right side the table is nearly as dark as the card, if asked.
fn photo(shaded: bool) -> Vec<u8> {
    let boxes: [([u32; 4], [u8; 3]); 3] = [
        ([70, 70, 300, 424], [231, 231, 231]),
        ([590, 156, 24, 240], [63, 51, 39]),
        ([450, 150, 150, 240], [39, 39, 39]),
    ];
    let picture = image::RgbImage::from_fn(700, 600, |x, y| {
        let within = |[left, top, w, h]: [u32; 4]| {
            (left..left + w).contains(&x) && (top..top + h).contains(&y)
        };
        let seen = boxes.iter().enumerate().rev();
        let mut seen = seen.filter(|(k, _)| shaded || *k != 1);
        let light = seen.find(|(_, (b, _))| within(*b));
        let light = light.map_or([97, 79, 63], |(_, (_, light))| *light);
        // A grain of one code.
        image::Rgb(light.map(|v| v + ((x * 7 + y * 13) % 3) as u8 - 1))
    });
    png(&picture)
}

fn png(picture: &image::RgbImage) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

/// The same under a lamp over the sheet's upper end: light falls off from there.
fn lamplit() -> Vec<u8> {
    let mut picture = image::load_from_memory(&photo(false)).unwrap().into_rgb8();
    for (x, y, light) in picture.enumerate_pixels_mut() {
        let far = (f64::from(x) - 200.0).hypot(f64::from(y) - 100.0);
        light.0 = light.0.map(|v| (f64::from(v) * (1.0 - 0.0006 * far)) as u8);
    }
    png(&picture)
}

#[test]
fn what_is_wrong_is_told_with_what_helps_here() {
    let b = Bench::new();
    let photo = b.write("card.png", lamplit());
    let piece = b.str("heel.svg");
    let own = ["card", photo.as_str(), "--thickness", "1.5mm", "-o", &piece];
    for (more, what, remedy) in [
        (
            ["--sheet", "letter"],
            "not in the proportion of 215.9 by 279.4 mm",
            "say with --sheet which sheet lies there",
        ),
        (
            ["--at", "5,5"],
            "no card is seen at 5, 5 px",
            "give a place well inside the card",
        ),
        (
            ["--camera-height", "10cm"],
            "with the lens 100 mm above the sheet",
            "take the photo from higher up",
        ),
        (
            ["--camera-height", "1cm"],
            "the camera can't have been 10 mm above the sheet",
            "more than 50 mm",
        ),
    ] {
        let said = refused(&[&own[..], &more].concat(), "card.png");
        assert!(said.contains(what) && said.contains(remedy), "{said}");
    }
    assert!(!b.path("heel.svg").exists());
}

#[test]
fn a_card_on_plain_ground_becomes_a_piece_of_its_size() {
    let b = Bench::new();
    let (photo, piece) = (b.write("card.png", photo(false)), b.str("heel.svg"));
    let o = run(&["card", &photo, "--thickness", "0mm", "-o", &piece]);
    assert!(o.status.success(), "{o:?}");
    let said = stdout(&o);
    assert!(said.contains("(typical miss)."), "{said}");
    // 150 by 240 px, where 300 px are the sheet's 210 mm.
    let o = run(&["read", &piece, "--json"]);
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let size = |k: &str| told["pieces"][0][k].as_f64().unwrap();
    let (w, h) = (size("width_mm"), size("height_mm"));
    assert!((w - 105.0).abs() < 0.2 && (h - 168.0).abs() < 0.2, "{told}");
}

#[test]
fn where_card_and_ground_are_alike_nothing_is_written_unless_it_is_asked_for() {
    let b = Bench::new();
    let (photo, piece) = (b.write("card.png", photo(true)), b.str("heel.svg"));
    let args = ["card", &photo, "--thickness", "0mm", "-o", &piece];
    let said = refused(&args, "card.png");
    // The shadow, 14 px wide, was taken for card along 240 of what was then 808 px.
    assert!(
        said.contains("along 33 % of the card's edge, as at 614, "),
        "{said}"
    );
    assert!(said.contains("--even-so"), "{said}");
    assert!(!b.path("heel.svg").exists());
    let o = run(&[&args[..], &["--even-so"]].concat());
    assert!(o.status.success(), "{o:?}");
    assert!(stdout(&o).contains("but for 33 % of it"), "{}", stdout(&o));
    let o = run(&[&args[..], &["--even-so", "--json"]].concat());
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let share = told["doubtful_share"].as_f64().unwrap();
    assert!((share - 0.33).abs() < 0.02, "{told}");
}
