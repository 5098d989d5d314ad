//! Parts that are easily taken for each other once they lie in a heap.

use super::{CutPart, Face, Stock, inside_of, is_its_own_mirror};
use crate::fault::counted;
use crate::shape::{Region, difference};
use crate::space::{Piece, Rigid, Vector};
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Two parts look alike if one covers the other but for this share of it: an eye
/// tells a twentieth of an outline apart, and no less (common practice).
const ALIKE: f64 = 0.05;

/// So many are told by name, of so many pieces; of the others how many there are.
const NAMED: usize = 4;

/// What a part may be taken for: other pieces of its cloth, the other hand, the
/// same piece of another article. Of many only a few are named.
pub fn look_alikes(part: &CutPart, stock: &Stock) -> Vec<String> {
    let Some(piece) = stock.piece(&part.piece) else {
        return Vec::new();
    };
    let own = inside_of(piece);
    // By piece, in how many articles.
    let mut found: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut known: BTreeMap<&str, bool> = BTreeMap::new();
    for article in stock.articles {
        for other in article.parts.iter().filter(|p| p.cloth == part.cloth) {
            let Some(q) = stock.piece(&other.piece) else {
                continue;
            };
            let same = q.name == piece.name;
            if same && article.name == part.article {
                continue;
            }
            let looks = || same || alike(&own, &inside_of(q));
            if !*known.entry(&q.name).or_insert_with(looks) {
                continue;
            }
            match found.iter_mut().find(|(name, _)| *name == q.name) {
                Some((_, articles)) => articles.push(&article.name),
                None => found.push((q.name.as_str(), vec![article.name.as_str()])),
            }
        }
    }
    let mut all = few(&found);
    let pair = stock
        .part(&part.article, &part.piece, &part.cloth)
        .is_some_and(|p| p.pair);
    if pair && !is_its_own_mirror(piece) && mirrored_alike(&own) {
        all.push(
            match part.face {
                Face::Up => "the one cut mirrored",
                Face::Down => "the one cut as drawn",
            }
            .to_owned(),
        );
    }
    all
}

/// The first by name, and how many more there are of each piece.
fn few(found: &[(&str, Vec<&str>)]) -> Vec<String> {
    let (mut all, mut left) = (Vec::new(), NAMED);
    for (piece, articles) in found.iter().take(NAMED) {
        let named = articles.len().min(left);
        left -= named;
        let names = articles.iter().take(named);
        all.extend(names.map(|article| format!("{piece} {article}")));
        match articles.len() - named {
            0 => {}
            n => all.push(format!("{n} more of {piece}")),
        }
    }
    let others: usize = found.iter().skip(NAMED).map(|(_, a)| a.len()).sum();
    if others > 0 {
        all.push(counted(others, "other", "others"));
    }
    all
}

fn differs(a: &Region<Piece>, b: &Region<Piece>) -> f64 {
    difference(a, b).area() + difference(b, a).area()
}

/// Whether one covers the other, turned over or half round if need be.
fn alike(a: &Region<Piece>, b: &Region<Piece>) -> bool {
    let ways = [(false, 0.0), (false, PI), (true, 0.0), (true, PI)];
    let turned = ways.map(|(over, turn)| Rigid::<Piece, Piece>::new(over, turn, Vector::zero()));
    turned
        .iter()
        .any(|t| differs(a, &b.moved(t)) <= ALIKE * a.area())
}

fn mirrored_alike(a: &Region<Piece>) -> bool {
    let over = [0.0, PI].map(|turn| Rigid::<Piece, Piece>::new(true, turn, Vector::zero()));
    over.iter()
        .any(|t| differs(a, &a.moved(t)) <= ALIKE * a.area())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_many_only_a_few_are_named() {
        let said = |found: &[(&str, Vec<&str>)]| few(found).join(", ");
        let articles = ["2", "3", "4", "5", "6", "7"];
        assert_eq!(said(&[]), "");
        assert_eq!(
            said(&[
                ("upper 255", articles[..2].to_vec()),
                ("sole", vec!["1", "2"])
            ]),
            "upper 255 2, upper 255 3, sole 1, sole 2"
        );
        assert_eq!(
            said(&[("upper 255", articles.to_vec()), ("sole", vec!["1", "2"])]),
            "upper 255 2, upper 255 3, upper 255 4, upper 255 5, 2 more of upper 255, 2 more of sole"
        );
        let names = ["a", "b", "c", "d", "e", "f"];
        let many: Vec<_> = names.iter().map(|n| (*n, vec!["1"])).collect();
        assert_eq!(said(&many), "a 1, b 1, c 1, d 1, 2 others");
    }
}
