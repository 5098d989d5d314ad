//! Frames against exact area coverage in f64, on every driver here.

mod common;

use common::{compare, devices, exact, hard_scene, keystone, picture, smooth_scene};
use ghostchalk::scene::Scene;

/// Over all edge pixels: mean at most 0.0016, worst 0.007. Rounding to 8-bit
/// sRGB alone makes up to .00135 and .0045.
fn covers_exactly(scene: &Scene, width: u32, height: u32) {
    let map = keystone(f64::from(width), f64::from(height));
    let want = exact(scene, &map, width, height);
    for device in devices() {
        let e = compare(&want, &picture(&device, scene, &map, width, height));
        println!("{} {width}x{height}: {e:?}", device.name());
        assert!(e.edge_pixels > 5000, "the scene must be seen: {e:?}");
        assert!(
            e.mean <= 0.0016 && e.worst <= 0.007,
            "{}: {e:?}",
            device.name()
        );
        assert_eq!(e.wrong_solid, 0, "{}", device.name());
    }
}

#[test]
fn smooth_outlines_at_1080p() {
    covers_exactly(&smooth_scene(), 1920, 1080);
}

#[test]
fn corners_spikes_slots_holes_and_ticks_at_1080p() {
    covers_exactly(&hard_scene(), 1920, 1080);
}

#[test]
fn corners_spikes_slots_holes_and_ticks_at_2160p() {
    covers_exactly(&hard_scene(), 3840, 2160);
}
