//! Seams walked: two edges of any two pieces, laid against one another.

use ghostchalk::pattern::{EdgeName, PatternPiece, Seam};
use ghostchalk::prove::walk::{Laid, SeamResult, Sewn, Verdict, walk};

use super::Target;
use super::bytes::Bytes;
use super::outlines::piece;

pub const WALK: Target = Target {
    name: "walk",
    run: walks,
    seeds: &["fuzz/seeds/walk/*"],
};

fn walks(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let tolerance = 0.1 + f64::from(bytes.byte()) / 16.0;
    let pieces = ["a", "b"].map(|name| darted(piece(name, &mut bytes), &mut bytes));
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    let edge = |k: usize, bytes: &mut Bytes| bytes.below(laid[k].edges.len());
    let (one, other) = (edge(0, &mut bytes), edge(1, &mut bytes));
    let forward = walked(&laid, &[(0, one)], &[(1, other)], tolerance);
    let backward = walked(&laid, &[(1, other)], &[(0, one)], tolerance);
    for (k, edge, mm) in [(0, one, forward.one_mm), (1, other, forward.other_mm)] {
        let long = laid[k].edges[edge].length - laid[k].taken(edge);
        assert!((long - mm).abs() < 1e-6, "{long} mm are walked as {mm}");
    }
    let sum = forward.difference_mm + backward.difference_mm;
    assert!(sum.abs() < 1e-9, "from the other side it differs by {sum}");
    assert_eq!(
        forward.verdict == Verdict::Agrees,
        forward.difference_mm.abs() <= tolerance
    );
    // Sewn to itself an edge is as long as its partner.
    let own = walked(&laid, &[(0, one)], &[(0, one)], tolerance);
    assert!(own.difference_mm.abs() < 1e-9 && own.verdict == Verdict::Agrees);
    // Several edges end to end are as long as they are together.
    let all: Vec<(usize, usize)> = (0..laid[0].edges.len()).map(|e| (0, e)).collect();
    let round = walked(&laid, &all, &[(1, other)], tolerance);
    let taken: f64 = (0..all.len()).map(|e| laid[0].taken(e)).sum();
    let long: f64 = laid[0].edges.iter().map(|e| e.length).sum();
    assert!((round.one_mm - (long - taken)).abs() < 1e-6);
}

/// A seam of these edges (piece, edge), walked.
fn walked(
    laid: &[Laid],
    one: &[(usize, usize)],
    other: &[(usize, usize)],
    tolerance: f64,
) -> SeamResult {
    let names = |edges: &[(usize, usize)]| -> Vec<EdgeName> {
        let name = |&(piece, edge): &(usize, usize)| EdgeName {
            piece: laid[piece].piece.name.clone(),
            edge: laid[piece].edges[edge].name.clone(),
        };
        edges.iter().map(name).collect()
    };
    let seam = Seam {
        name: "s".to_owned(),
        one: names(one),
        other: names(other),
        ease: 0.0,
        tolerance,
    };
    let (found, findings) = walk(laid, &Sewn::default(), &seam);
    let Some((result, _)) = found else {
        panic!("edges that are there were not found: {findings:?}")
    };
    assert!(result.one_mm.is_finite() && result.other_mm.is_finite());
    for landing in &result.landings {
        let all = [landing.along_mm, landing.lands_mm, landing.off_mm];
        assert!(all.iter().all(|mm| mm.is_finite()), "{landing:?}");
    }
    result
}

/// With a dart on an edge, mostly.
fn darted(mut piece: PatternPiece, bytes: &mut Bytes) -> PatternPiece {
    let ring = &piece.cut[0];
    let k = bytes.below(ring.len());
    let (a, b) = (ring[k], ring[(k + 1) % ring.len()]);
    let tip = a.lerp(b, 0.5).lerp(ring[(k + 2) % ring.len()], 0.2);
    let (from, to) = (0.4 * bytes.share(), 0.5 + 0.4 * bytes.share());
    if bytes.below(4) > 0 {
        piece.darts.push(vec![a.lerp(b, from), tip, a.lerp(b, to)]);
    }
    piece
}
