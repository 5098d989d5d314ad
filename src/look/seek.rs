//! Places sought: for one piece, and for a pair.

use super::beneath::Below;
use crate::cloth::Panel;
use crate::cloth::shade::ShadeMap;
use crate::colour::Lab;
use crate::fault::{Fault, Outcome};
use crate::lay::place::{
    self, Around, Ask, Bed, Found, Limits, PairAsk, PairFound, PieceInHand, Place, Together,
};
use crate::lay::wish::{Known, Neighbour, Partner, Wish, Wished};
use crate::lay::{Along, Face, Ground, Laid, Placement, Stock, grounds};
use crate::pattern::PatternPiece;
use crate::raster::Raster;
use crate::space::{Cloth, Point};
use crate::work::{Id, State, across};
use std::collections::BTreeMap;

/// Shade of panels as CIELAB in cells, NaN where it is not known, by the panels' names.
pub type Shades = BTreeMap<String, Raster<[f32; 3], Cloth>>;

/// A map as [`Shades`] holds it.
pub fn lab_of(map: &ShadeMap<Cloth>) -> Raster<[f32; 3], Cloth> {
    Raster::over(map.bounds(), map.cell(), |_, _, p| {
        map.colour(p).map_or([f32::NAN; 3], |xyz| {
            let lab = Lab::from_xyz(xyz);
            [lab.l as f32, lab.a as f32, lab.b as f32]
        })
    })
}

/// The piece that a place is sought for.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    pub piece: String,
    pub article: String,
    pub panel: String,
    pub face: Face,
    /// The placement that shall move; none: it is laid anew.
    pub moves: Option<Id>,
}

/// The best places for a piece, by what is wished for it.
///
/// # Errors
/// If the piece, its part of an article or the panel is not there, or a wish can't be worked out.
pub fn places(
    stock: &Stock,
    state: &State,
    shades: &Shades,
    wanted: &Wanted,
    band: f64,
    progress: place::Progress,
) -> Outcome<Found> {
    let hand = InHand::of(stock, state, wanted)?;
    let about = About::of(stock, state, &[&hand])?;
    let around = about.around(hand.panel, band);
    let at = about.at(0);
    let bed = around.bed(&[at], band);
    let (others, wishes) = (&about.others, hand.wishes(state));
    let partner = hand.partner(state, others);
    let below = Below::of(stock, &state.panels, &wanted.panel, shades);
    let below = below.as_ref();
    let ask = hand.ask(
        (&bed, &wishes, below),
        (stock, state, shades),
        (others, partner),
    );
    let accepts = |place: &Place| around.accepts(&[(at, *place)]);
    place::find(&ask, &accepts, progress)
}

/// The best places for two partners together: each by what is wished for it, and both of like
/// shade.
///
/// # Errors
/// As [`places`].
pub fn pair_places(
    stock: &Stock,
    state: &State,
    shades: &Shades,
    wanted: [&Wanted; 2],
    band: f64,
    progress: place::Progress,
) -> Outcome<PairFound> {
    let [one, two] = wanted;
    let hands = [
        InHand::of(stock, state, one)?,
        InHand::of(stock, state, two)?,
    ];
    let about = About::of(stock, state, &[&hands[0], &hands[1]])?;
    let in_hand = [about.at(0), about.at(1)];
    let arounds = [0, 1].map(|k: usize| about.around(hands[k].panel, band));
    let beds = arounds.map(|a| a.bed(&in_hand, band));
    let wishes = [0, 1].map(|k: usize| {
        // Its partner is sought with it: likeness is weighed there.
        let mut own = hands[k].wishes(state);
        own.retain(|w| w.wish != Wish::LikePartner {});
        own
    });
    let asks = [0, 1].map(|k: usize| {
        let given = (&beds[k], &wishes[k][..], None);
        hands[k].ask(given, (stock, state, shades), (&about.others, None))
    });
    let together = Together::Alike {
        second: &asks[1],
        same_panel: one.panel == two.panel,
    };
    let accepts = |places: &[Place; 2]| match one.panel == two.panel {
        true => arounds[0].accepts(&[(in_hand[0], places[0]), (in_hand[1], places[1])]),
        false => [0, 1]
            .into_iter()
            .try_for_each(|k: usize| arounds[k].accepts(&[(in_hand[k], places[k])])),
    };
    let ask = PairAsk {
        first: &asks[0],
        together,
    };
    place::find_pair(&ask, &accepts, progress)
}

/// A piece that a place is sought for, and its panel.
struct InHand<'a> {
    piece: &'a PatternPiece,
    panel: &'a Panel,
    wanted: &'a Wanted,
    /// Where it lies now; one that is laid anew: in the middle of the panel.
    placed: Placement,
}

