//! A whole lay sought: places for all that is ordered and not laid yet.

use super::Shades;
use super::wishing::Wishing;
use crate::cloth::Panel;
use crate::fault::Outcome;
use crate::lay::fit::{Effort, Part, Progress, Rules, Spread, Suggestion, Task, fit};
use crate::lay::wish::{NapWay, Wished, nap_way};
use crate::lay::{Along, Face, Hands, Placement, Stock, inside_of};
use crate::shape::{Region, intersection};
use crate::space::Cloth;
use crate::work::State;
use std::time::Duration;

/// A part that is not laid yet, as it is sought a place for.
#[derive(Debug, Clone, PartialEq)]
pub struct Unlaid {
    pub piece: String,
    pub article: String,
    pub cloth: String,
    pub face: Face,
}

/// What no place gives without one too many, for its cloth lies in several layers.
#[derive(Debug, Clone, PartialEq)]
pub struct Over {
    pub piece: String,
    pub article: String,
    pub cloth: String,
    /// So many are not laid.
    pub count: u32,
}

/// What is not laid yet, as so many places as give it: of cloth in several layers each gives
/// several. And what is left then.
pub fn unlaid(stock: &Stock, state: &State) -> (Vec<Unlaid>, Vec<Over>) {
    let counts = stock.counts(&state.panels, state.placed.values(), &state.cuts.parts);
    let (mut all, mut over) = (Vec::new(), Vec::new());
    for mut count in counts {
        let cloth = &count.part.cloth;
        let tops = state
            .panels
            .iter()
            .filter(|p| p.spread && p.cloth == *cloth && p.under.is_none());
        let tops: Vec<&Panel> = tops.collect();
        // What one place gives, where all sheets of the cloth give alike; else a single ply.
        let gives = |face: Face| {
            let on = |panel: &&Panel| {
                let placed = Placement {
                    id: None,
                    piece: count.part.piece.clone(),
                    article: count.article.to_owned(),
                    panel: panel.name.clone(),
                    x_mm: 0.0,
                    y_mm: 0.0,
                    turn_deg: 0.0,
                    face,
                    locked: false,
                };
                stock.hands(&placed, &state.panels)
            };
            let mut each = tops.iter().map(on);
            let first = each.next();
            first.filter(|f| each.all(|e| e == *f)).unwrap_or_else(|| {
                let mut one = Hands::default();
                one.add(face);
                one
            })
        };
        let gives = [(Face::Up, gives(Face::Up)), (Face::Down, gives(Face::Down))];
        // A left beside its right.
        let mut next = 0;
        while let Some((k, (face, hands))) = [next, 1 - next]
            .into_iter()
            .map(|k| (k, gives[k]))
            .find(|(_, (_, hands))| count.takes_all(*hands))
        {
            all.push(Unlaid {
                piece: count.part.piece.clone(),
                article: count.article.to_owned(),
                cloth: cloth.clone(),
                face,
            });
            count.laid = count.laid + hands;
            next = if count.part.pair { 1 - k } else { k };
        }
        if count.open() > 0 {
            over.push(Over {
                piece: count.part.piece.clone(),
                article: count.article.to_owned(),
                cloth: cloth.clone(),
                count: count.open(),
            });
        }
    }
    (all, over)
}

/// A whole lay, suggested.
#[derive(Debug)]
pub struct WholeLay {
    pub parts: Vec<Unlaid>,
    /// What no place was sought for.
    pub over: Vec<Over>,
    /// Panels in the order in which the suggestion counts them.
    pub panels: Vec<String>,
    pub suggestion: Suggestion,
}

/// Whether a lay has been made better for long enough: as long again as it took until all had a
/// place, and two seconds (our choice). `all` keeps when that was.
pub fn long_enough(gone: Duration, all: &mut Option<Duration>, p: &Progress) -> bool {
    if p.placed < p.of {
        return false;
    }
    let at = *all.get_or_insert(gone);
    gone >= 2 * at + Duration::from_secs(2)
}

/// Suggests places for all that is not laid yet.
///
/// # Errors
/// If a panel's outline is none, a number is not usable, or a wish can't be worked out.
pub fn fit_all(
    stock: &Stock,
    state: &State,
    shades: &Shades,
    band: f64,
    effort: &Effort,
    keep_going: &mut dyn FnMut(&Progress) -> bool,
) -> Outcome<WholeLay> {
    let (parts, over) = unlaid(stock, state);
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
            // Against the nap is along it for the arrow turned round.
            grain: match nap(state, part) {
                Some(NapWay::Against) => piece.grain.map(|[a, b]| [b, a]),
                _ => piece.grain,
            },
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
        if let Some(ply) = stock.beneath(&panel.name, &state.panels) {
            // What is cut goes through both.
            let by = ply.onto.inverse();
            outline = intersection(&outline, &ply.panel.outline()?.moved(&by));
            keep_outs.extend(outs(ply.panel)?.iter().map(|r| r.moved(&by)));
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
            one_way: parts
                .iter()
                .any(|p| p.cloth == panel.cloth && nap(state, p).is_some()),
        });
    }
    let wishes = Wishing::of(stock, state, (shades, &parts), &panels)?;
    let task = Task {
        parts: &given,
        pairs: &pairs,
        spreads: &spreads,
        rules: Rules {
            between: band,
            ..Rules::default()
        },
        wishes: &wishes,
    };
    let suggestion = fit(&task, effort, keep_going)?;
    Ok(WholeLay {
        parts,
        over,
        panels,
        suggestion,
    })
}

fn nap(state: &State, part: &Unlaid) -> Option<NapWay> {
    let own = |w: &&Wished| w.is_for(&part.piece, &part.article);
    nap_way(state.wishes.iter().filter(own))
}

fn outs(panel: &Panel) -> Outcome<Vec<Region<Cloth>>> {
    panel
        .keep_out
        .iter()
        .map(crate::cloth::KeepOut::outline)
        .collect()
}
