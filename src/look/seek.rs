//! Places sought: for one piece, and for all that is not laid yet.

use crate::cloth::Panel;
use crate::cloth::shade::ShadeMap;
use crate::colour::Lab;
use crate::fault::{Fault, Outcome};
use crate::lay::fit::{Effort, NoWishes, Part, Progress, Rules, Spread, Suggestion, Task, fit};
use crate::lay::place::{self, Around, Ask, Found, Hand, Limits, Place};
use crate::lay::wish::{Known, Neighbour, Partner, Wished};
use crate::lay::{Along, Face, Laid, Placement, Stock, grounds, inside_of};
use crate::raster::Raster;
use crate::shape::{Region, intersection};
use crate::space::{Cloth, Point};
use crate::work::{Id, State};
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
    (wishes, shades): (&[Wished], &Shades),
    wanted: &Wanted,
    band: f64,
    progress: place::Progress,
) -> Outcome<Found> {
    let no = |what: String, remedy: &str| Err(Fault::input(what, remedy));
    let Some(panel) = state.panel(&wanted.panel).filter(|p| p.spread) else {
        return no(
            format!("the panel \"{}\" is not on the table", wanted.panel),
            "name one that is spread",
        );
    };
    let Some(piece) = stock.piece(&wanted.piece) else {
        return no(
            format!("there is no piece \"{}\"", wanted.piece),
            "name one of the pattern's pieces",
        );
    };
    if stock
        .part(&wanted.article, &wanted.piece, &panel.cloth)
        .is_none()
    {
        return no(
            format!(
                "article {} has no {} in {}",
                wanted.article, wanted.piece, panel.cloth
            ),
            "name an article, a piece of it and a panel of its cloth",
        );
    }
    let middle = panel
        .outline()?
        .bounds()
        .map_or(Point::zero(), |b| b.center());
    let own = wanted.moves.and_then(|id| state.placed.get(&id));
    let hand = Placement {
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
    let others = state
        .placed
        .iter()
        .filter(|(id, _)| Some(**id) != wanted.moves);
    let spread = |p: &&Placement| state.panel(&p.panel).is_some_and(|q| q.spread);
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
    laid.extend(stock.laid(&hand, &state.panels));
    let at = laid.len() - 1;
    let grounds = grounds(&state.panels)?;
    let around = Around {
        laid: &laid,
        grounds: &grounds,
        reach: None,
        band,
        panel: &panel.name,
        on_table: panel.on_table.pose(),
    };
    let bed = around.bed(&[at], band);
    let stripes = |p: &Panel| p.looks.as_ref().and_then(|l| l.stripes);
    let neighbours = others.iter().filter_map(|p| {
        Some(Neighbour {
            piece: stock.piece(&p.piece)?,
            pose: p.pose(),
            stripes: stripes(state.panel(&p.panel)?)?,
        })
    });
    let partner = others.iter().find(|p| {
        let cloth = state.panel(&p.panel).map(|q| &q.cloth);
        p.piece == wanted.piece
            && p.article == wanted.article
            && cloth == Some(&panel.cloth)
            && p.face != wanted.face
    });
    let own: Vec<Wished> = wishes
        .iter()
        .filter(|w| w.is_for(&wanted.piece, &wanted.article))
        .cloned()
        .collect();
    let ask = Ask {
        hand: Hand {
            piece,
            face: wanted.face,
            along: Along::Warp,
            at: Point::new(hand.x_mm, hand.y_mm),
            turn_deg: hand.turn_deg,
        },
        bed: &bed,
        shade: shades.get(&panel.name),
        wishes: &own,
        known: Known {
            partner: partner.and_then(|p| {
                Some(Partner {
                    pose: p.pose(),
                    shade: shades.get(&p.panel)?,
                })
            }),
            mirrored: None,
            stripes: stripes(panel),
            neighbours: neighbours.collect(),
        },
        limits: Limits::default(),
    };
    place::find(
        &ask,
        &|place: &Place| around.accepts(&[(at, *place)]),
        progress,
    )
}

/// A part that is not laid yet, as it is sought a place for.
#[derive(Debug, Clone, PartialEq)]
pub struct Unlaid {
    pub piece: String,
    pub article: String,
    pub cloth: String,
    pub face: Face,
}

/// What is not laid yet: of a cloth that lies in two plies on every panel, one for each pair.
pub fn unlaid(stock: &Stock, state: &State) -> Vec<Unlaid> {
    let counts = stock.counts(&state.panels, state.placed.values(), &state.cuts.parts);
    let mut all = Vec::new();
    for count in counts {
        let cloth = &count.part.cloth;
        let mut tops = state
            .panels
            .iter()
            .filter(|p| p.spread && p.cloth == *cloth && p.under.is_none())
            .peekable();
        let doubled = tops.peek().is_some()
            && tops.all(|p| stock.ply_under(&p.name, &state.panels).is_some());
        let (up, down) = count.part.hands();
        let laid = count.all();
        let part = |face| Unlaid {
            piece: count.part.piece.clone(),
            article: count.article.to_owned(),
            cloth: cloth.clone(),
            face,
        };
        if count.part.pair {
            let up = up.saturating_sub(laid.up);
            let down = down.saturating_sub(laid.down);
            if doubled {
                all.extend((0..up.min(down)).map(|_| part(Face::Up)));
            } else {
                // A left beside its right.
                for k in 0..up.max(down) {
                    all.extend((k < up).then(|| part(Face::Up)));
                    all.extend((k < down).then(|| part(Face::Down)));
                }
            }
        } else {
            let face = if laid.down > 0 { Face::Down } else { Face::Up };
            let plies = if doubled { 2 } else { 1 };
            all.extend((0..count.open() / plies).map(|_| part(face)));
        }
    }
    all
}

/// A whole lay, suggested.
#[derive(Debug)]
pub struct WholeLay {
    pub parts: Vec<Unlaid>,
    /// Panels in the order in which the suggestion counts them.
    pub panels: Vec<String>,
    pub suggestion: Suggestion,
}

/// Suggests places for all that is not laid yet.
///
/// # Errors
/// If a panel's outline is none or a number is not usable.
pub fn fit_all(
    stock: &Stock,
    state: &State,
    band: f64,
    effort: &Effort,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Outcome<WholeLay> {
    let parts = unlaid(stock, state);
    let cloths: Vec<&str> = stock.cloths.iter().map(|c| c.name.as_str()).collect();
    let number = |name: &str| {
        cloths
            .iter()
            .position(|c| *c == name)
            .unwrap_or(cloths.len())
    };
    let mut given = Vec::new();
    let mut pairs = Vec::new();
    for (k, part) in parts.iter().enumerate() {
        let Some(piece) = stock.piece(&part.piece) else {
            continue;
        };
        given.push(Part {
            outline: inside_of(piece),
            cloth: number(&part.cloth),
            grain: piece.grain,
            along: Along::Warp,
            face: part.face,
        });
        let before = k.checked_sub(1).and_then(|b| Some((b, parts.get(b)?)));
        if let Some((b, one)) = before
            && (&one.piece, &one.article, &one.cloth) == (&part.piece, &part.article, &part.cloth)
            && one.face == Face::Up
            && part.face == Face::Down
        {
            pairs.push([b, k]);
        }
    }
    let mut panels = Vec::new();
    let mut spreads = Vec::new();
    for panel in state
        .panels
        .iter()
        .filter(|p| p.spread && p.under.is_none())
    {
        let mut outline = panel.outline()?;
        let mut keep_outs = outs(panel)?;
        if let Some(below) = stock.ply_under(&panel.name, &state.panels) {
            // What is cut goes through both.
            let by = below.on_table.pose().then(&panel.on_table.pose().inverse());
            outline = intersection(&outline, &below.outline()?.moved(&by));
            keep_outs.extend(outs(below)?.iter().map(|r| r.moved(&by)));
        }
        let mut taken = Vec::new();
        for (id, p) in state.placed.iter().filter(|(_, p)| p.panel == panel.name) {
            let Some(piece) = stock.piece(&p.piece) else {
                continue;
            };
            let there = inside_of(piece).moved(&p.pose());
            match state.cuts.has(*id) {
                true => keep_outs.push(there),
                false => taken.push(there),
            }
        }
        panels.push(panel.name.clone());
        spreads.push(Spread {
            cloth: number(&panel.cloth),
            outline,
            keep_outs,
            taken,
            warp_deg: panel.grain_deg,
            one_way: false,
        });
    }
    let task = Task {
        parts: &given,
        pairs: &pairs,
        spreads: &spreads,
        rules: Rules {
            between: band,
            ..Rules::default()
        },
        wishes: &NoWishes,
    };
    let suggestion = fit(&task, effort, keep_going)?;
    Ok(WholeLay {
        parts,
        panels,
        suggestion,
    })
}

fn outs(panel: &Panel) -> Outcome<Vec<Region<Cloth>>> {
    panel
        .keep_out
        .iter()
        .map(crate::cloth::KeepOut::outline)
        .collect()
}