impl<'a> InHand<'a> {
    fn of(stock: &Stock<'a>, state: &'a State, wanted: &'a Wanted) -> Outcome<Self> {
        let no = |what: String, remedy: String| Err(Fault::input(what, remedy));
        let spread = state.panels.iter().filter(|p| p.spread);
        let spread: Vec<&str> = spread.map(|p| p.name.as_str()).collect();
        let Some(panel) = state.panel(&wanted.panel).filter(|p| p.spread) else {
            return no(
                format!("the panel \"{}\" is not on the table", wanted.panel),
                match &spread[..] {
                    [] => "spread one first".to_owned(),
                    all => format!("name one of {}", all.join(", ")),
                },
            );
        };
        let Some(piece) = stock.piece(&wanted.piece) else {
            let all: Vec<&str> = stock.pieces.iter().map(|p| p.name.as_str()).collect();
            return no(
                format!("there is no piece \"{}\"", wanted.piece),
                format!("name one of {}", all.join(", ")),
            );
        };
        let part = stock.part(&wanted.article, &wanted.piece, &panel.cloth);
        if part.is_none() {
            return no(
                format!(
                    "article {} has no {} in {}",
                    wanted.article, wanted.piece, panel.cloth
                ),
                "name an article, a piece of it and a panel of its cloth".to_owned(),
            );
        }
        let middle = panel.outline()?.bounds();
        let middle = middle.map_or(Point::zero(), |b| b.center());
        // Where it lies on another panel tells nothing of this one.
        let own = wanted.moves.and_then(|id| state.placed.get(&id));
        let own = own.filter(|p| p.panel == panel.name);
        let placed = Placement {
            id: wanted.moves,
            piece: wanted.piece.clone(),
            article: wanted.article.clone(),
            panel: wanted.panel.clone(),
            x_mm: own.map_or(middle.x, |p| p.x_mm),
            y_mm: own.map_or(middle.y, |p| p.y_mm),
            turn_deg: own.map_or(0.0, |p| p.turn_deg),
            face: wanted.face,
            locked: false,
        };
        Ok(Self {
            piece,
            panel,
            wanted,
            placed,
        })
    }

    fn wishes(&self, state: &State) -> Vec<Wished> {
        let own = |w: &&Wished| w.is_for(&self.wanted.piece, &self.wanted.article);
        state.wishes.iter().filter(own).cloned().collect()
    }

    /// The other hand of the same part, where it is laid.
    fn partner<'o>(&self, state: &State, others: &[&'o Placement]) -> Option<&'o Placement> {
        let is = |p: &&&Placement| {
            let cloth = state.panel(&p.panel).map(|q| &q.cloth);
            p.piece == self.wanted.piece
                && p.article == self.wanted.article
                && cloth == Some(&self.panel.cloth)
                && p.face != self.wanted.face
        };
        others.iter().find(is).copied()
    }

    /// What is asked for it: on its bed, by its wishes, beside what else is laid.
    fn ask<'q>(
        &self,
        (bed, wishes, below): (&'q Bed, &'q [Wished], Option<&'q Below>),
        (stock, state, shades): (&Stock<'q>, &State, &'q Shades),
        (others, partner): (&[&Placement], Option<&Placement>),
    ) -> Ask<'q>
    where
        'a: 'q,
    {
        let stripes = |p: &Panel| p.looks.as_ref().and_then(|l| l.stripes);
        let neighbours = others.iter().filter_map(|p| {
            Some(Neighbour {
                piece: stock.piece(&p.piece)?,
                pose: p.pose(),
                stripes: stripes(state.panel(&p.panel)?)?,
            })
        });
        let mirrored = partner.and_then(|p| {
            let theirs = state.panel(&p.panel)?;
            (theirs.name != self.panel.name).then_some(())?;
            Some(p.pose().then(&across(theirs, self.panel)?))
        });
        let lies = &self.placed;
        Ask {
            hand: PieceInHand {
                piece: self.piece,
                face: lies.face,
                along: Along::Warp,
                at: Point::new(lies.x_mm, lies.y_mm),
                turn_deg: lies.turn_deg,
            },
            bed,
            shade: shades.get(&self.panel.name),
            wishes,
            known: Known {
                partner: partner.and_then(|p| {
                    Some(Partner {
                        pose: p.pose(),
                        shade: shades.get(&p.panel)?,
                    })
                }),
                mirrored,
                stripes: stripes(self.panel),
                neighbours: neighbours.collect(),
                beneath: below.map(Below::known),
            },
            limits: Limits::default(),
        }
    }
}

/// All that lies on the table, those in hand last.
struct About<'a> {
    others: Vec<&'a Placement>,
    laid: Vec<Laid<'a>>,
    grounds: Vec<Ground<'a>>,
    in_hand: usize,
}

impl<'a> About<'a> {
    fn of(stock: &Stock<'a>, state: &'a State, hands: &[&'a InHand]) -> Outcome<Self> {
        let away = |id: &Id| hands.iter().any(|h| h.wanted.moves == Some(*id));
        let spread = |p: &&Placement| state.panel(&p.panel).is_some_and(|q| q.spread);
        let others = state.placed.iter().filter(|(id, _)| !away(id));
        let others: Vec<&Placement> = others.map(|(_, p)| p).filter(spread).collect();
        let mut laid: Vec<Laid> = others
            .iter()
            .filter_map(|p| {
                let is_cut = p.id.is_some_and(|id| state.cuts.has(id));
                Some(Laid {
                    is_cut,
                    ..stock.laid(p, &state.panels)?
                })
            })
            .collect();
        let own = hands
            .iter()
            .filter_map(|h| stock.laid(&h.placed, &state.panels));
        laid.extend(own);
        Ok(Self {
            others,
            laid,
            grounds: grounds(&state.panels)?,
            in_hand: hands.len(),
        })
    }

    /// The place of one in hand among all that is laid.
    fn at(&self, hand: usize) -> usize {
        self.laid.len() - self.in_hand + hand
    }

    fn around<'q>(&'q self, panel: &'q Panel, band: f64) -> Around<'q> {
        Around {
            laid: &self.laid,
            grounds: &self.grounds,
            reach: None,
            band,
            panel: &panel.name,
            on_table: panel.on_table.pose(),
        }
    }
}
