//! The order in which pieces are cut out: from the cutting hand's side inward,
//! so that what is left of the sheet stays whole and lies flat.

use crate::shape::{Region, connected, difference, gap, near, offset};
use crate::space::Table;
use crate::stand::{Hand, Side};

/// A strip of cloth narrower than this, mm, does not hold a sheet together:
/// it folds over when the sheet is moved (estimate).
pub const HOLDS: f64 = 10.0;

/// Half of it, for cloth is eaten away from both sides.
const EATEN: f64 = HOLDS / 2.0;

/// Arcs are chords, and booleans round: what touches but for this, mm, touches.
const TOUCH: f64 = 0.02;

/// A piece so far from the edge, mm, is as far inside as any.
const INSIDE: f64 = 120.0;

/// One millimetre farther in from the edge of what is left counts for so many
/// farther from the hand: to get there the blade has to go through the sheet.
const INWARD: f64 = 2.0;

/// One millimetre farther from the person counts for so many farther from the
/// hand: leaning is easier than cutting across oneself.
const AWAY: f64 = 0.5;

/// In which order to cut all pieces, one part after another.
///
/// `pieces[k]` is the area inside piece k's cut lines, `parts` say which stay
/// together when the sheet has been cut apart roughly (a piece in no part is
/// a part of its own; one in several counts in the first).
///
/// Of what is left of the part in hand, the next piece is the one that costs
/// least of those whose removal leaves the others on one whole remainder (see
/// [`remainder_is_whole`]), or, if there is none, the one that costs least. It
/// costs, in mm: how far its middle lies from the cutting hand's side, plus
/// half of how far from the person, plus twice how far its outline lies from
/// the edge of what is left (the sheet's edge, a hole, a piece cut before):
/// cutting begins at an edge, and the hand that cuts must not work over pieces
/// that are still to be cut. The part of the piece that costs least is next.
/// Costs that are equal to 0.001 mm: the lower index. If the remainder falls
/// apart, what hangs together is finished before the rest.
pub fn cut_order(
    sheet: &Region<Table>,
    pieces: &[Region<Table>],
    parts: &[Vec<usize>],
    side: Side,
    cuts: Hand,
) -> Vec<usize> {
    let mut parts = complete(parts, pieces.len());
    let mut table = Work::new(sheet, pieces, side, cuts);
    while let Some(next) = parts
        .iter()
        .enumerate()
        .filter_map(|(k, part)| Some((table.cost(table.cheapest(part)?), k)))
        .min()
    {
        let part = parts.swap_remove(next.1);
        table.cut_part(part);
        parts.retain(|p| !p.is_empty());
    }
    table.done
}

/// Whether the pieces not removed lie on one connected part of what is left of
/// the sheet, not counting strips narrower than [`HOLDS`]. Pieces beside the
/// sheet are left out of account.
pub fn remainder_is_whole(
    sheet: &Region<Table>,
    pieces: &[Region<Table>],
    removed: &[usize],
) -> bool {
    let all = offset(sheet, -EATEN);
    let mut cloth = all.clone();
    for k in removed.iter().filter_map(|&k| pieces.get(k)) {
        cloth = difference(&cloth, &offset(k, EATEN));
    }
    let on_sheet = |k: &usize| near(&pieces[*k], &all, EATEN + TOUCH);
    let rest = (0..pieces.len()).filter(|k| !removed.contains(k) && on_sheet(k));
    held(&cloth, pieces, &rest.collect::<Vec<_>>()).len() <= 1
}

/// The parts with every index below `count` in exactly one of them.
fn complete(parts: &[Vec<usize>], count: usize) -> Vec<Vec<usize>> {
    let mut seen = vec![false; count];
    let mut all = Vec::new();
    let rest = (0..count).map(|k| vec![k]);
    for mut part in parts.iter().cloned().chain(rest) {
        part.retain(|&k| k < count && !std::mem::replace(&mut seen[k], true));
        all.push(part);
    }
    all.retain(|p| !p.is_empty());
    all
}

/// Which of some pieces hang together by cloth that is eaten away from all
/// edges; a piece that nothing holds is alone.
fn held(eaten: &Region<Table>, pieces: &[Region<Table>], of: &[usize]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
    let cloths = connected(eaten);
    for &k in of {
        // A piece is one whole itself: it joins all cloth that it lies on.
        let on = |c: &usize| near(&pieces[k], &cloths[*c], EATEN + TOUCH);
        let mut on: Vec<usize> = (0..cloths.len()).filter(on).collect();
        let mut own = vec![k];
        groups.retain_mut(|(others, cloths)| {
            let apart = !cloths.iter().any(|c| on.contains(c));
            if !apart {
                own.append(others);
                on.append(cloths);
            }
            apart
        });
        groups.push((own, on));
    }
    groups.into_iter().map(|g| g.0).collect()
}

