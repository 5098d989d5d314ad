//! The order of cutting, on random lays.

use crate::lays::{COUNT, Lay, lay, ring};
use ghostchalk::lay::{cut_order, remainder_is_whole, rough_cuts};
use ghostchalk::shape::union;
use ghostchalk::space::{Rigid, Vector};
use ghostchalk::stand::{Hand, Side};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::FRAC_PI_2;

fn parts_of(lay: &Lay, seed: u64) -> Vec<Vec<usize>> {
    if seed.is_multiple_of(2) {
        vec![(0..lay.pieces.len()).collect()]
    } else {
        rough_cuts(&lay.sheet, &lay.kept, lay.clear).parts
    }
}

fn order(lay: &Lay, parts: &[Vec<usize>], side: Side, cuts: Hand) -> Vec<usize> {
    cut_order(&lay.sheet, &lay.pieces, parts, side, cuts)
}

#[test]
fn every_piece_comes_once_and_one_part_after_another() {
    for seed in 0..COUNT {
        let lay = lay(seed);
        let parts = parts_of(&lay, seed);
        let order = order(&lay, &parts, Side::ALL[seed as usize % 4], Hand::Right);
        let mut all = order.clone();
        all.sort_unstable();
        assert!(all.into_iter().eq(0..lay.pieces.len()), "{seed}");
        let part = |k: &usize| parts.iter().position(|p| p.contains(k));
        let mut visited: Vec<_> = order.iter().map(part).collect();
        visited.dedup();
        assert_eq!(
            visited.len(),
            parts.iter().filter(|p| !p.is_empty()).count(),
            "{seed}: {order:?} of {parts:?}"
        );
    }
}

#[test]
fn the_other_hand_on_a_mirrored_lay_and_a_turned_table_change_nothing() {
    for seed in 0..COUNT {
        let lay = lay(seed);
        let parts = parts_of(&lay, seed);
        let at = seed as usize % 4;
        let side = Side::ALL[at];
        let cuts = if seed.is_multiple_of(3) {
            Hand::Left
        } else {
            Hand::Right
        };
        let want = order(&lay, &parts, side, cuts);
        let mirror = Rigid::new(true, 0.0, Vector::new(1000.0, 0.0));
        let across = Side::ALL[(4 - at) % 4];
        let found = order(&lay.moved(&mirror), &parts, across, cuts.other());
        assert_eq!(found, want, "{seed}: mirrored");
        for k in 1..4 {
            let turn = Rigid::new(false, FRAC_PI_2 * k as f64, Vector::new(700.0, -30.0));
            let found = order(&lay.moved(&turn), &parts, Side::ALL[(at + k) % 4], cuts);
            assert_eq!(found, want, "{seed}: turned {k} times");
        }
    }
}

#[test]
fn the_sheet_stays_whole_as_long_as_any_choice_keeps_it_so() {
    let (mut whole, mut steps) = (0, 0);
    for seed in (0..COUNT).step_by(8) {
        let lay = lay(seed);
        let order = order(&lay, &parts_of(&lay, seed), Side::Front, Hand::Right);
        let is_whole = |removed: &[usize]| remainder_is_whole(&lay.sheet, &lay.pieces, removed);
        if !is_whole(&[]) {
            continue;
        }
        for k in 0..order.len() {
            steps += 1;
            if is_whole(&order[..=k]) {
                whole += 1;
                continue;
            }
            for other in &order[k + 1..] {
                let mut instead = order[..k].to_vec();
                instead.push(*other);
                assert!(
                    !is_whole(&instead),
                    "{seed}: {other} instead of {}",
                    order[k]
                );
            }
            break;
        }
    }
    println!("{whole} of {steps} steps leave the sheet whole");
    assert!(whole * 100 > steps * 99 && steps > 100);
}

