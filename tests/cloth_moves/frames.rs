//! With real frames: the twin says where their light fell on the cloth.

use crate::person::{Person, Pose, bench_of, corners, cut_lines, demo, job_of, slip};
use crate::stretches::{Cut, JOIN, LIGHT, Stretches, strip};
use ghostchalk::calibration::{LensPlaceFile, MarkRow, Profile};
use ghostchalk::cloth::OnTable;
use ghostchalk::lay::{Pointing, carried};
use ghostchalk::rehearse::{OnCloth, landed};
use ghostchalk::render::{Device, Wanted};
use ghostchalk::shape::pairs;
use ghostchalk::space::{Cloth, Point, Table, Vector};
use ghostchalk::twin::rig::Rig;

fn profile(rig: &Rig) -> Profile {
    let marks = [[20.0, 20.0], [1180.0, 20.0], [1180.0, 780.0], [20.0, 780.0]];
    let rows = marks.map(|[x, y]| MarkRow {
        table: Point::new(x, y),
        projector: rig.project(x, y, 0.0),
    });
    let mut profile = Profile::of_four(&rows, rig.optics().size, false).unwrap();
    let [x, y, z] = rig.lens();
    profile.lens_place = Some(LensPlaceFile {
        foot_mm: [x, y],
        height_mm: z,
    });
    profile
}

/// The direction into the piece at the place of a cut line nearest to `p`.
fn inward(lines: &[Vec<Point<Cloth>>], p: Point<Cloth>) -> Vector<Cloth> {
    let edges = lines.iter().flat_map(|ring| pairs(ring));
    let off = |(a, b): &(Point<Cloth>, Point<Cloth>)| {
        let along = *b - *a;
        let t = ((p - *a).dot(along) / along.square_length()).clamp(0.0, 1.0);
        (*a + along * t - p).length()
    };
    let (a, b) = edges.min_by(|e, f| off(e).total_cmp(&off(f))).unwrap();
    let along = (b - a).normalize();
    Vector::new(-along.y, along.x)
}

/// What the twin saw, less what the poses say, mm, sizes in order.
fn misses(seen: &[OnCloth], lines: &[Vec<Point<Cloth>>], lit: &Pose, truly: &Pose) -> Vec<f64> {
    let lit_at = |p: Point<Cloth>| p + slip(lit, truly, p);
    let edges = || lines.iter().flat_map(|ring| pairs(ring));
    let miss = |s: &OnCloth| {
        // Across the cut line to where the lit line, moved as a whole, is met:
        // on a curve that is not quite the slip's own part across.
        let n = inward(lines, s.at);
        let met = edges().filter_map(|(a, b)| {
            let (a, along) = (lit_at(a), lit_at(b) - lit_at(a));
            let over = along.cross(n);
            let share = n.cross(a - s.at) / over;
            let t = along.cross(a - s.at) / over;
            (0.0..=1.0).contains(&share).then_some(t)
        });
        let near = met.min_by(|t, u| t.abs().total_cmp(&u.abs()));
        (s.intrudes - near.expect("a lit line")).abs()
    };
    let mut all: Vec<f64> = seen.iter().map(miss).collect();
    all.sort_by(f64::total_cmp);
    all
}

/// How thick the cloths are, mm: the demo's flannel, and the strip's canvas.
const FLANNEL: f64 = 0.9;
const CANVAS: f64 = 0.8;

