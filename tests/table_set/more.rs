//! More marks than four, and a board: they tell the lens, and a slip of the tape at one is told.

use crate::room::{Room, answer, aslant, begun, moved, read, taped, type_all};
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::stand::Side;
use ghostchalk::twin::rig::Rig;
use ghostchalk::work::setting::{Setting, SettingAct, Step};

/// Sets more marks, each where the light proposes it: stuck down within 8 mm of the
/// cross, the cross moved onto it within half a pixel or so, and measured from the four
/// to half a millimetre. Returns what was said at the last.
fn more_marks(room: &Room, setting: &mut Setting, count: usize, seed: u64) -> String {
    use rand::{RngExt, SeedableRng};
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let mut normal = move || {
        let (u, v): (f64, f64) = (rng.random(), rng.random());
        (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    };
    answer(setting, SettingAct::Choose(0));
    for k in 0..count {
        assert_eq!(setting.step(), Step::More);
        let (number, cross, _) = setting.cross();
        assert_eq!(number as usize, 5 + k);
        let near = room.rig.land(room.flip(cross), 0.0).unwrap();
        let mark = near + Vector::new(normal(), normal()) * 4.0;
        let goal = room.pixel(mark) + Vector::new(normal(), normal()) * 0.4;
        answer(setting, SettingAct::Drag(goal));
        let distances = room.marks.map(|m| (m - mark).length() + 0.4 * normal());
        type_all(setting, distances.map(|mm| format!("{mm:.1}")));
        answer(setting, SettingAct::GoOn);
    }
    let said = setting.answer(SettingAct::Choose(0)).said.unwrap();
    assert_eq!(setting.step(), Step::Done);
    said.words
}

#[test]
fn more_marks_learn_the_lens_and_light_is_as_true_as_is_stated() {
    let (mut actual, mut stated) = (0.0, 0.0);
    let seeds = 6;
    for seed in 0..seeds {
        let mut room = Room::new(aslant(), false);
        room.rig = Rig::workshop_with_lens();
        let mut setting = begun(Side::Front, 0, false);
        taped(&room, &mut setting);
        read(&room, &mut setting);
        moved(&room, &mut setting);
        // Without the check: a lens bends more than its tolerance.
        let _ = setting.answer(SettingAct::Choose(0));
        assert_eq!(setting.step(), Step::Done);
        let before = room.off(&setting)[1];
        let said = more_marks(&room, &mut setting, 14, seed);
        assert!(
            said.contains("by 18 marks") && said.contains("lens"),
            "{said}"
        );
        let profile = setting.profile("2031-05-17").unwrap();
        assert!(profile.lens.is_some() && profile.marks.len() == 18);
        // What is read back from its file states the same errors.
        let text = toml::to_string(&profile).unwrap();
        let again: ghostchalk::calibration::Profile = toml::from_str(&text).unwrap();
        let (marks, _, fit) = again.refit().unwrap();
        let field = fit.field(&marks);
        let mapping = again.mapping().unwrap();
        let after = room.off(&setting)[1];
        println!("seed {seed}: {before:.2} mm at most with four, {after:.2} with 18; {said}");
        assert!(after < 0.5 * before);
        let m: Vec<Point<Table>> = marks.iter().map(|m| m.table).collect();
        for i in 1..8 {
            for j in 1..8 {
                let [u, v] = [i, j].map(|k| f64::from(k) / 8.0);
                let p = m[0].lerp(m[1], u).lerp(m[3].lerp(m[2], u), v);
                let q = mapping.pixel(p, 0.0).unwrap();
                let stated_px = fit.mapping.pixel(p, 0.0).unwrap();
                assert!((q - stated_px).length() < 1e-6);
                actual += (room.falls(q) - p).square_length() / 2.0;
                stated += field.across(p).unwrap().powi(2);
            }
        }
    }
    let n = 49.0 * seeds as f64;
    let (actual, stated) = ((actual / n).sqrt(), (stated / n).sqrt());
    println!("light true to {actual:.3} mm, stated {stated:.3}");
    assert!(actual < 1.35 * stated, "{actual} {stated}");
}

#[test]
fn a_board_in_its_outline_of_light_finds_the_lens() {
    let mut room = Room::new(aslant(), false);
    room.rig = Rig::workshop_with_lens();
    let mut setting = begun(Side::Front, 0, false);
    taped(&room, &mut setting);
    read(&room, &mut setting);
    moved(&room, &mut setting);
    let _ = setting.answer(SettingAct::Choose(0));
    more_marks(&room, &mut setting, 14, 3);
    answer(&mut setting, SettingAct::Choose(1));
    assert_eq!(setting.step(), Step::Board);
    let said = setting.answer(SettingAct::GoOn).said.unwrap();
    assert!(said.warning && said.words.contains("width"), "{said:?}");
    type_all(&mut setting, ["600", "400", "6cm"].map(str::to_owned));
    let outline = setting.board_outline().unwrap();
    answer(&mut setting, SettingAct::GoOn);
    // It lies as the light of its outline does, 60 mm up.
    let mapping = setting.mapping().unwrap();
    let falls = outline.map(|p| {
        let q = mapping.pixel(p, 0.0).unwrap();
        room.rig.land(room.flip(q), 0.0).unwrap()
    });
    for (k, p) in falls.iter().enumerate() {
        assert_eq!(setting.board_corner(), Some(k));
        let goal = room.rig.project(p.x, p.y, 60.0);
        let (_, cross, _) = setting.cross();
        // The cross is offered near enough to be found.
        assert!((goal - cross).length() < 60.0, "{goal:?} {cross:?}");
        answer(
            &mut setting,
            SettingAct::Drag(goal + Vector::new(0.3, -0.2)),
        );
        if k < 3 {
            answer(&mut setting, SettingAct::GoOn);
        }
    }
    let said = setting.answer(SettingAct::GoOn).said.unwrap().words;
    assert_eq!(setting.step(), Step::Done);
    println!("{said}");
    let profile = setting.profile("2031-05-17").unwrap();
    let lens = profile.lens_place.unwrap();
    let [x, y, z] = room.rig.lens();
    let foot = room.place.inverse().point(Point::new(x, y));
    let off = (Point::from(lens.foot_mm) - foot).length();
    assert!(
        off < 90.0 && (lens.height_mm - z).abs() < 90.0,
        "{lens:?} {foot:?} {z}"
    );
    // The marks are kept, and the lens' place with them.
    assert_eq!(profile.marks.len(), 18);
    assert!(setting.answer(SettingAct::GoOn).ended.is_some());
    assert!(setting.profile("2031-05-17").unwrap().lens_place.is_some());
}

#[test]
fn a_slip_of_the_tape_at_a_fifth_mark_is_told_and_a_mark_can_be_taken_out() {
    let room = Room::new(aslant(), false);
    let mut setting = begun(Side::Front, 0, false);
    taped(&room, &mut setting);
    read(&room, &mut setting);
    moved(&room, &mut setting);
    let _ = setting.answer(SettingAct::Choose(0));
    let four = setting.profile("2031-05-17").unwrap();
    answer(&mut setting, SettingAct::Choose(0));
    let (_, cross, _) = setting.cross();
    let mark = room.rig.land(cross, 0.0).unwrap();
    let mut distances = room.marks.map(|m| (m - mark).length());
    distances[2] += 25.0;
    // Two are too few.
    type_all(
        &mut setting,
        distances[..2].iter().map(|mm| format!("{mm:.1}")),
    );
    let said = setting.answer(SettingAct::GoOn).said.unwrap();
    assert!(
        said.warning && said.words.contains("three distances"),
        "{said:?}"
    );
    for k in [2, 3] {
        answer(&mut setting, SettingAct::Field(k));
        answer(
            &mut setting,
            SettingAct::Typed(format!("{:.1}", distances[k])),
        );
    }
    let said = setting.answer(SettingAct::GoOn).said.unwrap();
    assert!(
        said.warning && said.words.contains("take again"),
        "{said:?}"
    );
    assert!(said.words.contains("mark 3 to mark 5"), "{said:?}");
    // Put right, it is set; and taken out again.
    answer(&mut setting, SettingAct::Field(2));
    answer(
        &mut setting,
        SettingAct::Typed(format!("{:.1}", distances[2] - 25.0)),
    );
    answer(&mut setting, SettingAct::GoOn);
    assert_eq!(setting.cross().0, 6);
    answer(&mut setting, SettingAct::Choose(1));
    assert_eq!(setting.cross().0, 5);
    answer(&mut setting, SettingAct::Choose(0));
    assert_eq!(setting.profile("2031-05-17").unwrap(), four);
    assert_eq!(setting.step(), Step::Done);
    assert!(setting.answer(SettingAct::GoOn).ended.is_some());
}
