use super::verify::verified;
use super::*;
use crate::shape::{difference, near};
use crate::space::Vector;
use std::f64::consts::TAU;

fn rectangle<S>(x: f64, y: f64, w: f64, h: f64) -> Region<S> {
    let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    Region::ring(corners.map(|[x, y]| Point::new(x, y)).to_vec())
}

fn part(outline: Region<Piece>) -> Part {
    Part {
        outline,
        cloth: 0,
        grain: Some([Point::new(0.0, -1.0), Point::new(0.0, 1.0)]),
        along: Along::Warp,
        face: Face::Up,
    }
}

fn oblong(w: f64, h: f64) -> Part {
    part(rectangle(-w / 2.0, -h / 2.0, w, h))
}

fn panel(w: f64, h: f64) -> Spread {
    Spread {
        cloth: 0,
        outline: rectangle(0.0, 0.0, w, h),
        keep_outs: Vec::new(),
        taken: Vec::new(),
        warp_deg: 90.0,
        one_way: false,
    }
}

fn task<'a>(parts: &'a [Part], spreads: &'a [Spread]) -> Task<'a> {
    Task {
        parts,
        pairs: &[],
        spreads,
        rules: Rules::default(),
        wishes: &NoWishes,
    }
}

fn laid(task: &Task, effort: &Effort) -> Suggestion {
    fit(task, effort, &mut |_| true).unwrap()
}

const SHORT: Effort = Effort {
    seed: 1,
    passes: 150,
    workers: 2,
};

