//! A search that the bench wants, from its question to what is offered.

use super::{Shades, Wanted, fit_all, long_enough, pair_places, places};
use crate::fault::Outcome;
use crate::lay::Placement;
use crate::lay::fit::{Effort, Progress};
use crate::lay::place::{Found, PairFound, Place};
use crate::work::{Finding, Offered, Query, Seek, Spot};
use std::sync::Mutex;
use std::time::Instant;

/// Searches; `tell` is told how far it is, in words if there are any, and says whether to go
/// on. A whole lay goes on being made better until then, and what is best is offered; any
/// other search that is stopped finds nothing.
///
/// # Errors
/// As [`super::places`] and [`super::fit_all`].
pub fn sought(
    query: &Query,
    shades: &Shades,
    tell: &mut (dyn FnMut(f64, &str) -> bool + Send),
) -> Outcome<Finding> {
    let stock = query.goods.stock();
    let tell = Mutex::new(tell);
    let progress = |share: f64| tell.lock().is_ok_and(|mut t| t(share, ""));
    let wanted = |p: &Placement| Wanted {
        piece: p.piece.clone(),
        article: p.article.clone(),
        panel: p.panel.clone(),
        face: p.face,
        moves: p.id.filter(|id| query.state.placed.contains_key(id)),
    };
    let at = |of: &Placement, place: &Place| Placement {
        x_mm: place.x_mm,
        y_mm: place.y_mm,
        turn_deg: place.turn_deg,
        face: place.face,
        ..of.clone()
    };
    Ok(match (query.seek, query.hands.as_slice()) {
        (Seek::Hand, [hand]) => {
            let own = wanted(hand);
            match places(&stock, &query.state, shades, &own, query.band, &progress)? {
                Found::Places(offers) => {
                    let offers = offers.iter().map(|o| Offered {
                        placed: vec![at(hand, &o.place)],
                        why: o.why(),
                    });
                    Finding::Offers(offers.collect())
                }
                Found::None(why) => Finding::Nothing(why.to_string()),
                Found::Stopped => Finding::Offers(Vec::new()),
            }
        }
        (Seek::Pair, [one, two]) => {
            let both = [wanted(one), wanted(two)];
            let [a, b] = &both;
            let state = &query.state;
            match pair_places(&stock, state, shades, [a, b], query.band, &progress)? {
                PairFound::Pairs(offers) => {
                    let offers = offers.iter().map(|o| Offered {
                        placed: vec![at(one, &o.first.place), at(two, &o.second.place)],
                        why: o.why(),
                    });
                    Finding::Offers(offers.collect())
                }
                PairFound::None(why) => Finding::Nothing(why.to_string()),
                PairFound::Stopped => Finding::Offers(Vec::new()),
            }
        }
        (Seek::Open, _) => whole(query, shades, &|words: &str| {
            tell.lock().is_ok_and(|mut t| t(0.0, words))
        })?,
        _ => Finding::Nothing("no piece is in hand".to_owned()),
    })
}

fn whole(query: &Query, shades: &Shades, tell: &dyn Fn(&str) -> bool) -> Outcome<Finding> {
    let effort = Effort {
        passes: u64::MAX,
        workers: std::thread::available_parallelism().map_or(1, |n| n.get().min(8)),
        ..Effort::default()
    };
    let (begun, mut all) = (Instant::now(), None);
    let mut going = |p: &Progress| {
        let words = format!("{} of {} have a place", p.placed, p.of);
        tell(&words) && !long_enough(begun.elapsed(), &mut all, p)
    };
    let stock = query.goods.stock();
    let found = fit_all(
        &stock,
        &query.state,
        shades,
        query.band,
        &effort,
        &mut going,
    )?;
    let (all, best) = (found.parts.len(), &found.suggestion);
    if best.places.is_empty() {
        let why = best.left.first().map(|(_, why)| why.to_string());
        let none = || "every place would cut one too many of a part: lay a panel single".to_owned();
        return Ok(Finding::Nothing(why.unwrap_or_else(none)));
    }
    let numbered = (query.next..).zip(&best.places);
    let placed = numbered.map(|(id, place)| {
        let part = &found.parts[place.part];
        let turn = place.pose.turn.to_degrees();
        let spot = Spot {
            panel: found.panels[place.spread].clone(),
            x_mm: (place.pose.shift.x * 1e4).round() / 1e4,
            y_mm: (place.pose.shift.y * 1e4).round() / 1e4,
            turn_deg: ((turn - 360.0 * (turn / 360.0).round()) * 1e5).round() / 1e5,
            face: part.face,
        };
        spot.placement(id, part.piece.clone(), part.article.clone())
    });
    let placed: Vec<Placement> = placed.collect();
    let mut why = format!("{} of {all} have a place", placed.len());
    if let Some((k, no)) = best.left.first() {
        let part = &found.parts[*k];
        why += &format!("; {} {}: {no}", part.piece, part.article);
    }
    Ok(Finding::Offers(vec![Offered { placed, why }]))
}
