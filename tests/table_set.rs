//! Setting a simulated table, from readings in the drawn grid to the tape on the
//! check picture: how far off light then falls, against what is stated.

use ghostchalk::calibration::reading::Grid;
use ghostchalk::calibration::table_marks::Span;
use ghostchalk::light::setting::reading_grid;
use ghostchalk::projection::Upright;
use ghostchalk::space::{Point, Projector, Rigid, Table, Vector};
use ghostchalk::stand::{Hand, Side};
use ghostchalk::twin::rig::Rig;
use ghostchalk::work::setting::{MOVED_TO, READ_TO, Setting, SettingAct, Start, Step};
use proptest::prelude::*;

const PICTURE: [u32; 2] = [1920, 1080];

/// A projector over a table with four marks on it.
struct Room {
    rig: Rig,
    /// The light goes over a mirror.
    mirror: bool,
    /// The marks where they are, in the room's millimetres.
    marks: [Point<Table>; 4],
    /// The profile's millimetres to the room's: mark 1 is the origin, mark 2 on
    /// the x axis.
    place: Rigid<Table, Table>,
}

impl Room {
    fn new(marks: [[f64; 2]; 4], mirror: bool) -> Self {
        let marks = marks.map(Point::from);
        let along = marks[1] - marks[0];
        let place = Rigid::new(false, along.y.atan2(along.x), marks[0].to_vector());
        Self {
            rig: Rig::workshop(),
            mirror,
            marks,
            place,
        }
    }

    fn flip(&self, q: Point<Projector>) -> Point<Projector> {
        if self.mirror {
            Point::new(f64::from(PICTURE[0]) - q.x, q.y)
        } else {
            q
        }
    }

    /// The pixel whose light falls on a place of the room.
    fn pixel(&self, p: Point<Table>) -> Point<Projector> {
        self.flip(self.rig.project(p.x, p.y, 0.0))
    }

    /// Where the light of a pixel falls, in the profile's millimetres.
    fn falls(&self, q: Point<Projector>) -> Point<Table> {
        let at = self.rig.land(self.flip(q), 0.0).unwrap();
        self.place.inverse().point(at)
    }

    fn span(&self, span: Span) -> f64 {
        let [a, b] = span.ends();
        (self.marks[a] - self.marks[b]).length()
    }

    /// How far off light falls at most between the marks: px, mm.
    fn off(&self, setting: &Setting) -> [f64; 2] {
        let mapping = setting.mapping().unwrap();
        let back = self.place.inverse();
        let mut off = [0.0_f64; 2];
        for i in 0..=20 {
            for j in 0..=20 {
                let [u, v] = [i, j].map(|k| f64::from(k) / 20.0);
                let m = &self.marks;
                let p = m[0].lerp(m[1], u).lerp(m[3].lerp(m[2], u), v);
                let q = mapping.pixel(back.point(p), 0.0).unwrap();
                off[0] = off[0].max((q - self.pixel(p)).length());
                off[1] = off[1].max((self.falls(q) - back.point(p)).length());
            }
        }
        off
    }
}

fn answer(setting: &mut Setting, act: SettingAct) {
    let reply = setting.answer(act.clone());
    let said = reply.said.filter(|s| s.warning);
    assert!(said.is_none(), "{:?} {act:?}: {said:?}", setting.step());
}

fn type_all(setting: &mut Setting, texts: impl IntoIterator<Item = String>) {
    for text in texts {
        answer(setting, SettingAct::Typed(text));
    }
}

fn begun(side: Side, turned: usize, mirror: bool) -> Setting {
    let start = Start {
        picture: PICTURE,
        output: "HDMI-1".to_owned(),
        inches: false,
        stands: side,
        cuts: Hand::Left,
        mirror_rig: mirror,
        first_time: false,
    };
    let mut setting = Setting::new(start, None);
    for act in [
        SettingAct::GoOn,
        SettingAct::Choose(0),
        SettingAct::Typed("6".to_owned()),
        SettingAct::Choose(0),
        SettingAct::GoOn,
    ] {
        answer(&mut setting, act);
    }
    for _ in 0..turned {
        answer(&mut setting, SettingAct::TurnWords);
    }
    answer(&mut setting, SettingAct::GoOn);
    assert_eq!(setting.step(), Step::Tape);
    setting
}

/// The four distances by an exact tape.
fn taped(room: &Room, setting: &mut Setting) {
    let spans = [
        Span::Front,
        Span::Left,
        Span::Diagonal13,
        Span::Diagonal24,
        Span::Right,
        Span::Back,
    ];
    type_all(setting, spans.map(|s| format!("{:.6}", room.span(s))));
    answer(setting, SettingAct::GoOn);
    answer(setting, SettingAct::GoOn);
    assert_eq!(setting.step(), Step::Read);
}

