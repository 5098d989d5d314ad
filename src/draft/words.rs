//! What a draft's rows can say: the words of each kind of row, the ways in which a point, a
//! line, a notch or a dart can be told, and how a cell's text stands in the file.

use toml_edit::{Array, InlineTable, Value};

use super::keys::check_name;
use super::table::{Cell, Part};
use crate::fault::{Fault, Outcome};

/// How a cell's text stands in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cells {
    /// A name, or other words.
    Words,
    /// A formula; a plain number is written as one.
    Formula,
    /// Yes or no.
    Flag,
    Count,
    /// Names with a comma or semicolon between them.
    Names,
    /// With a semicolon between them, for a part can hold a comma.
    Parts,
    /// Points and directions: `ball = up; heel = left`.
    Tangents,
}

/// One way of telling where something is, and the words that go with it; the first must be
/// there, or one of the first where they are alternatives.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    /// As a person chooses it.
    pub words: &'static str,
    /// All that it can say.
    pub keys: &'static [&'static str],
}

const fn way(words: &'static str, keys: &'static [&'static str]) -> Way {
    Way { words, keys }
}

const POINTS: &[Way] = &[
    way(
        "from a point",
        &["from", "go", "by", "turn", "right", "left", "up", "down"],
    ),
    way("upright and level", &["upright", "level"]),
    way("on a line", &["on", "at", "before_end"]),
    way("where two meet", &["meet", "nearest"]),
    way("mirrored", &["mirror", "about"]),
];

const LINES: &[Way] = &[
    way("straight", &["straight"]),
    way(
        "curve",
        &[
            "curve",
            "closed",
            "start",
            "end",
            "tangents",
            "start_pull",
            "end_pull",
        ],
    ),
    way("arc", &["arc", "turn", "radius", "centre"]),
    way("part of a line", &["part", "from", "to"]),
    way("lines end to end", &["join"]),
    way("beside a line", &["beside", "by"]),
    way("mirrored", &["mirror", "about"]),
];

const PLACES: &[Way] = &[
    way("at", &["at"]),
    way("before the end", &["before_end"]),
    way("at a point", &["point"]),
    way("with another edge", &["with", "falls", "reversed", "walk"]),
];

const LENGTHS: &[Way] = &[
    way("is", &["is"]),
    way("until", &["until", "is", "least", "most"]),
];

impl Part {
    /// The ways in which such a row can be told.
    pub fn ways(self) -> &'static [Way] {
        match self {
            Self::Points => POINTS,
            Self::Lines | Self::Edges => LINES,
            Self::Notches | Self::Darts => PLACES,
            Self::Lengths => LENGTHS,
            Self::Measures | Self::Pieces | Self::Seams | Self::Rings => &[],
        }
    }

    /// What such a row can say beside.
    pub fn others(self) -> &'static [&'static str] {
        match self {
            Self::Points => &["point"],
            Self::Lines => &["line", "show", "cutout", "once"],
            Self::Edges => &[
                "edge",
                "allowance",
                "stitched",
                "corner",
                "fold",
                "whole",
                "mirrored",
            ],
            Self::Notches => &["notch", "edge", "kind", "depth", "once"],
            Self::Darts => &["edge", "width", "depth", "tip", "once"],
            Self::Lengths => &["name"],
            Self::Measures => &["name", "least", "most", "usual", "step", "unit"],
            Self::Pieces => &[
                "name",
                "cut",
                "pair",
                "allowance",
                "stitched",
                "mirror",
                "grain",
                "label",
                "drills",
            ],
            Self::Seams => &["name", "one", "other", "ease", "tolerance"],
            Self::Rings => &[
                "name",
                "edges",
                "girth",
                "ease",
                "cloth",
                "at",
                "tolerance",
                "sewn",
            ],
        }
    }

    /// The word by which such a row is known.
    pub fn name_key(self) -> &'static str {
        match self {
            Self::Points => "point",
            Self::Lines => "line",
            Self::Edges => "edge",
            Self::Notches => "notch",
            Self::Darts => "edge",
            _ => "name",
        }
    }

    /// How the cell `key` stands in the file.
    pub fn cells(self, key: &str) -> Cells {
        match key {
            "pair" | "closed" | "show" | "cutout" | "once" | "fold" | "whole" | "reversed" => {
                Cells::Flag
            }
            "cut" => Cells::Count,
            "mirror" if self == Self::Pieces => Cells::Names,
            "straight" | "curve" | "arc" | "grain" | "drills" | "about" => Cells::Names,
            "one" | "other" | "edges" => Cells::Names,
            "join" | "meet" => Cells::Parts,
            "tangents" => Cells::Tangents,
            "at" if self == Self::Rings => Cells::Words,
            "by" | "turn" | "right" | "left" | "up" | "down" | "at" | "before_end" | "radius"
            | "start_pull" | "end_pull" | "allowance" | "stitched" | "depth" | "width" | "ease"
            | "tolerance" | "girth" | "cloth" | "sewn" | "least" | "most" | "usual" | "step"
            | "until" | "is" => Cells::Formula,
            _ => Cells::Words,
        }
    }

    /// What stands in the cell for `text`; none where it is not to be there.
    ///
    /// # Errors
    /// If the text can't stand there at all.
    pub(super) fn value(self, key: &str, text: &str) -> Outcome<Option<Value>> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(None);
        }
        let wrong = |is: &str| {
            Err(Fault::input(
                format!("\"{text}\" is not {is}"),
                "write it so, or leave it empty",
            ))
        };
        match self.cells(key) {
            Cells::Flag => match text {
                "yes" | "true" => Ok(Some(Value::from(true))),
                "no" | "false" => Ok(None),
                _ => wrong("yes or no"),
            },
            Cells::Count => match text.parse::<i64>() {
                Ok(n) => Ok(Some(Value::from(n))),
                Err(_) => wrong("a whole number"),
            },
            Cells::Names => Ok(Some(list(text, &[',', ';']))),
            Cells::Parts => Ok(Some(list(text, &[';']))),
            Cells::Tangents => {
                let mut table = InlineTable::new();
                for part in text.split(';').map(str::trim).filter(|p| !p.is_empty()) {
                    let Some((point, way)) = part.split_once('=') else {
                        return wrong("a point and its direction: ball = up; heel = left");
                    };
                    table.insert(point.trim(), Value::from(way.trim()));
                }
                Ok(Some(Value::InlineTable(table)))
            }
            Cells::Formula => Ok(Some(number(text).unwrap_or_else(|| Value::from(text)))),
            Cells::Words => {
                if key == self.name_key() && !matches!(self, Self::Seams | Self::Rings) {
                    check_name(text)?;
                }
                Ok(Some(Value::from(text)))
            }
        }
    }
}

