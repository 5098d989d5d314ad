//! What every plan of rough cuts must be.

use crate::lays::{COUNT, Lay, lay};
use crate::plain::{apart, edge, edges, from_edge, holds};
use ghostchalk::lay::{RoughPlan, rough_cuts};
use ghostchalk::shape::{Caps, Region, connected, difference, intersection, stroke, union};
use ghostchalk::space::{Point, Rigid, Table, Vector};
use std::f64::consts::PI;

fn plan(lay: &Lay) -> RoughPlan {
    rough_cuts(&lay.sheet, &lay.kept, lay.clear)
}

fn sorted(mut parts: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    parts.iter_mut().for_each(|p| p.sort_unstable());
    parts.sort();
    parts
}

#[test]
fn cuts_keep_clear_lie_on_the_sheet_and_end_on_an_edge() {
    let (mut cuts, mut tightest) = (0, f64::INFINITY);
    for seed in 0..COUNT {
        let lay = lay(seed);
        let plan = plan(&lay);
        let light: Vec<_> = lay.kept.iter().flat_map(edges).collect();
        let mut ends = edges(&lay.sheet);
        let outline = ends.clone();
        for cut in &plan.cuts {
            let own = edge(cut.from, cut.to);
            let clear = light
                .iter()
                .map(|e| apart(own, *e))
                .fold(f64::INFINITY, f64::min);
            assert!(clear >= lay.clear - 1e-6, "{seed}: {clear} {}", lay.clear);
            assert!(
                (clear - cut.clear).abs() < 1e-9,
                "{seed}: {clear} {}",
                cut.clear
            );
            tightest = tightest.min(clear - lay.clear);
            for p in [own.0, own.1] {
                let off = ends
                    .iter()
                    .map(|e| from_edge(p, *e))
                    .fold(f64::INFINITY, f64::min);
                assert!(off < 1e-6, "{seed}: an end {off} mm from any edge");
            }
            for k in 1..100 {
                let p = cut.from.lerp(cut.to, f64::from(k) / 100.0);
                assert!(
                    holds(&outline, (p.x, p.y)),
                    "{seed}: off the sheet at {p:?}"
                );
            }
            ends.push(own);
            cuts += 1;
        }
    }
    println!("{cuts} cuts, the tightest {tightest:e} mm wider than asked for");
    assert!(cuts > 1000 && tightest < 0.05);
}

/// The sheet slit along the cuts, in parts that hang together.
fn slit(lay: &Lay, plan: &RoughPlan) -> Vec<Region<Table>> {
    let slits = plan.cuts.iter().map(|c| {
        let on = (c.to - c.from).normalize() * 0.05;
        stroke(&[c.from - on, c.to + on], 0.01, Caps::Flat)
    });
    let slits: Vec<_> = slits.collect();
    connected(&difference(&lay.sheet, &union(&slits)))
}

#[test]
fn slit_along_the_cuts_the_sheet_falls_into_the_parts() {
    let mut parts = 0;
    for seed in 0..COUNT {
        let lay = lay(seed);
        let plan = plan(&lay);
        let every: Vec<usize> = (0..lay.kept.len()).collect();
        assert_eq!(
            sorted(plan.parts.concat().into_iter().map(|k| vec![k]).collect()).concat(),
            every
        );
        let cloths = slit(&lay, &plan);
        let on = |k: usize| {
            let shared = |c: &Region<Table>| intersection(c, &lay.kept[k]).area();
            let areas: Vec<f64> = cloths.iter().map(shared).collect();
            (0..areas.len())
                .max_by(|&a, &b| areas[a].total_cmp(&areas[b]))
                .unwrap()
        };
        let mut own: Vec<usize> = Vec::new();
        for (part, cloth) in plan.parts.iter().zip(&plan.cloths) {
            let at = on(part[0]);
            assert!(
                part.iter().all(|&k| on(k) == at),
                "{seed}: {part:?} is parted"
            );
            // The plan's cloth is what is left of it between the slits.
            let lost = cloth.area() - cloths[at].area();
            let outline: f64 = edges(cloth)
                .iter()
                .map(|(a, b)| (a.0 - b.0).hypot(a.1 - b.1))
                .sum();
            assert!(
                (0.0..0.02 * outline + 1e-3).contains(&lost.abs()),
                "{seed}: {lost}"
            );
            assert!(difference(&cloths[at], cloth).area() < 1e-2, "{seed}");
            own.push(at);
        }
        let count = own.len();
        own.sort_unstable();
        own.dedup();
        assert_eq!(
            own.len(),
            count,
            "{seed}: parts that were told apart are not"
        );
        parts += count;
    }
    println!("{parts} parts");
    assert!(parts > 1000);
}

#[test]
fn what_stays_together_no_straight_line_parts() {
    let mut together = 0;
    for seed in 0..COUNT {
        let lay = lay(seed);
        for part in plan(&lay).parts.iter().filter(|p| p.len() > 1) {
            together += 1;
            for k in 0..1440 {
                let (sin, cos) = (PI * f64::from(k) / 1440.0).sin_cos();
                let along = |p: &Point<Table>| p.x * cos + p.y * sin;
                let mut spans: Vec<(f64, f64)> = Vec::new();
                for &k in part {
                    let all = lay.kept[k].rings.iter().flatten().map(along);
                    spans.push(all.fold((f64::MAX, f64::MIN), |s, v| (s.0.min(v), s.1.max(v))));
                }
                spans.sort_by(|a, b| a.0.total_cmp(&b.0));
                let mut reached = spans[0].1;
                for s in &spans[1..] {
                    let gap = s.0 - reached;
                    assert!(
                        gap < 2.0 * lay.clear + 1e-3,
                        "{seed}: {part:?} by {gap} at {k}"
                    );
                    reached = reached.max(s.1);
                }
            }
        }
    }
    println!("{together} parts of several pieces");
    assert!(together > 20);
}

#[test]
fn a_lay_moved_as_a_whole_is_cut_in_the_same_way() {
    for seed in 0..COUNT {
        let lay = lay(seed);
        let plan = plan(&lay);
        let by = Rigid::new(
            seed.is_multiple_of(2),
            0.1 * seed as f64,
            Vector::new(-500.0, 80.0),
        );
        let moved = rough_cuts(&lay.moved(&by).sheet, &lay.moved(&by).kept, lay.clear);
        assert_eq!(sorted(plan.parts), sorted(moved.parts), "{seed}");
        // Cut for cut, though perhaps from the other end.
        assert_eq!(plan.cuts.len(), moved.cuts.len(), "{seed}");
        for (a, b) in plan.cuts.iter().zip(&moved.cuts) {
            let (from, to) = (by.point(a.from), by.point(a.to));
            let off = |p: Point<Table>, q: Point<Table>| (from - p).length().max((to - q).length());
            let off = off(b.from, b.to).min(off(b.to, b.from));
            assert!(off < 1e-4, "{seed}: {off}");
        }
    }
}
