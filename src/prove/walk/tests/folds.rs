//! Which edges lie on a fold: the walk and the allowance say the same.

use super::*;
use crate::pattern::allowance::FoldEdges;
use crate::pattern::edges;

/// The walk, and what gives an allowance or takes it off, go by the same distance.
#[test]
fn an_edge_beside_its_fold_is_on_it_for_all_or_for_none() {
    for (off, on) in [(0.0, true), (0.1, true), (0.19, true), (0.21, false)] {
        let ring = [(off, 0.0), (70.0, 0.0), (70.0, 30.0), (off, 30.0)];
        let mut piece = PatternPiece::named("p");
        piece.cut = vec![ring.map(|(x, y)| Point::new(x, y)).to_vec()];
        piece.folds = vec![vec![Point::new(0.0, 0.0), Point::new(0.0, 30.0)]];
        let all = edges(&piece);
        let folds = FoldEdges::of(&piece, &all).unwrap();
        let walked = Laid::new(&piece).folded;
        let allowed: Vec<bool> = (0..all.len()).map(|k| folds.is(k)).collect();
        assert_eq!(walked, allowed, "{off}");
        assert_eq!(
            walked.iter().filter(|f| **f).count(),
            usize::from(on),
            "{off}"
        );
    }
}
