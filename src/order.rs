//! What was ordered: articles, and the parts each needs.

use serde::{Deserialize, Serialize};

/// One thing to be made: everything of it stays together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Article {
    /// Lit on every piece, so short: `1`, `2`.
    pub name: String,
    #[serde(default, rename = "part")]
    pub parts: Vec<Part>,
}

/// One line of an article's list: a piece, the cloth, how many.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    pub piece: String,
    pub cloth: String,
    /// How many are cut of this cloth for this article, ≥ 1.
    pub count: u32,
    /// As left and right: half of them mirrored.
    #[serde(default)]
    pub pair: bool,
    /// The piece that this one is put into, middle on middle: a stiffener's
    /// outline is shown on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inside: Option<String>,
}

impl Part {
    /// How many of this part are cut face up and face down, for a pair; all
    /// the same hand otherwise (either face will do).
    pub fn hands(&self) -> (u32, u32) {
        if self.pair {
            (self.count.div_ceil(2), self.count / 2)
        } else {
            (self.count, 0)
        }
    }

    /// What the label says of it: `cut 2, a pair`.
    pub fn cut_note(&self) -> String {
        match (self.count, self.pair) {
            (2, true) => "cut 2, a pair".to_owned(),
            (n, true) => format!("cut {n}, in pairs"),
            (n, false) => format!("cut {n}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pair_is_a_left_and_a_right() {
        let part = |count, pair| Part {
            piece: "upper".into(),
            cloth: "canvas".into(),
            count,
            pair,
            inside: None,
        };
        assert_eq!(part(2, true).hands(), (1, 1));
        assert_eq!(part(2, true).cut_note(), "cut 2, a pair");
        assert_eq!(part(4, true).cut_note(), "cut 4, in pairs");
        assert_eq!(part(3, false).hands(), (3, 0));
    }
}
