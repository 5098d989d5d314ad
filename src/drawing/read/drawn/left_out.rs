//! What was in the file and could not be told, and why.

use std::collections::HashMap;

use super::place::{Part, Place};

/// Most sentences kept; beyond this a person reads none of them.
const MAX_LEFT_OUT: usize = 500;
/// Most things of one kind that are each told of; of more, only the first
/// lines are named.
const MAX_ALIKE: usize = 3;

/// Why something was left out, or not read as it may have been meant.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Why {
    OutsidePieces,
    OutsideItsPiece,
    Hidden,
    PieceHidden(String),
    Untold,
    Text,
    UnknownRole(String),
    SecondLabel,
    Clipped,
    NoSize,
    NoShape,
    UsesNothing,
    UsesElsewhere(String),
    UsesMissing(String),
    Rule(String),
    /// What a fault would say of it.
    Unsound(String),
    LayerOff(String),
    /// What is said of one thing, and of several.
    Said(&'static str, &'static str),
}

impl Why {
    /// Said of one thing.
    fn one(&self) -> String {
        match self {
            Self::OutsidePieces => "it lies outside every piece".into(),
            Self::OutsideItsPiece => "it lies outside the piece, so it can't be lit".into(),
            Self::Hidden => "it is hidden".into(),
            Self::PieceHidden(name) => format!("all of the piece \"{name}\" is hidden"),
            Self::Untold => "nothing says what it is".into(),
            Self::Text => "it is text, and no label".into(),
            Self::UnknownRole(word) => format!("its role \"{word}\" is not known"),
            Self::SecondLabel => "the piece has a label already".into(),
            Self::Clipped => "its clip path or mask is not applied; it is read whole".into(),
            Self::NoSize => "it has no size, so nothing in it shows".into(),
            Self::NoShape => "it is no shape that can be read".into(),
            Self::UsesNothing => "it does not say what it uses".into(),
            Self::UsesElsewhere(file) => {
                format!("what it uses is in another place (\"{file}\"), never followed")
            }
            Self::UsesMissing(id) => {
                format!("what it uses (\"#{id}\") is no shape in the file")
            }
            Self::Rule(rule) => format!("its style rule \"{rule}\" is not followed"),
            Self::Unsound(what) => what.clone(),
            Self::LayerOff(layer) => format!("its layer \"{layer}\" is off"),
            Self::Said(one, _) => (*one).to_owned(),
        }
    }

    /// Said of several.
    fn many(&self) -> String {
        match self {
            Self::OutsidePieces => "they lie outside every piece".into(),
            Self::OutsideItsPiece => "they lie outside the piece, so they can't be lit".into(),
            Self::Hidden => "they are hidden".into(),
            Self::Untold => "nothing says what they are".into(),
            Self::Text => "they are text, and no labels".into(),
            Self::UnknownRole(word) => format!("their role \"{word}\" is not known"),
            Self::Clipped => {
                "their clip paths or masks are not applied; they are read whole".into()
            }
            Self::NoSize => "they have no size, so nothing in them shows".into(),
            Self::NoShape => "they are no shapes that can be read".into(),
            Self::UsesNothing => "they do not say what they use".into(),
            Self::UsesElsewhere(file) => {
                format!("what they use is in another place (\"{file}\"), never followed")
            }
            Self::UsesMissing(id) => {
                format!("what they use (\"#{id}\") is no shape in the file")
            }
            Self::Rule(rule) => format!("their style rule \"{rule}\" is not followed"),
            Self::LayerOff(layer) => format!("their layer \"{layer}\" is off"),
            Self::Said(_, many) => (*many).to_owned(),
            Self::PieceHidden(_) | Self::SecondLabel | Self::Unsound(_) => self.one(),
        }
    }
}

/// The line, and the count of what was listed before: the order of the list.
type Order = (usize, usize);

/// The things left out for one reason.
#[derive(Debug, Default)]
struct Alike {
    part: Option<Part>,
    count: usize,
    /// The first [`MAX_ALIKE`] in the file: where, and the sentence on each.
    first: Vec<(Order, String)>,
}

