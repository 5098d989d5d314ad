//! What the camera noted: which way up it was, and its focal length.

use crate::photo::Picture;
use image::{ImageFormat, Rgb, RgbImage};
use std::io::Cursor;

/// A JPEG, dark but for its upper left quarter, with EXIF notes of an orientation and a
/// focal length on film (TIFF 6.0, EXIF 2.3: tags 112, 8769 and A405; big-endian).
fn noted(orientation: u16, focal: u16) -> Vec<u8> {
    let picture = RgbImage::from_fn(400, 300, |x, y| {
        Rgb([if x < 200 && y < 150 { 250 } else { 10 }; 3])
    });
    let mut bytes = Vec::new();
    picture
        .write_to(&mut Cursor::new(&mut bytes), ImageFormat::Jpeg)
        .unwrap();
    let mut tiff: Vec<u8> = b"MM\0\x2a\0\0\0\x08".to_vec();
    let short = |tag: u16, value: u16| {
        let mut entry = Vec::new();
        entry.extend(tag.to_be_bytes());
        entry.extend(3u16.to_be_bytes());
        entry.extend(1u32.to_be_bytes());
        entry.extend(value.to_be_bytes());
        entry.extend([0, 0]);
        entry
    };
    tiff.extend(2u16.to_be_bytes());
    tiff.extend(short(0x0112, orientation));
    tiff.extend(0x8769u16.to_be_bytes());
    tiff.extend(4u16.to_be_bytes());
    tiff.extend(1u32.to_be_bytes());
    tiff.extend(38u32.to_be_bytes());
    tiff.extend([0; 4]);
    tiff.extend(1u16.to_be_bytes());
    tiff.extend(short(0xa405, focal));
    tiff.extend([0; 4]);
    let mut segment = b"\xff\xe1".to_vec();
    segment.extend(((tiff.len() + 8) as u16).to_be_bytes());
    segment.extend(b"Exif\0\0");
    segment.extend(tiff);
    bytes.splice(2..2, segment);
    bytes
}

#[test]
fn the_photo_is_turned_upright_and_its_focal_length_known() {
    // 6: turn clockwise by a quarter, and upper left comes to upper right.
    let picture = Picture::read(&noted(6, 26)).unwrap();
    assert_eq!((picture.width, picture.height), (300, 400));
    assert!(picture.light(250, 50)[1] > 0.5 && picture.light(50, 50)[1] < 0.1);
    // 26 mm on the film's diagonal of 43.27: 500 px of the picture's.
    let focal = picture.focal.unwrap();
    assert!((focal - 26.0 / (24.0f64.hypot(36.0)) * 500.0).abs() < 1e-9);
    let upright = Picture::read(&noted(1, 0)).unwrap();
    assert_eq!((upright.width, upright.focal), (400, None));
    assert!(upright.light(50, 50)[1] > 0.5);
}

#[test]
fn half_the_light_is_code_188() {
    let grey = RgbImage::from_pixel(200, 200, Rgb([188, 10, 255]));
    let mut bytes = Vec::new();
    grey.write_to(&mut Cursor::new(&mut bytes), ImageFormat::Png)
        .unwrap();
    let [half, dark, full] = Picture::read(&bytes).unwrap().light(7, 9);
    // IEC 61966-2-1: ((188/255 + 0.055)/1.055)^2.4, and (10/255)/12.92 below its bend.
    assert!((half - 0.502_886).abs() < 1e-5, "{half}");
    assert!((dark - 0.003_035_27).abs() < 1e-7, "{dark}");
    assert_eq!(full, 1.0);
}
