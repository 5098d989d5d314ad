//! What a lay is made of and never changes by it: the pieces, the kinds of
//! cloth, what was ordered. Puts placements on the table and counts them.

use super::{CutPart, Face, Hands, Laid, Placement};
use crate::cloth::{Cloth, Panel};
use crate::order::{Article, Part};
use crate::pattern::PatternPiece;
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// Pieces, cloths and articles, found consistent with each other.
#[derive(Debug, Clone, Copy)]
pub struct Stock<'a> {
    pub pieces: &'a [PatternPiece],
    pub cloths: &'a [Cloth],
    pub articles: &'a [Article],
}

/// How far one part of an article is laid and cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count<'a> {
    pub article: &'a str,
    pub part: &'a Part,
    /// What is laid and not yet cut will give, all plies counted.
    pub laid: Hands,
    /// Cut, and not spoilt.
    pub cut: Hands,
    /// Of cloth whose sides are alike either hand is the other, turned over.
    pub any_hand: bool,
}

impl Count<'_> {
    /// Laid or cut.
    pub fn all(&self) -> Hands {
        self.laid + self.cut
    }

    /// How many more may be laid.
    pub fn open(&self) -> u32 {
        self.part.count.saturating_sub(self.all().sum())
    }

    /// What is still to be cut, laid or not.
    pub fn to_cut(&self) -> Hands {
        let (up, down) = self.part.hands();
        if self.part.pair && self.any_hand {
            let open = self.part.count.saturating_sub(self.cut.sum());
            Hands {
                up: open.div_ceil(2),
                down: open / 2,
            }
        } else if self.part.pair {
            Hands {
                up: up.saturating_sub(self.cut.up),
                down: down.saturating_sub(self.cut.down),
            }
        } else {
            Hands {
                up: up.saturating_sub(self.cut.sum()),
                down: 0,
            }
        }
    }

    /// Whether one more may be laid this way up. A part that is no pair is the
    /// same hand whichever way it lies, but all of one part lie alike.
    pub fn takes(&self, face: Face) -> bool {
        let mut more = Hands::default();
        more.add(face);
        self.takes_all(more)
    }

    /// Whether all of these may be laid besides.
    pub fn takes_all(&self, more: Hands) -> bool {
        self.is_within(self.all() + more)
    }

    /// Whether all of these may be cut besides what is cut already.
    pub fn cuts(&self, more: Hands) -> bool {
        self.is_within(self.cut + more)
    }

    fn is_within(&self, all: Hands) -> bool {
        let (most_up, most_down) = self.part.hands();
        if self.part.pair && self.any_hand {
            all.sum() <= self.part.count
        } else if self.part.pair {
            all.up <= most_up && all.down <= most_down
        } else {
            let alike = self.any_hand || all.up == 0 || all.down == 0;
            all.sum() <= self.part.count && alike
        }
    }

    /// Whether of a pair more is laid or cut of one hand than is ordered.
    pub fn is_wrong_hand(&self) -> bool {
        let (all, (up, down)) = (self.all(), self.part.hands());
        self.part.pair && !self.any_hand && (all.up > up || all.down > down)
    }

    /// Whether of a part that is no pair some are as drawn and some mirrored.
    fn is_mixed(&self) -> bool {
        let all = self.all();
        !self.part.pair && !self.any_hand && all.up > 0 && all.down > 0
    }

    /// What is still to do or too much, if anything.
    pub fn note(&self) -> Option<String> {
        let part = self.part;
        let name = format!("{} {} in {}", part.piece, self.article, part.cloth);
        let all = self.all();
        let (up, down) = part.hands();
        let laid = if self.cut.sum() > 0 {
            "laid or cut"
        } else {
            "laid"
        };
        let hands = match part.pair && !self.any_hand {
            true => format!(", {} as drawn, {} mirrored", all.up, all.down),
            false => String::new(),
        };
        match all.sum().cmp(&part.count) {
            Ordering::Greater => Some(format!(
                "{name}: {} {laid} of {}{hands}",
                all.sum(),
                part.count
            )),
            _ if self.is_wrong_hand() => Some(format!(
                "{name}: a pair needs {up} as drawn and {down} mirrored, and {} and {} are {laid}",
                all.up, all.down
            )),
            _ if self.is_mixed() => Some(format!(
                "{name}: all of them are to be alike, and {} as drawn and {} mirrored are {laid}",
                all.up, all.down
            )),
            Ordering::Less => Some(format!("{name}: {} {laid} of {}", all.sum(), part.count)),
            Ordering::Equal => None,
        }
    }

    /// What is laid that would be one too many, or one too many of a hand: what it is, and what
    /// to do. Of what is all cut only the hand is told: nothing is cut too often any more.
    pub fn too_much(&self) -> Option<(String, String)> {
        let (all, (up, down)) = (self.all(), self.part.hands());
        // Plies are counted, and what lies there is taken away and turned: on several plies one
        // of it is several, so no number is said.
        let over = all.sum().saturating_sub(self.part.count);
        let (more_up, more_down) = (all.up.saturating_sub(up), all.down.saturating_sub(down));
        let lies = match more_up > 0 {
            true => self.laid.up,
            false => self.laid.down,
        };
        let remedy = match (over, more_up.max(more_down)) {
            (1.., _) if self.laid.sum() == 0 => return None,
            (1, _) => "take one of them away",
            (2.., _) => "take away what is too much",
            _ if self.is_mixed() && self.laid.sum() > 0 => "turn over what lies unlike the rest",
            _ if !self.is_wrong_hand() && !self.is_mixed() => return None,
            _ if lies == 0 => {
                "tell at the table that one of them is spoilt, and lay the other hand"
            }
            (_, 1) => "turn one of them over",
            _ => "turn over what is too much of one hand",
        };
        self.note().map(|what| (what, remedy.to_owned()))
    }
}

