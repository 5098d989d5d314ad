//! The view against the rig.

use std::sync::Mutex;

use crate::space::{Bounds, Point, Table};
use crate::twin::picture::Picture;
use crate::twin::rig::Rig;
use crate::twin::view::{ClothSeen, Look, Scene, gather, view};

fn table() -> Bounds<Table> {
    Bounds::new(Point::new(0.0, 0.0), Point::new(1200.0, 800.0))
}

/// White cloth over the whole table.
fn cloth() -> ClothSeen {
    ClothSeen {
        image: image::RgbaImage::from_pixel(2, 2, image::Rgba([255; 4])),
        box_mm: Bounds::new(Point::new(0.0, 0.0), Point::new(1200.0, 800.0)),
        pose: crate::space::Rigid::new(false, 0.0, euclid::Vector2D::zero()),
    }
}

/// A frame with one white pixel.
fn spot(rig: &Rig, x: usize, y: usize) -> [Picture; 3] {
    let [width, height] = rig.optics().size;
    let mut light = vec![0.0; (width * height) as usize];
    light[y * width as usize + x] = 1.0;
    [0; 3].map(|_| Picture::from_light(width, height, light.clone()).expect("a picture"))
}

#[test]
fn a_lit_pixel_is_seen_where_it_lands() {
    let rig = Rig::workshop_with_lens();
    let (x, y) = (1234, 321);
    let frame = spot(&rig, x, y);
    let cloths = [cloth()];
    let height = 12.0;
    let scene = Scene {
        rig: &rig,
        frame: &frame,
        table: table(),
        cloths: &cloths,
        height,
    };
    let corner = |dx: f64, dy: f64| {
        let pixel = Point::new(x as f64 + dx, y as f64 + dy);
        rig.land(pixel, height).expect("on the cloth")
    };
    let middle = corner(0.5, 0.5);
    let area = Bounds::new(middle, middle).inflate(3.0, 2.0);
    let look = Look {
        room: 0.0,
        ..Look::close_up(area, 50.0)
    };
    let planes = gather(&scene, &look, [300, 200], &|_| ());
    // The projector's black is on the cloth too.
    let lit = planes[0]
        .iter()
        .map(|&v| f64::from(v / planes[0].iter().fold(0.0_f32, |a, &b| a.max(b))) - 1.0 / 1501.0);
    let (mut sum, mut at) = (0.0, [0.0; 2]);
    for (i, v) in lit.enumerate() {
        sum += v;
        at[0] += v * (area.min.x + ((i % 300) as f64 + 0.5) / 50.0);
        at[1] += v * (area.max.y - ((i / 300) as f64 + 0.5) / 50.0);
    }
    let seen = Point::<Table>::new(at[0] / sum, at[1] / sum);
    assert!((seen - middle).length() < 0.003, "{seen:?} {middle:?}");
    let across = corner(1.0, 1.0) - corner(0.0, 0.0);
    let other = corner(0.0, 1.0) - corner(1.0, 0.0);
    let landed = across.cross(other).abs() / 2.0;
    assert!(
        (sum / 2500.0 - landed).abs() < 0.005,
        "{} {landed}",
        sum / 2500.0
    );
}

#[test]
fn light_adds_and_black_shows_only_in_the_pictures_reach() {
    let rig = Rig::workshop();
    let frame = spot(&rig, 0, 0);
    let scene = Scene {
        rig: &rig,
        frame: &frame,
        table: Bounds::new(Point::new(-500.0, -500.0), Point::new(1700.0, 1300.0)),
        cloths: &[],
        height: 0.0,
    };
    let light = |x: f64, y: f64, room: f64| {
        let at = Point::new(x, y);
        let area = Bounds::new(at, at).inflate(1.0, 1.0);
        let look = Look {
            room,
            ..Look::close_up(area, 1.0)
        };
        let planes = gather(&scene, &look, [2, 2], &|_| ());
        f64::from(planes[1][0])
    };
    assert!(light(600.0, 400.0, 0.0) > 0.0);
    assert_eq!(light(600.0, -450.0, 0.0), 0.0);
    let (dark, dim, bright) = (
        light(600.0, 400.0, 0.0),
        light(600.0, 400.0, 0.1),
        light(600.0, 400.0, 0.2),
    );
    assert!((bright - dim - (dim - dark)).abs() < 1e-7);
}

#[test]
fn every_row_is_counted_and_no_image_is_none() {
    let rig = Rig::workshop();
    let frame = spot(&rig, 900, 500);
    let cloths = [cloth()];
    let scene = Scene {
        rig: &rig,
        frame: &frame,
        table: table(),
        cloths: &cloths,
        height: 1.0,
    };
    let told = Mutex::new(Vec::new());
    let progress = |share: f64| told.lock().expect("no panic").push(share);
    let look = Look::table(table(), 50.0, 0.1);
    let image = view(&scene, &look, &progress).expect("an image");
    assert_eq!(image.dimensions(), (130, 90));
    let mut told = told.into_inner().expect("no panic");
    told.sort_by(f64::total_cmp);
    assert_eq!(told.len(), 90);
    assert_eq!(told.last(), Some(&1.0));
    // Cloth is lighter than the floor at the image's border.
    assert!(image.get_pixel(65, 45).0[0] > 2 * image.get_pixel(0, 0).0[0]);

    for px_per_mm in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e6] {
        let look = Look::table(table(), 0.0, px_per_mm);
        assert!(view(&scene, &look, &|_| ()).is_none());
    }
}