/// Each mark as it is read to a tenth of a fine line.
fn read(room: &Room, setting: &mut Setting) {
    let grid = Grid::over(setting.upright());
    let texts = room.marks.map(|m| grid.format(room.pixel(m)).unwrap());
    type_all(setting, texts);
    answer(setting, SettingAct::GoOn);
    assert_eq!(setting.step(), Step::Fine);
}

/// Each cross by presses of 0.1 px, as near as they come.
fn moved(room: &Room, setting: &mut Setting) {
    for k in 0..4 {
        answer(setting, SettingAct::PickMark(k + 1));
        for _ in 0..10 {
            let on = setting.upright();
            let goal = on.reader(room.pixel(room.marks[k as usize]));
            let by = goal - on.reader(setting.cross().1);
            let press = |v: f64| {
                if v.abs() <= 0.05 {
                    0.0
                } else {
                    0.1 * v.signum()
                }
            };
            let (right, away) = (press(by.x), -press(by.y));
            answer(setting, SettingAct::Nudge { right, away });
        }
    }
    answer(setting, SettingAct::GoOn);
    assert_eq!(setting.step(), Step::Check);
}

/// What an exact tape reads on the check picture, to 0.1 mm.
fn checked(room: &Room, setting: &mut Setting) {
    let (square, mapping) = (setting.square().unwrap(), setting.mapping().unwrap());
    let falls = square
        .corners
        .map(|c| room.falls(mapping.pixel(c, 0.0).unwrap()));
    let read = |s: Span| {
        let [a, b] = s.ends();
        format!("{:.1}", (falls[a] - falls[b]).length())
    };
    let spans = [Span::Front, Span::Left, Span::Diagonal13, Span::Diagonal24];
    type_all(setting, spans.map(read));
    let _ = setting.answer(SettingAct::GoOn);
    assert_eq!(setting.step(), Step::Verdict);
}

/// 1200 × 800 mm, its right and left sides 1° off a right angle.
fn aslant() -> [[f64; 2]; 4] {
    let lean = 700.0 * 1_f64.to_radians().sin();
    let away = 50.0 + 700.0 * 1_f64.to_radians().cos();
    [
        [60.0, 50.0],
        [1140.0, 50.0],
        [1140.0 + lean, away],
        [60.0 + lean, away],
    ]
}

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

    #[test]
    fn the_page_and_the_parser_name_the_same_cell_and_lines(
        w in 640..1400u32, h in 400..1100u32, side in 0..4usize, mirror in any::<bool>(),
        places in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 1..25),
    ) {
        let on = Upright::new([w, h], Side::ALL[side], mirror);
        let page = reading_grid(&on).unwrap();
        let raster = page.raster.as_ref().unwrap();
        // Codes of the page as the reader sees it.
        let seen = |column: u32, row: u32| {
            let (x, y) = on.cell(column, row);
            raster.get(x, y)[0]
        };
        let [across, down] = on.size();
        let coarse_column = |c: u32| (0..down).all(|r| seen(c, r) == 255);
        let coarse_row = |r: u32| (0..across).all(|c| seen(c, r) == 255);
        for (u, v) in places {
            let p = Point::new(u * f64::from(w), v * f64::from(h));
            let text = Grid::over(on).format(p).unwrap();
            let parts: Vec<&str> = text.split(' ').collect();
            // The last pixel whose middle it has passed, as the reader sees it.
            let r = on.reader(Grid::over(on).parse(&text).unwrap());
            let passed = |v: f64| (v - 0.5 + 1e-6).floor() as u32;
            let (column, row) = (passed(r.x), passed(r.y));
            let left = (0..=column).rev().find(|c| coarse_column(*c)).unwrap();
            let far = (0..=row).rev().find(|y| coarse_row(*y)).unwrap();
            // Ten fine lines on is the next cell's line: the same place.
            let left = if parts[1] == "10.0" { left - 40 } else { left };
            let far = if parts[2] == "10.0" { far - 40 } else { far };
            // The name that is drawn between this cell's lines.
            let named = page.words.iter().find(|words| {
                let middle = on.reader(words.room.center());
                let (x, y) = (f64::from(left), f64::from(far));
                (x..x + 40.0).contains(&middle.x) && (y..y + 40.0).contains(&middle.y)
            });
            match named {
                Some(words) => prop_assert_eq!(&words.text, parts[0], "{:?} {:?}", text, on),
                // Cells that the edge cuts have no name.
                None => prop_assert!(left + 40 > across || far + 40 > down, "{} {:?}", text, on),
            }
            // Lit lines from the cell's own to the mark, counted along a row and
            // a column below the name.
            let (below, beside) = (far + 33, left + 2);
            if below < down && beside < across {
                let lines = (left + 1..=column).filter(|c| seen(*c, below) > 0).count();
                let read: f64 = parts[1].parse().unwrap();
                prop_assert_eq!(lines, read.floor() as usize, "{} {:?}", text, on);
            }
        }
    }
}