impl<'a> Stock<'a> {
    /// The pattern piece of a name.
    pub fn piece(&self, name: &str) -> Option<&'a PatternPiece> {
        self.pieces.iter().find(|p| p.name == name)
    }

    /// The kind of cloth of a name.
    pub fn cloth(&self, name: &str) -> Option<&'a Cloth> {
        self.cloths.iter().find(|c| c.name == name)
    }

    /// The article of a name.
    pub fn article(&self, name: &str) -> Option<&'a Article> {
        self.articles.iter().find(|a| a.name == name)
    }

    /// An article's part: a piece in a cloth.
    pub fn part(&self, article: &str, piece: &str, cloth: &str) -> Option<&'a Part> {
        let of = |p: &&Part| p.piece == piece && p.cloth == cloth;
        self.article(article)?.parts.iter().find(of)
    }

    /// The piece that is put into a piece of an article: a stiffener.
    pub fn inside_of(&self, article: &str, piece: &str) -> Option<&'a str> {
        let parts = &self.article(article)?.parts;
        let goes = |p: &&Part| p.inside.as_deref() == Some(piece);
        parts.iter().find(goes).map(|p| p.piece.as_str())
    }

    /// A placement where it lies on the table; `None` if its panel is put away,
    /// or it names something that isn't there.
    pub fn laid<'b>(&self, p: &Placement, panels: &'b [Panel]) -> Option<Laid<'b>>
    where
        'a: 'b,
    {
        let panel = panels.iter().find(|q| q.name == p.panel && q.spread)?;
        let article = self.article(&p.article)?;
        let part = self.part(&p.article, &p.piece, &panel.cloth)?;
        let cloth = self.cloth(&panel.cloth)?;
        Some(Laid {
            piece: self.piece(&p.piece)?,
            article: &article.name,
            cloth: &cloth.name,
            panel: &panel.name,
            cut_note: match panel.stack.wrong_side_up {
                // Else `mirrored` would be read as what comes off the cloth.
                true => format!("{} · on the wrong side", part.cut_note()),
                false => part.cut_note(),
            },
            face: p.face,
            pose: p.pose().then(&panel.on_table.pose()),
            height: self.height(&panel.name, panels),
            is_cut: false,
            trim: 0.0,
        })
    }

    /// How high a panel's top lies above the table, mm: all its layers, and all that lies
    /// under it.
    pub fn height(&self, panel: &str, panels: &[Panel]) -> f64 {
        let counts = |q: &&Panel| q.name == panel || q.under.as_deref() == Some(panel) && q.spread;
        let thick = |q: &Panel| {
            let one = self.cloth(&q.cloth).map_or(0.0, |c| c.thickness_mm);
            one * f64::from(q.stack.layers)
        };
        panels.iter().filter(counts).map(thick).sum()
    }

    /// The ply that lies under a panel and is cut with it, if one does.
    pub fn ply_under<'b>(&self, panel: &str, panels: &'b [Panel]) -> Option<&'b Panel> {
        let top = panels.iter().find(|p| p.name == panel)?;
        let under = |q: &&Panel| q.under.as_deref() == Some(panel) && q.spread;
        panels.iter().find(under).filter(|q| q.cloth == top.cloth)
    }

    /// How far every part of every article is laid and cut.
    pub fn counts<'p>(
        &self,
        panels: &[Panel],
        placed: impl IntoIterator<Item = &'p Placement>,
        cut: impl IntoIterator<Item = &'p CutPart>,
    ) -> Vec<Count<'a>> {
        let mut counts: Vec<Count<'a>> = Vec::new();
        for article in self.articles {
            counts.extend(article.parts.iter().map(|part| Count {
                article: article.name.as_str(),
                part,
                laid: Hands::default(),
                cut: Hands::default(),
                any_hand: self.cloth(&part.cloth).is_some_and(|c| c.no_face),
            }));
        }
        let mut of = |article: &str, piece: &str, cloth: &str, add: &dyn Fn(&mut Count)| {
            let same = |c: &&mut Count| {
                c.article == article && c.part.piece == piece && c.part.cloth == cloth
            };
            if let Some(count) = counts.iter_mut().find(same) {
                add(count);
            }
        };
        let mut done = BTreeSet::new();
        for part in cut {
            done.insert(part.placed);
            if !part.spoilt {
                of(&part.article, &part.piece, &part.cloth, &|c| {
                    c.cut.add(part.face);
                });
            }
        }
        for p in placed {
            let panel = panels.iter().find(|q| q.name == p.panel);
            let (Some(panel), false) = (panel, p.id.is_some_and(|id| done.contains(&id))) else {
                continue;
            };
            for face in self.gives(p, panels) {
                of(&p.article, &p.piece, &panel.cloth, &|c| c.laid.add(face));
            }
        }
        counts
    }
}

#[cfg(test)]
mod tests;