#[test]
fn a_lay_without_much_room_to_spare_is_found() {
    // Two rows of three with 3 mm between and 1.5 from the edge; 0.6 mm to spare each way.
    let parts: Vec<Part> = (0..6).map(|_| oblong(97.0, 47.0)).collect();
    let spreads = [panel(300.6, 100.6)];
    let got = laid(
        &task(&parts, &spreads),
        &Effort {
            passes: 1500,
            ..SHORT
        },
    );
    assert_eq!(got.left, []);
    let want = 100.0 * 6.0 * 97.0 * 47.0 / (300.6 * 100.6);
    assert!((got.yields[0] - want).abs() < 1e-9);
    for (k, p) in got.places.iter().enumerate() {
        let own = parts[p.part].outline.moved(&p.pose);
        assert!(difference(&own, &spreads[0].outline).area() < 1e-9);
        for q in &got.places[..k] {
            assert!(!near(&own, &parts[q.part].outline.moved(&q.pose), 3.0));
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_lay_with_one_worker_or_two_of_them() {
    let parts: Vec<Part> = (0..8)
        .map(|k| oblong(30.0 + 3.0 * f64::from(k), 41.0))
        .collect();
    let spreads = [panel(240.0, 120.0)];
    for workers in [1, 2] {
        let effort = Effort { workers, ..SHORT };
        let task = task(&parts, &spreads);
        let (a, b) = (laid(&task, &effort), laid(&task, &effort));
        assert_eq!(a.places, b.places);
        assert!(a.passes > 20 && a.passes == b.passes);
        let other = laid(&task, &Effort { seed: 2, ..effort });
        assert_ne!(a.places, other.places);
    }
}

#[test]
fn told_to_stop_it_gives_what_it_has() {
    let parts: Vec<Part> = (0..8).map(|_| oblong(30.0, 40.0)).collect();
    let spreads = [panel(300.0, 200.0)];
    let mut asked = 0;
    let got = fit(&task(&parts, &spreads), &SHORT, &mut |p| {
        asked += 1;
        assert_eq!((p.of, p.placed), (8, asked));
        asked < 3
    });
    let got = got.unwrap();
    assert!(got.stopped && got.places.len() == 3 && got.left.len() == 5);
    assert_eq!(got.left[0].1, Why::NoRoom);
}

#[test]
fn what_finds_no_place_says_why() {
    let mut long = oblong(20.0, 130.0);
    let wide = oblong(130.0, 120.0);
    let mut elsewhere = oblong(10.0, 10.0);
    elsewhere.cloth = 7;
    let parts = [
        long.clone(),
        wide,
        elsewhere,
        oblong(60.0, 90.0),
        oblong(60.0, 90.0),
    ];
    let spreads = [panel(140.0, 100.0)];
    let got = laid(&task(&parts, &spreads), &SHORT);
    let whys: Vec<_> = got.left.clone();
    assert_eq!(
        whys,
        [(0, Why::Grain), (1, Why::TooLarge), (2, Why::NoCloth)]
    );
    let crowded: Vec<Part> = (0..3).map(|_| oblong(60.0, 90.0)).collect();
    let got = laid(&task(&crowded, &spreads), &SHORT);
    assert_eq!((got.places.len(), got.left[0].1), (2, Why::NoRoom));
    // Without a grain it may turn.
    long.grain = None;
    let got = laid(&task(&[long], &spreads), &SHORT);
    assert_eq!(got.left, []);
}

/// Wishes to lie at one place, left pieces more than others.
struct Spot(Point<Cloth>);

impl Wishes for Spot {
    fn place(&self, part: usize, _: usize, pose: &Rigid<Piece, Cloth>) -> f64 {
        let far = (pose.shift.to_point() - self.0).length();
        if part == 2 { 1.0 - far / 400.0 } else { 0.0 }
    }
}

#[test]
fn a_wish_is_met_though_others_were_there_first() {
    let mut parts: Vec<Part> = (0..5).map(|_| oblong(60.0, 60.0)).collect();
    // The smallest is laid last, and wishes for the corner that is filled first.
    parts[2] = oblong(50.0, 50.0);
    let spreads = [panel(300.0, 70.0), panel(90.0, 70.0)];
    let wish = Spot(Point::new(35.0, 35.0));
    let mut task = task(&parts, &spreads);
    task.wishes = &wish;
    let got = laid(
        &task,
        &Effort {
            passes: 600,
            ..SHORT
        },
    );
    assert_eq!(got.left, []);
    let at = got.places[2].pose.shift.to_point();
    assert!((at - wish.0).length() < 12.0, "{at:?}");
}

#[test]
fn the_two_of_a_pair_lie_near_each_other() {
    let mut parts: Vec<Part> = (0..6)
        .map(|k| oblong(40.0 + f64::from(k / 2), 60.0))
        .collect();
    for k in [1, 3, 5] {
        parts[k].face = Face::Down;
    }
    let spreads = [panel(700.0, 70.0), panel(400.0, 70.0)];
    let pairs = [[0, 1], [2, 3], [4, 5]];
    let mut task = task(&parts, &spreads);
    task.pairs = &pairs;
    let got = laid(
        &task,
        &Effort {
            passes: 300,
            ..SHORT
        },
    );
    for [a, b] in pairs {
        let (p, q) = (got.places[a], got.places[b]);
        assert!(!p.pose.mirrored && q.pose.mirrored && p.spread == q.spread);
        let far = (p.pose.shift - q.pose.shift).length();
        assert!(far < 60.0, "{far}");
    }
}

#[test]
fn what_breaks_a_rule_is_shifted_or_left_out() {
    let parts: Vec<Part> = (0..4).map(|_| oblong(40.0, 40.0)).collect();
    let mut spreads = [panel(200.0, 100.0)];
    spreads[0].keep_outs = vec![rectangle(150.0, 0.0, 50.0, 100.0)];
    spreads[0].taken = vec![rectangle(0.0, 70.0, 40.0, 30.0)];
    let task = task(&parts, &spreads);
    let place = |part, x, y| FitPlace {
        part,
        spread: 0,
        pose: Rigid::new(false, 0.0, Vector::new(x, y)),
    };
    let places = vec![
        place(0, 25.0, 25.0),
        place(1, 67.99, 25.0), // crowds the first by 0.01
        place(2, 140.0, 60.0), // over the place to keep out of
        place(3, 25.0, 75.0),  // on what is laid
    ];
    let good = verified(&task, places);
    assert_eq!(good.iter().map(|p| p.part).collect::<Vec<_>>(), [0, 1]);
    let gap = good[1].pose.shift.x - good[0].pose.shift.x - 40.0;
    assert!((3.0..3.03).contains(&gap), "{gap}");
    // Exactly as far as it must be is far enough.
    assert_eq!(good[0], place(0, 25.0, 25.0));
    assert_eq!(verified(&task, vec![place(1, 130.0, 30.0)]).len(), 1);
    assert_eq!(verified(&task, vec![place(1, 130.0, 15.0)]).len(), 0);
}

fn star(seed: usize, size: f64) -> Region<Piece> {
    let n = 40 + seed % 50;
    let at = |k: usize| {
        let t = TAU * k as f64 / n as f64;
        let r = size * (1.0 + 0.35 * (t * (2 + seed % 4) as f64 + seed as f64).sin());
        Point::new(r * t.cos(), r * t.sin())
    };
    Region::ring((0..n).map(at).collect())
}

#[test]
fn too_much_of_everything_keeps_the_rules() {
    for seed in 0..2 {
        let mut outline: Region<Cloth> =
            star(seed + 3, 150.0).moved(&Rigid::new(false, 1.0, Vector::new(160.0, -3000.0)));
        let mut hole: Region<Cloth> = Region::disc(Point::new(150.0, -3010.0), 20.0);
        hole.rings[0].reverse();
        outline.append(hole);
        let spreads = [Spread {
            cloth: 0,
            outline,
            keep_outs: vec![Region::disc(Point::new(90.0, -3000.0), 12.0)],
            taken: vec![star(seed, 20.0).moved(&Rigid::new(
                true,
                2.0,
                Vector::new(210.0, -3000.0),
            ))],
            warp_deg: 33.0,
            one_way: seed % 2 == 0,
        }];
        let parts: Vec<Part> = (0..9)
            .map(|k| part(star(seed + k, 20.0 + 2.0 * k as f64)))
            .collect();
        let effort = Effort {
            seed: seed as u64,
            passes: 40,
            workers: 2,
        };
        let task = task(&parts, &spreads);
        let got = laid(&task, &effort);
        assert!(got.places.len() > 4, "{}", got.places.len());
        assert_eq!(got.places.len() + got.left.len(), parts.len());
        // Nothing was left for the check to mend: the search keeps the rules by itself.
        let found = arrange::arrange(&task, &effort, &mut |_| true);
        assert_eq!(verified(&task, found.places), got.places);
    }
}

#[test]
fn bad_numbers_get_a_sentence() {
    let parts = [oblong(10.0, 10.0)];
    let spreads = [panel(100.0, 100.0)];
    let said = |task: &Task| fit(task, &SHORT, &mut |_| true).unwrap_err().to_string();
    let mut bad = task(&parts, &spreads);
    bad.rules.between = f64::NAN;
    assert!(said(&bad).contains("between pieces"));
    bad = task(&parts, &spreads);
    bad.pairs = &[[0, 1]];
    assert!(said(&bad).contains("a pair names"));
    let broken = [part(Region::ring(vec![Point::new(0.0, f64::INFINITY); 3]))];
    assert!(said(&task(&broken, &spreads)).contains("piece 1 to fit"));
    let mut nowhere = spreads.clone();
    nowhere[0].warp_deg = f64::NAN;
    assert!(said(&task(&parts, &nowhere)).contains("panel 1"));
    // Nothing to do is no fault; nor is cloth that is nowhere wide enough.
    assert_eq!(laid(&task(&[], &spreads), &SHORT).places, []);
    let sliver = [panel(100.0, 2.0)];
    assert_eq!(
        laid(&task(&parts, &sliver), &SHORT).left,
        [(0, Why::TooLarge)]
    );
}
