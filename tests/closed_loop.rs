//! The closed loop on the demo: the twin says where the light fell.

use ghostchalk::calibration::{LensFile, LensPlaceFile, MarkRow, Profile};
use ghostchalk::job::Job;
use ghostchalk::rehearse::{known, rehearse};
use ghostchalk::render::{Device, Wanted};
use ghostchalk::space::{Point, Table};
use ghostchalk::twin::lens::Lens;
use ghostchalk::twin::rig::{Optics, Rig};
use std::path::Path;

#[test]
fn a_rehearsal_finds_the_light_where_the_scissors_go() {
    let out = tempfile::tempdir().unwrap();
    let job = Job::open(Path::new("demo-data")).unwrap();
    let done = rehearse(job, out.path(), Wanted::Best, &|_| {}).unwrap();
    for name in [
        "projector.png",
        "table.png",
        "close-up.png",
        "report.txt",
        "report.json",
        "table.toml",
        "marks.csv",
    ] {
        assert!(
            out.path().join(name).metadata().unwrap().len() > 200,
            "{name}"
        );
    }
    let [exact, by_hand, on_cloth, through_lens] = &done.report.loops[..] else {
        panic!("four loops");
    };
    // The drawing alone.
    let f = &exact.figures;
    assert!(f.edge_px.count > 3000 && f.missing == 0);
    assert!(
        f.edge_px.rms <= 0.005 && f.edge_px.worst <= 0.02,
        "{:?}",
        f.edge_px
    );
    let c = f.coverage.unwrap();
    assert!(
        c.mean <= 0.0016 && c.worst <= 0.007 && c.wrong_solid == 0,
        "{c:?}"
    );
    let (along, depth) = (f.notch_along_mm.unwrap(), f.notch_depth_mm.unwrap());
    assert!(
        along.count > 30 && along.worst < 0.06 && depth.worst < 0.06,
        "{along:?} {depth:?}"
    );
    // A hand of 0.5 px leaves tenths of a millimetre; a lens that four marks
    // cannot show, millimetres.
    let h = &by_hand.figures;
    assert!(
        h.missing == 0 && (0.05..1.0).contains(&h.edge_mm.rms),
        "{:?}",
        h.edge_mm
    );
    assert!(on_cloth.figures.edge_mm.worst > h.edge_mm.worst);
    assert!(through_lens.figures.edge_mm.rms > 1.0);
}

/// The twin's own truth given to a profile: lens and height plane must take
/// the light to the top of every cloth, felt of 5 mm included.
#[test]
fn with_lens_and_height_known_light_meets_the_top_of_the_cloth() {
    let bent = Rig::workshop_with_lens();
    let o = *bent.optics();
    assert_eq!(o.focal[0], o.focal[1]);
    // The same projector with a straight lens has the homography.
    let straight = Rig::workshop();
    assert_eq!(
        straight.optics(),
        &Optics {
            lens: Lens::default(),
            ..o
        }
    );
    let marks = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
    let rows = marks.map(|[x, y]| MarkRow {
        table: Point::new(x, y),
        projector: straight.project(x, y, 0.0),
    });
    let mut profile = Profile::of_four(&rows, o.size, false).unwrap();
    profile.lens = Some(LensFile {
        focal_px: o.focal[0],
        centre_px: o.centre.to_array(),
        k1: o.lens.k1,
        k2: o.lens.k2,
        p1: o.lens.p1,
        p2: o.lens.p2,
    });
    let [x, y, z] = bent.lens();
    profile.lens_place = Some(LensPlaceFile {
        foot_mm: [x, y],
        height_mm: z,
    });
    let job = Job::open(Path::new("demo-data")).unwrap();
    let device = Device::open(Wanted::Best).unwrap();
    let f = known(&device, &job, &bent, &profile).unwrap();
    assert!(f.missing == 0 && f.edge_px.count > 3000);
    assert!(
        f.edge_px.rms <= 0.005 && f.edge_px.worst <= 0.02,
        "{:?}",
        f.edge_px
    );
    // Pixel by pixel, the mapping is the twin's.
    let map = profile.mapping().unwrap();
    for t in [0.0, 5.0, 20.0] {
        let p = Point::<Table>::new(333.0, 222.0);
        assert!((map.pixel(p, t).unwrap() - bent.project(p.x, p.y, t)).length() < 1e-8);
    }
}
