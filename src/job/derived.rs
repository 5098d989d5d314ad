//! Parts that a job derives from its pieces: linings and stiffeners, as they are written
//! in the job file.

use crate::fault::{Fault, Outcome};
use crate::measure::{Unit, parse_length, typed};
use crate::pattern::{Derived, EdgeStart, PatternPiece, Sewing, Turn, derive, edges, unfold};
use crate::prove::{Asked, prove};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A part is cut so often at most, as a piece is.
const MOST: u32 = 999;

/// A part to be derived; lengths as they are typed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DerivedPart {
    pub name: String,
    /// The piece it comes from: of a pattern file, or derived before.
    pub of: String,
    /// With allowance, as the original: a lining. Else a stiffener.
    #[serde(default, skip_serializing_if = "is_false")]
    pub allowance: bool,
    /// Opened out: what is cut on the fold, for cloth that lies single. Nothing else of it
    /// is changed then.
    #[serde(default, skip_serializing_if = "is_false")]
    pub open: bool,
    /// How far inside the net line it ends, so that the needle clears.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub less: Option<String>,
    /// Edges that end so far from the cut edge of the cloth.
    #[serde(
        default,
        deserialize_with = "typed::by_name",
        skip_serializing_if = "BTreeMap::is_empty"
    )]
    pub carve: BTreeMap<String, String>,
    /// Smaller or larger for the turn of cloth; only if it is asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<TurnOf>,
    /// How many, where that differs from the original.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pair: Option<bool>,
}

/// A turn of cloth as it is written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TurnOf {
    /// It lies outside the bend; else inside it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub larger: bool,
    /// Between the middles of the two layers.
    #[serde(deserialize_with = "typed::one")]
    pub thickness: String,
    /// How far it goes round between its middle and each edge, degrees.
    pub round_deg: f64,
    /// Which edges move; none: all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub edges: Vec<String>,
}

fn is_false(b: &bool) -> bool {
    !b
}

/// The piece with its allowances: those that the pattern tells, and for a drawing those that
/// are drawn, where they are even.
fn measured(piece: &PatternPiece) -> PatternPiece {
    /// An allowance that differs by more than this along an edge is not one, mm.
    const EVEN: f64 = 0.5;
    let all = edges(piece);
    if all.is_empty() || all.iter().all(|e| e.allowance.is_some()) {
        return piece.clone();
    }
    let asked = Asked {
        propose: false,
        ..Asked::default()
    };
    let proof = prove(std::slice::from_ref(piece), &Sewing::default(), &asked);
    let drawn = proof.pieces.first().map_or(&[][..], |p| &p.allowance);
    let even = |name: &str| {
        let found = drawn.iter().find(|a| a.edge == name)?;
        let even = found.most_mm - found.least_mm <= EVEN;
        even.then_some((found.most_mm + found.least_mm) / 2.0)
    };
    let mut piece = piece.clone();
    piece.edges = all
        .iter()
        .map(|e| EdgeStart {
            at: e.line[0],
            name: e.name.clone(),
            allowance: e.allowance.or_else(|| even(&e.name)),
        })
        .collect();
    piece
}

impl DerivedPart {
    /// How many, and whether as left and right: as said, else as the piece.
    ///
    /// # Errors
    /// If what is said is none, too many, or can't be cut in pairs.
    fn counted(&self, piece: &PatternPiece) -> Outcome<(u32, bool)> {
        let cut = self.cut.unwrap_or(piece.cut_count);
        let pair = self.pair.unwrap_or(piece.pair);
        if self.cut.is_none() && self.pair.is_none() {
            return Ok((cut, pair));
        }
        if !(1..=MOST).contains(&cut) {
            return Err(Fault::input(
                format!("it is to be cut {cut} times"),
                format!("give a number from 1 to {MOST}, or take the part out"),
            ));
        }
        if pair && cut % 2 == 1 {
            return Err(Fault::input(
                format!("{cut} can't be cut as left and right: one is left without its partner"),
                "give an even number, or pair = false",
            ));
        }
        Ok((cut, pair))
    }

