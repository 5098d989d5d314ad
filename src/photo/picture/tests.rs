use super::*;
use image::{DynamicImage, ImageBuffer, Rgb, RgbImage};

/// Something to see: no even grey that a broken decoder would also give.
fn painted() -> RgbImage {
    RgbImage::from_fn(320, 240, |x, y| {
        Rgb([x as u8, (y * 255 / 239) as u8, ((x ^ y) & 0xff) as u8])
    })
}

fn as_file(image: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Vec::new();
    image
        .write_to(&mut Cursor::new(&mut bytes), format)
        .unwrap();
    bytes
}

fn said(bytes: &[u8]) -> String {
    let Err(fault) = Picture::read(bytes) else {
        panic!("it was read");
    };
    let text = fault.to_string();
    assert!(text.ends_with('.') && text.contains("; "), "{text}");
    text
}

#[test]
fn every_format_gives_the_same_pixels() {
    let image = DynamicImage::from(painted());
    for format in [ImageFormat::Png, ImageFormat::WebP, ImageFormat::Tiff] {
        let picture = Picture::read(&as_file(&image, format)).unwrap();
        assert_eq!(picture.size(), [320, 240]);
        for (x, y) in [(0, 0), (17, 200), (319, 239), (255, 1)] {
            let Rgb(written) = *painted().get_pixel(x, y);
            let read = picture
                .code(x as usize, y as usize)
                .map(|c| (c * 255.0).round() as u8);
            assert_eq!(read, written, "{format:?}");
        }
    }
    let jpeg = Picture::read(&as_file(&image, ImageFormat::Jpeg)).unwrap();
    assert_eq!(jpeg.size(), [320, 240]);
}

#[test]
fn sixteen_bits_are_kept() {
    let deep: ImageBuffer<Rgb<u16>, Vec<u16>> =
        ImageBuffer::from_fn(200, 200, |x, _| Rgb([1000 + x as u16, 32768, 65535]));
    for format in [ImageFormat::Png, ImageFormat::Tiff] {
        let bytes = as_file(&DynamicImage::from(deep.clone()), format);
        let picture = Picture::read(&bytes).unwrap();
        let (a, b) = (picture.light(10, 5), picture.light(11, 5));
        // Below the bend of IEC 61966-2-1 light is code by 12.92.
        assert!((a[0] - 1010.0 / 65535.0 / 12.92).abs() < 1e-8);
        assert!(b[0] > a[0], "one step of sixteen bits shows");
        assert!((a[1] - 0.214_048).abs() < 1e-5 && a[2] == 1.0);
    }
}

#[test]
fn what_is_no_photo_is_said_in_a_sentence() {
    assert!(said(b"%PDF-1.7 not a picture").contains("not a photo"));
    assert!(said(b"").contains("not a photo"));
    // Many telephones write this unless told otherwise.
    assert!(said(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").contains("in HEIC"));
    let dot = DynamicImage::from(RgbImage::new(1, 1));
    assert!(said(&as_file(&dot, ImageFormat::Png)).contains("1 by 1 px: too small"));
    // The header of a PNG of 20 000 by 20 000, with no pixel behind it.
    let mut bytes = as_file(&DynamicImage::from(painted()), ImageFormat::Png);
    bytes[16..20].copy_from_slice(&20_000u32.to_be_bytes());
    bytes[20..24].copy_from_slice(&20_000u32.to_be_bytes());
    let crc = crc32(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&crc.to_be_bytes());
    assert!(said(&bytes).contains("more than 60 million"));
}

#[test]
fn a_photo_that_ends_in_the_middle_is_not_filled_up() {
    let image = DynamicImage::from(painted());
    for format in [
        ImageFormat::Jpeg,
        ImageFormat::Png,
        ImageFormat::WebP,
        ImageFormat::Tiff,
    ] {
        let bytes = as_file(&image, format);
        for share in [0.3, 0.6, 0.9] {
            let cut = (bytes.len() as f64 * share) as usize;
            assert!(said(&bytes[..cut]).contains("can't be read"), "{format:?}");
        }
    }
    // What a camera writes behind the end does not matter.
    let mut bytes = as_file(&image, ImageFormat::Jpeg);
    bytes.extend(b"\0\0\0\x18ftypmp42 a film");
    assert!(Picture::read(&bytes).is_ok());
}

#[test]
fn damage_is_never_a_panic() {
    let image = DynamicImage::from(RgbImage::from_fn(210, 205, |x, y| {
        Rgb([(x * 7 + y * 3) as u8; 3])
    }));
    let mut seed = 12345u32;
    let mut next = || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 8) as usize
    };
    for format in [
        ImageFormat::Jpeg,
        ImageFormat::Png,
        ImageFormat::WebP,
        ImageFormat::Tiff,
    ] {
        let sound = as_file(&image, format);
        for _ in 0..40 {
            let mut bytes = sound.clone();
            for _ in 0..3 {
                // Mostly in the headers, where it hurts.
                let reach = if next() % 2 == 0 { 200 } else { bytes.len() };
                let at = next() % reach.min(bytes.len());
                bytes[at] = next() as u8;
            }
            if let Err(fault) = Picture::read(&bytes) {
                assert!(fault.to_string().ends_with('.'));
            }
        }
    }
}

#[test]
fn wider_primaries_become_srgbs() {
    // Display P3's full red, green, blue in linear sRGB: the product of both matrices to
    // XYZ (SMPTE EG 432-1 primaries and IEC 61966-2-1's, white D65).
    let profile = moxcms::ColorProfile::new_display_p3().encode().unwrap();
    let p3 = profile::curve(Some(&profile), 256);
    let near = |own: [f32; 3], truth: [f32; 3]| {
        let m = p3.primaries.unwrap();
        let out = m.map(|row| row[0] * own[0] + row[1] * own[1] + row[2] * own[2]);
        assert!(
            out.iter().zip(truth).all(|(a, b)| (a - b).abs() < 2e-3),
            "{out:?}"
        );
    };
    near([1.0, 0.0, 0.0], [1.2249, -0.0420, -0.0196]);
    near([0.0, 1.0, 0.0], [-0.2247, 1.0419, -0.0786]);
    near([0.0, 0.0, 1.0], [0.0, 0.0, 1.0979]);
    near([0.5; 3], [0.5; 3]);
    assert_eq!(p3.in_srgb([0.0, 1.0, 0.0])[0], 0.0);
    // Its curve is sRGB's, and a profile of sRGB changes nothing.
    let plain = profile::curve(None, 256);
    for (a, b) in p3.linear.iter().zip(&plain.linear) {
        assert!((a - b).abs() < 1e-4);
    }
    let own = moxcms::ColorProfile::new_srgb().encode().unwrap();
    assert!(profile::curve(Some(&own), 256).primaries.is_none());
    assert!(profile::curve(Some(b"no profile"), 256).primaries.is_none());
}

/// CRC-32 of PNG (ISO/IEC 15948, annex D), bit by bit.
fn crc32(bytes: &[u8]) -> u32 {
    let step = |crc: u32, byte: &u8| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| {
            (c >> 1) ^ if c & 1 == 1 { 0xedb8_8320 } else { 0 }
        })
    };
    !bytes.iter().fold(u32::MAX, step)
}

#[test]
fn numbers_of_32_bits_are_refused() {
    let wide: ImageBuffer<Rgb<f32>, Vec<f32>> =
        ImageBuffer::from_fn(200, 200, |x, _| Rgb([x as f32 / 200.0; 3]));
    let bytes = as_file(&DynamicImage::from(wide), ImageFormat::Tiff);
    assert!(said(&bytes).contains("more than 16 bits a channel"));
}
