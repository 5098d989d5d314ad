//! What hands a piece has, and whether an order fits them: two lefts are a ruined job.

use super::piece::PatternPiece;
use super::symmetry::is_its_own_mirror;
use std::fmt;

/// What a piece is as to left and right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Half of it is drawn; it is cut on a fold of the cloth.
    OnFold,
    /// Its own mirror image: left and right are the same.
    Symmetric,
    /// The pattern asks for it as left and right.
    Pair,
    /// One hand only.
    Single,
}

/// What hands a piece has: found from its shape first, then from what the pattern asks.
pub fn kind(piece: &PatternPiece) -> Kind {
    if !piece.folds.is_empty() {
        Kind::OnFold
    } else if is_its_own_mirror(piece) {
        Kind::Symmetric
    } else if piece.pair {
        Kind::Pair
    } else {
        Kind::Single
    }
}

/// Where an order does not fit a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountFinding {
    pub piece: String,
    pub what: Miscount,
}

/// In what an order does not fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Miscount {
    /// The pattern asks for pairs, and this many of one hand are ordered.
    OneHand(u32),
    /// Pairs are ordered, and this many is odd.
    Odd(u32),
    /// A pair of a piece that the pattern has as one hand.
    OtherHand,
    /// A pair of what is its own mirror image: nothing comes of it.
    Harmless,
    /// Ordered, and asked for by the pattern for one article.
    Count(u32, u32),
    /// Cut on the fold, of cloth that is not folded.
    Unfolded,
}

impl CountFinding {
    /// Whether cutting as ordered would spoil the work.
    pub fn spoils(&self) -> bool {
        match self.what {
            Miscount::OneHand(_) | Miscount::Odd(_) | Miscount::OtherHand => true,
            Miscount::Unfolded => true,
            Miscount::Harmless | Miscount::Count(..) => false,
        }
    }
}

impl fmt::Display for CountFinding {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "piece \"{}\": ", self.piece)?;
        match self.what {
            Miscount::OneHand(2) => f.write_str(
                "the pattern asks for a pair and the order cuts two lefts; order them as a pair.",
            ),
            Miscount::OneHand(n) => write!(
                f,
                "the pattern asks for pairs and the order cuts {n} of one hand; order them as \
                 pairs."
            ),
            Miscount::Odd(n) => write!(
                f,
                "{n} can't be cut in pairs: one is left without its partner; order an even number."
            ),
            Miscount::OtherHand => f.write_str(
                "the pattern has it as one hand and the order cuts left and right; check which \
                 is meant.",
            ),
            Miscount::Harmless => f.write_str(
                "it is its own mirror image, so a pair of it is two of the same; nothing is \
                 wrong with that.",
            ),
            Miscount::Count(ordered, asked) => write!(
                f,
                "the pattern asks for {asked} and the order has {ordered}; check the count."
            ),
            Miscount::Unfolded => f.write_str(
                "it is cut on the fold and the cloth lies single; unfold the piece, or fold the \
                 cloth.",
            ),
        }
    }
}

/// Where an order of `count` of the piece for one article, as left and right if `pair`, does
/// not fit it; `single` if the cloth lies in single plies, not folded. Nothing of none.
pub fn check_counts(
    piece: &PatternPiece,
    count: u32,
    pair: bool,
    single: bool,
) -> Vec<CountFinding> {
    if count == 0 {
        return Vec::new();
    }
    let mut found = Vec::new();
    let kind = kind(piece);
    // Opened out, what is cut on the fold is its own mirror image.
    let alike = matches!(kind, Kind::OnFold | Kind::Symmetric);
    if kind == Kind::OnFold && single {
        found.push(Miscount::Unfolded);
    }
    match (piece.pair, pair) {
        (_, true) if alike => found.push(Miscount::Harmless),
        (true, false) if !alike && count > 1 => found.push(Miscount::OneHand(count)),
        (false, true) => found.push(Miscount::OtherHand),
        _ => {}
    }
    if pair && !alike && count % 2 == 1 {
        found.push(Miscount::Odd(count));
    }
    if piece.cut_count > 0 && !count.is_multiple_of(piece.cut_count) {
        found.push(Miscount::Count(count, piece.cut_count));
    }
    let finding = |what| CountFinding {
        piece: piece.name.clone(),
        what,
    };
    found.into_iter().map(finding).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;

    fn piece(ring: &[(f64, f64)], count: u32, pair: bool) -> PatternPiece {
        let mut piece = PatternPiece::named("upper");
        piece.cut = vec![ring.iter().map(|&(x, y)| Point::new(x, y)).collect()];
        (piece.cut_count, piece.pair) = (count, pair);
        piece
    }

    const HAND: [(f64, f64); 4] = [(-50.0, -10.0), (40.0, -10.0), (50.0, 10.0), (-50.0, 10.0)];
    const BAND: [(f64, f64); 4] = [(-50.0, -10.0), (50.0, -10.0), (50.0, 10.0), (-50.0, 10.0)];

    fn found(piece: &PatternPiece, count: u32, pair: bool) -> Vec<Miscount> {
        let all = check_counts(piece, count, pair, true);
        all.into_iter().map(|f| f.what).collect()
    }

    #[test]
    fn two_lefts_are_found() {
        let upper = piece(&HAND, 2, true);
        assert_eq!(kind(&upper), Kind::Pair);
        assert_eq!(found(&upper, 2, true), []);
        assert_eq!(found(&upper, 2, false), [Miscount::OneHand(2)]);
        let said = check_counts(&upper, 2, false, true).remove(0);
        assert!(said.spoils());
        assert_eq!(
            said.to_string(),
            "piece \"upper\": the pattern asks for a pair and the order cuts two lefts; order \
             them as a pair."
        );
        assert_eq!(
            found(&upper, 3, true),
            [Miscount::Odd(3), Miscount::Count(3, 2)]
        );
        let patch = piece(&HAND, 1, false);
        assert_eq!(kind(&patch), Kind::Single);
        assert_eq!(found(&patch, 2, true), [Miscount::OtherHand]);
        assert_eq!(found(&patch, 3, false), []);
        assert_eq!(found(&patch, 0, true), []);
    }

    #[test]
    fn a_band_may_be_ordered_either_way() {
        let mut band = piece(&BAND, 2, true);
        assert_eq!(kind(&band), Kind::Symmetric);
        assert_eq!(found(&band, 2, true), [Miscount::Harmless]);
        assert_eq!(found(&band, 2, false), []);
        assert!(!check_counts(&band, 2, true, true)[0].spoils());
        // Half a band, on its fold.
        band.folds = vec![band.cut[0][..2].to_vec()];
        assert_eq!(kind(&band), Kind::OnFold);
        assert_eq!(found(&band, 2, false), [Miscount::Unfolded]);
        assert!(check_counts(&band, 2, false, false).is_empty());
    }
}
