//! Rule 1, for random pieces, lays, panel poses and homographies: the band's
//! inner edge is the cut line; no band lies in any piece; a pixel wholly inside
//! a piece is dark but for that piece's own marks; a pixel that the line
//! crosses is lit by exactly the share of its area that lies in the band.

mod common;

use common::{blob, compare, devices, exact, picture, star};
use ghostchalk::lay::{Face, Laid};
use ghostchalk::light::{Lamp, STEPS, Settings};
use ghostchalk::pattern::{Notch, NotchKind, PatternPiece};
use ghostchalk::projection::{Homography, Mapping};
use ghostchalk::scene::Scene;
use ghostchalk::shape::{Region, difference, intersection, near, offset, union};
use ghostchalk::space::{Cloth, Piece, Point, Rigid, Table, Vector};
use proptest::prelude::*;

fn as_piece(region: &Region<Table>, name: &str) -> PatternPiece {
    let mut piece = PatternPiece::named(name);
    piece.cut = region
        .rings
        .iter()
        .map(|r| r.iter().map(|p| Point::new(p.x, p.y)).collect())
        .collect();
    piece
}

fn pieces(seed: usize) -> Vec<PatternPiece> {
    let mut all = vec![
        as_piece(&blob(60.0, seed), "blob"),
        as_piece(&star(5 + seed % 4, 70.0, 30.0), "star"),
        as_piece(&blob(35.0, seed + 3), "small"),
    ];
    // A hole, clockwise.
    let mut hole = Region::<Piece>::disc(Point::new(5.0, -4.0), 4.0 + (seed % 5) as f64).rings;
    hole[0].reverse();
    all[0].cutouts = hole;
    all[0].drills = vec![Point::new(-20.0, 10.0)];
    all[2].grain = Some([Point::new(0.0, -20.0), Point::new(0.0, 20.0)]);
    // A notch on an edge of the star, square to it.
    let (a, b) = (all[1].cut[0][0], all[1].cut[0][1]);
    let along = (b - a).normalize();
    all[1].notches = vec![Notch {
        at: a + (b - a) * 0.6,
        inward: Vector::new(-along.y, along.x),
        depth: 3.0,
        kind: [NotchKind::Slit, NotchKind::Double, NotchKind::Vee][seed % 3],
    }];
    all
}

/// A place for each piece on a panel, and the panel's pose on the table.
type Places = (Vec<(bool, f64, f64, f64)>, (f64, f64, f64));

fn places() -> impl Strategy<Value = Places> {
    let place = (any::<bool>(), -7.0..7.0f64, 0.0..500.0f64, 0.0..300.0f64);
    (
        prop::collection::vec(place, 5),
        (-0.4..0.4f64, 200.0..450.0f64, 150.0..300.0f64),
    )
}

fn lay<'a>(pieces: &'a [PatternPiece], (places, panel): &Places) -> Vec<Laid<'a>> {
    let panel: Rigid<Cloth, Table> = Rigid::new(false, panel.0, Vector::new(panel.1, panel.2));
    places
        .iter()
        .enumerate()
        .map(|(k, &(down, turn, x, y))| {
            let pose: Rigid<Piece, Cloth> = Rigid::new(down, turn, Vector::new(x, y));
            Laid {
                piece: &pieces[k % pieces.len()],
                article: "1",
                cloth: "canvas",
                panel: "sling",
                cut_note: "cut 2, a pair".to_owned(),
                is_cut: false,
                trim: [0.0, 0.4, 0.0, -0.3, 1.1][k % 5],
                face: if down { Face::Down } else { Face::Up },
                pose: pose.then(&panel),
                height: 0.0,
            }
        })
        .collect()
}

fn keystone() -> impl Strategy<Value = Mapping> {
    let jitter = prop::array::uniform8(-60.0..60.0f64);
    (jitter, any::<bool>()).prop_map(|(j, mirror)| {
        let (l, r) = if mirror {
            (1700.0, 220.0)
        } else {
            (220.0, 1700.0)
        };
        let table = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
        let px = [(l, 1010.0), (r, 1000.0), (r, 70.0), (l, 80.0)];
        let h = Homography::through(
            table.map(|(x, y)| Point::new(x, y)),
            std::array::from_fn(|k| Point::new(px[k].0 + j[2 * k], px[k].1 + j[2 * k + 1])),
        );
        Mapping::plane(h.expect("four corners"))
    })
}

fn reach() -> Region<Table> {
    common::polygon(&[(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)])
}

fn lit(scene: &Scene) -> Vec<Region<Table>> {
    let of = |f: &ghostchalk::scene::Figure| {
        let mut all = Region::default();
        for p in &f.patches {
            all.append(p.region.clone());
        }
        all
    };
    scene.figures.iter().map(of).collect()
}

