//! Dashes that creep along the guides: that they move, that nothing else does, and that all is
//! still when they are not asked for.

mod common;

use ghostchalk::calibration::{MarkRow, Profile};
use ghostchalk::frame::{light, picture};
use ghostchalk::glow::{Glow, Notice};
use ghostchalk::job::Job;
use ghostchalk::lay::inside;
use ghostchalk::light::STEPS;
use ghostchalk::render::{Canvas, Device};
use ghostchalk::shape::distance;
use ghostchalk::space::Point;
use ghostchalk::work::{Act, Bench, Goods, History, State, Touched, Way, Ways};

const SIZE: [u32; 2] = [960, 540];

fn profile() -> Profile {
    let corners = [
        ([0.0, 0.0], [30.0, 520.0]),
        ([1200.0, 0.0], [940.0, 510.0]),
        ([1200.0, 800.0], [880.0, 20.0]),
        ([0.0, 800.0], [85.0, 15.0]),
    ];
    let rows = corners.map(|(mm, px)| MarkRow {
        table: Point::from(mm),
        projector: Point::from(px),
    });
    Profile::of_four(&rows, SIZE, false).unwrap()
}

fn bench(job: &Job) -> Bench {
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.file.articles.clone(),
    };
    let placed = job.file.placed.clone();
    let state = State::new(job.file.panels.clone(), placed, Ways::default());
    Bench::new(goods, state, History::default())
}

/// A canvas that is drawn in as the live table does.
struct Light {
    glow: Glow,
    canvas: Canvas,
}

impl Light {
    fn new(device: &Device) -> Self {
        Self {
            glow: Glow::new(&profile()).unwrap(),
            canvas: Canvas::new(device, SIZE[0], SIZE[1]).unwrap(),
        }
    }

    fn show(&mut self, bench: &Bench, touched: &Touched) -> Vec<u8> {
        let rect = self.glow.show(bench, touched, &Notice::default()).unwrap();
        self.canvas.redraw(rect, self.glow.drawn());
        self.canvas.read().unwrap().codes
    }

    fn creep(&mut self, bench: &Bench, step: usize) -> Vec<u8> {
        let rects = self.glow.creep(bench, step);
        assert!(!rects.is_empty(), "step {step}");
        for rect in rects {
            self.canvas.redraw(rect, self.glow.drawn());
        }
        self.canvas.read().unwrap().codes
    }
}