/// A sheet of cells that grew at random, a block in each, with less than a
/// holding strip between them: what hangs together is what a walk from
/// neighbour to neighbour reaches.
#[test]
fn blocks_hang_together_by_their_sides() {
    let (mut torn, mut whole) = (0, 0);
    for seed in 0..60 {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut places = vec![(0, 0)];
        for _ in 0..200 {
            let (i, j): (i32, i32) = places[rng.random_range(0..places.len())];
            let (x, y) = [(1, 0), (-1, 0), (0, 1), (0, -1)][rng.random_range(0..4)];
            if !places.contains(&(i + x, j + y)) && places.len() < 14 {
                places.push((i + x, j + y));
            }
        }
        for k in (1..places.len()).rev() {
            places.swap(k, rng.random_range(0..=k));
        }
        let pitch = (rng.random_range(50.0..90.0), rng.random_range(50.0..90.0));
        // Narrow enough that the neck between two corners doesn't hold either.
        let gap = rng.random_range(2.0..7.0);
        let cell = |&(i, j): &(i32, i32), low: f64, high: f64| {
            let (x, y) = (f64::from(i) * pitch.0, f64::from(j) * pitch.1);
            let (w, h) = (pitch.0 - high, pitch.1 - high);
            ring([
                (x - low, y - low),
                (x + w, y - low),
                (x + w, y + h),
                (x - low, y + h),
            ])
        };
        let pieces: Vec<_> = places.iter().map(|p| cell(p, 0.0, gap)).collect();
        let cells: Vec<_> = places.iter().map(|p| cell(p, gap, 0.0)).collect();
        let sheet = union(&cells);

        let reached = |rest: &[usize]| -> usize {
            let mut found: Vec<usize> = rest.iter().copied().take(1).collect();
            let mut k = 0;
            while k < found.len() {
                let (i, j) = places[found[k]];
                let beside =
                    |o: &&usize| (places[**o].0 - i).abs() + (places[**o].1 - j).abs() == 1;
                let next: Vec<usize> = rest.iter().filter(beside).copied().collect();
                next.into_iter().for_each(|o| {
                    if !found.contains(&o) {
                        found.push(o)
                    }
                });
                k += 1;
            }
            found.len()
        };
        let all: Vec<usize> = (0..pieces.len()).collect();
        for cut in 0..all.len() {
            let (gone, rest) = all.split_at(cut);
            let hangs = reached(rest) == rest.len();
            assert_eq!(
                remainder_is_whole(&sheet, &pieces, gone),
                hangs,
                "{seed}: {cut}"
            );
            torn += usize::from(!hangs);
        }
        let side = Side::ALL[seed as usize % 4];
        let order = cut_order(
            &sheet,
            &pieces,
            std::slice::from_ref(&all),
            side,
            Hand::Right,
        );
        for cut in 0..order.len() {
            let rest = &order[cut..];
            assert_eq!(
                reached(rest),
                rest.len(),
                "{seed}: torn after {:?}",
                &order[..cut]
            );
            whole += 1;
        }
    }
    println!("whole after each of {whole} cuts; in the order of numbers torn after {torn}");
    assert!(torn > 100);
}

#[test]
fn a_right_hand_begins_at_the_right() {
    let (mut right, mut lays) = (0, 0);
    for seed in (0..COUNT).step_by(2) {
        let lay = lay(seed);
        let count = lay.pieces.len();
        if count < 8 {
            continue;
        }
        let order = order(&lay, &parts_of(&lay, seed), Side::Front, Hand::Right);
        let x = |k: &usize| lay.pieces[*k].bounds().map_or(0.0, |b| b.center().x);
        let mean = |part: &[usize]| part.iter().map(x).sum::<f64>() / part.len() as f64;
        lays += 1;
        right += usize::from(mean(&order[..count / 2]) > mean(&order[count / 2..]));
    }
    println!("{right} of {lays} lays");
    assert!(right * 100 >= lays * 97 && lays > 30);
}
