//! A projector over a table with marks on it, and a person with an exact tape who sets it.

use ghostchalk::calibration::reading::Grid;
use ghostchalk::calibration::table_marks::Span;
use ghostchalk::space::{Point, Projector, Rigid, Table};
use ghostchalk::stand::{Hand, Side};
use ghostchalk::twin::rig::Rig;
use ghostchalk::work::setting::{Setting, SettingAct, Start, Step};

const PICTURE: [u32; 2] = [1920, 1080];

/// A projector over a table with four marks on it.
pub struct Room {
    pub rig: Rig,
    /// The light goes over a mirror.
    mirror: bool,
    /// The marks where they are, in the room's millimetres.
    pub marks: [Point<Table>; 4],
    /// The profile's millimetres to the room's: mark 1 is the origin, mark 2 on
    /// the x axis.
    pub place: Rigid<Table, Table>,
}

impl Room {
    pub fn new(marks: [[f64; 2]; 4], mirror: bool) -> Self {
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

    pub fn flip(&self, q: Point<Projector>) -> Point<Projector> {
        if self.mirror {
            Point::new(f64::from(PICTURE[0]) - q.x, q.y)
        } else {
            q
        }
    }

    /// The pixel whose light falls on a place of the room.
    pub fn pixel(&self, p: Point<Table>) -> Point<Projector> {
        self.flip(self.rig.project(p.x, p.y, 0.0))
    }

    /// Where the light of a pixel falls, in the profile's millimetres.
    pub fn falls(&self, q: Point<Projector>) -> Point<Table> {
        let at = self.rig.land(self.flip(q), 0.0).unwrap();
        self.place.inverse().point(at)
    }

    pub fn span(&self, span: Span) -> f64 {
        let [a, b] = span.ends();
        (self.marks[a] - self.marks[b]).length()
    }

    /// How far off light falls at most between the marks: px, mm.
    pub fn off(&self, setting: &Setting) -> [f64; 2] {
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

pub fn answer(setting: &mut Setting, act: SettingAct) {
    let reply = setting.answer(act.clone());
    let said = reply.said.filter(|s| s.warning);
    assert!(said.is_none(), "{:?} {act:?}: {said:?}", setting.step());
}

pub fn type_all(setting: &mut Setting, texts: impl IntoIterator<Item = String>) {
    for text in texts {
        answer(setting, SettingAct::Typed(text));
    }
}

pub fn begun(side: Side, turned: usize, mirror: bool) -> Setting {
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
pub fn taped(room: &Room, setting: &mut Setting) {
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
pub fn read(room: &Room, setting: &mut Setting) {
    let grid = Grid::over(setting.upright());
    let texts = room.marks.map(|m| grid.format(room.pixel(m)).unwrap());
    type_all(setting, texts);
    answer(setting, SettingAct::GoOn);
    assert_eq!(setting.step(), Step::Fine);
}

/// Each cross by presses of 0.1 px, as near as they come.
pub fn moved(room: &Room, setting: &mut Setting) {
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
pub fn checked(room: &Room, setting: &mut Setting) {
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
pub fn aslant() -> [[f64; 2]; 4] {
    let lean = 700.0 * 1_f64.to_radians().sin();
    let away = 50.0 + 700.0 * 1_f64.to_radians().cos();
    [
        [60.0, 50.0],
        [1140.0, 50.0],
        [1140.0 + lean, away],
        [60.0 + lean, away],
    ]
}
