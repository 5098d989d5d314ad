//! The map of a cloth's shade: a picture, and the lines about it.

use ghostchalk::cloth::shade::{ShadeMap, Written};
use ghostchalk::job::crc32c;
use ghostchalk::space::Cloth;

use super::Target;
use super::bytes::Bytes;
use super::png::png;

pub const SHADE: Target = Target {
    name: "shade",
    run: shade,
    seeds: &["demo-data/*.shade.toml", "fuzz/seeds/shade/*"],
};

/// The input is the lines about the map, and behind a nought the bytes of its picture; without
/// those a small picture is made of the lines. Their checksum is put right, or nothing else
/// would ever be looked at.
fn shade(data: &[u8]) {
    let end = data.iter().position(|&b| b == 0).unwrap_or(data.len());
    let (about, rest) = data.split_at(end);
    let Ok(about) = std::str::from_utf8(about) else {
        return;
    };
    let picture = match rest.split_first() {
        Some((_, picture)) => picture.to_vec(),
        None => small(data),
    };
    let sum = format!("picture_crc32c = \"{:08x}\"", crc32c(&picture));
    let right = |line: &str| match line.starts_with("picture_crc32c") {
        true => sum.clone(),
        false => line.to_owned(),
    };
    let about: Vec<String> = about.lines().map(right).collect();
    let Ok(map) = ShadeMap::<Cloth>::read(&picture, &about.join("\n")) else {
        return;
    };
    let written = map.write();
    let Written { picture, about } = written.unwrap_or_else(|fault| panic!("{fault}"));
    let back = ShadeMap::<Cloth>::read(&picture, &about);
    let back = back.unwrap_or_else(|fault| panic!("{fault}\n{about}"));
    assert!(back == map, "written and read again it differs: {about}");
    let again = back.write();
    assert_eq!(again.map(|w| w.picture), Ok(picture));
}

/// A few cells, some of cloth, some not, and some blown.
fn small(data: &[u8]) -> Vec<u8> {
    let mut bytes = Bytes::new(data);
    let (width, height) = (1 + bytes.below(40), 1 + bytes.below(40));
    let mut rows = Vec::new();
    for _ in 0..height {
        // Each row begins with how it is filtered: not at all.
        rows.extend([0]);
        for _ in 0..width {
            let alpha = [0, 0x80, 0xff][bytes.below(3)];
            let low = [0, 0, 0xff][bytes.below(3)];
            for _ in 0..3 {
                rows.extend(bytes.word().to_be_bytes());
            }
            rows.extend([alpha, low]);
        }
    }
    png(width as u32, height as u32, 16, 6, &rows)
}
