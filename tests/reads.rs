//! The F test: a shape that reads F in the editor reads F to the operator
//! face up, and is mirrored face down. And the frame obeys what must not
//! change it.

mod common;

use common::{devices, hard_scene, keystone, linear, picture};
use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::job::Job;
use ghostchalk::projection::{Homography, Mapping};
use ghostchalk::render::{Canvas, Picture, Rect, draw};
use ghostchalk::space::Point;
use ghostchalk::twin::rig::Rig;
use std::path::Path;

const SIZE: [u32; 2] = [1920, 1080];

/// An F, 100 mm high, stem to the left, as any editor shows it (y down).
fn f_svg(unit: f64, name: &str) -> String {
    let d = [
        (20.0, 20.0),
        (80.0, 20.0),
        (80.0, 40.0),
        (40.0, 40.0),
        (40.0, 60.0),
        (70.0, 60.0),
        (70.0, 80.0),
        (40.0, 80.0),
        (40.0, 120.0),
        (20.0, 120.0),
    ]
    .map(|(x, y)| format!("{} {}", x / unit, y / unit))
    .join(" L");
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{w}{name}' height='{h}{name}' viewBox='0 0 {w} {h}'>\
         <g data-piece='F'><path class='cut' d='M{d}Z'/></g></svg>",
        w = 160.0 / unit,
        h = 160.0 / unit
    )
}

fn job(dir: &Path, svg: &str, face: &str, turn: f64) -> Job {
    std::fs::write(dir.join("f.svg"), svg).unwrap();
    let job = format!(
        "ghostchalk_job = 1\nname = \"F\"\n[[pattern]]\nfile = \"f.svg\"\n[[cloth]]\nname = \"c\"\n\
         [[article]]\nname = \"1\"\n[[article.part]]\npiece = \"F\"\ncloth = \"c\"\ncount = 1\n\
         [[panel]]\nname = \"p\"\ncloth = \"c\"\noutline_mm = [[0,0],[600,0],[600,400],[0,400]]\n\
         on_table = {{ x_mm = 300, y_mm = 200, turn_deg = 0 }}\n\
         [[placed]]\npiece = \"F\"\narticle = \"1\"\npanel = \"p\"\nx_mm = 300\ny_mm = 200\n\
         turn_deg = {turn}\nface = \"{face}\"\n"
    );
    std::fs::write(dir.join("job.toml"), job).unwrap();
    Job::open(dir).unwrap()
}

/// A profile of the twin's own projector, so that the loop closes outside us.
fn profile(rig: &Rig) -> Profile {
    let rows = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]].map(|[x, y]| MarkRow {
        table: Point::new(x, y),
        projector: rig.project(x, y, 0.0),
    });
    Profile::of_four(&rows, SIZE, false).unwrap()
}

fn frame(job: &Job, profile: &Profile) -> Picture {
    let mapping = profile.mapping().unwrap();
    let lit = ghostchalk::frame::light(job, profile, &mapping).unwrap();
    ghostchalk::frame::picture(&devices()[0], lit.lamp.scene(), &mapping, SIZE).unwrap()
}

