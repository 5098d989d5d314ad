//! Which edges are declared to be sewn to each other.

use super::laid::Laid;
use crate::pattern::{EdgeName, Sewing};
use std::collections::HashMap;

/// The declared seams by their edges, as (piece, edge).
#[derive(Debug, Default)]
pub struct Sewn {
    /// Seam and side.
    seams: HashMap<(usize, usize), Vec<(usize, bool)>>,
}

impl Sewn {
    /// Of what is declared; names that aren't there are passed over.
    pub fn new(laid: &[Laid], sewing: &Sewing) -> Self {
        let mut pieces = HashMap::new();
        for (p, piece) in laid.iter().enumerate() {
            pieces.entry(piece.piece.name.as_str()).or_insert(p);
        }
        let mut out = Self::default();
        for (k, seam) in sewing.seams.iter().enumerate() {
            for (names, side) in [(&seam.one, false), (&seam.other, true)] {
                let find = |n: &EdgeName| {
                    let p = *pieces.get(n.piece.as_str())?;
                    Some((p, laid[p].edge(&n.edge)?))
                };
                for edge in names.iter().filter_map(find) {
                    out.seams.entry(edge).or_default().push((k, side));
                }
            }
        }
        out
    }

    /// Whether some seam has one of them on either side.
    pub fn together(&self, a: (usize, usize), b: (usize, usize)) -> bool {
        let (Some(a), Some(b)) = (self.seams.get(&a), self.seams.get(&b)) else {
            return false;
        };
        a.iter().any(|(k, side)| b.contains(&(*k, !side)))
    }
}