    /// The part, and what the person should check of it.
    ///
    /// # Errors
    /// If its piece is not there, a length can't be read, or nothing is left of it.
    pub fn made(&self, pieces: &[PatternPiece]) -> Outcome<(PatternPiece, Vec<String>)> {
        let at = |f: Fault| f.at(format!("derived part \"{}\"", self.name));
        let Some(piece) = pieces.iter().find(|p| p.name == self.of) else {
            return Err(at(Fault::input(
                format!("there is no piece \"{}\"", self.of),
                "derive it from a piece of the pattern, or from a part derived before",
            )));
        };
        let (cut, pair) = self.counted(piece).map_err(at)?;
        if self.open {
            if self.less.is_some() || !self.carve.is_empty() || self.turn.is_some() {
                return Err(at(Fault::input(
                    "it is opened out and carved at once",
                    "open it first, and derive another part from that",
                )));
            }
            let mut whole = unfold(piece).map_err(at)?;
            whole.name.clone_from(&self.name);
            (whole.cut_count, whole.pair) = (cut, pair);
            return Ok((whole, Vec::new()));
        }
        let mm = |text: &String| parse_length(text, Unit::Mm);
        let wanted = || -> Outcome<Derived> {
            let turn = |t: &TurnOf| -> Outcome<Turn> {
                Ok(Turn {
                    larger: t.larger,
                    thickness: mm(&t.thickness)?,
                    round: t.round_deg.to_radians(),
                    edges: t.edges.clone(),
                })
            };
            let carve = self.carve.iter().map(|(e, by)| Ok((e.clone(), mm(by)?)));
            let count = (self.cut.is_some() || self.pair.is_some()).then_some((cut, pair));
            Ok(Derived {
                name: self.name.clone(),
                of: self.of.clone(),
                less: self.less.as_ref().map(mm).transpose()?.unwrap_or(0.0),
                carve: carve.collect::<Outcome<_>>()?,
                keep_allowance: self.allowance,
                turn: self.turn.as_ref().map(turn).transpose()?,
                count,
            })
        };
        let piece = measured(piece);
        let made = derive::derive(&piece, &wanted().map_err(at)?).map_err(at)?;
        Ok((made.piece, made.notes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::{EdgeMake, Line, NetPiece, allowance};
    use crate::space::Point;

    /// An oblong with 6 mm round it.
    fn upper(cut: u32, pair: bool) -> PatternPiece {
        let corners = [(0.0, 0.0), (100.0, 0.0), (90.0, 60.0), (0.0, 60.0)];
        let points: Vec<_> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let mut piece = PatternPiece::named("upper");
        (piece.cut_count, piece.pair) = (cut, pair);
        piece.edges = points
            .iter()
            .enumerate()
            .map(|(k, &at)| EdgeStart {
                at,
                name: format!("e{k}"),
                allowance: Some(6.0),
            })
            .collect();
        piece.net = vec![Line {
            points,
            closed: true,
        }];
        let makes = vec![EdgeMake::default(); 4];
        allowance::add(&NetPiece { piece, makes }).unwrap().piece
    }

    fn part(cut: Option<u32>, pair: Option<bool>) -> DerivedPart {
        DerivedPart {
            name: "felt".into(),
            of: "upper".into(),
            allowance: false,
            open: false,
            less: Some("1mm".into()),
            carve: BTreeMap::new(),
            turn: None,
            cut,
            pair,
        }
    }

    #[test]
    fn counts_that_cant_be_cut_are_refused() {
        let pieces = [upper(2, true)];
        let made = |cut, pair| part(cut, pair).made(&pieces);
        let counts = |cut, pair| made(cut, pair).map(|(p, _)| (p.cut_count, p.pair));
        assert_eq!(counts(None, None), Ok((2, true)));
        assert_eq!(counts(Some(4), None), Ok((4, true)));
        assert_eq!(counts(Some(3), Some(false)), Ok((3, false)));
        for (cut, pair, says) in [
            (Some(0), None, "cut 0 times"),
            (Some(1000), Some(false), "cut 1000 times"),
            (Some(3), None, "3 can't be cut as left and right"),
            (Some(1), Some(true), "1 can't be cut as left and right"),
        ] {
            let fault = made(cut, pair).unwrap_err().to_string();
            assert!(
                fault.contains(says) && fault.contains("\"felt\""),
                "{cut:?} {pair:?}: {fault}"
            );
        }
        // Opened out, it is counted alike.
        let open = DerivedPart {
            open: true,
            less: None,
            ..part(Some(0), None)
        };
        let fault = open.made(&pieces).unwrap_err().to_string();
        assert!(fault.contains("cut 0 times"), "{fault}");
    }
}
