//! What a lay is made of and never changes by it: the pieces, the kinds of
//! cloth, what was ordered. Puts placements on the table and counts them.

use super::{Face, Laid, Placement};
use crate::cloth::{Cloth, Panel};
use crate::order::{Article, Part};
use crate::pattern::PatternPiece;

/// Pieces, cloths and articles, found consistent with each other.
#[derive(Debug, Clone, Copy)]
pub struct Stock<'a> {
    pub pieces: &'a [PatternPiece],
    pub cloths: &'a [Cloth],
    pub articles: &'a [Article],
}

/// How far one part of an article is laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count<'a> {
    pub article: &'a str,
    pub part: &'a Part,
    /// Laid face up and face down.
    pub up: u32,
    pub down: u32,
}

impl Count<'_> {
    /// How many more may be laid.
    pub fn open(&self) -> u32 {
        self.part.count.saturating_sub(self.up + self.down)
    }

    /// Whether one more may be laid this way up. A part that is no pair is the
    /// same hand whichever way it lies, but all of one part lie alike.
    pub fn takes(&self, face: Face) -> bool {
        let (up, down) = match face {
            Face::Up => (self.up + 1, self.down),
            Face::Down => (self.up, self.down + 1),
        };
        let (most_up, most_down) = self.part.hands();
        if self.part.pair {
            up <= most_up && down <= most_down
        } else {
            up + down <= self.part.count && (up == 0 || down == 0)
        }
    }

    /// What is still to do or too much, if anything.
    pub fn note(&self) -> Option<String> {
        let part = self.part;
        let name = format!("{} {} in {}", part.piece, self.article, part.cloth);
        let laid = self.up + self.down;
        let (up, down) = part.hands();
        if laid != part.count {
            Some(format!("{name}: {laid} laid of {}", part.count))
        } else if part.pair && (self.up, self.down) != (up, down) {
            Some(format!(
                "{name}: a pair needs {up} face up and {down} face down, and {} and {} are laid",
                self.up, self.down
            ))
        } else {
            None
        }
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
            cut_note: part.cut_note(),
            face: p.face,
            pose: p.pose().then(&panel.on_table.pose()),
            height: cloth.thickness_mm,
        })
    }

    /// How far every part of every article is laid.
    pub fn counts<'p>(
        &self,
        panels: &[Panel],
        placed: impl IntoIterator<Item = &'p Placement> + Clone,
    ) -> Vec<Count<'a>> {
        let cloth = |p: &Placement| {
            let panel = panels.iter().find(|q| q.name == p.panel);
            panel.map(|q| q.cloth.as_str())
        };
        let parts = self.articles.iter().flat_map(|a| {
            let part = move |part| (a.name.as_str(), part);
            a.parts.iter().map(part)
        });
        let count = |(article, part): (&'a str, &'a Part)| {
            let mut count = Count {
                article,
                part,
                up: 0,
                down: 0,
            };
            for p in placed.clone() {
                let mine = p.article == article && p.piece == part.piece;
                if mine && cloth(p) == Some(part.cloth.as_str()) {
                    match p.face {
                        Face::Up => count.up += 1,
                        Face::Down => count.down += 1,
                    }
                }
            }
            count
        };
        parts.map(count).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_count_takes_what_is_still_wanted_and_no_more() {
        let part = |count, pair| Part {
            piece: "upper".into(),
            cloth: "canvas".into(),
            count,
            pair,
        };
        let takes = |part: &Part, up, down| {
            let count = Count {
                article: "1",
                part,
                up,
                down,
            };
            (count.takes(Face::Up), count.takes(Face::Down))
        };
        let pair = part(2, true);
        assert_eq!(takes(&pair, 0, 0), (true, true));
        assert_eq!(takes(&pair, 1, 0), (false, true));
        assert_eq!(takes(&pair, 1, 1), (false, false));
        let two = part(2, false);
        assert_eq!(takes(&two, 0, 0), (true, true));
        assert_eq!(takes(&two, 1, 0), (true, false));
        assert_eq!(takes(&two, 0, 1), (false, true));
        assert_eq!(takes(&two, 2, 0), (false, false));
    }
}
