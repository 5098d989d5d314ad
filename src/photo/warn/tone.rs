//! Local tone mapping: telephones brighten dark parts and dim bright ones, place by place,
//! so that one white is not like another.

use super::{About, Warning};
use crate::adjust::median;
use crate::colour::luminance_f32;
use crate::photo::{Ground, Light, Patch};
use crate::raster::Raster;
use crate::space::{Bounds, Table};

/// Patches that are alike differ by less after smooth light is taken out. *Estimate:* what
/// sheets' own shades and small shadows leave.
const DIFFER: f64 = 0.035;
/// Inside a sheet, its rim is like its middle to within this. *Estimate.*
const HALO: f64 = 0.02;
/// The rim begins so far inside the sheet, mm (the outline is marked by hand, and lenses
/// flare), and ends so far inside.
const RIM: [f64; 2] = [2.0, 7.0];
/// The middle begins so far inside, as a share of the shorter side.
const MIDDLE: f64 = 0.3;

/// Whether the camera seems to have treated parts of the photo apart: `raster` is the photo
/// from above *before* its light is evened, `light` what was fitted to `patches` in it.
pub fn tone(raster: &Raster<[f32; 3], Table>, patches: &[Patch], light: &Light) -> Option<Warning> {
    halo(raster, patches, light).or_else(|| differ(patches, light))
}

fn differ(patches: &[Patch], light: &Light) -> Option<Warning> {
    let known = patches
        .iter()
        .zip(&light.patches)
        .filter_map(|(p, v)| Some((p, (*v)?)));
    let (patch, off) = known.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let at = patch.bounds.center();
    (off.abs() > DIFFER).then(|| Warning {
        about: About::Tone,
        text: format!(
            "The sheet or bare table about ({:.0}, {:.0}) mm is {:.0} % {} than the others and a smooth light say: see that no shadow or glare lies on it, and switch the camera's HDR and scene modes off.",
            at.x,
            at.y,
            100.0 * off.abs(),
            if off > 0.0 { "brighter" } else { "darker" }
        ),
        at: Some(at),
    })
}

fn halo(raster: &Raster<[f32; 3], Table>, patches: &[Patch], light: &Light) -> Option<Warning> {
    let white = patches.iter().filter(|p| p.ground == Ground::White);
    let rims = white.filter_map(|p| Some((p, rim(raster, p.bounds, light)?)));
    let rims: Vec<(&Patch, f64)> = rims.collect();
    // One sheet may be dog-eared; of two or more, most must agree.
    let mut all: Vec<f64> = rims.iter().map(|(_, v)| *v).collect();
    let typical = median(&mut all);
    let agree = rims
        .iter()
        .filter(|(_, v)| v.signum() == typical.signum())
        .count();
    if typical.abs() < HALO || rims.len() < 2 || 4 * agree < 3 * rims.len() {
        return None;
    }
    let worst = rims.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    Some(Warning {
        about: About::Tone,
        text: format!(
            "White sheets are {:.0} % {} at their rims than in their middles: the camera brightens parts of the photo apart, so shades of cloth can't be trusted; switch its HDR and scene modes off, or use another camera app.",
            100.0 * typical.abs(),
            if typical > 0.0 { "brighter" } else { "darker" }
        ),
        at: Some(worst.0.bounds.center()),
    })
}