/// The work as it stands.
struct Work<'a> {
    pieces: &'a [Region<Table>],
    /// From the hand's side and from the person, mm, from anywhere.
    reach: Vec<f64>,
    /// From each piece to the edge of what is left, mm.
    inward: Vec<f64>,
    grown: Vec<Region<Table>>,
    /// The sheet, eaten away from its edges.
    cloth: Region<Table>,
    done: Vec<usize>,
}

impl<'a> Work<'a> {
    fn new(sheet: &Region<Table>, pieces: &'a [Region<Table>], side: Side, cuts: Hand) -> Self {
        let reach = |p: &Region<Table>| {
            let seen = side.to_person(p.middle().to_vector());
            AWAY * seen.y - cuts.sign() * seen.x
        };
        Self {
            pieces,
            reach: pieces.iter().map(reach).collect(),
            inward: pieces.iter().map(|p| gap(p, sheet, INSIDE)).collect(),
            grown: pieces.iter().map(|p| offset(p, EATEN)).collect(),
            cloth: offset(sheet, -EATEN),
            done: Vec::new(),
        }
    }

    /// In thousandths of a millimetre, so that rounding does not decide.
    fn cost(&self, k: usize) -> i64 {
        (1e3 * (self.reach[k] + INWARD * self.inward[k])).round() as i64
    }

    fn cheapest(&self, of: &[usize]) -> Option<usize> {
        of.iter().copied().min_by_key(|&k| (self.cost(k), k))
    }

    fn cut_part(&mut self, mut part: Vec<usize>) {
        if part.len() <= 2 {
            return self.cut_group(&mut Region::default(), &mut part);
        }
        // Other parts are elsewhere by now, or will be: no cloth of theirs
        // holds this one together.
        let mut theirs = Region::default();
        let others = (0..self.pieces.len()).filter(|k| !part.contains(k));
        others.for_each(|k| theirs.append(self.grown[k].clone()));
        let mut cloth = difference(&self.cloth, &theirs);
        let mut groups = held(&cloth, self.pieces, &part);
        while let Some((_, at)) = (0..groups.len())
            .filter_map(|g| Some((self.cost(self.cheapest(&groups[g])?), g)))
            .min()
        {
            let mut left = groups.swap_remove(at);
            self.cut_group(&mut cloth, &mut left);
            groups.extend(held(&cloth, self.pieces, &left));
        }
    }

    /// Cuts pieces that hang together until they no longer do; those are left.
    fn cut_group(&mut self, cloth: &mut Region<Table>, left: &mut Vec<usize>) {
        while !left.is_empty() {
            left.sort_by_key(|&k| (self.cost(k), k));
            // One alone is whole whatever is cut beside it.
            let choices = if left.len() > 2 { left.len() } else { 0 };
            let whole = (0..choices).find_map(|at| {
                let mut others = left.clone();
                let after = difference(cloth, &self.grown[others.remove(at)]);
                (held(&after, self.pieces, &others).len() == 1).then_some((at, after))
            });
            let falls_apart = choices > 0 && whole.is_none();
            let (at, after) = whole.unwrap_or_else(|| (0, difference(cloth, &self.grown[left[0]])));
            *cloth = after;
            let k = left.remove(at);
            self.take(k);
            if falls_apart {
                return;
            }
        }
    }

