//! The shade under what is laid: piece by piece, between partners, and within an article.

use crate::cloth::shade::{Half, OneShade, Partners, Shading, Under, one_shade, partners};
use crate::colour::Lab;
use crate::fault::Outcome;
use crate::lay::{Face, Placement, Stock};
use crate::pattern::PatternPiece;
use crate::shape::{Region, signed_area};
use crate::space::{Cloth, Piece};
use std::collections::BTreeMap;

/// The shade under one piece.
#[derive(Debug, Clone)]
pub struct ShadeOf {
    /// `upper 1 on sling, face down`.
    pub name: String,
    pub piece: String,
    pub article: String,
    pub under: Outcome<Under<Cloth>>,
    pub placed: Placement,
}

/// Two partners.
#[derive(Debug, Clone)]
pub struct Partnered {
    /// `upper 1`.
    pub name: String,
    pub cloth: String,
    pub apart: Outcome<Partners>,
}

/// All that can be said of the shade of a lay.
#[derive(Debug, Clone, Default)]
pub struct Shaded {
    pub pieces: Vec<ShadeOf>,
    pub pairs: Vec<Partnered>,
    /// By article and cloth.
    pub articles: Vec<(String, OneShade)>,
    /// Panels with pieces on them whose shade is not known.
    pub unknown: Vec<String>,
}

/// Inside its net line; of a piece without one, inside its cut line.
pub(super) fn inside(piece: &PatternPiece) -> Region<Piece> {
    let rings = if piece.net.iter().any(|n| n.closed) {
        let closed = piece.net.iter().filter(|n| n.closed);
        closed.map(|n| n.points.clone()).collect()
    } else {
        piece.cut.clone()
    };
    upright(Region::new(rings))
}

/// Every ring counter-clockwise.
fn upright<S>(mut region: Region<S>) -> Region<S> {
    for ring in &mut region.rings {
        if signed_area(ring) < 0.0 {
            ring.reverse();
        }
    }
    region
}

/// Judges a lay by the shade of the panels, by their names.
pub fn shades(
    stock: &Stock,
    placed: &[&Placement],
    cloth_of: impl Fn(&str) -> Option<String>,
    known: &BTreeMap<String, Shading<Cloth>>,
) -> Shaded {
    let mut all = Shaded::default();
    let mut means: BTreeMap<(String, String), Vec<(String, Lab)>> = BTreeMap::new();
    let mut pairs: BTreeMap<(String, String, String), [Vec<&Placement>; 2]> = BTreeMap::new();
    for p in placed {
        let (Some(piece), Some(cloth)) = (stock.piece(&p.piece), cloth_of(&p.panel)) else {
            continue;
        };
        let Some(shading) = known.get(&p.panel) else {
            if !all.unknown.contains(&p.panel) {
                all.unknown.push(p.panel.clone());
            }
            continue;
        };
        let face = match p.face {
            Face::Up => "",
            Face::Down => ", face down",
        };
        let name = format!("{} {} on {}{face}", p.piece, p.article, p.panel);
        let pose = p.pose();
        let under = shading.under(&inside(piece).moved(&pose), &pose);
        if let Ok(under) = &under {
            let of = means.entry((p.article.clone(), cloth.clone())).or_default();
            of.push((name.clone(), under.mean));
        }
        all.pieces.push(ShadeOf {
            name,
            piece: p.piece.clone(),
            article: p.article.clone(),
            under,
            placed: (*p).clone(),
        });
        let part = stock.part(&p.article, &p.piece, &cloth);
        if part.is_some_and(|part| part.pair) {
            let of = (p.piece.clone(), p.article.clone(), cloth);
            let hand = usize::from(p.face == Face::Down);
            pairs.entry(of).or_default()[hand].push(p);
        }
    }
    for ((piece, article, cloth), [up, down]) in pairs {
        let Some(net) = stock.piece(&piece).map(inside) else {
            continue;
        };
        for (one, two) in up.into_iter().zip(down) {
            let half = |p: &Placement| {
                known.get(&p.panel).map(|shading| Half {
                    shading,
                    pose: p.pose(),
                })
            };
            if let (Some(one), Some(two)) = (half(one), half(two)) {
                all.pairs.push(Partnered {
                    name: format!("{piece} {article}"),
                    cloth: cloth.clone(),
                    apart: partners(&one, &two, &net),
                });
            }
        }
    }
    for ((article, cloth), of) in means {
        let of: Vec<(&str, Lab)> = of.iter().map(|(n, l)| (n.as_str(), *l)).collect();
        if of.len() > 1 {
            all.articles
                .push((format!("{article}, {cloth}"), one_shade(&of)));
        }
    }
    all
}
