//! Rough cuts: before pieces are cut out finely, the sheet is cut apart in
//! straight lines between them, so that the scissors reach every line.

mod goods;
mod lines;

use crate::shape::{Chord, Region, cut_apart};
use crate::space::{Point, Table};
use goods::Goods;
use lines::{Line, across, between_pairs, pairs_among, turns};

/// One straight cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoughCut {
    /// On the sheet's edge, or on an earlier cut; so is `to`.
    pub from: Point<Table>,
    pub to: Point<Table>,
    /// To the nearest thing that must not be touched, mm; infinite if there
    /// is nothing.
    pub clear: f64,
}

/// How a sheet is cut apart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RoughPlan {
    /// In an order in which they can be made: each ends on the sheet's edge
    /// or on earlier ones.
    pub cuts: Vec<RoughCut>,
    /// Which pieces stay together; every piece is in one part.
    pub parts: Vec<Vec<usize>>,
    /// The cloth on which each part lies, in the order of `parts`; empty for
    /// a piece that lies beside the sheet.
    pub cloths: Vec<Region<Table>>,
}

/// A cut nearer than this to the light, mm, is on it, whatever is asked for.
const LEAST: f64 = 0.01;

/// A gap that falls short of twice the clearance by less than this, mm, is
/// rounding.
const ROUNDING: f64 = 1e-6;

/// Wider than this many times the least clearance, room at the blade is of no
/// more use.
const ROOMY: f64 = 3.0;

/// Directions that are looked along first, at most: of pieces that lie close.
/// All pairs of some thirty pieces are within it.
const FIRST: usize = 1800;

/// Directions that are looked along at all: bounds the time for lays of
/// hundreds of pieces that nothing parts.
const MOST: usize = 30_000;

/// Lines of several stretches that are looked at closely, of one set.
const CLOSELY: usize = 6;

/// Cuts the sheet apart roughly.
///
/// `kept[k]` is all of piece k that must not be touched: the piece with its
/// band and signs. `clear` is the least distance from a cut to any of them,
/// mm. Where no straight cut across a part of the sheet keeps that distance
/// and has pieces on both sides, the pieces stay together. (Cuts are looked
/// for between hulls: on a sheet with arms or holes, a cut that only goes
/// because a piece bends round its end is not found.)
///
/// Of all cuts across the part in hand, the one that costs least is made
/// first: its length, times 1 + (least clearance ÷ room at the blade), over
/// the number of pairs of pieces that it tells apart. So a short cut goes
/// before a long one, and one down the middle before one that takes off a
/// corner; one that barely clears the light counts as half as long again as
/// one with room. Then each side is a part in hand.
pub fn rough_cuts(sheet: &Region<Table>, kept: &[Region<Table>], clear: f64) -> RoughPlan {
    let goods = Goods::new(sheet, kept, clear.max(LEAST));
    let mut plan = RoughPlan::default();
    let laid = (0..kept.len()).filter(|&k| goods.on_sheet(k)).collect();
    let mut in_hand = goods.groups(sheet, laid);
    in_hand.reverse();
    while let Some((cloth, pieces)) = in_hand.pop() {
        match best(&goods, &cloth, &pieces) {
            Some(found) => {
                plan.cuts.extend(found.cuts);
                in_hand.extend(found.groups.into_iter().rev());
            }
            None => {
                plan.parts.push(pieces);
                plan.cloths.push(cloth);
            }
        }
    }
    for k in (0..kept.len()).filter(|&k| !goods.on_sheet(k)) {
        plan.parts.push(vec![k]);
        plan.cloths.push(Region::default());
    }
    plan
}

/// Cloth with the pieces that lie on it.
type Group = (Region<Table>, Vec<usize>);

/// A way to cut a part in hand.
struct Found {
    cost: f64,
    cuts: Vec<RoughCut>,
    groups: Vec<Group>,
}

/// A line across the cloth, before it is looked at closely.
struct Try {
    cost: f64,
    room: f64,
    chords: Vec<Chord<Table>>,
}

/// What the millimetres of a cut count for; see [`rough_cuts`].
fn cost(length: f64, room: f64, clear: f64, told: usize) -> f64 {
    length * (1.0 + clear / room.min(ROOMY * clear)) / told as f64
}

fn best(goods: &Goods, cloth: &Region<Table>, pieces: &[usize]) -> Option<Found> {
    if pieces.len() < 2 {
        return None;
    }
    let pairs = pairs_among(goods, pieces);
    // The sheet's own directions give the short ways across it; the pairs'
    // directions find whatever gap there is.
    let close = FIRST.min(3 * pairs.len()) / 3;
    let first = turns(cloth).chain(pairs[..close].iter().flat_map(|p| p.along.clone()));
    let rest = pairs[close..]
        .iter()
        .flat_map(|p| p.along.clone())
        .take(MOST);
    let straight = |directions: &mut dyn Iterator<Item = _>| {
        let lines = directions.flat_map(|d| across(goods, pieces, d));
        let tries = lines.filter_map(|l| try_line(goods, cloth, &l));
        cheapest(goods, cloth, pieces, tries.collect())
    };
    straight(&mut first.into_iter())
        .or_else(|| straight(&mut rest.into_iter()))
        .or_else(|| stretches(goods, cloth, pieces, &pairs[..close]))
}