    /// A piece is cut: where it lay is an edge now.
    fn take(&mut self, k: usize) {
        for (j, other) in self.pieces.iter().enumerate() {
            self.inward[j] = gap(other, &self.pieces[k], self.inward[j]);
        }
        self.done.push(k);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;

    fn block(x: f64, y: f64, w: f64, h: f64) -> Region<Table> {
        let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    }

    /// Three across, two up, filling the sheet but for strips of 8 mm.
    fn blocks() -> Vec<Region<Table>> {
        let at = |k: usize| ((k % 3) as f64, (k / 3) as f64);
        let one = |k| block(8.0 + 100.0 * at(k).0, 8.0 + 100.0 * at(k).1, 92.0, 92.0);
        (0..6).map(one).collect()
    }

    fn order(parts: &[Vec<usize>], side: Side, cuts: Hand) -> Vec<usize> {
        cut_order(&block(0.0, 0.0, 308.0, 208.0), &blocks(), parts, side, cuts)
    }

    #[test]
    fn cutting_begins_near_the_person_on_the_cutting_hands_side() {
        let all = [(0..6).collect::<Vec<usize>>()];
        // By hand: 100 mm to the side count 100, 100 mm away 50.
        assert_eq!(order(&all, Side::Front, Hand::Right), [2, 5, 1, 4, 0, 3]);
        assert_eq!(order(&all, Side::Front, Hand::Left), [0, 3, 1, 4, 2, 5]);
        assert_eq!(order(&all, Side::Back, Hand::Right), [3, 0, 4, 1, 5, 2]);
        // From the right, right is up the table and near is large x.
        assert_eq!(order(&all, Side::Right, Hand::Right), [5, 4, 2, 3, 1, 0]);
    }

    #[test]
    fn one_part_is_finished_before_the_next() {
        let parts = [vec![0, 1, 5], vec![], vec![2, 4, 9], vec![2, 1]];
        assert_eq!(order(&parts, Side::Front, Hand::Right), [2, 4, 5, 1, 0, 3]);
    }

    #[test]
    fn what_would_part_the_sheet_is_cut_later() {
        // Two arms to the left; what joins them lies at the right, by the hand.
        let corners = [
            (0.0, 0.0),
            (300.0, 0.0),
            (300.0, 300.0),
            (0.0, 300.0),
            (0.0, 200.0),
            (200.0, 200.0),
            (200.0, 100.0),
            (0.0, 100.0),
        ];
        let sheet = Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec());
        let pieces = [
            block(205.0, 20.0, 90.0, 260.0),
            block(10.0, 5.0, 170.0, 90.0),
            block(10.0, 205.0, 170.0, 90.0),
        ];
        assert!(!remainder_is_whole(&sheet, &pieces, &[0]));
        assert!(remainder_is_whole(&sheet, &pieces, &[1]));
        let cut =
            |parts: &[Vec<usize>]| cut_order(&sheet, &pieces, parts, Side::Front, Hand::Right);
        assert_eq!(cut(&[vec![0, 1, 2]]), [1, 0, 2]);
        // Cut apart roughly before, they need not hold each other.
        assert_eq!(cut(&[vec![0], vec![1], vec![2]]), [0, 1, 2]);
    }

    #[test]
    fn cutting_goes_in_from_the_edge_and_from_what_is_cut() {
        let sheet = block(0.0, 0.0, 600.0, 600.0);
        let at = |x: f64, y: f64| block(x - 30.0, y - 30.0, 60.0, 60.0);
        // The first lies nearest the hand, but far inside; the second at the
        // near edge; the third behind the second.
        let pieces = [at(420.0, 300.0), at(200.0, 35.0), at(200.0, 105.0)];
        let all = [vec![0, 1, 2]];
        let order = cut_order(&sheet, &pieces, &all, Side::Front, Hand::Right);
        assert_eq!(order, [1, 2, 0]);
    }

    #[test]
    fn a_strip_holds_only_if_it_is_wide_enough() {
        let pieces = |gap: f64| {
            [
                block(10.0, 10.0, 50.0, 80.0),
                block(80.0, 0.0 + gap, 50.0, 100.0 - gap),
                block(150.0, 10.0, 50.0, 80.0),
            ]
        };
        let sheet = block(0.0, 0.0, 210.0, 100.0);
        assert!(!remainder_is_whole(&sheet, &pieces(HOLDS - 0.1), &[1]));
        assert!(remainder_is_whole(&sheet, &pieces(HOLDS + 0.1), &[1]));
    }

    #[test]
    fn nonsense_is_borne() {
        let none = Region::default();
        let pieces = [
            none.clone(),
            block(900.0, 0.0, 50.0, 50.0),
            block(1.0, 1.0, 9.0, 9.0),
        ];
        let parts = [vec![0, 1, 2, 7]];
        for sheet in [none.clone(), block(0.0, 0.0, 100.0, 100.0)] {
            let mut order = cut_order(&sheet, &pieces, &parts, Side::Front, Hand::Right);
            order.sort_unstable();
            assert_eq!(order, [0, 1, 2]);
            assert!(remainder_is_whole(&sheet, &pieces, &[0, 5]));
        }
    }
}
