//! A cut part is laid back into its light, and the simulated eye says where the
//! light falls on it: a part that was cut too large is lit where it is too large,
//! by as much, and nowhere else.

use ghostchalk::calibration::{LensPlaceFile, MarkRow, Profile};
use ghostchalk::glow::{Glow, Notice};
use ghostchalk::job::Job;
use ghostchalk::render::{Canvas, Device, Rect, Wanted};
use ghostchalk::space::{Point, Rigid, Table, Vector};
use ghostchalk::twin::edge::{Interruption, find_edges};
use ghostchalk::twin::picture::{Levels, Picture, Response};
use ghostchalk::twin::rig::Rig;
use ghostchalk::work::cutting::{Item, Of, Phase};
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Bench, Goods, History, State, Touched, Ways};
use std::path::Path;

/// How much too large the part is cut, on one edge, mm.
const TOO_LARGE: f64 = 2.0;

/// The twin's table as a profile: four marks without error, and where its lens is.
fn profile(rig: &Rig) -> Profile {
    let marks = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
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

/// The demo's bench under that light, a binding of canvas cut.
fn bench(glow: &Glow, profile: &Profile) -> Bench {
    let job = Job::open(Path::new("demo-data")).unwrap();
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.file.articles.clone(),
    };
    let state = State::new(job.file.panels, job.file.placed, Ways::default());
    let mut bench = Bench::new(goods, state, History::default());
    bench.set_reach(glow.lit().clone());
    let panels = &bench.state().panels;
    let top = ghostchalk::frame::reach(profile, glow.mapping(), panels);
    bench.set_table_top(top);
    bench.set_band(3.0);
    let placed = bench.state().placed.iter();
    let mut bindings = placed.filter(|(_, p)| p.piece == "binding");
    let id = *bindings.next().unwrap().0;
    bench.act(Act::BeginCutting, 0.0);
    bench.act(Act::CutNext(id), 1.0);
    for k in 0..4 {
        if bench.state().cuts.has(id) {
            break;
        }
        bench.act(Act::Signal(Told::GoOn), 2.0 + f64::from(k));
    }
    assert!(bench.state().cuts.has(id));
    bench
}

/// A closed outline with the edge that begins at corner `k` moved outwards.
fn grown(outline: &[Point<Table>], k: usize, by: f64) -> Vec<Point<Table>> {
    let n = outline.len();
    let along = (outline[(k + 1) % n] - outline[k]).normalize();
    // Outlines run counter-clockwise: outside is on the right.
    let out = Vector::new(along.y, -along.x) * by;
    let mut all = outline.to_vec();
    all[k] += out;
    all[(k + 1) % n] += out;
    all
}

/// The distance of a point from the line through an edge.
fn off_edge(outline: &[Point<Table>], k: usize, p: Point<Table>) -> f64 {
    let (a, b) = (outline[k], outline[(k + 1) % outline.len()]);
    ((b - a).normalize().cross(p - a)).abs()
}

#[test]
fn a_part_cut_too_large_on_one_edge_is_lit_there_and_read_back() {
    let rig = Rig::workshop();
    let profile = profile(&rig);
    let size = profile.projector_px;
    let mut glow = Glow::new(&profile).unwrap();
    let mut bench = bench(&glow, &profile);
    bench.act(Act::Take(Item::LayBack), 20.0);
    bench.act(Act::Signal(Told::Back), 21.0);
    let phase = &bench.doing().cutting().unwrap().phase;
    let Phase::LaidBack {
        of: Of::Part(_),
        over: false,
    } = *phase
    else {
        panic!("{phase:?}");
    };
    glow.show(&bench, &Touched::All, &Notice::default())
        .unwrap();
    let device = Device::open(Wanted::Best).unwrap();
    let mut canvas = Canvas::new(&device, size[0], size[1]).unwrap();
    canvas.redraw(Rect::of_size(size[0], size[1]), glow.drawn());
    let frame = canvas.read().unwrap();
    let screen = Response::default();
    let picture = Picture::from_grey(size[0], size[1], &frame.codes, &screen).unwrap();

    // The part as it should be, and one edge too large, in its light.
    let pose: Rigid<_, Table> = bench.doing().cutting().unwrap().lies[0].pose;
    let piece = bench.goods.stock().piece("binding").unwrap();
    let right: Vec<Point<Table>> = piece.cut[0].iter().map(|&p| pose.point(p)).collect();
    let n = right.len();
    let longest = (0..n)
        .max_by(|a, b| {
            let length = |k: &usize| (right[(k + 1) % n] - right[*k]).length();
            length(a).total_cmp(&length(b))
        })
        .unwrap();
    let cut = grown(&right, longest, TOO_LARGE);
    let height = bench.goods.stock().cloth("canvas").unwrap().thickness_mm;
    // Where a notch lets the band go and its sign stands, and where a net line
    // runs out to the edge.
    let notches = piece.notches.iter().map(|m| m.at);
    let net = piece.net.iter().flat_map(|l| l.points.iter().copied());
    let spoilt = notches.chain(net).map(|at| Interruption {
        at: pose.point(at),
        radius: 12.0,
    });
    let spoilt: Vec<Interruption> = spoilt.collect();
    let levels = Levels {
        dark: 0.0,
        full: 1.0,
    };
    let measured = |outline: &[Point<Table>]| {
        let edges = find_edges(&rig, &picture, levels, &[outline.to_vec()], height, &spoilt);
        assert_eq!(edges.missing.len(), 0, "{:?}", edges.missing);
        assert!(edges.found.len() > 60, "{}", edges.found.len());
        edges.found
    };
    let sound = measured(&right);
    let worst = sound.iter().map(|e| e.offset_mm.abs()).fold(0.0, f64::max);
    println!("as it should be: light within {worst:.4} mm of the edge");
    assert!(worst < 0.1, "{worst}");
    let (there, elsewhere): (Vec<_>, Vec<_>) = measured(&cut)
        .into_iter()
        .partition(|e| off_edge(&cut, longest, e.at) < 0.01);
    assert!(there.len() > 30 && elsewhere.len() > 30);
    let read = |e: &[ghostchalk::twin::edge::EdgeSample]| {
        e.iter().map(|e| e.offset_mm).sum::<f64>() / e.len() as f64
    };
    println!(
        "{TOO_LARGE} mm too large: read back as {:.4} mm there, {:.4} elsewhere",
        read(&there),
        read(&elsewhere)
    );
    assert!(there.iter().all(|e| (e.offset_mm - TOO_LARGE).abs() < 0.1));
    assert!(elsewhere.iter().all(|e| e.offset_mm.abs() < 0.1));
}
