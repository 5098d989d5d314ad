//! *Find me a place*, against the lay's own checks and against every place there is.

mod brute;
mod scene;

use brute::{Exhaustive, Wanted};
use ghostchalk::lay::place::{Ask, Found, Limits, Offer, PieceInHand, find};
use ghostchalk::lay::wish::{Known, Part, Wish, Wished};
use ghostchalk::lay::{Along, off_grain};
use ghostchalk::space::Point;
use scene::Scene;

fn wish(wanted: Wanted) -> Wished {
    let edge = |name: &str| Some(Part::Edge(name.to_owned()));
    let wish = match wanted {
        Wanted::Fade => Wish::Fade {
            lighter: edge("toe"),
            darker: edge("heel"),
        },
        Wanted::Even => Wish::Even {},
    };
    Wished::new("upper", wish)
}

fn found(scene: &Scene, wishes: &[Wished], limits: Limits) -> Found {
    let (laid, grounds) = (scene.laid(), scene.grounds());
    let around = scene.around(&laid, &grounds);
    let bed = around.bed(&[0], 0.0);
    let now = scene.placed[0].1;
    let ask = Ask {
        hand: PieceInHand {
            piece: &scene.pieces[0],
            face: now.face,
            along: Along::Warp,
            at: Point::new(now.x_mm, now.y_mm),
            turn_deg: now.turn_deg,
        },
        bed: &bed,
        shade: Some(&scene.shade),
        wishes,
        known: Known::default(),
        limits,
    };
    // Nothing is left to the checks: they must accept all.
    find(&ask, &|_| Ok(()), &|_| true).unwrap()
}

fn off(scene: &Scene, offer: &Offer) -> f64 {
    let p = &offer.place;
    let warp = scene.panels[0].grain_deg;
    off_grain(
        scene.pieces[0].grain.unwrap(),
        p.face,
        p.turn_deg,
        warp,
        false,
    )
    .unwrap()
}

#[test]
fn nothing_is_offered_that_the_lays_checks_refuse() {
    let mut offered = 0;
    let mut none = 0;
    for seed in 0..21 {
        let others = (seed % 7) as usize;
        let scene = Scene::random(seed, [240.0, 180.0], [60.0, 38.0], others);
        let (laid, grounds) = (scene.laid(), scene.grounds());
        let around = scene.around(&laid, &grounds);
        let wanted = [Wanted::Fade, Wanted::Even][(seed % 2) as usize];
        match found(&scene, &[wish(wanted)], Limits::default()) {
            Found::Places(offers) => {
                for offer in &offers {
                    let said = around.accepts(&[(0, offer.place)]);
                    assert_eq!(said, Ok(()), "seed {seed}: {offer:?}");
                    assert!(off(&scene, offer) <= 2.0);
                }
                offered += offers.len();
            }
            Found::None(_) => none += 1,
            Found::Stopped => panic!("nobody stopped it"),
        }
    }
    assert!(offered > 50 && none < 7, "{offered} {none}");
}

#[test]
fn the_best_is_within_two_in_a_hundred_of_every_place_there_is() {
    for (seed, wanted) in [(3, Wanted::Fade), (8, Wanted::Even)] {
        let scene = Scene::random(seed, [46.0, 38.0], [18.0, 13.0], 1);
        let exhaustive = Exhaustive::new(&scene, wanted);
        let all = exhaustive.all();
        assert!(all.len() > 100, "seed {seed}: {}", all.len());
        let Found::Places(offers) = found(&scene, &[wish(wanted)], Limits::default()) else {
            panic!("seed {seed}: no place of {}", all.len());
        };
        let gap = exhaustive.gap(&all, &offers[0].place, off(&scene, &offers[0]));
        assert!(gap <= 0.02, "seed {seed}: {gap}");
    }
}
