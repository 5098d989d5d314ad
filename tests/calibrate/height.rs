//! The lens' place by a raised board, and what thickness does.

use super::over_seeds::{Noise, believed, grid, place_of, rig, survey};
use super::references::{list, load, number, place};
use ghostchalk::calibration::fit::{Sighted, best};
use ghostchalk::calibration::raised::{LAID, from_board, from_plumb};
use ghostchalk::projection::{LensPlace, Mapping};
use ghostchalk::space::{Point, Table, Vector};

#[test]
fn height_is_the_closed_form() {
    let all = load();
    assert!(list(&all["height"]).len() >= 20);
    for case in list(&all["height"]) {
        let p: Point<Table> = place(&case["place"]);
        let (h, t) = (number(&case["h"]), number(&case["t"]));
        let lens = LensPlace {
            foot: place(&case["foot"]),
            height: h,
        };
        let mapping = Mapping {
            lens_place: Some(lens),
            ..Mapping::pixels()
        };
        let want: Point<Table> = place(&case["aim"]);
        assert!((mapping.aim(p, t).unwrap() - want).length() < 1e-8);
        let found = from_plumb(lens.foot, h, [0.0, 0.0]).unwrap();
        let error = found.height_error(p, t).unwrap();
        assert!((error.displaced - number(&case["short"])).abs() < 1e-8);
        assert_eq!(error.left, 0.0);
    }
}

/// The board's marks: where the light says they stand, and the pixels set on them.
fn board(rig: &ghostchalk::twin::rig::Rig, thick: f64, noise: &mut Noise) -> Vec<Sighted> {
    let corners = [
        (250.0, 150.0),
        (950.0, 150.0),
        (950.0, 650.0),
        (250.0, 650.0),
        (600.0, 400.0),
    ];
    let ([a, b], [c, _]) = (noise.pair(), noise.pair());
    let turn = c * LAID / 430.0;
    let each = corners.iter().enumerate().map(|(k, &(x, y))| {
        let r = Vector::<Table>::new(x - 600.0, y - 400.0);
        let on: Point<Table> = Point::new(
            600.0 + r.x - turn * r.y + a * LAID,
            400.0 + r.y + turn * r.x + b * LAID,
        );
        let ([e, f], [u, v]) = (noise.pair(), noise.pair());
        Sighted {
            name: format!("board {}", k + 1),
            table: Point::new(x + 0.5 * e, y + 0.5 * f),
            pixel: rig.project(on.x, on.y, thick) + Vector::new(u, v) * 0.5,
        }
    });
    each.collect()
}

#[test]
fn a_raised_board_tells_where_the_lens_is_and_how_surely() {
    let rig = rig(15.0, 0.5);
    let [x, y, z] = rig.lens();
    let (mut foot, mut height, mut stated, mut left) = (0.0, 0.0, [0.0; 2], [0.0; 2]);
    let seeds = 200;
    let far = Point::new(1150.0, 60.0);
    for seed in 0..seeds {
        let mut noise = Noise::new(9000 + seed);
        let seen = survey(&rig, &grid(5, 4, 0.0), &mut noise);
        let fit = best(&seen, [1920, 1080], &believed(), &[]).unwrap().fit;
        let found = from_board(&fit, &board(&rig, 60.0, &mut noise), 60.0, [0.5, 0.5]).unwrap();
        let off = found.place.foot - Point::new(x, y);
        foot += off.square_length() / 2.0;
        height += (found.place.height - z).powi(2);
        let c = &found.covariance;
        stated[0] += (c[(0, 0)] + c[(1, 1)]) / 2.0;
        stated[1] += c[(2, 2)];
        // Light for cloth of 20 mm, by this lens against the true one.
        let with = |place| Mapping {
            lens_place: Some(place),
            ..fit.mapping
        };
        let own = with(found.place).aim(far, 20.0).unwrap();
        let real = LensPlace {
            foot: Point::new(x, y),
            height: z,
        };
        left[0] += (own - with(real).aim(far, 20.0).unwrap()).square_length() / 2.0;
        left[1] += found.height_error(far, 20.0).unwrap().left.powi(2);
    }
    let rms = |v: f64| (v / seeds as f64).sqrt();
    println!(
        "foot {:.1} mm (stated {:.1}), height {:.1} (stated {:.1}), light on 20 mm {:.3} (stated {:.3})",
        rms(foot),
        rms(stated[0]),
        rms(height),
        rms(stated[1]),
        rms(left[0]),
        rms(left[1]),
    );
    assert!((rms(foot) / rms(stated[0]) - 1.0).abs() < 0.1);
    assert!((rms(height) / rms(stated[1]) - 1.0).abs() < 0.15);
    assert!((rms(left[0]) / rms(left[1]) - 1.0).abs() < 0.15);
}

#[test]
fn without_error_light_on_cloth_is_the_twins_rays() {
    let rig = rig(15.0, 0.5);
    let [x, y, z] = rig.lens();
    // A lens model of the twin's own, through the fit of marks without error.
    let marks: Vec<Sighted> = grid(9, 7, 0.0)
        .into_iter()
        .enumerate()
        .map(|(k, p)| Sighted {
            name: format!("mark {k}"),
            table: p,
            pixel: rig.project(p.x, p.y, 0.0),
        })
        .collect();
    let fit = best(&marks, [1920, 1080], &believed(), &[]).unwrap().fit;
    let lens = LensPlace {
        foot: Point::new(x, y),
        height: z,
    };
    let mapping = Mapping {
        lens_place: Some(lens),
        ..fit.mapping
    };
    for thick in [5.0, 20.0] {
        for p in grid(7, 5, 60.0) {
            let q = mapping.pixel(p, thick).unwrap();
            // The rig's ray through that pixel, at the height of the cloth: from the
            // place that it lights on the table towards the lens.
            let on = place_of(&rig, q, p);
            let at = on + (Point::new(x, y) - on) * (thick / z);
            let flat = fit.mapping.pixel(p, 0.0).unwrap();
            let bias = place_of(&rig, flat, p) - p;
            // Less what the lens model leaves without any thickness.
            let off = (at - p - bias).length();
            // That this ray is the rig's own, its projection says.
            assert!((rig.project(at.x, at.y, thick) - q).length() < 1e-6);
            assert!(off <= 0.01, "{thick} {p:?} {off}");
        }
    }
}

#[test]
fn what_is_no_lens_is_refused_in_words() {
    let rig = rig(0.0, 0.0);
    let mut noise = Noise::new(3);
    let seen = survey(&rig, &grid(5, 4, 0.0), &mut noise);
    let fit = best(&seen, [1920, 1080], &believed(), &[]).unwrap().fit;
    let marks = board(&rig, 60.0, &mut noise);
    let said = |f: Result<_, ghostchalk::fault::Fault>| match f {
        Err(fault) => fault.to_string(),
        Ok(ghostchalk::calibration::raised::LensFound { place, .. }) => format!("{place:?}"),
    };
    assert!(said(from_board(&fit, &marks, 0.0, [0.5, 0.5])).contains("says nothing"));
    assert!(said(from_board(&fit, &marks[..3], 60.0, [0.5, 0.5])).contains("wants four"));
    let found = from_board(&fit, &marks, 60.0, [0.5, 0.5]).unwrap();
    let h = found.place.height;
    let fault = found
        .height_error(Point::new(0.0, 0.0), h)
        .unwrap_err()
        .to_string();
    assert!(fault.contains("reaches the lens"), "{fault}");
}
