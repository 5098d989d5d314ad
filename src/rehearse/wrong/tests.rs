use super::said::{marks, said};
use super::stage::{Stage, warmed};
use super::{Wrong, set};
use crate::frame::light;
use crate::job::Job;
use crate::render::Picture;
use crate::space::{Point, Projector, Vector};
use crate::twin::rig::Rig;
use std::path::Path;

fn demo() -> Job {
    Job::open(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data")).unwrap()
}

#[test]
fn a_table_on_which_nothing_went_wrong_is_still() {
    let mapping = set(&Rig::workshop()).unwrap().mapping().unwrap();
    let stage = Stage::before().unwrap();
    let said = marks(&stage, &mapping).unwrap();
    assert!(!said.noticed, "{said:?}");
    let job = demo();
    let profile = set(&Rig::workshop()).unwrap();
    let lit = light(&job, &profile, &mapping).unwrap();
    let lay = stage.lay(&lit, &mapping);
    assert!(lay.len() > 500);
    assert!(lay.iter().all(|b| b.off.length() < 1e-6));
}

#[test]
fn whatever_goes_wrong_is_noticed_and_named() {
    let profile = set(&Rig::workshop()).unwrap();
    let mapping = profile.mapping().unwrap();
    let job = demo();
    let lit = light(&job, &profile, &mapping).unwrap();
    // What the words must say, and how far the lay's light is off, mm.
    let expected = [
        (Wrong::Keystone, "out of shape", 2.0..9.0),
        (Wrong::Overscan, "out of shape", 10.0..40.0),
        (Wrong::Dimming, "hard to see", 0.0..1e-6),
        (Wrong::WarmUp, "too large", 0.8..4.0),
        (Wrong::Table, "turned", 3.0..10.0),
        (Wrong::Cloth, "carried", 2.0..8.0),
        (Wrong::Mark, "mark 3", 0.0..1e-6),
        (Wrong::Shadow, "shadow", 0.0..1e-6),
    ];
    assert_eq!(expected.each_ref().map(|e| e.0), Wrong::ALL);
    for (wrong, words, off) in expected {
        assert_eq!(Wrong::named(wrong.name()), Some(wrong));
        let now = Stage::of(wrong, &job).unwrap();
        let said = said(wrong, &now, &job, &mapping).unwrap();
        assert!(said.noticed, "{wrong:?}: {said:?}");
        assert!(said.sentences.iter().any(|s| s.contains(words)), "{said:?}");
        let lay = now.lay(&lit, &mapping);
        let most = lay.iter().map(|b| b.off.length()).fold(0.0, f64::max);
        assert!(off.contains(&most), "{wrong:?}: {most} mm");
    }
}

#[test]
fn a_slid_cloth_leaves_the_tables_marks_in_their_light() {
    let mapping = set(&Rig::workshop()).unwrap().mapping().unwrap();
    let now = Stage::of(Wrong::Cloth, &demo()).unwrap();
    let said = marks(&now, &mapping).unwrap();
    assert!(!said.noticed, "{said:?}");
}

#[test]
fn a_rig_that_is_not_warmed_is_the_workshops() {
    let rig = Rig::workshop();
    let same = warmed(&rig, 1.0, Vector::zero()).unwrap();
    for [x, y, z] in [[0.0, 0.0, 0.0], [1200.0, 30.0, 0.0], [620.0, 790.0, 40.0]] {
        let off = same.project(x, y, z) - rig.project(x, y, z);
        assert!(off.length() < 1e-6, "{off:?}");
    }
    let warm = warmed(&rig, 1.0025, Vector::zero()).unwrap();
    let centre: Point<Projector> = rig.optics().centre;
    let (p, q) = (rig.project(0.0, 700.0, 0.0), warm.project(0.0, 700.0, 0.0));
    // The picture is larger on the table, so fewer of its pixels lie between two places.
    assert!(((q - centre) * 1.0025 - (p - centre)).length() < 1e-6);
}

#[test]
fn a_warped_picture_is_lit_where_its_pixels_are_taken_to() {
    // A square of 9 px about the pixel (1700, 200), in overscan.
    let [width, height] = Rig::workshop().optics().size;
    let mut frame = Picture {
        width,
        height,
        codes: vec![0; (width * height) as usize],
    };
    for (x, y) in (196..205).flat_map(|y| (1696..1705).map(move |x| (x, y))) {
        frame.codes[y * width as usize + x] = 255;
    }
    let now = Stage::of(Wrong::Overscan, &demo()).unwrap();
    let light = now.light(&frame).unwrap();
    // 3 % larger about the picture's middle (960, 540).
    let goal = [960.0 + 1.03 * 740.5, 540.0 - 1.03 * 339.5];
    let (mut sum, mut at) = (0.0, [0.0; 2]);
    for (x, y) in (150..230).flat_map(|y| (1690..1760).map(move |x| (x, y))) {
        let p = [f64::from(x) + 0.5, f64::from(y) + 0.5];
        let lit = light.emits(Point::new(p[0], p[1]));
        sum += lit;
        at = [at[0] + lit * p[0], at[1] + lit * p[1]];
    }
    // Its light grows as its area does.
    assert!((sum - 81.0 * 1.03 * 1.03).abs() < 1.5, "{sum}");
    for (got, want) in at.iter().zip(goal) {
        assert!((got / sum - want).abs() < 0.05, "{} {want}", got / sum);
    }
}
