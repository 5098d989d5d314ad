//! Pages for setting the table, as the canvas draws them: pixel for pixel, on
//! every driver.

mod common;

use ghostchalk::colour::decode_srgb;
use ghostchalk::light::setting::{Page, Shape, Step, cross, say};
use ghostchalk::projection::{Mapping, Upright};
use ghostchalk::render::Picture;
use ghostchalk::scene::{Level, Scene};
use ghostchalk::shape::Region;
use ghostchalk::space::{Point, Projector};
use ghostchalk::stand::Side;

fn rectangle(l: f64, t: f64, r: f64, b: f64) -> Region<Projector> {
    let corners = [(l, t), (r, t), (r, b), (l, b)];
    Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
}

fn drawn(device: &ghostchalk::render::Device, page: &Page) -> Picture {
    let scene = Scene {
        figures: vec![page.figure()],
    };
    let [w, h] = page.picture;
    common::picture(device, &scene, &Mapping::pixels(), w, h)
}

#[test]
fn ten_by_ten_pixels_are_lit_exactly_and_nothing_else() {
    let page = Page {
        picture: [64, 48],
        raster: None,
        light: vec![Shape {
            region: rectangle(20.0, 7.0, 30.0, 17.0),
            level: Level::FULL,
        }],
        words: Vec::new(),
    };
    for device in common::devices() {
        let picture = drawn(&device, &page);
        for (k, code) in picture.codes.iter().enumerate() {
            let (x, y) = (k % 64, k / 64);
            let lit = (20..30).contains(&x) && (7..17).contains(&y);
            assert_eq!(
                *code,
                if lit { 255 } else { 0 },
                "{} {x} {y}",
                device.name()
            );
        }
    }
}

#[test]
fn a_tenth_of_a_pixel_is_seen_in_the_cross() {
    for device in common::devices() {
        for side in Side::ALL {
            let on = Upright::new([640, 480], side, side == Side::Left);
            let at = |x: f64| {
                let page = cross(&on, Point::new(x, 200.0), 1, Step::Tenth).unwrap();
                // Along the upper arm, across it.
                let picture = drawn(&device, &page);
                let row = &picture.codes[180 * 640 + 298..180 * 640 + 303];
                row.to_vec()
            };
            assert_eq!(at(300.0), [0, 255, 255, 0, 0]);
            // A tenth of the light is code 89, nine tenths are 243 (IEC 61966-2-1).
            assert_eq!(at(300.1), [0, 243, 255, 89, 0], "{side:?}");
        }
    }
}

#[test]
fn words_light_the_area_of_their_outlines() {
    let devices = common::devices();
    for mirror in [false, true] {
        for side in Side::ALL {
            let page = say(
                &["cut the slipper"],
                &Upright::new([640, 480], side, mirror),
            )
            .unwrap();
            let want: f64 = page.light.iter().map(|s| s.region.area()).sum();
            let light = |c: &u8| decode_srgb(f64::from(*c) / 255.0);
            let got: f64 = drawn(&devices[0], &page).codes.iter().map(light).sum();
            assert!((got / want - 1.0).abs() < 0.01, "{got} {want}");
        }
    }
}

#[test]
fn the_grids_codes_are_the_shares_of_light_they_claim() {
    let light = |c: u8| decode_srgb(f64::from(c) / 255.0);
    let [fine, fifth, coarse] = ghostchalk::light::setting::GRID_CODES;
    assert!((light(fine) - 0.12).abs() < 0.002);
    assert!((light(fifth) - 0.35).abs() < 0.003);
    assert_eq!(light(coarse), 1.0);
    assert!((light(ghostchalk::light::setting::UNDER_CODE) - 0.03).abs() < 0.001);
}
