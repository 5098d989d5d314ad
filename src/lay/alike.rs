//! Parts that are easily taken for each other once they lie in a heap.

use super::{CutPart, Face, Stock, inside_of, is_its_own_mirror};
use crate::shape::{Region, difference};
use crate::space::{Piece, Rigid, Vector};
use std::f64::consts::PI;

/// Two parts look alike if one covers the other but for this share of it: an eye
/// tells a twentieth of an outline apart, and no less (common practice).
const ALIKE: f64 = 0.05;

/// What a part may be taken for: other pieces of its cloth, the other hand, the
/// same piece of another article.
pub fn look_alikes(part: &CutPart, stock: &Stock) -> Vec<String> {
    let Some(piece) = stock.piece(&part.piece) else {
        return Vec::new();
    };
    let own = inside_of(piece);
    let mut all = Vec::new();
    for article in stock.articles {
        for other in article.parts.iter().filter(|p| p.cloth == part.cloth) {
            let Some(q) = stock.piece(&other.piece) else {
                continue;
            };
            let same = q.name == piece.name;
            if same && article.name == part.article {
                continue;
            }
            if same || alike(&own, &inside_of(q)) {
                all.push(format!("{} {}", q.name, article.name));
            }
        }
    }
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