#[test]
fn guides_creep_and_nothing_else_does() {
    let job = Job::open("demo-data".as_ref()).unwrap();
    let mapping = profile().mapping().unwrap();
    for device in common::devices() {
        let mut bench = bench(&job);
        let mut light = Light::new(&device);
        let still = light.show(&bench, &Touched::All);
        for step in 0..2 * STEPS {
            assert!(light.glow.creep(&bench, step % STEPS).is_empty(), "still");
        }
        let reply = bench.act(Act::Creep(true), 0.0);
        let mut frames = vec![light.show(&bench, &reply.touched)];
        frames.extend((1..STEPS).map(|step| light.creep(&bench, step)));
        // All round it is what it was, from what was kept of the first round.
        for (step, frame) in frames.iter().enumerate() {
            assert!(light.creep(&bench, step) == *frame, "step {step}");
            assert!(
                light.glow.creep(&bench, step).is_empty(),
                "it is there already"
            );
            // Drawn anew at once, it is the same.
            assert!(light.show(&bench, &Touched::All) == *frame, "step {step}");
        }
        // What moves are bands: outside every piece, as near as a band is wide.
        let laid = bench.laid().1;
        let insides: Vec<_> = laid.iter().map(inside).collect();
        let band = light.glow.band();
        let pixel = 1.6;
        let mut moved = 0;
        for k in 0..still.len() {
            let all = || frames.iter().map(|f| f[k]);
            let (least, most) = (all().min().unwrap(), all().max().unwrap());
            if least == most {
                assert!(most.abs_diff(still[k]) <= 1, "what does not creep stays");
                continue;
            }
            moved += 1;
            // A code either way is the rounding of edges to 1e-6 mm where they are cut.
            assert!(
                most <= still[k].saturating_add(1),
                "{most} for {}",
                still[k]
            );
            let at = Point::new((k % 960) as f64 + 0.5, (k / 960) as f64 + 0.5);
            let at = mapping.place(at).unwrap();
            let near = |r: &_| (distance(r, at), ghostchalk::shape::Region::contains(r, at));
            let (off, within) = insides
                .iter()
                .map(near)
                .fold((f64::MAX, None), |best, now| {
                    if now.0 < best.0 {
                        (now.0, Some(now.1))
                    } else {
                        best
                    }
                });
            match within {
                Some(true) => assert!(off < pixel, "{off} mm inside a piece, at {at:?}"),
                _ => assert!(off < band + pixel, "{off} mm outside, at {at:?}"),
            }
        }
        assert!(moved > 2000, "{moved}");
        // Every pixel of a guide is lit at some step.
        let full = (0..still.len()).filter(|&k| still[k] == 255);
        for k in full {
            let most = frames.iter().map(|f| f[k]).max().unwrap();
            assert!(most > 150, "{most} at {k}");
        }
        // Off again, or with no guides, all is still.
        let reply = bench.act(Act::Way(Way::Plain), 0.0);
        light.show(&bench, &reply.touched);
        assert!(light.glow.creep(&bench, 3).is_empty());
        bench.act(Act::Undo, 0.0);
        bench.act(Act::Undo, 0.0);
        assert!(light.show(&bench, &Touched::All) == still);
        assert!(light.glow.creep(&bench, 2).is_empty());
    }
}

/// A piece that is dragged while dashes creep is where it is, and its dashes go with it.
#[test]
fn what_is_dragged_keeps_its_dashes() {
    let job = Job::open("demo-data".as_ref()).unwrap();
    let device = &common::devices()[0];
    let mut bench = bench(&job);
    let mut light = Light::new(device);
    let reply = bench.act(Act::Creep(true), 0.0);
    light.show(&bench, &reply.touched);
    for step in [1, 2, 3] {
        light.creep(&bench, step);
        bench.act(Act::Next, 1.0);
        let nudge = Act::Nudge {
            right: 2.0,
            away: 1.0,
        };
        let reply = bench.act(nudge, 1.0);
        let all = reply
            .touched
            .and(Touched::Pieces(bench.held().into_iter().collect()));
        light.show(&bench, &all);
    }
    let moved = light.creep(&bench, 4);
    // Labels beside pieces settle when all is lit anew.
    light.show(&bench, &Touched::All);
    let anew = light.canvas.read().unwrap().codes;
    let unlike = moved.iter().zip(&anew).filter(|(a, b)| a != b).count();
    assert!(unlike < 1500, "{unlike}");
    let mut other = Light::new(device);
    other.show(&bench, &Touched::All);
    assert!(other.creep(&bench, 4) == anew);
}

#[test]
fn a_frame_has_its_dashes_as_they_begin() {
    let mut job = Job::open("demo-data".as_ref()).unwrap();
    job.file.light = Some(Ways {
        creep: true,
        watch: false,
        ..Ways::default()
    });
    let profile = profile();
    let mapping = profile.mapping().unwrap();
    let device = &common::devices()[0];
    let lit = light(&job, &profile, &mapping).unwrap();
    let frame = picture(device, lit.lamp.scene(), &mapping, SIZE).unwrap();
    let state = job.state();
    let mut bench = bench(&job);
    bench.act(Act::Creep(state.ways.creep), 0.0);
    bench.act(Act::Watch(false), 0.0);
    assert!(Light::new(device).show(&bench, &Touched::All) == frame.codes);
}
