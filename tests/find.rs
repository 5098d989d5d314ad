//! A cloth drawn by formula, photographed by the twin's camera, and found: a handful of seeds. All
//! of them, and those that the finder was not made with: `benches/src/cloths.rs`.

use ghostchalk::cloth::find::{ALL, Found, Grain, Kind, Seeds, find};
use ghostchalk::colour::{Lab, Xyz};
use ghostchalk::photo::{Ground, Light, Patch};
use ghostchalk::raster::Raster;
use ghostchalk::shape::{Region, intersection};
use ghostchalk::space::{Bounds, Table};
use ghostchalk::twin::cloths::{Above, Cloth, Shot, cloth};

fn raster(a: &Above) -> Raster<[f32; 3], Table> {
    Raster::over(a.bounds, a.cell, |c, r, _| a.light[r * a.width + c])
}

/// The cloth of a seed, what was found of it by a photo of such pixels, and its light.
fn looked(seed: u64, px: f64) -> (Cloth, Found, Raster<[f32; 3], Table>) {
    let c = cloth(seed);
    let shot = Shot::of(&c, px, 1);
    // Whole cells, so that rows are as many as the twin's.
    let whole = Bounds::new(
        c.table.min,
        c.table.min + (c.table.size().to_vector() / 0.5).floor() * 0.5,
    );
    let mut light = raster(&shot.above(whole, 0.5));
    let patches: Vec<Patch> = c
        .sheets
        .iter()
        .map(|b| Patch {
            bounds: b.inflate(-2.0, -2.0),
            ground: Ground::White,
        })
        .collect();
    Light::fit(&light, &patches).unwrap().even(&mut light);
    let mut seen = light.clone();
    let w = seen.width();
    for k in 0..seen.values().len() {
        let p = seen.centre(k % w, k / w);
        if c.sheets.iter().any(|s| s.inflate(2.0, 2.0).contains(p)) {
            seen.values_mut()[k] = [f32::NAN; 3];
        }
    }
    let mut close = |bounds: Bounds<Table>| {
        let size = (bounds.size().to_vector() / 0.25).floor() * 0.25;
        (px < 0.4).then(|| raster(&shot.above(Bounds::new(bounds.min, bounds.min + size), 0.25)))
    };
    let found = find(&seen, &mut close, &Seeds::default()).unwrap();
    (c, found, light)
}

fn iou(a: &Region<Table>, b: &Region<Table>) -> f64 {
    let both = intersection(a, b).area();
    both / (a.area() + b.area() - both)
}

fn sound(c: &Cloth, found: &Found, light: &Raster<[f32; 3], Table>) {
    let seed = c.seed;
    let (truth, own) = (
        Region::ring(c.outline()),
        Region::ring(found.outline.clone()),
    );
    let outline = iou(&truth, &own);
    assert!(outline > 0.98, "{seed}: {outline}");
    let seen: Vec<Region<Table>> = found
        .holes
        .iter()
        .map(|h| Region::ring(h.outline.clone()))
        .collect();
    for hole in c.holes().into_iter().map(Region::ring) {
        let across = 2.0 * (hole.area() / std::f64::consts::PI).sqrt();
        let best = seen.iter().map(|f| iou(&hole, f)).fold(0.0, f64::max);
        assert!(
            across < ALL || best > 0.7,
            "{seed}: a hole of {across} mm, {best}"
        );
    }
    let (mut sum, mut n) = ([0.0; 3], 0.0);
    for (k, v) in light.values().iter().enumerate() {
        let p = light.centre(k % light.width(), k / light.width());
        if own.contains(p) && !seen.iter().any(|h| h.contains(p)) {
            sum = std::array::from_fn(|c| sum[c] + f64::from(v[c]));
            n += 1.0;
        }
    }
    let lightness = |v: [f64; 3]| Lab::from_xyz(Xyz::from_linear_srgb(v)).l;
    let off = lightness(sum.map(|v| v / n)) - lightness(c.mean());
    assert!(off.abs() < 1.0, "{seed}: L* {off}");
    if let Grain::Told { deg, .. } = found.grain {
        let off = (deg - c.grain_deg + 90.0).rem_euclid(180.0) - 90.0;
        assert!(off.abs() < 0.7, "{seed}: grain {off}");
    }
}

#[test]
fn stripes_are_found_whole_with_their_grain_and_repeat() {
    let (c, found, light) = looked(5, 0.6);
    sound(&c, &found, &light);
    assert!(matches!(found.grain, Grain::Told { .. }));
    let repeat = found.stripes.and_then(|s| s.repeat).expect("stripes");
    assert!((repeat.period / c.repeat().unwrap() - 1.0).abs() < 0.01);
    assert!(repeat.same_both_ways);
}

#[test]
fn a_print_is_no_stain_and_a_hole_in_it_is_one() {
    let (c, found, light) = looked(4, 0.6);
    sound(&c, &found, &light);
    let stains = found
        .candidates
        .iter()
        .filter(|c| c.kind == Kind::Stain)
        .count();
    assert!(stains <= c.stains().len(), "{stains}");
    assert!(found.stripes.is_none());
}

#[test]
fn a_twill_s_diagonal_tells_no_grain() {
    let (c, found, light) = looked(3, 0.3);
    assert_eq!(c.kind, "twill");
    sound(&c, &found, &light);
    assert!(
        matches!(&found.grain, Grain::CantTell { why } if why.contains("diagonal")),
        "{:?}",
        found.grain
    );
}

#[test]
fn faded_cloth_with_stains_and_eyelets_is_whole() {
    let (c, found, light) = looked(2, 0.6);
    sound(&c, &found, &light);
    let is = |kind| found.candidates.iter().filter(|c| c.kind == kind).count();
    assert_eq!(
        (is(Kind::Stain), is(Kind::Hardware)),
        (c.stains().len(), c.eyelets.len())
    );
}
