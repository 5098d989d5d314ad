//! *Find me a place*: how long it takes, and how far its best is from the best of every
//! place there is.
//!
//! First a panel of 1200 × 800 mm with twenty pieces on it, 1 mm apart, ±3° and either way
//! up, by several wishes. Then small cloths, on which every place a millimetre and half a
//! degree apart is tried by the lay's checks and scored from points 0.4 mm apart.

#[path = "../../tests/place/brute.rs"]
mod brute;
#[path = "../../tests/place/scene.rs"]
mod scene;

use crate::own::worked;
use crate::said;
use crate::table::Table;
use brute::{Exhaustive, Wanted};
use ghostchalk::lay::place::{
    Ask, Fold, Found, Limits, Offer, PairAsk, PairFound, PieceInHand, Together, find, find_pair,
};
use ghostchalk::lay::wish::{Known, Part, Stripes, Wish, Wished};
use ghostchalk::lay::{Along, off_grain};
use ghostchalk::space::{Point, Vector};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use scene::Scene;
use std::time::Instant;

const ROUNDS: usize = 7;
const SMALL: u64 = 30;

/// `times` or `gaps` takes one part only; `--quick` takes each time once; `--wordy` tells
/// of the places that are far from the best.
pub fn run(words: &[String]) {
    if !said(words, "gaps") {
        let quick = said(words, "--quick");
        times(if quick { 1 } else { ROUNDS });
    }
    if !said(words, "times") {
        gaps(said(words, "--wordy"));
    }
}

fn edge(name: &str) -> Option<Part> {
    Some(Part::Edge(name.to_owned()))
}

fn fade() -> Wish {
    Wish::Fade {
        lighter: edge("toe"),
        darker: edge("heel"),
    }
}

/// Twenty pieces on a panel, or none, in rows with room between them, and one in hand.
fn table(count: u32, size: [f64; 2]) -> Scene {
    let mut scene = Scene::random(11, size, [190.0, 110.0], 0);
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    scene.panels.truncate(1);
    scene.reach = None;
    scene.band = 3.0;
    // Without a grain it is turned as far as asked.
    scene.pieces[0].grain = None;
    for k in 0..count {
        let piece = scene::piece(&mut rng, &format!("other {k}"), [150.0, 100.0], 0.3);
        let at = Vector::new(
            -440.0 + 215.0 * f64::from(k % 5),
            -270.0 + 170.0 * f64::from(k / 5),
        );
        let face = ghostchalk::lay::Face::Up;
        scene.placed.push((
            scene.pieces.len(),
            scene::place(at, 7.0 * f64::from(k), face),
            false,
        ));
        scene.pieces.push(piece);
    }
    scene
}

fn times(rounds: usize) {
    println!("1200 x 800 mm, 1 mm, all cores; rounds: {rounds}");
    for count in [20, 0] {
        table_times(count, rounds);
    }
}

fn table_times(count: u32, rounds: usize) {
    let scene = table(count, [1200.0, 800.0]);
    let (laid, grounds) = (scene.laid(), scene.grounds());
    let around = scene.around(&laid, &grounds);
    let bed = around.bed(&[0], 0.0);
    let now = scene.placed[0].1;
    let stripes = Stripes {
        period_mm: 23.0,
        runs_deg: scene.panels[0].grain_deg,
        at_mm: [4.0, 0.0],
        same_both_ways: true,
    };
    let many = vec![
        fade(),
        Wish::Even {},
        Wish::StripeCentred { at_mm: [0.0, 0.0] },
    ];
    let cases = [
        ("nothing wished", vec![], 3.0),
        ("fade", vec![fade()], 3.0),
        ("even", vec![Wish::Even {}], 3.0),
        (
            "stripe",
            vec![Wish::StripeCentred { at_mm: [0.0, 0.0] }],
            3.0,
        ),
        ("fade, even, stripe", many.clone(), 3.0),
        ("all turns", many, 180.0),
    ];
    println!("\n{count} pieces placed\n");
    let numbers = ["offers", "best ms", "median ms", "processor ms"];
    let mut rows = Table::new(["wished"], numbers);
    let ms = |v: f64| format!("{v:.0}");
    for (name, wishes, tolerance) in cases {
        let wishes: Vec<Wished> = wishes
            .into_iter()
            .map(|w| Wished::new("upper", w))
            .collect();
        let ask = Ask {
            hand: PieceInHand {
                piece: &scene.pieces[0],
                face: now.face,
                along: Along::Warp,
                at: Point::new(now.x_mm, now.y_mm),
                turn_deg: 90.0 + scene.panels[0].grain_deg,
            },
            bed: &bed,
            shade: Some(&scene.shade),
            wishes: &wishes,
            known: Known {
                stripes: Some(stripes),
                ..Known::default()
            },
            limits: Limits {
                tolerance_deg: tolerance,
                ..Limits::default()
            },
        };
        let accepts = |p: &ghostchalk::lay::place::Place| around.accepts(&[(0, *p)]);
        let start = worked();
        let mut offers = 0;
        let mut walls: Vec<f64> = (0..rounds)
            .map(|_| {
                let start = Instant::now();
                if let Ok(Found::Places(found)) = find(&ask, &accepts, &|_| true) {
                    offers = found.len();
                }
                1e3 * start.elapsed().as_secs_f64()
            })
            .collect();
        let own = 1e3 * (worked() - start) / rounds as f64;
        walls.sort_by(f64::total_cmp);
        let (best, median) = (walls[0], walls[rounds / 2]);
        rows.row([
            name.to_owned(),
            offers.to_string(),
            ms(best),
            ms(median),
            ms(own),
        ]);
        if tolerance < 100.0 && wishes.len() == 1 {
            let mut second = ask.clone();
            second.hand.face = now.face.other();
            let fold = Fold {
                at: Point::zero(),
                runs_deg: scene.panels[0].grain_deg,
            };
            let alike = Together::Alike {
                second: &second,
                same_panel: true,
            };
            for (how, together) in [("mirrored", Together::Mirrored(fold)), ("alike", alike)] {
                let pair = PairAsk {
                    first: &ask,
                    together,
                };
                let (start, used) = (Instant::now(), worked());
                let found = find_pair(&pair, &|_| Ok(()), &|_| true);
                let wall = 1e3 * start.elapsed().as_secs_f64();
                let own = 1e3 * (worked() - used);
                let count = match found {
                    Ok(PairFound::Pairs(p)) => p.len(),
                    _ => 0,
                };
                rows.row([
                    format!("{name}, a pair {how}"),
                    count.to_string(),
                    ms(wall),
                    String::new(),
                    ms(own),
                ]);
            }
        }
    }
    rows.print();
}

