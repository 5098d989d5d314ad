//! The table is set from the first page to the last by typed readings; then the
//! cloth moves, and the lay with it; then the program is started again.
//!
//! The machine of `work` goes along beside the program: after every answer the
//! projector must show the very page that the machine's step is lit with.

use crate::desktop::{Desktop, PROJECTOR};
use crate::session::{MARKS, PIXELS, SIZE, Session, differ, frame, job, room, shows};
use ghostchalk::calibration::reading::Grid;
use ghostchalk::calibration::table_marks::Span;
use ghostchalk::glow::setting_page;
use ghostchalk::job::Job;
use ghostchalk::projection::Mapping;
use ghostchalk::render::{Canvas, Device, Rect, Wanted};
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::stand::{Hand, Side};
use ghostchalk::work::setting::{Ended, READ_TO, Setting, SettingAct, Start, Step};
use std::time::Duration;

/// The order in which lengths are asked for.
const SPANS: [Span; 4] = [Span::Front, Span::Left, Span::Diagonal13, Span::Diagonal24];

/// The program's hands, and the machine that goes along.
struct Along<'a> {
    desktop: &'a Desktop,
    device: Device,
    setting: Setting,
    pages: u32,
}

impl<'a> Along<'a> {
    fn new(desktop: &'a Desktop) -> Self {
        let start = Start {
            picture: SIZE,
            output: PROJECTOR.to_owned(),
            inches: false,
            stands: Side::Front,
            cuts: Hand::Right,
            mirror_rig: false,
            first_time: true,
        };
        Self {
            desktop,
            device: Device::open(Wanted::Best).unwrap(),
            setting: Setting::new(start, None),
            pages: 0,
        }
    }

    /// The page of light as it must be, so many minutes after first light.
    fn page(&mut self, minutes: u32) -> Vec<[u8; 3]> {
        let lit = setting_page(&mut self.setting, minutes).unwrap();
        let [width, height] = SIZE;
        let mut canvas = Canvas::new(&self.device, width, height).unwrap();
        canvas.redraw(Rect::of_size(width, height), &lit.drawn);
        let codes = canvas.read().unwrap().codes;
        let mut page: Vec<[u8; 3]> = codes.iter().map(|c| [*c; 3]).collect();
        if let Some(raster) = lit.raster {
            for (p, under) in page.iter_mut().zip(raster.rgb.chunks(3)) {
                for (c, u) in p.iter_mut().zip(under) {
                    *c = (*c).max(*u);
                }
            }
        }
        page
    }

    /// Waits until the projector shows the machine's page.
    fn sees(&mut self) {
        let what = format!("the light shows {:?}", self.setting.step());
        let desktop = self.desktop;
        let (mut pages, mut looks) = (Vec::new(), 0);
        desktop.until(&what, || {
            // A slow machine may have been at it for some minutes.
            if looks % 20 == 0 && pages.len() < 4 {
                pages.push(self.page(pages.len() as u32));
            }
            looks += 1;
            let seen = desktop.projector(SIZE);
            pages.iter().any(|page| {
                let far = |(s, p): &(&[u8; 3], &[u8; 3])| (0..3).any(|k| s[k].abs_diff(p[k]) > 1);
                seen.iter().zip(page).filter(far).count() == 0
            })
        });
        self.pages += 1;
    }

    fn answer(&mut self, act: SettingAct) -> Option<Ended> {
        let reply = self.setting.answer(act);
        let refused = reply.said.as_ref().is_some_and(|s| s.warning);
        assert!(!refused, "{:?}: {:?}", self.setting.step(), reply.said);
        reply.ended
    }

    fn press(&mut self, key: &str, act: SettingAct) -> Option<Ended> {
        self.desktop.hand(&["key", key]);
        self.answer(act)
    }

    /// Types a field's text and goes to the next one.
    fn types(&mut self, text: &str, then: &str) {
        self.desktop.hand(&["type", "--delay", "15", text]);
        self.desktop.hand(&["key", then]);
        self.answer(SettingAct::Typed(text.to_owned()));
    }

    fn step(&mut self) -> Option<Ended> {
        match self.setting.step() {
            Step::Stripes | Step::Colours => self.press("1", SettingAct::Choose(0)),
            Step::Wedge => {
                self.types("6", "Return");
                None
            }
            Step::Tape => {
                let marks = MARKS.map(Point::<Table>::from);
                for span in SPANS {
                    let [a, b] = span.ends();
                    self.types(&format!("{:.2}", (marks[a] - marks[b]).length()), "Tab");
                }
                self.leave_fields();
                self.press("Return", SettingAct::GoOn)
            }
            Step::Read => {
                let grid = Grid::over(self.setting.upright());
                let readings = PIXELS.map(|p| grid.format(Point::from(p)).unwrap());
                for reading in &readings[..3] {
                    self.types(reading, "Tab");
                }
                self.types(&readings[3], "Return");
                self.press("Return", SettingAct::GoOn)
            }
            Step::Check => {
                let square = self.setting.square().unwrap();
                for span in SPANS {
                    self.types(&format!("{:.1}", square.expected(span)), "Tab");
                }
                self.leave_fields();
                self.press("Return", SettingAct::GoOn)
            }
            _ => self.press("Return", SettingAct::GoOn),
        }
    }

