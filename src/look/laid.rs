//! The shade under what is laid: piece by piece, between partners, and within an article.

use crate::cloth::Panel;
use crate::cloth::shade::{Half, OneShade, Partners, Shading, Under, one_shade, partners};
use crate::colour::Lab;
use crate::fault::Outcome;
use crate::lay::{Face, Placement, Stock};
use crate::pattern::PatternPiece;
use crate::shape::{Region, counter_clockwise};
use crate::space::{Cloth, Piece, Rigid};
use std::collections::BTreeMap;

/// The shade under one piece.
#[derive(Debug, Clone)]
pub struct ShadeOf {
    /// `upper 1 on sling, mirrored`; cut from a lower ply: `upper 1 on lining beneath sling`.
    pub name: String,
    pub piece: String,
    pub article: String,
    pub under: Outcome<Under<Cloth>>,
    /// The panel that it is cut from, and where it lies there.
    pub panel: String,
    pub pose: Rigid<Piece, Cloth>,
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

impl Shaded {
    /// What is read under the parts, by article, piece and cloth: `lightness 62 and 61`.
    pub fn by_part(&self, panels: &[Panel]) -> BTreeMap<(String, String, String), String> {
        let mut read: BTreeMap<_, Vec<String>> = BTreeMap::new();
        for of in &self.pieces {
            let panel = panels.iter().find(|p| p.name == of.panel);
            if let (Some(panel), Ok(under)) = (panel, &of.under) {
                let key = (of.article.clone(), of.piece.clone(), panel.cloth.clone());
                let all = read.entry(key).or_default();
                all.push(format!("{:.0}", under.mean.l));
            }
        }
        let words = |all: Vec<String>| format!("lightness {}", all.join(" and "));
        read.into_iter()
            .map(|(key, all)| (key, words(all)))
            .collect()
    }
}

/// Inside its net line; of a piece without one, inside its cut line.
pub(super) fn inside(piece: &PatternPiece) -> Region<Piece> {
    let rings = if piece.net.iter().any(|n| n.closed) {
        let closed = piece.net.iter().filter(|n| n.closed);
        closed.map(|n| n.points.clone()).collect()
    } else {
        piece.cut.clone()
    };
    Region::new(rings.into_iter().map(counter_clockwise).collect())
}

/// One part that a placement gives: where it lies on which panel, as which hand.
struct Cut<'a> {
    panel: &'a str,
    pose: Rigid<Piece, Cloth>,
    face: Face,
}

impl<'a> Cut<'a> {
    /// All that a placement gives: from two plies two, the upper one first.
    fn all(stock: &Stock, p: &'a Placement, panels: &'a [Panel]) -> Vec<Self> {
        let mut all = vec![Self {
            panel: &p.panel,
            pose: p.pose(),
            face: p.face,
        }];
        let lower = stock.beneath(&p.panel, panels);
        // Of a stack its top is seen, of what lies beneath it too.
        let top = panels.iter().find(|q| q.name == p.panel);
        let first = top.map_or(1, |q| q.stack.layers as usize);
        let hand = stock.gives(p, panels).get(first).copied();
        if let (Some(ply), Some(face)) = (lower, hand) {
            all.push(Self {
                panel: &ply.panel.name,
                pose: p.pose().then(&ply.onto),
                face,
            });
        }
        all
    }

    fn name(&self, p: &Placement) -> String {
        let beneath = match self.panel == p.panel {
            true => String::new(),
            false => format!(" beneath {}", p.panel),
        };
        let face = match self.face {
            Face::Up => "",
            Face::Down => ", mirrored",
        };
        format!("{} {} on {}{beneath}{face}", p.piece, p.article, self.panel)
    }

    fn half<'k>(&self, known: &'k BTreeMap<String, Shading<Cloth>>) -> Option<Half<'k, Cloth>> {
        let shading = known.get(self.panel)?;
        Some(Half {
            shading,
            pose: self.pose,
        })
    }
}

/// Judges a lay by the shade of the panels, by their names. What is cut from two plies is
/// judged in both, and the two as partners.
pub fn shades(
    stock: &Stock,
    placed: &[&Placement],
    panels: &[Panel],
    known: &BTreeMap<String, Shading<Cloth>>,
) -> Shaded {
    let mut all = Shaded::default();
    let mut means: BTreeMap<(String, String), Vec<(String, Lab)>> = BTreeMap::new();
    let mut pairs: BTreeMap<(String, String, String), Vec<[Cut; 2]>> = BTreeMap::new();
    let mut alone: BTreeMap<(String, String, String), [Vec<Cut>; 2]> = BTreeMap::new();
    for p in placed {
        let cloth = panels.iter().find(|q| q.name == p.panel).map(|q| &q.cloth);
        let (Some(piece), Some(cloth)) = (stock.piece(&p.piece), cloth) else {
            continue;
        };
        let cuts = Cut::all(stock, p, panels);
        for cut in &cuts {
            let Some(shading) = known.get(cut.panel) else {
                if !all.unknown.iter().any(|u| u == cut.panel) {
                    all.unknown.push(cut.panel.to_owned());
                }
                continue;
            };
            let (name, pose) = (cut.name(p), cut.pose);
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
                panel: cut.panel.to_owned(),
                pose,
            });
        }
        let part = stock.part(&p.article, &p.piece, cloth);
        if part.is_none_or(|part| !part.pair) {
            continue;
        }
        let of = (p.piece.clone(), p.article.clone(), cloth.clone());
        match <[Cut; 2]>::try_from(cuts) {
            // Cut at once, they go together.
            Ok(both) => pairs.entry(of).or_default().push(both),
            Err(one) => {
                let hands = alone.entry(of).or_default();
                for cut in one {
                    hands[usize::from(cut.face == Face::Down)].push(cut);
                }
            }
        }
    }
    for (of, [up, down]) in alone {
        let both = up.into_iter().zip(down).map(|(one, two)| [one, two]);
        pairs.entry(of).or_default().extend(both);
    }
    for ((piece, article, cloth), of) in pairs {
        let Some(net) = stock.piece(&piece).map(inside) else {
            continue;
        };
        for [one, two] in of {
            if let (Some(one), Some(two)) = (one.half(known), two.half(known)) {
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