fn cases(count: u32) -> ProptestConfig {
    ProptestConfig {
        cases: count,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn no_light_lies_where_it_must_not((seed, places) in (0usize..40, places())) {
        let pieces = pieces(seed);
        let laid = lay(&pieces, &places);
        let settings = Settings::default();
        let mut lamp = Lamp::new(settings).unwrap();
        lamp.light(&laid, &reach());
        let light = lit(lamp.scene());
        for (k, own) in light.iter().enumerate() {
            for (j, other) in light.iter().enumerate() {
                if k == j {
                    continue;
                }
                // No figure's light overlaps another's: light adds, and 2 is not 1.
                let both = intersection(own, other).area();
                prop_assert!(both < 1e-3, "figures {k} and {j} share {both} mm²");
                // Where pieces do not overlap, nothing of one is lit in the other.
                if !near(lamp.inside(k), lamp.inside(j), 1e-6) {
                    let spill = intersection(own, lamp.inside(j)).area();
                    prop_assert!(spill < 1e-3, "{k} spills {spill} mm² into {j}");
                }
            }
            // The band is no wider than it should be.
            let far = difference(
                &lamp.scene().figures[k].patches[0].region,
                &offset(lamp.inside(k), settings.band + 2.0 * ghostchalk::shape::ARC_ERROR),
            );
            prop_assert!(far.area() < 1e-3);
        }
        // The band's inner edge is the cut line: just outside it is lit,
        // unless a gap or another piece is there.
        let all = union(&light);
        let everything: Vec<&Region<Table>> = (0..laid.len()).map(|k| lamp.inside(k)).collect();
        for (k, l) in laid.iter().enumerate() {
            for ring in &lamp.inside(k).rings {
                for w in ring.windows(2) {
                    let along = (w[1] - w[0]).normalize();
                    let right = Vector::new(along.y, -along.x);
                    let at = w[0] + (w[1] - w[0]) * 0.5 + right * 0.01;
                    let open = l.piece.notches.iter().any(|n| (l.pose.point(n.at) - at).length() < 6.5);
                    let taken = everything.iter().any(|r| r.contains(at));
                    if !open && !taken && (w[1] - w[0]).length() > 0.1 {
                        prop_assert!(all.contains(at), "dark at {at:?} beside piece {k}");
                    }
                }
            }
        }
    }

    #[test]
    fn moving_one_piece_gives_the_light_of_the_whole_lay((seed, places, step) in (0usize..40, places(), prop::array::uniform2(-60.0..60.0f64))) {
        let pieces = pieces(seed);
        let mut laid = lay(&pieces, &places);
        let mut lamp = Lamp::new(Settings::default()).unwrap();
        lamp.light(&laid, &reach());
        laid[2].pose.shift += Vector::new(step[0], step[1]);
        lamp.moved(&laid, 2);
        let mut whole = Lamp::new(Settings::default()).unwrap();
        whole.light(&laid, &reach());
        for (k, (a, b)) in lamp.scene().figures.iter().zip(&whole.scene().figures).enumerate() {
            // Band and marks; labels beside pieces settle when the move is over.
            for (p, q) in a.patches.iter().zip(&b.patches).take(2) {
                let off = (p.region.area() - q.region.area()).abs();
                prop_assert!(off < 1e-3, "figure {k}: {off} mm²");
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(12))]

    /// Cut into dashes, the band is a part of itself: no light comes where none was; and what
    /// the dashes of all steps light is what the band did.
    #[test]
    fn dashes_light_their_bands_and_nothing_else((seed, places) in (0usize..40, places())) {
        let pieces = pieces(seed);
        let laid = lay(&pieces, &places);
        let mut lamp = Lamp::new(Settings::default()).unwrap();
        lamp.light(&laid, &reach());
        let whole = lamp.scene().figures.clone();
        for (k, l) in laid.iter().enumerate() {
            let band = &whole[k].patches[0].region;
            let mut steps = Vec::new();
            for step in 0..STEPS {
                lamp.creep(Some(step));
                let figure = lamp.figure(k, l.height);
                prop_assert!(figure.patches[1..] == whole[k].patches[1..], "marks and words stay");
                let dashes = figure.patches[0].region.clone();
                for j in 0..laid.len() {
                    // Of pieces that lie on each other one lies in the other's band.
                    let spill = intersection(&dashes, lamp.inside(j)).area();
                    prop_assert!(spill < 1e-3, "{k} spills {spill} mm² into {j}");
                }
                prop_assert!(difference(&dashes, band).area() < 1e-3);
                prop_assert!(dashes.area() < 0.75 * band.area() + 100.0);
                steps.push(dashes);
            }
            let missing = difference(band, &union(&steps)).area();
            prop_assert!(missing < 1e-3, "{missing} mm² of {k} are never lit");
        }
    }
}

proptest! {
    #![proptest_config(cases(6))]

    #[test]
    fn frames_hold_the_exact_share_of_every_pixel((seed, places, map) in (0usize..40, places(), keystone())) {
        let pieces = pieces(seed);
        let laid = lay(&pieces, &places);
        let mut lamp = Lamp::new(Settings::default()).unwrap();
        lamp.light(&laid, &reach());
        let want = exact(lamp.scene(), &map, 1920, 1080);
        for device in devices() {
            let frame = picture(&device, lamp.scene(), &map, 1920, 1080);
            let e = compare(&want, &frame);
            prop_assert!(e.mean <= 0.0016 && e.worst <= 0.007 && e.wrong_solid == 0, "{e:?}");
        }
    }
}
