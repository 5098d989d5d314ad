//! How long a calibration takes, beside the same fit by another library's way: slopes by
//! differences, as `scipy.optimize.least_squares` takes them by default.

use crate::table::Table;
use crate::timing::median;
use ghostchalk::adjust::gauss_newton;
use ghostchalk::calibration::fit::{Believed, Fit, Form, Places, Sighted};
use ghostchalk::space::Point;
use ghostchalk::twin::lens::Lens;
use ghostchalk::twin::rig::{Optics, Rig};

/// Of each fit.
const RUNS: usize = 31;

pub fn run() {
    let optics = Optics {
        size: [1920, 1080],
        focal: [2016.0; 2],
        centre: Point::new(960.0, 900.0),
        lens: Lens {
            k1: -0.06,
            ..Lens::default()
        },
    };
    let lens = [600.0, 128.6, 1520.0];
    let aim = Point::new(600.0, 128.600_001);
    let rig = Rig::looking(lens, aim, 0.0, optics).expect("a sound rig");
    let numbers = [
        "marks",
        "all of the fit, ms",
        "one mark dragged, ms",
        "by differences, ms",
    ];
    let mut table = Table::new([], numbers);
    for (across, deep) in [(5, 4), (8, 5), (10, 10)] {
        let marks = marks(&rig, across, deep);
        let believed = Believed {
            hand_px: 0.5,
            places: Places::Each(0.5),
        };
        let fit = |marks: &[Sighted]| {
            Fit::new(marks, [1920, 1080], &believed, Form::Lens).expect("these marks fix a lens")
        };
        let whole = median(RUNS, &mut || {
            std::hint::black_box(fit(&marks));
        });
        let mut dragged = marks.clone();
        let mut step = 0.0;
        let drag = median(RUNS, &mut || {
            step += 0.1;
            dragged[7].pixel.x += step % 1.0 - 0.5;
            std::hint::black_box(fit(&dragged));
        });
        let near = fit(&marks);
        let peer = median(RUNS, &mut || {
            std::hint::black_box(by_differences(&marks, &near));
        });
        let ms = [whole, drag, peer].map(|ms| format!("{ms:.2}"));
        table.row(std::iter::once((across * deep).to_string()).chain(ms));
    }
    table.print();
}

fn marks(rig: &Rig, across: usize, deep: usize) -> Vec<Sighted> {
    let at = |k: usize, n: usize, far: f64| 20.0 + (far - 40.0) * k as f64 / (n - 1) as f64;
    let each = (0..across * deep).map(|k| {
        let table = Point::new(at(k % across, across, 1200.0), at(k / across, deep, 800.0));
        let q = rig.project(table.x, table.y, 0.0);
        // Not quite where they should be.
        let off = |s: f64| 0.5 * (s * 12.9898 + k as f64 * 78.233).sin();
        Sighted {
            name: format!("mark {}", k + 1),
            table,
            pixel: Point::new(q.x + off(1.0), q.y + off(2.0)),
        }
    });
    each.collect()
}

/// The same unknowns and weights, started near the answer.
fn by_differences(marks: &[Sighted], near: &Fit) -> Option<f64> {
    let lens = near.mapping.lens?;
    let h = near.mapping.homography.rows();
    let mut start: Vec<f64> = h.iter().flatten().take(8).copied().collect();
    start.extend([lens.k1, lens.p1, lens.p2]);
    let scale: Vec<f64> = start.iter().map(|v| v.abs().max(1e-6) * 1e-5).collect();
    let found = gauss_newton(&start, &scale, |u| {
        let mut rows = [[u[0], u[1], u[2]], [u[3], u[4], u[5]], [u[6], u[7], 1.0]];
        rows[2][2] = h[2][2];
        let map = ghostchalk::projection::Homography::from_rows(rows);
        let bent = ghostchalk::projection::Lens {
            k1: u[8],
            p1: u[9],
            p2: u[10],
            ..lens
        };
        let off = |m: &Sighted| {
            let q = map.and_then(|map| bent.bend(map.point(m.table)?));
            q.map_or([f64::NAN; 2], |q| ((q - m.pixel) / 0.63).to_array())
        };
        marks.iter().flat_map(off).collect()
    });
    found.ok().map(|s| s.chi2)
}