/// One place sought by the shade, with nothing else on a cloth of `size` mm: ms, the least of
/// three.
pub fn seek(size: [f64; 2]) -> f64 {
    let scene = table(0, size);
    let times = (0..3).map(|_| {
        let start = Instant::now();
        std::hint::black_box(best(&scene, &fade()));
        1e3 * start.elapsed().as_secs_f64()
    });
    times.fold(f64::INFINITY, f64::min)
}

fn gaps(wordy: bool) {
    println!(
        "\nSmall cloths: how far below the best of every place, as a share of how far the median is below it.\n"
    );
    let numbers = ["cloths", "mean %", "worst %", "over 2 %", "none found"];
    let mut rows = Table::new(["wished"], numbers);
    for (name, wanted, wish) in [
        ("fade", Wanted::Fade, fade()),
        ("even", Wanted::Even, Wish::Even {}),
    ] {
        let (mut all, mut none) = (Vec::new(), 0);
        for seed in 0..SMALL {
            let scene = Scene::random(seed, [120.0, 90.0], [52.0, 34.0], (seed % 3) as usize);
            let exhaustive = Exhaustive::new(&scene, wanted);
            let every = exhaustive.all();
            if every.is_empty() {
                continue;
            }
            match best(&scene, &wish) {
                Some((offer, off)) => {
                    let gap = exhaustive.gap(&every, &offer.place, off);
                    if gap > 0.02 && wordy {
                        let own = exhaustive.score(&offer.place, off);
                        let (best, place) = &every[0];
                        eprintln!(
                            "{name} {seed}: {own:.3} at {:?}, best {best:.3} at {place:?}",
                            offer.place
                        );
                    }
                    all.push(gap);
                }
                None => {
                    none += 1;
                }
            }
        }
        let mean = 100.0 * all.iter().sum::<f64>() / all.len() as f64;
        let worst = 100.0 * all.iter().copied().fold(0.0, f64::max);
        let over = all.iter().filter(|g| **g > 0.02).count();
        rows.row([
            name.to_owned(),
            all.len().to_string(),
            format!("{mean:.2}"),
            format!("{worst:.2}"),
            over.to_string(),
            none.to_string(),
        ]);
    }
    rows.print();
}

fn best(scene: &Scene, wish: &Wish) -> Option<(Offer, f64)> {
    let (laid, grounds) = (scene.laid(), scene.grounds());
    let around = scene.around(&laid, &grounds);
    let bed = around.bed(&[0], 0.0);
    let now = scene.placed[0].1;
    let piece = &scene.pieces[0];
    let wishes = [Wished::new("upper", wish.clone())];
    let ask = Ask {
        hand: PieceInHand {
            piece,
            face: now.face,
            along: Along::Warp,
            at: Point::new(now.x_mm, now.y_mm),
            turn_deg: now.turn_deg,
        },
        bed: &bed,
        shade: Some(&scene.shade),
        wishes: &wishes,
        known: Known::default(),
        limits: Limits::default(),
    };
    let accepts = |p: &ghostchalk::lay::place::Place| around.accepts(&[(0, *p)]);
    match find(&ask, &accepts, &|_| true) {
        Ok(Found::Places(offers)) => {
            let p = offers[0].place;
            let warp = scene.panels[0].grain_deg;
            let off = off_grain(piece.grain?, p.face, p.turn_deg, warp, false)?;
            Some((offers[0].clone(), off))
        }
        _ => None,
    }
}
