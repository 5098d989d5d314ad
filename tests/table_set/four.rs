//! A table set by four marks, from any side: light falls as near as is stated, and what was
//! measured or typed wrong is told.

use crate::room::{Room, answer, aslant, begun, checked, moved, read, taped, type_all};
use ghostchalk::calibration::table_marks::Span;
use ghostchalk::space::Point;
use ghostchalk::stand::Side;
use ghostchalk::work::setting::{MOVED_TO, READ_TO, SettingAct, Step};
use proptest::prelude::*;

#[test]
fn a_table_out_of_square_is_set_as_finely_as_is_stated() {
    let room = Room::new(aslant(), false);
    let mut setting = begun(Side::Front, 0, false);
    taped(&room, &mut setting);
    read(&room, &mut setting);
    let (as_read, stated) = (room.off(&setting), setting.off(READ_TO).unwrap());
    moved(&room, &mut setting);
    let (as_moved, finest) = (room.off(&setting), setting.off(MOVED_TO).unwrap());
    println!("as read {as_read:?} (stated {stated:?}); moved {as_moved:?} (stated {finest:?})");
    // Half a tenth of a fine line is 0.2 px; straight from above, 2√2 of it.
    assert!((0.5..0.7).contains(&stated.px), "{stated:?}");
    assert!(as_read[0] <= stated.px && as_read[1] <= stated.mm);
    assert!(as_moved[0] <= finest.px && as_moved[1] <= finest.mm);
    assert!(as_moved[0] < 0.5 * as_read[0]);
    checked(&room, &mut setting);
    let verdict = setting.judged().unwrap();
    assert!(verdict.right(), "{verdict}");
    // Right by the tape; and four marks know nothing of the lens.
    let words = setting.asks().words;
    assert!(words[0].starts_with("within tolerance"), "{words:?}");
    assert!(words[0].contains("4 marks can't tell"), "{words:?}");
    // Taken for square, it would be 12 mm out.
    let lean = room.place.inverse().point(room.marks[3]).x;
    assert!((lean - 12.2).abs() < 0.1, "{lean}");
}

#[test]
fn a_width_typed_wrong_is_named() {
    let room = Room::new(
        [[60.0, 50.0], [1140.0, 50.0], [1140.0, 750.0], [60.0, 750.0]],
        false,
    );
    // With diagonals, the tape itself says so.
    let mut setting = begun(Side::Front, 0, false);
    let spans = [Span::Left, Span::Diagonal13, Span::Diagonal24];
    type_all(&mut setting, ["1070".to_owned()]);
    type_all(&mut setting, spans.map(|s| format!("{:.1}", room.span(s))));
    let said = setting.answer(SettingAct::GoOn).said.unwrap().words;
    assert!(
        said.contains("(mark 1 to 2) read 10.0 mm too short"),
        "{said}"
    );
    // Typed as places, the check says so.
    let mut setting = begun(Side::Front, 0, false);
    answer(&mut setting, SettingAct::Choose(0));
    let places = ["0", "0", "1070", "0", "1070", "700", "0", "700"];
    type_all(&mut setting, places.map(str::to_owned));
    answer(&mut setting, SettingAct::GoOn);
    answer(&mut setting, SettingAct::GoOn);
    read(&room, &mut setting);
    answer(&mut setting, SettingAct::GoOn);
    checked(&room, &mut setting);
    let verdict = setting.judged().unwrap().to_string();
    assert!(
        verdict.contains("widths are long") && verdict.contains("further apart across"),
        "{verdict}"
    );
    let _ = setting.answer(SettingAct::Choose(0));
    assert_eq!(setting.step(), Step::Tape);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn any_marks_from_any_side_are_set_as_finely_as_is_stated(
        off in prop::array::uniform8(-55.0..55.0f64), side in 0..4usize, turned in 0..4usize,
        mirror in any::<bool>(),
    ) {
        let at = [[70.0, 70.0], [1130.0, 70.0], [1130.0, 730.0], [70.0, 730.0]];
        let marks = std::array::from_fn(|k| [at[k][0] + off[2 * k], at[k][1] + off[2 * k + 1]]);
        let room = Room::new(marks, mirror);
        let mut setting = begun(Side::ALL[side], turned, mirror);
        taped(&room, &mut setting);
        read(&room, &mut setting);
        let (as_read, stated) = (room.off(&setting), setting.off(READ_TO).unwrap());
        prop_assert!(as_read[0] <= 1.001 * stated.px, "{:?} {:?}", as_read, stated);
        prop_assert!(as_read[1] <= 1.001 * stated.mm, "{:?} {:?}", as_read, stated);
        // Once set, words lie as they do for who stands there.
        let on = setting.upright();
        prop_assert_eq!(on.mirror_rig, mirror);
        let person = Side::ALL[side];
        let place = |x, y| room.falls(on.pixel(Point::new(x, y)));
        let right = person.to_person(place(410.0, 400.0) - place(400.0, 400.0));
        // But for the keystone and the lie of the marks.
        prop_assert!(right.x > 4.0 && right.y.abs() < 0.3 * right.x, "{:?}", right);
        moved(&room, &mut setting);
        let (as_moved, finest) = (room.off(&setting), setting.off(MOVED_TO).unwrap());
        prop_assert!(as_moved[0] <= 1.001 * finest.px, "{:?} {:?}", as_moved, finest);
        checked(&room, &mut setting);
        let verdict = setting.judged().unwrap();
        prop_assert!(verdict.right(), "{}", verdict);
    }
}
