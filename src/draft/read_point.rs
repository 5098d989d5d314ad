//! How a point of a draft's file is found, and what a direction says.

use super::decl::{Heading, Place, PointMake, Way};
use super::formula::Formula;
use super::keys::Keys;
use super::names::{Path, Scope};
use crate::fault::{Fault, Outcome};

/// The four plain directions, with their steps to the right and up.
const PLAIN: [(&str, f64, f64); 4] = [
    ("right", 1.0, 0.0),
    ("up", 0.0, 1.0),
    ("left", -1.0, 0.0),
    ("down", 0.0, -1.0),
];

pub fn point_make(row: &Keys, scope: Scope) -> Outcome<PointMake> {
    let point = |key: &'static str| -> Outcome<_> {
        let text = row.text(key)?;
        let found = text.map(|t| scope.point(t)).transpose();
        found.map_err(|f| row.place(key).put(f))
    };
    let must = |key: &'static str| -> Outcome<_> {
        point(key)?.ok_or_else(|| {
            row.at.fault(
                format!("\"{key}\" is missing"),
                format!("add {key} = \"…\""),
            )
        })
    };
    let ways = ["upright", "on", "meet", "mirror"];
    let mut said = ways.into_iter().filter(|k| row.has(k));
    let how = said.next();
    if said.next().is_some() {
        return Err(row.at.fault(
            "it is found in two ways at once",
            "keep one of upright, on, meet, mirror",
        ));
    }
    match how {
        Some("upright") => Ok(PointMake::Corner {
            upright: must("upright")?,
            level: must("level")?,
        }),
        Some("on") => {
            let run = row.place("on").within(scope.path(row.need("on")?))?;
            match (row.formula("at", scope)?, row.formula("before_end", scope)?) {
                (Some(at), None) => Ok(PointMake::On {
                    run,
                    at,
                    back: false,
                }),
                (None, Some(at)) => Ok(PointMake::On {
                    run,
                    at,
                    back: true,
                }),
                _ => Err(row
                    .at
                    .fault("it is not clear where on the line", "give at or before_end")),
            }
        }
        Some("meet") => {
            let list = row.list("meet")?.unwrap_or_default();
            let [one, other] = list.as_slice() else {
                return Err(row.place("meet").fault(
                    "\"meet\" must name two",
                    "write meet = [\"line a, b\", \"circle c, 40mm\"]",
                ));
            };
            let place = |text| place(text, scope).map_err(|f| row.place("meet").put(f));
            Ok(PointMake::Meet {
                of: [place(one)?, place(other)?],
                nearest: point("nearest")?,
            })
        }
        Some(_) => Ok(PointMake::Mirrored {
            of: must("mirror")?,
            about: about(row, scope)?,
        }),
        None => {
            let go = match (heading(row, "go", scope)?, row.formula("by", scope)?) {
                (Some(heading), Some(by)) => Some((heading, by)),
                (None, None) => None,
                _ => {
                    return Err(row.at.fault(
                        "a direction needs a length, and a length a direction",
                        "give both go and by",
                    ));
                }
            };
            let mut steps = Vec::new();
            for (key, x, y) in PLAIN {
                if let Some(by) = row.formula(key, scope)? {
                    steps.push((x, y, by));
                }
            }
            Ok(PointMake::Moved {
                from: point("from")?,
                go,
                steps,
            })
        }
    }
}

/// The line about which something is mirrored.
pub fn about(row: &Keys, scope: Scope) -> Outcome<Path> {
    let list = row.list("about")?.unwrap_or_default();
    let [a, b] = list.as_slice() else {
        return Err(row.at.fault(
            "it does not say about which line it is mirrored",
            "write about = [\"a\", \"b\"]",
        ));
    };
    let point = |t| scope.point(t).map_err(|f| row.place("about").put(f));
    Ok(Path::Between(point(a)?, point(b)?))
}

/// The direction in a cell, with `turn` if the row has one.
pub fn heading(row: &Keys, key: &'static str, scope: Scope) -> Outcome<Option<Heading>> {
    let turn = row.formula("turn", scope)?;
    let Some(text) = row.text(key)? else {
        return Ok(None);
    };
    let way = way(text, scope).map_err(|f| row.place(key).put(f))?;
    Ok(Some(Heading { way, turn }))
}

/// What a direction means.
///
/// # Errors
/// If it is none, or names what is not there.
pub fn way(text: &str, scope: Scope) -> Outcome<Way> {
    let text = text.trim();
    if let Some((_, x, y)) = PLAIN.iter().find(|(word, ..)| *word == text) {
        return Ok(Way::Degrees(f64::atan2(*y, *x).to_degrees()));
    }
    let after = |word: &str| text.strip_prefix(word).map(str::trim);
    if let Some(name) = after("towards ") {
        return Ok(Way::Towards(scope.point(name)?));
    }
    if let Some(name) = after("away from ") {
        return Ok(Way::AwayFrom(scope.point(name)?));
    }
    if let Some(name) = after("along ") {
        return Ok(Way::Along(scope.path(name)?));
    }
    if let Some(name) = after("square to ") {
        return Ok(Way::SquareTo(scope.path(name)?));
    }
    let number = text.strip_suffix('°').or_else(|| text.strip_suffix("deg"));
    let degrees = number.and_then(|n| n.trim().parse::<f64>().ok());
    match degrees.filter(|d| d.abs() <= 360.0) {
        Some(degrees) => Ok(Way::Degrees(degrees)),
        None => Err(Fault::input(
            format!("\"{text}\" is not a direction"),
            "use up, down, left, right, 30°, towards a, away from a, along a, b or square to a, b",
        )),
    }
}

/// What meets something: `line a, b`, `line a, up`, `circle c, 40mm`, `circle a, b, c`,
/// `path outline`.
fn place(text: &str, scope: Scope) -> Outcome<Place> {
    let wrong = || {
        Fault::input(
            format!("\"{text}\" is nothing that can meet"),
            "use line a, b; line a, up; circle c, 40mm; circle a, b, c; path outline",
        )
    };
    let (word, rest) = text.trim().split_once(' ').ok_or_else(wrong)?;
    if word == "path" {
        return scope.path(rest).map(Place::Path);
    }
    let (first, rest) = rest.split_once(',').ok_or_else(wrong)?;
    let first = scope.point(first)?;
    match word {
        "line" => {
            let way = match scope.point(rest) {
                Ok(second) => Way::Towards(second),
                Err(fault) => way(rest, scope).map_err(|_| fault)?,
            };
            Ok(Place::Line(first, Heading { way, turn: None }))
        }
        "circle" => {
            if let Some((b, c)) = rest.split_once(',')
                && let (Ok(b), Ok(c)) = (scope.point(b), scope.point(c))
            {
                return Ok(Place::Through([first, b, c]));
            }
            Ok(Place::Circle(first, Formula::read(rest, scope)?))
        }
        _ => Err(wrong()),
    }
}