fn try_line(goods: &Goods, cloth: &Region<Table>, line: &Line) -> Option<Try> {
    let chords = crate::shape::chords(cloth, line.at, line.along);
    let length: f64 = chords.iter().map(Chord::length).sum();
    (!chords.is_empty()).then(|| Try {
        cost: cost(length, line.room, goods.clear, line.told),
        room: line.room,
        chords,
    })
}

/// On a sheet with arms or holes a line may be good in one stretch though it
/// runs into pieces in another.
fn stretches(
    goods: &Goods,
    cloth: &Region<Table>,
    pieces: &[usize],
    pairs: &[&goods::Pair],
) -> Option<Found> {
    if goods::is_convex(cloth) {
        return None;
    }
    let mut tries = Vec::new();
    for line in between_pairs(goods, pairs) {
        let mut chords = crate::shape::chords(cloth, line.at, line.along);
        chords.retain(|c| goods.misses(c, pieces));
        let length: f64 = chords.iter().map(Chord::length).sum();
        if !chords.is_empty() {
            tries.push(Try {
                cost: cost(length, line.room, goods.clear, 1),
                room: line.room,
                chords,
            });
        }
    }
    cheapest(goods, cloth, pieces, tries)
}

/// The cheapest of some lines, if one parts the pieces and is clear of all
/// light.
fn cheapest(
    goods: &Goods,
    cloth: &Region<Table>,
    pieces: &[usize],
    mut tries: Vec<Try>,
) -> Option<Found> {
    // Of the same cost but for rounding: where there is most room.
    let key = |t: &Try| (t.cost * 1e6).round();
    tries.sort_by(|a, b| (key(a).total_cmp(&key(b))).then(b.room.total_cmp(&a.room)));
    let mut best: Option<Found> = None;
    let mut several = 0;
    for t in &tries {
        // A line of one stretch costs what it was thought to; one of several
        // may be cheaper, when some turn out not to be needed.
        let single = t.chords.len() == 1;
        match best {
            Some(_) if single => continue,
            Some(_) if several == CLOSELY => break,
            _ => {}
        }
        let Some(found) = closely(goods, cloth, pieces, t) else {
            continue;
        };
        several += usize::from(!single);
        if best.as_ref().is_none_or(|b| found.cost < b.cost) {
            best = Some(found);
        }
    }
    best
}

/// Looks at a line closely: which of its stretches are needed, what lies on
/// which side, how far the light is.
fn closely(goods: &Goods, cloth: &Region<Table>, pieces: &[usize], t: &Try) -> Option<Found> {
    let groups_of =
        |chords: &[&Chord<Table>]| goods.groups(&cut_apart(cloth, chords), pieces.to_vec());
    let mut chords: Vec<&Chord<Table>> = t.chords.iter().collect();
    let mut groups = groups_of(&chords);
    if groups.len() < 2 {
        return None;
    }
    // The longest that is not needed goes first.
    let mut by_length = chords.clone();
    by_length.sort_by(|a, b| b.length().total_cmp(&a.length()));
    for chord in by_length.into_iter().filter(|_| t.chords.len() > 1) {
        let without: Vec<_> = chords
            .iter()
            .copied()
            .filter(|c| !std::ptr::eq(*c, chord))
            .collect();
        let fewer = groups_of(&without);
        if fewer.len() == groups.len() {
            (chords, groups) = (without, fewer);
        }
    }
    let mut cuts = Vec::new();
    let length = |c: &RoughCut| (c.to - c.from).length();
    for chord in &chords {
        let cut = RoughCut {
            from: chord.from(),
            to: chord.to(),
            clear: goods.clearance(chord),
        };
        // The line was found clear of the pieces on this cloth; it may end
        // near one on the cloth beside it.
        if cut.clear < goods.clear - ROUNDING {
            return None;
        }
        cuts.push(cut);
    }
    cuts.sort_by(|a, b| length(b).total_cmp(&length(a)));
    let same: usize = groups.iter().map(|g| g.1.len() * g.1.len()).sum();
    let told = (pieces.len() * pieces.len() - same) / 2;
    let all = cuts.iter().map(length).sum();
    Some(Found {
        cost: cost(all, t.room, goods.clear, told),
        cuts,
        groups,
    })
}

#[cfg(test)]
mod tests;
