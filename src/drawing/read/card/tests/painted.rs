//! Photos painted here, straight from above: what can't be read says so, and what is exact
//! comes out exact.

use super::super::*;
use crate::pattern::Polyline;
use crate::shape::signed_area;
use image::{ImageFormat, Rgb, RgbImage};
use proptest::prelude::*;
use std::io::Cursor;

const TABLE: [f64; 3] = [0.12, 0.08, 0.05];
const PAPER: [f64; 3] = [0.8, 0.8, 0.8];
const CARD: [f64; 3] = [0.4, 0.34, 0.25];

type Shape = (Vec<[f64; 2]>, [f64; 3]);

/// Sides of a box, px.
fn oblong(x: f64, y: f64, w: f64, h: f64) -> Vec<[f64; 2]> {
    vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
}

/// A box turned about its middle, px.
fn turned(x: f64, y: f64, w: f64, h: f64, angle: f64) -> Vec<[f64; 2]> {
    let (sin, cos) = angle.sin_cos();
    let corners = oblong(-w / 2.0, -h / 2.0, w, h);
    let corner = |[a, b]: [f64; 2]| [x + cos * a - sin * b, y + sin * a + cos * b];
    corners.into_iter().map(corner).collect()
}

/// Shapes on a table, later ones over earlier ones, in 4 by 4 looks a pixel, as PNG.
fn paint(width: u32, height: u32, shapes: &[Shape]) -> Vec<u8> {
    let inside = |ring: &[[f64; 2]], x: f64, y: f64| {
        let mut odd = false;
        for (k, a) in ring.iter().enumerate() {
            let b = ring[(k + 1) % ring.len()];
            odd ^=
                (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
        }
        odd
    };
    let picture = RgbImage::from_fn(width, height, |px, py| {
        let at = |k: u32| {
            let x = f64::from(px) + (f64::from(k % 4) + 0.5) / 4.0;
            let y = f64::from(py) + (f64::from(k / 4) + 0.5) / 4.0;
            let top = shapes.iter().rev().find(|(ring, _)| inside(ring, x, y));
            top.map_or(TABLE, |(_, light)| *light)
        };
        // No shape is thinner than a pixel: between equal corners all is equal.
        let mut sum = at(0);
        if [3, 12, 15].iter().any(|k| at(*k) != sum) {
            sum = [0.0; 3];
            for light in (0..16).map(at) {
                for (sum, light) in sum.iter_mut().zip(light) {
                    *sum += light / 16.0;
                }
            }
        }
        // IEC 61966-2-1; a grain of one code, so that nothing is without noise.
        let grain = f64::from((px * 7 + py * 13) % 3) - 1.0;
        Rgb(sum.map(|v| ((1.055 * v.powf(1.0 / 2.4) - 0.055) * 255.0 + grain).round() as u8))
    });
    let mut bytes = Vec::new();
    picture
        .write_to(&mut Cursor::new(&mut bytes), ImageFormat::Png)
        .unwrap();
    bytes
}

fn how() -> CardPhoto {
    CardPhoto {
        sheet: [210.0, 297.0],
        thickness: 0.0,
        camera_height: None,
        name: "heel".into(),
        sheet_corners: None,
        card_at: None,
    }
}

/// A4 at 1.5 px a mm, its corner at 60, 70.
fn sheet() -> Shape {
    (oblong(60.0, 70.0, 315.0, 445.5), PAPER)
}

fn card() -> Shape {
    (oblong(450.0, 150.0, 150.0, 240.0), CARD)
}

fn said(shapes: &[Shape], how: &CardPhoto) -> String {
    read(&paint(700, 600, shapes), how).unwrap_err().to_string()
}

#[test]
fn what_can_not_be_read_says_so_in_a_sentence() {
    let no = |bytes: &[u8]| read(bytes, &how()).unwrap_err().to_string();
    assert!(no(b"<svg/>").starts_with("this is not a photo in JPEG, PNG, WebP or TIFF; "));
    assert!(no(&paint(10, 10, &[])).contains("10 by 10 px: too small"));
    let whole = paint(700, 600, &[sheet(), card()]);
    assert!(no(&whole[..whole.len() / 2]).starts_with("the photo can't be read: "));
    let of = |shapes: &[Shape]| said(shapes, &how());
    assert!(of(&[]).starts_with("no sheet of paper with four free corners"));
    assert!(of(&[card()]).contains("not in the proportion of 210 by 297 mm"));
    let low = (oblong(60.0, 300.0, 315.0, 445.5), PAPER);
    assert!(of(&[low, card()]).starts_with("the sheet is cut off by the picture's edge"));
    let second = (oblong(430.0, 200.0, 157.5, 222.75), PAPER);
    assert!(of(&[sheet(), second]).starts_with("there are two things in the photo"));
    assert!(of(&[sheet()]).starts_with("no card is seen"));
    let right = (oblong(500.0, 150.0, 300.0, 240.0), CARD);
    assert!(of(&[sheet(), right]).starts_with("the card is cut off by the picture's edge"));
    let over = (oblong(300.0, 200.0, 250.0, 150.0), CARD);
    assert!(of(&[sheet(), over]).contains("touches the sheet's side or lies across it"));
    let heavy = (oblong(50.0, 60.0, 100.0, 100.0), TABLE);
    assert!(
        of(&[sheet(), card(), heavy.clone()])
            .starts_with("no sheet of paper with four free corners")
    );
    let given = CardPhoto {
        sheet_corners: Some([[60.0, 70.0], [375.0, 70.0], [375.0, 515.5], [60.0, 515.5]]),
        ..how()
    };
    let hidden = said(&[sheet(), card(), heavy], &given);
    assert!(
        hidden.starts_with("the sheet's upper left corner is hidden"),
        "{hidden}"
    );
    let letter = CardPhoto {
        sheet: [215.9, 279.4],
        ..how()
    };
    let other = said(&[sheet(), card()], &letter);
    assert!(
        other.contains("not in the proportion of 215.9 by 279.4 mm"),
        "{other}"
    );
}

#[test]
fn what_is_asked_amiss_says_so() {
    let photo = paint(700, 600, &[sheet(), card()]);
    let said = |how: CardPhoto| read(&photo, &how).unwrap_err().to_string();
    let nan = CardPhoto {
        sheet: [f64::NAN, 297.0],
        ..how()
    };
    assert!(said(nan).starts_with("a sheet of NaN by 297 mm is no use"));
    let thick = CardPhoto {
        thickness: -1.0,
        ..how()
    };
    assert!(said(thick).starts_with("a card -1 mm thick"));
    let low = CardPhoto {
        camera_height: Some(3.0),
        ..how()
    };
    assert!(said(low).starts_with("the camera can't have been 3 mm"));
    let away = CardPhoto {
        card_at: Some([2000.0, 3.0]),
        ..how()
    };
    assert!(said(away).contains("lies outside the photo"));
    let bare = CardPhoto {
        card_at: Some([650.0, 580.0]),
        ..how()
    };
    let bare = said(bare);
    assert!(
        bare.starts_with("no card is seen at 650, 580 px; give a place well inside"),
        "{bare}"
    );
    let corners = CardPhoto {
        sheet_corners: Some([[60.0, 70.0]; 4]),
        ..how()
    };
    assert!(said(corners).contains("do not make a four-sided figure"));
    let far = CardPhoto {
        sheet_corners: Some([[f64::INFINITY, 70.0]; 4]),
        ..how()
    };
    assert!(said(far).contains("lies outside the photo"));
}

#[test]
fn a_thick_card_seen_straight_from_above_wants_the_cameras_height() {
    // Seen from 900 mm over the picture's middle, what lies 6 mm up is 900/894 as large about
    // it, and its side is seen below the rim.
    let higher = |[x, y]: [f64; 2]| {
        let by = 900.0 / 894.0;
        [350.0 + (x - 350.0) * by, 300.0 + (y - 300.0) * by]
    };
    let (foot, light) = card();
    let top: Vec<[f64; 2]> = foot.iter().copied().map(higher).collect();
    let side = light.map(|v| 0.6 * v);
    let bytes = paint(700, 600, &[sheet(), (foot, side), (top, light)]);
    let mut how = CardPhoto {
        thickness: 6.0,
        ..how()
    };
    let said = read(&bytes, &how).unwrap_err().to_string();
    assert!(
        said.contains("give the height of the lens above the sheet in mm by --camera-height"),
        "{said}"
    );
    // One that was given is not asked for again.
    how.camera_height = Some(100.0);
    let said = read(&bytes, &how).unwrap_err().to_string();
    assert!(
        said.starts_with("with the lens 100 mm above the sheet"),
        "{said}"
    );
    assert!(said.contains("check that height"), "{said}");
    how.camera_height = Some(900.0);
    let (w, h) = size(&read(&bytes, &how).unwrap());
    // At 1.5 px a mm; not allowed for it would be 1.1 mm too high.
    assert!(
        (h - 160.0).abs() < 0.3 && (w - 100.0).abs() < 0.3,
        "{w} {h}"
    );
}

fn size(card: &Card) -> (f64, f64) {
    let ring = &card.pattern.pieces[0].cut[0];
    let b = crate::shape::bounds(ring.iter().copied()).unwrap();
    (b.width(), b.height())
}

#[test]
fn a_card_on_the_sheet_is_read_as_well_as_one_beside_it() {
    let upon = (oblong(120.0, 150.0, 150.0, 240.0), CARD);
    let card = read(&paint(700, 600, &[sheet(), upon]), &how()).unwrap();
    assert!(card.doubtful < DOUBTFUL, "{}", card.doubtful);
    let (w, h) = size(&card);
    assert!(
        (w - 100.0).abs() < 0.1 && (h - 160.0).abs() < 0.1,
        "{w} {h}"
    );
}

#[test]
fn the_card_that_is_pointed_at_and_corners_that_are_given_are_taken() {
    let small = (oblong(500.0, 430.0, 90.0, 120.0), CARD);
    let mut how = how();
    let bytes = paint(700, 600, &[sheet(), card(), small]);
    let largest = read(&bytes, &how).unwrap();
    assert!((size(&largest).0 - 100.0).abs() < 0.1);
    assert!(
        largest
            .notes
            .iter()
            .any(|n| n.contains("something else on the table"))
    );
    how.card_at = Some([540.0, 480.0]);
    how.sheet_corners = Some([[64.0, 66.0], [371.0, 518.0], [378.0, 74.0], [57.0, 511.0]]);
    let (w, h) = size(&read(&bytes, &how).unwrap());
    assert!((w - 60.0).abs() < 0.1 && (h - 80.0).abs() < 0.1, "{w} {h}");
}

/// Through a hole the table is seen, in its own colour; a printed mark keeps the card's.
#[test]
fn print_is_told_and_no_hole_is_made_of_it() {
    let hole = (oblong(510.0, 300.0, 36.0, 36.0), TABLE);
    let ink = CARD.map(|v| 0.25 * v);
    // An L, and a bar.
    let l = vec![
        [470.0, 180.0],
        [476.0, 180.0],
        [476.0, 206.0],
        [490.0, 206.0],
        [490.0, 212.0],
        [470.0, 212.0],
    ];
    let bar = oblong(510.0, 180.0, 60.0, 12.0);
    let printed = [sheet(), card(), (l, ink), (bar, ink), hole];
    let read = read(&paint(700, 600, &printed), &how()).unwrap();
    let piece = &read.pattern.pieces[0];
    assert_eq!((piece.cutouts.len(), piece.drills.len()), (1, 0));
    let cut = crate::shape::bounds(piece.cutouts[0].iter().copied()).unwrap();
    assert!(
        (cut.width() - 24.0).abs() < 0.3 && (cut.height() - 24.0).abs() < 0.3,
        "{cut:?}"
    );
    let left_out = &read.pattern.left_out;
    let told = |n: &String| n.starts_with("print on the card, 2 marks, the largest 40");
    assert!(left_out.iter().any(told), "{left_out:?}");
}

#[test]
fn a_shadow_beside_a_dark_card_is_told() {
    let dark = (oblong(450.0, 150.0, 150.0, 240.0), [0.02, 0.02, 0.02]);
    let shade = (oblong(590.0, 156.0, 24.0, 240.0), TABLE.map(|v| 0.45 * v));
    let card = read(&paint(700, 600, &[sheet(), shade, dark]), &how()).unwrap();
    assert!(
        card.notes.iter().any(|n| n.contains("a shadow")),
        "{:?}",
        card.notes
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    /// However sheet and card are turned, the card is as large as it was painted.
    #[test]
    fn turned_it_is_the_same_card(sheet_turn in -0.7..0.7f64, card_turn in 0.0..1.5f64) {
        let sheet = (turned(250.0, 300.0, 280.0, 396.0, sheet_turn), PAPER);
        let card = (turned(600.0, 300.0, 120.0, 200.0, card_turn), CARD);
        let card = read(&paint(800, 600, &[sheet, card]), &how()).unwrap();
        let ring: &Polyline = &card.pattern.pieces[0].cut[0];
        let scale = 210.0 / 280.0;
        let (area, round) = (120.0 * 200.0 * scale * scale, 640.0 * scale);
        // Corners are drawn in by some 0.8 px; the edge is right to a seventh of a pixel, and to
        // half of that where it doesn't lie on the pixels' own borders.
        let corners = 4.0 * scale * scale;
        let found = signed_area(ring);
        prop_assert!((found - area).abs() < corners + 0.1 * round, "{} {}", found, area);
    }

    #[test]
    fn damaged_files_end_in_a_sentence(at in 0..4000usize, by in 1..256usize) {
        let mut bytes = paint(210, 210, &[(oblong(30.0, 30.0, 90.0, 127.0), PAPER)]);
        let at = at % bytes.len();
        bytes[at] ^= by as u8;
        if let Err(fault) = read(&bytes, &how()) {
            prop_assert!(fault.kind == crate::fault::Kind::Input && !fault.what.contains('\n'));
        }
    }
}
