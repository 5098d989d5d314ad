//! What is wished of single pieces, as the search for a whole lay weighs it.

use super::beneath::Below;
use super::{Shades, Unlaid};
use crate::fault::Outcome;
use crate::lay::Stock;
use crate::lay::fit::Wishes;
use crate::lay::wish::{Known, Neighbour, Shade, Terms, Wish, Wished, unlike};
use crate::raster::Raster;
use crate::space::{Cloth, Piece, Rigid};
use crate::work::State;

/// Points at which the cloth is looked at under a piece: few, for very many places are.
const POINTS: usize = 48;

/// So much L\* counts 1 in the search (an estimate: what tells good places from bad ones on
/// faded cloth is some tens).
const ONE: f64 = 20.0;

/// The wishes of all parts, on all panels.
pub struct Wishing<'a> {
    /// By part and panel; `None` where it can't lie, or nothing is wished.
    terms: Vec<Vec<Option<Terms>>>,
    shades: Vec<Option<&'a Raster<[f32; 3], Cloth>>>,
    /// Whether it shall be like its partner.
    alike: Vec<bool>,
    /// The plies beneath the panels, and what is wished of the cloth there.
    below: Vec<Option<Below>>,
    lower: Vec<Vec<Option<Terms>>>,
}

impl<'a> Wishing<'a> {
    /// # Errors
    /// As [`Terms::settle`].
    pub fn of(
        stock: &Stock,
        state: &State,
        (shades, parts): (&'a Shades, &[Unlaid]),
        panels: &[String],
    ) -> Outcome<Self> {
        let stripes = |name: &str| state.panel(name)?.looks.as_ref()?.stripes;
        let neighbours: Vec<Neighbour> = state
            .placed
            .values()
            .filter_map(|p| {
                Some(Neighbour {
                    piece: stock.piece(&p.piece)?,
                    pose: p.pose(),
                    stripes: stripes(&p.panel)?,
                })
            })
            .collect();
        let below = |name: &String| Below::of(stock, &state.panels, name, shades);
        let below: Vec<Option<Below>> = panels.iter().map(below).collect();
        let (mut terms, mut lower, mut alike) = (Vec::new(), Vec::new(), Vec::new());
        for part in parts {
            let own = |w: &&Wished| w.is_for(&part.piece, &part.article);
            let own: Vec<Wished> = state.wishes.iter().filter(own).cloned().collect();
            let pair = |w: &Wished| w.wish == Wish::LikePartner {};
            alike.push(own.iter().any(pair));
            let cloth: Vec<Wished> = own
                .iter()
                .filter(|w| w.wish.is_of_cloth())
                .cloned()
                .collect();
            let (mut on, mut under) = (Vec::new(), Vec::new());
            for (name, below) in panels.iter().zip(&below) {
                let lies = state.panel(name).is_some_and(|p| p.cloth == part.cloth);
                let piece = stock.piece(&part.piece).filter(|_| lies && !own.is_empty());
                let known = Known {
                    stripes: stripes(name),
                    neighbours: neighbours.clone(),
                    ..Known::default()
                };
                let settle = |wishes: &[Wished], known: &Known| match piece {
                    Some(piece) => Terms::settle(piece, wishes, known, POINTS).map(Some),
                    None => Ok(None),
                };
                on.push(settle(&own, &known)?);
                under.push(match below {
                    Some(b) => settle(&cloth, &known.of_beneath(&b.known()))?,
                    None => None,
                });
            }
            terms.push(on);
            lower.push(under);
        }
        Ok(Self {
            terms,
            shades: panels.iter().map(|name| shades.get(name)).collect(),
            alike,
            below,
            lower,
        })
    }

    fn under(&self, terms: &Terms, on: usize, pose: &Rigid<Piece, Cloth>) -> Vec<Shade> {
        under(terms, self.shades[on], pose)
    }
}

/// The shade at a piece's points.
fn under(
    terms: &Terms,
    shade: Option<&Raster<[f32; 3], Cloth>>,
    pose: &Rigid<Piece, Cloth>,
) -> Vec<Shade> {
    let map = pose.mapper();
    let at = |p| -> Shade {
        match shade.and_then(|s| s.at(map(p))) {
            Some(&[l, a, b]) if (l + a + b).is_finite() => [l, a, b, 1.0],
            _ => [0.0; 4],
        }
    };
    terms.points().iter().map(|&p| at(p)).collect()
}

impl Wishes for Wishing<'_> {
    fn place(&self, part: usize, spread: usize, pose: &Rigid<Piece, Cloth>) -> f64 {
        let Some(terms) = &self.terms[part][spread] else {
            return 0.0;
        };
        let shade = match terms.needs_shade() {
            true => self.under(terms, spread, pose),
            false => vec![[0.0; 4]; terms.points().len()],
        };
        let own = terms.score(pose, &shade);
        let (Some(below), Some(lower)) = (&self.below[spread], &self.lower[part][spread]) else {
            return own / ONE;
        };
        let there = under(lower, Some(below.known().shade), pose);
        let mut both = own + lower.score(pose, &there);
        if self.alike[part] {
            // The ply beneath is its partner.
            let own = self.under(terms, spread, pose);
            both += unlike(&own, &there, there.len()).worth();
        }
        both / ONE
    }

    fn pair(&self, pair: [usize; 2], on: [usize; 2], at: [&Rigid<Piece, Cloth>; 2]) -> f64 {
        if !pair.iter().any(|&k| self.alike[k]) {
            return 0.0;
        }
        let [Some(a), Some(b)] = [0, 1].map(|k: usize| self.terms[pair[k]][on[k]].as_ref()) else {
            return 0.0;
        };
        let [a, b] = [self.under(a, on[0], at[0]), self.under(b, on[1], at[1])];
        unlike(&a, &b, a.len()).worth() / ONE
    }
}