#[test]
fn rendered_light_falls_on_moved_cloth_where_the_poses_say() {
    let rig = Rig::workshop();
    let profile = profile(&rig);
    let device = Device::open(Wanted::Best).unwrap();
    let mut job = demo();
    job.file.panels.retain(|p| p.name == "remnant");
    job.file.panels[0].on_table = OnTable {
        x_mm: 340.0,
        y_mm: 300.0,
        turn_deg: 0.0,
    };
    job.file.placed.retain(|p| p.panel == "remnant");
    let lines = cut_lines(&bench_of(&job), "remnant");
    let (mut actual, mut claimed, mut done) = (0.0_f64, 0.0_f64, 0);
    for seed in 0.. {
        let n = 2 + done % 3;
        let mut person = Person::new(bench_of(&job), "remnant", 7000 + seed);
        let marks = corners(&mut person, [520.0, 200.0], n);
        let before = person.pose();
        person.give(&marks, &before);
        let truly = person.moved(Point::new(260.0, 100.0), 300.0, 20.0);
        // Only moves that leave the whole panel in the light.
        let inside = |p: &Point<Table>| {
            (20.0..LIGHT[0] - 20.0).contains(&p.x) && (20.0..LIGHT[1] - 20.0).contains(&p.y)
        };
        if !lines.iter().flatten().all(|&p| inside(&truly.point(p))) {
            continue;
        }
        let used: Vec<usize> = (0..n).collect();
        let seen = person.carry(&marks, &used, &truly).seen;
        let found = carried(seen, Pointing::default()).unwrap();
        let lit = person.pose();
        let job = job_of(&job, &person.bench);
        let landed = landed(&device, &job, &rig, &profile, |_| (truly, FLANNEL)).unwrap();
        assert_eq!(landed.missing, 0);
        let misses = misses(&landed.found, &lines, &lit, &truly);
        let count = misses.len();
        let (p95, worst) = (misses[count * 95 / 100], misses[count - 1]);
        println!("move {seed}: {count} edges, 95 % within {p95:.4} mm, worst {worst:.4}");
        assert!(count > 600, "{count}");
        // The twin finds a line best where it belongs (0.02 px, closed_loop.rs);
        // these are 1 to 2 px off it. What is measured is some 0.7 mm: a
        // thirtieth of that tells whether the light is where the poses say.
        assert!(p95 < 0.02 && worst < 0.05, "{p95} {worst}");
        for s in &landed.found {
            actual += s.intrudes.powi(2);
            claimed += found.error_at(s.at).powi(2) / 2.0;
        }
        done += 1;
        if done == 6 {
            break;
        }
    }
    // Of an error in both axes the line shows what is across it: half. From so
    // few moves the ratio is rough.
    let ratio = (actual / claimed).sqrt();
    println!("six moves: {ratio:.2} of the claim");
    assert!((0.3..2.0).contains(&ratio), "{ratio}");
}

#[test]
fn the_twin_sees_the_step_between_two_stretches() {
    let rig = Rig::workshop();
    let profile = profile(&rig);
    let device = Device::open(Wanted::Best).unwrap();
    let job = strip();
    let ways = Stretches {
        first: Some(&[0, 1]),
        second: &[0, 1],
    };
    for seed in 0..3 {
        let Cut { person, poses, .. } = ways.cut(&job, 90_000 + seed);
        let lines = cut_lines(&person.bench, "canvas");
        let near = |s: &&OnCloth| (s.at.x - JOIN[0][0]).abs() < 25.0;
        let mut sums = [Vector::<Cloth>::zero(); 2];
        for (k, (lit, truly)) in poses.iter().enumerate() {
            let mut job = job.clone();
            job.file.panels[0].on_table = OnTable {
                x_mm: lit.shift.x,
                y_mm: lit.shift.y,
                turn_deg: lit.turn.to_degrees(),
            };
            let landed = landed(&device, &job, &rig, &profile, |_| (*truly, CANVAS)).unwrap();
            let seen: Vec<OnCloth> = landed.found.iter().filter(near).copied().collect();
            assert!(seen.len() > 40, "{}", seen.len());
            let misses = misses(&seen, &lines, lit, truly);
            assert!(misses[misses.len() - 1] < 0.02, "{misses:?}");
            // Both edges together: how far the light lies to the side.
            let sides = seen.iter().map(|s| inward(&lines, s.at) * s.intrudes);
            sums[k] = sides.fold(Vector::zero(), |a, b| a + b) / seen.len() as f64;
        }
        let middle = Point::new(JOIN[0][0], 130.0);
        let [one, two] = poses;
        let step = slip(&two.0, &two.1, middle) - slip(&one.0, &one.1, middle);
        let seen = (sums[1] - sums[0]).y;
        println!(
            "strip {seed}: a step of {seen:.3} mm seen, {:.3} by the poses",
            step.y
        );
        assert!((seen - step.y).abs() < 0.02, "{seen} {}", step.y);
    }
}
