//! The rings round the table's bare marks: what they add to a frame of the lay, and
//! that they add nothing else.

mod common;

use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::frame::{light, picture, reach};
use ghostchalk::glow::{Glow, Notice};
use ghostchalk::job::Job;
use ghostchalk::projection::Mapping;
use ghostchalk::render::{Canvas, Device};
use ghostchalk::space::{Point, Table};
use ghostchalk::work::{Act, Bench, Goods, History, State, Touched, Way, Ways};

const SIZE: [u32; 2] = [1920, 1080];

/// Corner marks, bare; and one under the sling, clear of all pieces.
const MARKS: [[f64; 2]; 5] = [
    [12.0, 14.0],
    [1188.0, 12.0],
    [1186.0, 785.0],
    [10.0, 788.0],
    [890.0, 500.0],
];

fn profile() -> Profile {
    let corners = [
        ([0.0, 0.0], [60.0, 1040.0]),
        ([1200.0, 0.0], [1880.0, 1020.0]),
        ([1200.0, 800.0], [1760.0, 40.0]),
        ([0.0, 800.0], [170.0, 30.0]),
    ];
    let rows = corners.map(|(mm, px)| MarkRow {
        table: Point::from(mm),
        projector: Point::from(px),
    });
    Profile::of_four(&rows, SIZE, false).unwrap()
}

fn bench(job: &Job, profile: &Profile, mapping: &Mapping) -> Bench {
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.file.articles.clone(),
    };
    let state = State::new(
        job.file.panels.clone(),
        job.file.placed.clone(),
        Ways::default(),
    );
    let mut bench = Bench::new(goods, state, History::default());
    bench.set_table_top(reach(profile, mapping, &job.file.panels));
    bench.set_table_marks(MARKS.map(Point::from).to_vec());
    bench
}

/// A canvas that is drawn in as the live table does.
struct Light {
    glow: Glow,
    canvas: Canvas,
}

impl Light {
    fn new(device: &Device, profile: &Profile) -> Self {
        Self {
            glow: Glow::new(profile).unwrap(),
            canvas: Canvas::new(device, SIZE[0], SIZE[1]).unwrap(),
        }
    }

    fn codes(&mut self, bench: &Bench, touched: &Touched) -> Vec<u8> {
        let rect = self.glow.show(bench, touched, &Notice::default()).unwrap();
        self.canvas.redraw(rect, self.glow.drawn());
        self.canvas.read().unwrap().codes
    }
}

/// The places on the table of pixels that differ.
fn differ(a: &[u8], b: &[u8], mapping: &Mapping) -> Vec<Point<Table>> {
    let unlike = (0..a.len()).filter(|k| a[*k] != b[*k]);
    let place = |k: usize| {
        let (x, y) = (k % SIZE[0] as usize, k / SIZE[0] as usize);
        mapping.place(Point::new(x as f64 + 0.5, y as f64 + 0.5))
    };
    unlike.map(|k| place(k).unwrap()).collect()
}

#[test]
fn rings_lie_round_bare_marks_and_add_nothing_else() {
    let job = Job::open("demo-data".as_ref()).unwrap();
    let profile = profile();
    let mapping = profile.mapping().unwrap();
    for device in common::devices() {
        let lit = light(&job, &profile, &mapping).unwrap();
        let frame = picture(&device, lit.lamp.scene(), &mapping, SIZE)
            .unwrap()
            .codes;
        let mut bench = bench(&job, &profile, &mapping);
        let mut light = Light::new(&device, &profile);
        let ringed = light.codes(&bench, &Touched::All);
        let added = differ(&frame, &ringed, &mapping);
        for (k, at) in MARKS.iter().enumerate() {
            let far = |p: &&Point<Table>| (**p - Point::from(*at)).length();
            let near: Vec<f64> = added
                .iter()
                .filter(|p| far(p) < 20.0)
                .map(|p| far(&p))
                .collect();
            if k == 4 {
                assert_eq!(near.len(), 0, "a covered mark has no ring");
                continue;
            }
            // Between 4.8 and 6 mm, and a pixel of 0.7 mm that the edge crosses.
            assert!(near.len() > 40, "{} pixels at mark {}", near.len(), k + 1);
            assert!(near.iter().all(|r| (4.0..6.8).contains(r)), "{near:?}");
        }
        let far = |p: &Point<Table>| MARKS.iter().all(|m| (*p - Point::from(*m)).length() > 7.0);
        assert!(!added.iter().any(far), "rings, and nothing else");

        // Only with guides, and not when they are switched off.
        let mut say = |bench: &mut Bench, act: Act| {
            let touched = bench.act(act, 1.0).touched;
            light.codes(bench, &touched)
        };
        assert!(say(&mut bench, Act::Watch(false)) == frame);
        assert!(say(&mut bench, Act::Watch(true)) == ringed);
        for way in [Way::Plain, Way::Dark] {
            let seen = say(&mut bench, Act::Way(way));
            assert!(seen.iter().all(|c| *c == seen[0]), "{way:?}");
        }
        assert!(say(&mut bench, Act::Way(Way::Guides)) == ringed);

        // A piece over a mark: its ring goes, and comes back, and what is redrawn there
        // is what another light would draw.
        let id = bench.laid().0[0];
        let from = bench.pose(id).unwrap().shift.to_point();
        for (act, rings) in [
            (Act::Point(from), 4),
            (Act::Press, 4),
            (Act::Point(Point::new(20.0, 20.0)), 3),
            (Act::Point(from), 4),
            (Act::Release, 4),
        ] {
            let touched = bench.act(act.clone(), 1.0).touched;
            let seen = light.codes(&bench, &touched);
            let anew = Light::new(&device, &profile).codes(&bench, &Touched::All);
            // A label beside a piece on the move goes out until the lay is lit anew.
            let off = differ(&seen, &anew, &mapping);
            let near = |p: &&Point<Table>| {
                let mut marks = MARKS.iter().map(|m| Point::from(*m));
                marks.any(|m| (**p - m).length() < 20.0)
            };
            assert_eq!(off.iter().find(near), None, "{act:?}");
            assert_eq!(bench.watched_marks().len(), rings, "{act:?}");
        }
    }
}