/// How much brighter a sheet's rim is than its middle, relative, once the light is taken
/// out; `None` if it is too small or can't be seen.
fn rim(raster: &Raster<[f32; 3], Table>, b: Bounds<Table>, light: &Light) -> Option<f64> {
    let short = b.width().min(b.height());
    if MIDDLE * short < RIM[1] + raster.cell() {
        return None;
    }
    let (mut rim, mut middle) = (Vec::new(), Vec::new());
    let low = raster.bounds().min;
    let first = |from: f64| (from / raster.cell()).floor().max(0.0) as usize;
    for row in first(b.min.y - low.y)..first(b.max.y - low.y).min(raster.height()) {
        for column in first(b.min.x - low.x)..first(b.max.x - low.x).min(raster.width()) {
            let p = raster.centre(column, row);
            let inside = (p.x - b.min.x)
                .min(b.max.x - p.x)
                .min(p.y - b.min.y)
                .min(b.max.y - p.y);
            let Some(v) = raster
                .get(column, row)
                .filter(|v| v.iter().all(|v| *v > 0.0))
            else {
                continue;
            };
            let to = if (RIM[0]..RIM[1]).contains(&inside) {
                &mut rim
            } else if inside > MIDDLE * short {
                &mut middle
            } else {
                continue;
            };
            let [r, g, bl] = light.relative(p);
            let lit = luminance_f32([r as f32, g as f32, bl as f32]);
            to.push(f64::from(luminance_f32(*v) / lit));
        }
    }
    if rim.len() < 12 || middle.len() < 12 {
        return None;
    }
    Some(median(&mut rim) / median(&mut middle) - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;

    fn sheets() -> Vec<Patch> {
        [
            [10.0, 10.0],
            [530.0, 10.0],
            [10.0, 305.0],
            [530.0, 305.0],
            [265.0, 305.0],
        ]
        .map(|[x, y]| Patch {
            bounds: Bounds::new(Point::new(x, y), Point::new(x + 60.0, y + 85.0)),
            ground: Ground::White,
        })
        .to_vec()
    }

    fn photo(camera: impl Fn(Point<Table>, f64) -> f64) -> Raster<[f32; 3], Table> {
        let (table, sheets) = (
            Bounds::new(Point::zero(), Point::new(600.0, 400.0)),
            sheets(),
        );
        let mut seed = 7u32;
        Raster::over(table, 1.0, |_, _, p: Point<Table>| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(seed >> 8) / f64::from(1u32 << 24) - 0.5;
            // How far inside a sheet; outside below 0.
            let inside = sheets.iter().map(|s| {
                let b = s.bounds;
                let x = (p.x - b.min.x).min(b.max.x - p.x);
                x.min(p.y - b.min.y).min(b.max.y - p.y)
            });
            let inside = inside.fold(f64::NEG_INFINITY, f64::max);
            let there = if inside > 0.0 { 0.88 } else { 0.25 };
            let lit = 0.6 + p.x / 3000.0 - ((p.y - 200.0) / 1000.0).powi(2);
            let v = there * lit * camera(p, inside) * (1.0 + 0.03 * noise);
            [v as f32; 3]
        })
    }

    fn warned(raster: &Raster<[f32; 3], Table>) -> Option<Warning> {
        let light = Light::fit(raster, &sheets()).unwrap();
        tone(raster, &sheets(), &light)
    }

    #[test]
    fn an_honest_camera_is_believed() {
        assert_eq!(warned(&photo(|_, _| 1.0)), None);
        // One that darkens its corners, too, as lenses do.
        let fall =
            |p: Point<Table>, _| 1.0 - 0.35 * ((p.x - 300.0).hypot(p.y - 200.0) / 360.0).powi(2);
        assert_eq!(warned(&photo(fall)), None);
    }

    #[test]
    fn halos_along_sheets_are_told() {
        let warning = warned(&photo(|_, inside| {
            1.0 + 0.06 * (-inside.abs() / 12.0).exp()
        }));
        let warning = warning.unwrap();
        assert!(
            warning.text.contains("% brighter at their rims"),
            "{}",
            warning.text
        );
        assert!(warning.text.contains("HDR"));
    }

    #[test]
    fn one_sheet_treated_apart_is_told() {
        let warning = warned(&photo(|p, _| {
            if p.y > 290.0 && (p.x - 295.0).abs() < 60.0 {
                0.9
            } else {
                1.0
            }
        }));
        let warning = warning.unwrap();
        assert!(warning.text.contains("(295, 348) mm"), "{}", warning.text);
        assert!(
            warning.text.contains("darker than the others"),
            "{}",
            warning.text
        );
    }
}
