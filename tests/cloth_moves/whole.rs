//! A lay carried whole: its cut lines land as truly as is claimed.

use crate::person::{Carry, Person, Pool, WITHIN, bench_of, corners, cut_lines, demo, slip};
use ghostchalk::lay::{Pointing, carried};
use ghostchalk::measure::Unit;
use ghostchalk::space::Point;

#[test]
fn moved_cloth_is_lit_as_truly_as_is_claimed() {
    const SEEDS: u64 = 300;
    let job = demo();
    for n in 2..=4 {
        let lines = cut_lines(&bench_of(&job), "sling");
        let mut all = Pool::default();
        let mut each = vec![Pool::default(); lines.len()];
        let mut doubted = 0;
        for seed in 0..SEEDS {
            let mut person = Person::new(bench_of(&job), "sling", 1000 * n as u64 + seed);
            let marks = corners(&mut person, [900.0, 430.0], n);
            let before = person.pose();
            person.give(&marks, &before);
            let truly = person.moved(Point::new(450.0, 215.0), 300.0, 20.0);
            let used: Vec<usize> = (0..n).collect();
            let Carry {
                seen,
                said,
                doubted: d,
            } = person.carry(&marks, &used, &truly);
            doubted += u32::from(d);
            assert!(said.contains("the lay lies true to") || d, "{said}");
            let found = carried(seen, Pointing::default()).unwrap();
            let lit = person.pose();
            let mut worst = 0.0_f64;
            for (line, pool) in lines.iter().zip(&mut each) {
                for &p in line {
                    // The bench keeps the pose to 0.1 µm and 0.000 01°.
                    assert!((lit.point(p) - found.pose.point(p)).length() < 1e-3);
                    let claim = found.error_at(p);
                    worst = worst.max(claim);
                    let actual = slip(&lit, &truly, p).length();
                    pool.add(actual, claim);
                    all.add(actual, claim);
                }
            }
            // What is said is the greatest claim along any cut line.
            let want = format!("true to {}", Unit::Mm.show(worst));
            assert!(said.contains(&want), "{said}: {want}");
        }
        let ratios: Vec<f64> = each.iter().map(Pool::ratio).collect();
        let rms = (all.actual / (SEEDS as f64 * lines.iter().flatten().count() as f64)).sqrt();
        println!(
            "{n} marks: rms {rms:.3} mm, {:.3} of the claim; by piece {ratios:.3?}; {doubted} doubted",
            all.ratio()
        );
        assert!(WITHIN.contains(&all.ratio()), "{n} marks: {}", all.ratio());
        assert!(
            ratios.iter().all(|r| WITHIN.contains(r)),
            "{n} marks: {ratios:?}"
        );
        // A hand as steady as it is taken to be is doubted once in a hundred moves.
        assert!(f64::from(doubted) < 0.03 * SEEDS as f64, "{doubted}");
    }
}