fn list(text: &str, between: &[char]) -> Value {
    let parts = text.split(between).map(str::trim);
    Value::Array(parts.filter(|p| !p.is_empty()).collect::<Array>())
}

fn number(text: &str) -> Option<Value> {
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-');
    if !text.chars().all(plain) {
        return None;
    }
    let whole = text.parse::<i64>().ok().map(Value::from);
    let share = || text.parse::<f64>().ok().filter(|v| v.is_finite());
    whole.or_else(|| share().map(Value::from))
}

/// What a cell shows of a value.
pub fn text_of(value: &Value) -> String {
    match value {
        Value::Array(list) => {
            let parts: Vec<String> = list.iter().map(text_of).collect();
            parts.join("; ")
        }
        Value::Boolean(flag) => if *flag.value() { "yes" } else { "no" }.to_owned(),
        Value::InlineTable(table) => {
            let parts = table.iter().map(|(k, v)| format!("{k} = {}", text_of(v)));
            parts.collect::<Vec<_>>().join("; ")
        }
        Value::String(text) => text.value().clone(),
        Value::Integer(n) => n.value().to_string(),
        Value::Float(n) => n.value().to_string(),
        Value::Datetime(time) => time.value().to_string(),
    }
}

/// A row's cells, in the order in which a person reads them: its name, how it is told, the
/// rest.
pub fn in_order(part: Part, mut cells: Vec<Cell>) -> Vec<Cell> {
    let ways = part.ways().iter().flat_map(|w| w.keys);
    let others = part.others().iter();
    let (first, rest) = others
        .clone()
        .partition::<Vec<&&str>, _>(|k| **k == part.name_key());
    let order: Vec<&str> = match part {
        // A notch and a dart stand on an edge first.
        Part::Notches | Part::Darts => others.chain(ways).copied().collect(),
        _ => {
            let all = first.into_iter().chain(ways).chain(rest);
            all.copied().collect()
        }
    };
    let place = |key: &str| order.iter().position(|k| *k == key).unwrap_or(order.len());
    cells.sort_by_key(|c| place(&c.key));
    cells
}
