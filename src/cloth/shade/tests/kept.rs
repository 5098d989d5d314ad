//! The map in its two files.

use super::cloths::{grey, lit};
use crate::cloth::shade::{Doubt, Ground, ShadeMap};
use crate::space::Cloth;
use proptest::prelude::*;

fn map() -> ShadeMap<Cloth> {
    let light = lit([31.0, 17.0], 0.5, |p| {
        let [v, _, _] = grey(50.0 + p.x / 2.0 + p.y / 5.0);
        [v, 0.9 * v, 0.7 * v]
    });
    ShadeMap::measure(
        &light,
        [1.0, 0.9, 0.8],
        2.0,
        Doubt::default(),
        |c, r| match (c / 8 + r / 8) % 5 {
            0 => Ground::Other,
            1 => Ground::Blown,
            _ => Ground::Cloth,
        },
    )
    .unwrap()
}

#[test]
fn a_map_comes_back_as_it_was() {
    let map = map();
    let kept = map.write().unwrap();
    let back = ShadeMap::<Cloth>::read(&kept.picture, &kept.about).unwrap();
    assert_eq!(back, map);
    assert_eq!(back.write().unwrap(), kept);
}

/// Another program's reading of the picture: top row first, 32768 is white.
#[test]
fn the_picture_is_what_its_description_says() {
    let map = map();
    let kept = map.write().unwrap();
    let picture = image::load_from_memory(&kept.picture).unwrap();
    let image::DynamicImage::ImageRgba16(picture) = picture else {
        panic!("not 16 bits");
    };
    assert_eq!((picture.width(), picture.height()), (31, 17));
    let top = map.bounds().max.y;
    let mut cloth = 0;
    for (x, y, pixel) in picture.enumerate_pixels() {
        let p = map.bounds().min + crate::space::Vector::new(2.0 * f64::from(x) + 1.0, 0.0);
        let p = crate::space::Point::new(p.x, top - 2.0 * f64::from(y) - 1.0);
        let is = match map.ground(p) {
            Ground::Cloth => 65_535,
            Ground::Blown => 32_768,
            Ground::Other => 0,
        };
        assert_eq!(pixel[3], is);
        if let Some(colour) = map.colour(p) {
            cloth += 1;
            assert_eq!(f64::from(pixel[1]), colour.y * 32_768.0);
            assert_eq!(f64::from(pixel[2]), colour.z * 32_768.0);
        }
    }
    assert!(cloth > 200);
    assert!(kept.about.contains("cell_mm = 2.0") && kept.about.contains("left_mm = -31.0"));
}

#[test]
fn files_that_are_no_map_get_a_sentence() {
    let kept = map().write().unwrap();
    let read = |picture: &[u8], about: &str| {
        let found = ShadeMap::<Cloth>::read(picture, about);
        found.unwrap_err().to_string()
    };
    let changed = |from: &str, to: &str| {
        assert!(kept.about.contains(from));
        read(&kept.picture, &kept.about.replace(from, to))
    };
    assert!(read(&kept.picture, "cell_mm = ").contains("can't be read"));
    assert!(changed("doubt_tilt", "doubt_slope").contains("can't be read"));
    assert!(changed("cloth 1", "cloth 2").contains("in the form \"shade of cloth 2\""));
    for (from, to) in [
        ("cell_mm = 2.0", "cell_mm = 0.0"),
        ("cell_mm = 2.0", "cell_mm = nan"),
        ("left_mm = -31.0", "left_mm = inf"),
        ("doubt_tilt = 0.2", "doubt_tilt = -0.2"),
    ] {
        assert!(
            changed(from, to).contains("a number that is not possible"),
            "{to}"
        );
    }
    let mut other = kept.picture.clone();
    other[40] ^= 1;
    assert!(read(&other, &kept.about).contains("not the one"));
    // The right checksum does not make a picture of it.
    let swap = |picture: &[u8]| {
        let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
        let [old, new] = [&kept.picture[..], picture].map(|p| format!("{:08x}", crc.checksum(p)));
        kept.about.replace(&old, &new)
    };
    assert!(read(&other, &swap(&other)).contains("can't be read"));
    let mut grey = std::io::Cursor::new(Vec::new());
    image::DynamicImage::new_luma8(31, 17)
        .write_to(&mut grey, image::ImageFormat::Png)
        .unwrap();
    let grey = grey.into_inner();
    assert!(read(&grey, &swap(&grey)).contains("another kind"));
    // A header that promises the moon: 100 000 by 100 000, its own checksum right.
    let mut huge = kept.picture.clone();
    huge[16..24].copy_from_slice(&[0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0]);
    let header = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(&huge[12..29]);
    huge[29..33].copy_from_slice(&header.to_be_bytes());
    let text = read(&huge, &swap(&huge));
    assert!(
        text.contains("too large") || text.contains("can't be read"),
        "{text}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn damage_is_a_fault_and_never_a_panic(
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        end in any::<prop::sample::Index>(),
    ) {
        let kept = map().write().unwrap();
        let mut picture = kept.picture.clone();
        for (at, byte) in &cuts {
            let at = at.index(picture.len());
            picture[at] = *byte;
        }
        picture.truncate(end.index(picture.len()) + 1);
        let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
        let [old, new] =
            [&kept.picture, &picture].map(|p| format!("{:08x}", crc.checksum(p)));
        let about = kept.about.replace(&old, &new);
        // Whatever it is, it is an answer.
        let _ = ShadeMap::<Cloth>::read(&picture, &about);
        let mut text = kept.about.clone().into_bytes();
        for (at, byte) in &cuts {
            let at = at.index(text.len());
            text[at] = *byte;
        }
        let _ = ShadeMap::<Cloth>::read(&kept.picture, &String::from_utf8_lossy(&text));
    }
}