impl Alike {
    /// Where the list of the first has what comes at `order`.
    fn at(&self, order: Order) -> usize {
        self.first.partition_point(|&(other, _)| other < order)
    }
}

/// What was in the file and could not be told.
#[derive(Debug, Default)]
pub struct LeftOut {
    kinds: HashMap<Why, Alike>,
    added: usize,
    beyond: usize,
}

impl LeftOut {
    /// Lists one thing: what stands at `place`, and `why` it was left out.
    pub fn add(&mut self, place: Place, why: Why) {
        if self.kinds.len() >= MAX_LEFT_OUT && !self.kinds.contains_key(&why) {
            self.beyond += 1;
            return;
        }
        let order = (place.line, self.added);
        self.added += 1;
        if let Some(alike) = self.kinds.get_mut(&why)
            && alike.at(order) >= MAX_ALIKE
        {
            // Of thousands most come this way: none needs its sentence.
            alike.count += 1;
            return;
        }
        let sentence = format!("{place}: {}.", why.one());
        let alike = self.kinds.entry(why).or_default();
        alike.count += 1;
        alike.part.get_or_insert(place.part);
        alike.first.insert(alike.at(order), (order, sentence));
        alike.first.truncate(MAX_ALIKE);
    }

    /// The sentences, in the order of the file.
    pub fn finish(self) -> Vec<String> {
        let mut sentences: Vec<(Order, String, usize)> = Vec::new();
        for (why, Alike { part, count, first }) in self.kinds {
            if count <= MAX_ALIKE {
                sentences.extend(first.into_iter().map(|(order, text)| (order, text, 1)));
                continue;
            }
            let mut lines: Vec<usize> = first.iter().map(|&((line, _), _)| line).collect();
            lines.dedup();
            let named: Vec<String> = lines.iter().map(usize::to_string).collect();
            let word = part.unwrap_or(Part::Line).word(lines.len() > 1);
            let (named, more) = (named.join(", "), count - lines.len());
            let text = format!("{word} {named} and {more} more: {}.", why.many());
            sentences.push((first[0].0, text, count));
        }
        sentences.sort();
        let rest = sentences.split_off(sentences.len().min(MAX_LEFT_OUT));
        let beyond = self.beyond + rest.iter().map(|&(.., count)| count).sum::<usize>();
        let mut list: Vec<String> = sentences.into_iter().map(|(_, text, _)| text).collect();
        if beyond > 0 {
            list.push(format!(
                "{} left out.",
                crate::fault::counted(beyond, "more thing was", "more things were")
            ));
        }
        list
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(line: usize) -> Place<'static> {
        Place {
            part: Part::Line,
            line,
            tag: "text",
            id: None,
        }
    }

    #[test]
    fn more_than_three_alike_are_one_sentence() {
        let mut list = LeftOut::default();
        for line in [34, 30, 33, 32, 31] {
            list.add(on(line), Why::OutsidePieces);
        }
        for line in [9, 8, 31] {
            list.add(on(line), Why::Text);
        }
        for _ in 0..4 {
            list.add(on(7), Why::UnknownRole("ntoch".into()));
        }
        assert_eq!(
            list.finish(),
            [
                "line 7 and 3 more: their role \"ntoch\" is not known.",
                "line 8, text: it is text, and no label.",
                "line 9, text: it is text, and no label.",
                "lines 30, 31, 32 and 2 more: they lie outside every piece.",
                "line 31, text: it is text, and no label.",
            ]
        );
    }

    #[test]
    fn a_long_list_ends_with_how_many_more() {
        let mut list = LeftOut::default();
        for line in 0..MAX_LEFT_OUT + 7 {
            list.add(on(line), Why::UnknownRole(line.to_string()));
        }
        let list = list.finish();
        assert_eq!(list.len(), MAX_LEFT_OUT + 1);
        assert!(list[0].starts_with("line 0, text: its role"));
        assert_eq!(list[MAX_LEFT_OUT], "7 more things were left out.");
    }
}