    /// From the fifth field to the sixth and last: both are a check, and left as they are.
    fn leave_fields(&self) {
        self.desktop.hand(&["key", "Return"]);
    }
}

/// Where a place of the table is lit.
fn click(desktop: &Desktop, map: &Mapping, at: Point<Table>) {
    let q = map.pixel(at, 0.0).unwrap();
    desktop.point(q.x, q.y);
    desktop.hand(&["click", "1"]);
}

#[test]
fn a_table_is_set_by_typed_readings_and_the_lay_follows_its_cloth() {
    let _room = room();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let job = job(folder.path());
    desktop.point_away();
    let session = Session::start(&desktop, &job, &[]);
    let mut along = Along::new(&desktop);
    let mut ended = None;
    // Each turn answers one page; more turns than pages would be a circle.
    for _ in 0..60 {
        along.sees();
        ended = along.step();
        if ended.is_some() {
            break;
        }
    }
    assert_eq!(ended, Some(Ended::Set), "at {:?}", along.setting.step());
    // All but five, and more marks and the board, which are asked for at the last page.
    assert!(along.pages >= Step::ALL.len() as u32 - 7);
    let stated = along.setting.off(READ_TO).unwrap().px;

    // The profile is kept, named by the job, and as near the truth as is stated.
    desktop.until("the profile is named in the job", || {
        Job::open(&job).is_ok_and(|j| j.file.profile.is_some())
    });
    let profile = Job::open(&job).unwrap().profile().unwrap().unwrap();
    assert_eq!(profile.output.as_deref(), Some(PROJECTOR));
    let map = profile.mapping().unwrap();
    for (mark, px) in MARKS.into_iter().zip(PIXELS) {
        let off = (map.pixel(Point::from(mark), 0.0).unwrap() - Point::from(px)).length();
        assert!(off <= stated, "a mark is {off} px off, {stated} stated");
    }

    // What was said at the end stands in the light until something is done.
    desktop.hand(&["key", "Escape"]);
    shows(
        &desktop,
        &frame(&job, &[]),
        "the demo is lit on the set table",
    );

    // Two marks on the canvas; then it lies elsewhere, 80 mm off and turned by 4°.
    let sling = |job: &Job| {
        job.file
            .panels
            .iter()
            .find(|p| p.name == "sling")
            .unwrap()
            .on_table
    };
    let before = sling(&Job::open(&job).unwrap()).pose();
    let marks = [Point::new(120.0, 60.0), Point::new(800.0, 380.0)];
    let point = Point::new(600.0, 500.0);
    let q = map.pixel(point, 0.0).unwrap();
    desktop.point(q.x, q.y);
    desktop.hand(&["key", "m"]);
    for m in marks {
        click(&desktop, &map, before.point(m));
    }
    desktop.hand(&["key", "Escape"]);
    let turn = 4.0_f64.to_radians();
    let after = ghostchalk::space::Rigid::new(
        false,
        before.turn + turn,
        before.shift + Vector::new(20.0, -80.0),
    );
    desktop.point(q.x, q.y);
    desktop.hand(&["key", "c"]);
    for m in marks {
        click(&desktop, &map, after.point(m));
    }
    desktop.hand(&["key", "Return"]);
    std::thread::sleep(Duration::from_millis(500));
    desktop.point_away();
    session.close(&desktop);

    // The mouse points to whole pixels, each about 0.7 mm.
    let now = sling(&Job::open(&job).unwrap()).pose();
    for m in marks {
        let off = (now.point(m) - after.point(m)).length();
        assert!(off < 1.5, "mark {m:?} lies {off} mm off");
    }

    // On the next start it is lit there, and the work goes on: undone, it is
    // where it was.
    let moved = frame(&job, &[]);
    let session = Session::start(&desktop, &job, &[]);
    shows(&desktop, &moved, "the lay is lit where the cloth lies");
    desktop.hand(&["key", "ctrl+z"]);
    desktop.until("the cloth is back", || {
        differ(&desktop.projector(SIZE), &moved) > 2000
    });
    session.close(&desktop);
    let back = sling(&Job::open(&job).unwrap()).pose();
    assert_eq!(back, before);
}
