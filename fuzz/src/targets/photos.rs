//! A photo as the camera wrote it: the whole file, and what stands beside the picture.

use std::sync::OnceLock;

use ghostchalk::photo::Picture;

use super::Target;
use super::png::{chunk, png, stored, with};

pub const PHOTO: Target = Target {
    name: "photo",
    run: a_photo,
    seeds: &[
        "tests/reference/photo/table.jpg",
        "tests/reference/tags/*.jpg",
        "tests/reference/card_photo/*.jpg",
        "demo-data/felt.shade.png",
    ],
};

pub const EXIF: Target = Target {
    name: "exif",
    run: some_notes,
    seeds: &["fuzz/seeds/exif/*"],
};

pub const COLOURS: Target = Target {
    name: "colours",
    run: some_colours,
    seeds: &["fuzz/seeds/colours/*"],
};

/// The least side of a photo that is read, px.
const LEAST: usize = 200;

fn a_photo(data: &[u8]) {
    if let Ok(picture) = Picture::read(data) {
        sound(&picture);
    }
}

/// The input as EXIF in a picture that is otherwise sound.
fn some_notes(data: &[u8]) {
    beside(&chunk(b"eXIf", data));
}

/// The input as a colour profile in a picture that is otherwise sound.
fn some_colours(data: &[u8]) {
    let named = [b"a profile\0\0".as_slice(), &stored(data)].concat();
    beside(&chunk(b"iCCP", &named));
}

/// Whatever the camera noted, the picture is there.
fn beside(more: &[u8]) {
    static PLAIN: OnceLock<Vec<u8>> = OnceLock::new();
    let plain = PLAIN.get_or_init(|| {
        let side = LEAST as u32;
        let row = |y: u32| {
            let grey = (0..side).map(move |x| ((x + y) % 256) as u8);
            std::iter::once(0).chain(grey)
        };
        let rows: Vec<u8> = (0..side).flat_map(row).collect();
        png(side, side, 8, 0, &rows)
    });
    let picture = Picture::read(&with(plain, more));
    let picture = picture.unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(picture.size(), [LEAST, LEAST]);
    sound(&picture);
}

/// What a picture promises of its light and of what was noted.
fn sound(picture: &Picture) {
    let [width, height] = picture.size();
    assert!(width >= LEAST && height >= LEAST);
    let places = [0, 1, width / 2, width - 1, width, usize::MAX];
    for x in places {
        for y in [0, height / 2, height - 1, height, usize::MAX] {
            let code = picture.code(x, y);
            assert!(code.iter().all(|c| (0.0..=1.0).contains(c)), "{code:?}");
            // Three primaries, none of them ten times another's light.
            let light = picture.light(x, y);
            let most = 30.1;
            assert!(light.iter().all(|l| (0.0..=most).contains(l)), "{light:?}");
        }
    }
    let between = picture.luminance(width as f64 / 3.0, height as f64 / 7.0);
    assert!(between.is_finite() && between >= 0.0);
    let notes = &picture.notes;
    assert_eq!(picture.focal.is_some(), notes.film_mm.is_some());
    assert!(picture.focal.is_none_or(|px| px.is_finite() && px > 0.0));
    let known = [notes.exposure_s, notes.f_number, notes.iso];
    assert!(
        known.iter().flatten().all(|v| v.is_finite() && *v > 0.0),
        "{notes:?}"
    );
}