/// The pixels that the band walls in: not lit, and not reached from the
/// picture's corner. Letters enclose little; the F is the largest.
fn walled_in(frame: &Picture) -> Vec<(i64, i64)> {
    let (w, h) = (i64::from(frame.width), i64::from(frame.height));
    let mut seen: Vec<bool> = frame.codes.iter().map(|c| *c > 0).collect();
    let mut fill = |from: (i64, i64)| {
        let mut found = Vec::new();
        let mut todo = vec![from];
        while let Some((x, y)) = todo.pop() {
            let inside = x >= 0 && y >= 0 && x < w && y < h;
            if inside && !std::mem::replace(&mut seen[(y * w + x) as usize], true) {
                found.push((x, y));
                todo.extend([(x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)]);
            }
        }
        found
    };
    fill((0, 0));
    let all = (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
    all.map(fill).max_by_key(Vec::len).unwrap()
}

/// Where an F shape has its mass, on the table as the twin sees it: mean place
/// of the inside against the middle of its box, as a share of the box.
fn leaning(rig: &Rig, inside: &[(i64, i64)]) -> (f64, f64) {
    let on_table: Vec<_> = inside
        .iter()
        .map(|&(x, y)| {
            rig.land(Point::new(x as f64 + 0.5, y as f64 + 0.5), 0.0)
                .unwrap()
        })
        .collect();
    let b = ghostchalk::shape::bounds(on_table.iter().copied()).unwrap();
    let n = on_table.len() as f64;
    let mean = on_table
        .iter()
        .fold((0.0, 0.0), |m, p| (m.0 + p.x / n, m.1 + p.y / n));
    assert!(
        (b.width() - 60.0).abs() < 3.0 || (b.height() - 60.0).abs() < 3.0,
        "{b:?}"
    );
    (
        (mean.0 - b.center().x) / b.width(),
        (mean.1 - b.center().y) / b.height(),
    )
}

#[test]
fn f_reads_f_to_the_operator() {
    let dir = tempfile::tempdir().unwrap();
    let rig = Rig::workshop();
    let p = profile(&rig);
    let lean = |face: &str, turn: f64| {
        let job = job(dir.path(), &f_svg(1.0, "mm"), face, turn);
        leaning(&rig, &walled_in(&frame(&job, &p)))
    };
    // F is heavy to the left (its stem) and to the top (its arms).
    let (x, y) = lean("up", 0.0);
    assert!(x < -0.05 && y > 0.05, "face up: ({x}, {y})");
    let (x, y) = lean("down", 0.0);
    assert!(x > 0.05 && y > 0.05, "face down: ({x}, {y})");
    // A quarter turn counter-clockwise brings the top to the left.
    let (x, y) = lean("up", 90.0);
    assert!(x < -0.05 && y < -0.05, "turned: ({x}, {y})");
}

#[test]
fn an_inch_job_is_its_mm_job() {
    let dir = tempfile::tempdir().unwrap();
    let p = profile(&Rig::workshop());
    let mm = frame(&job(dir.path(), &f_svg(1.0, "mm"), "up", 12.0), &p);
    let inch = frame(&job(dir.path(), &f_svg(25.4, "in"), "up", 12.0), &p);
    let px = frame(&job(dir.path(), &f_svg(25.4 / 96.0, "px"), "up", 12.0), &p);
    for other in [inch, px] {
        let worst = mm
            .codes
            .iter()
            .zip(&other.codes)
            .map(|(a, b)| a.abs_diff(*b))
            .max();
        assert!(worst <= Some(1), "{worst:?}");
    }
}

#[test]
fn a_frame_shifted_by_whole_pixels_is_the_same_frame() {
    let scene = hard_scene();
    let map = keystone(1920.0, 1080.0);
    let [a, b, c] = map.homography.rows();
    let (dx, dy) = (37.0, -21.0);
    let add = |row: [f64; 3], by: f64| std::array::from_fn(|k| row[k] + by * c[k]);
    let shifted = Homography::from_rows([add(a, dx), add(b, dy), c]).unwrap();
    let shifted = Mapping {
        homography: shifted,
        ..map
    };
    for device in devices() {
        let still = picture(&device, &scene, &map, 1920, 1080);
        let moved = picture(&device, &scene, &shifted, 1920, 1080);
        let mut differ = 0;
        for y in 30..1050usize {
            for x in 10..1870usize {
                let to = (y as i64 + dy as i64) as usize * 1920 + (x as i64 + dx as i64) as usize;
                let (p, q) = (still.codes[y * 1920 + x], moved.codes[to]);
                assert!(p.abs_diff(q) <= 1, "({x}, {y}): {p} {q}");
                differ += usize::from(p != q);
            }
        }
        // Only where a value lies on the edge between two codes.
        assert!(differ < 60, "{differ}");
    }
}

#[test]
fn a_frame_twice_as_fine_averages_to_the_frame() {
    let scene = hard_scene();
    let device = &devices()[0];
    let coarse = linear(&picture(
        device,
        &scene,
        &keystone(1920.0, 1080.0),
        1920,
        1080,
    ));
    let fine = linear(&picture(
        device,
        &scene,
        &keystone(3840.0, 2160.0),
        3840,
        2160,
    ));
    for y in 0..1080 {
        for x in 0..1920 {
            let at = |dx: usize, dy: usize| fine[(2 * y + dy) * 3840 + 2 * x + dx];
            let mean = (at(0, 0) + at(1, 0) + at(0, 1) + at(1, 1)) / 4.0;
            // Half a code on either side: .0045 each.
            assert!((mean - coarse[y * 1920 + x]).abs() < 0.009, "({x}, {y})");
        }
    }
}

#[test]
fn every_driver_draws_the_same_frame() {
    let frames: Vec<Picture> = devices()
        .iter()
        .map(|d| picture(d, &hard_scene(), &keystone(1920.0, 1080.0), 1920, 1080))
        .collect();
    // Where a whole desktop is there, so are two drivers.
    let demanded = std::env::var_os("GHOSTCHALK_DESKTOP_TESTS").is_some();
    assert!(frames.len() > 1 || !demanded, "there is one driver alone");
    for other in &frames[1..] {
        let worst = frames[0]
            .codes
            .iter()
            .zip(&other.codes)
            .map(|(a, b)| a.abs_diff(*b))
            .max();
        assert!(worst <= Some(1), "{worst:?}");
    }
}

#[test]
fn redrawing_what_changed_gives_the_whole_frame() {
    let scene = hard_scene();
    let map = keystone(1920.0, 1080.0);
    let mut drawn: Vec<_> = scene
        .figures
        .iter()
        .map(|f| draw(f, &map, 1920, 1080))
        .collect();
    for device in devices() {
        let mut canvas = Canvas::new(&device, 1920, 1080).unwrap();
        canvas.redraw(Rect::of_size(1920, 1080), &drawn);
        // One figure moves a little; another goes.
        let mut figure = scene.figures[8].clone();
        for ring in figure.patches.iter_mut().flat_map(|p| &mut p.region.rings) {
            for p in ring {
                p.x += 3.3;
                p.y -= 1.7;
            }
        }
        let was = [drawn[8].rect(), drawn[3].rect()];
        drawn[8] = draw(&figure, &map, 1920, 1080);
        drawn[3] = draw(&Default::default(), &map, 1920, 1080);
        canvas.redraw(was[0].union(&drawn[8].rect()), &drawn);
        canvas.redraw(was[1], &drawn);
        let kept = canvas.read().unwrap();
        canvas.redraw(Rect::of_size(1920, 1080), &drawn);
        assert_eq!(kept, canvas.read().unwrap(), "{}", device.name());
        drawn = scene
            .figures
            .iter()
            .map(|f| draw(f, &map, 1920, 1080))
            .collect();
    }
}

#[test]
fn the_devices_clock_can_be_read_frame_after_frame() {
    let map = keystone(640.0, 360.0);
    let drawn: Vec<_> = hard_scene()
        .figures
        .iter()
        .map(|f| draw(f, &map, 640, 360))
        .collect();
    for device in devices() {
        let mut canvas = Canvas::new(&device, 640, 360).unwrap();
        canvas.start_stopwatch();
        for _ in 0..3 {
            canvas.redraw(Rect::of_size(640, 360), &drawn);
            if let Some(seconds) = canvas.seconds().unwrap() {
                assert!((0.0..10.0).contains(&seconds), "{seconds}");
            }
        }
    }
}
