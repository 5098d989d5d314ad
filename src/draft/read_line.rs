//! How a line or an edge of a draft's file is drawn.

use super::decl::{Heading, LineMake, TangentDecl};
use super::formula::Formula;
use super::keys::Keys;
use super::names::{PointRef, Scope};
use super::read_point::{about, way};
use crate::fault::{Outcome, counted};

/// A curve goes through at most so many points.
const MOST_THROUGH: usize = 100;

/// The two points that a list names.
pub fn two(keys: &Keys, key: &str, list: &[&str], scope: Scope) -> Outcome<[PointRef; 2]> {
    let [a, b] = list else {
        return Err(keys.place(key).fault(
            format!("\"{key}\" must name two points"),
            "write [\"a\", \"b\"]",
        ));
    };
    let point = |t| scope.point(t).map_err(|f| keys.place(key).put(f));
    Ok([point(a)?, point(b)?])
}

pub fn line(row: &Keys, scope: Scope, edge: bool) -> Outcome<LineMake> {
    let ways = [
        "straight", "curve", "arc", "part", "join", "beside", "mirror", "line",
    ];
    // In a row of lines, "line" is its name.
    let mut said = ways
        .into_iter()
        .filter(|k| row.has(k) && (edge || *k != "line"));
    let (Some(how), None) = (said.next(), said.next()) else {
        return Err(row.at.fault(
            "it is not clear how it is drawn",
            "give one of straight, curve, arc, part, join, beside, mirror",
        ));
    };
    let points = |key: &'static str| -> Outcome<Vec<PointRef>> {
        let list = row.list(key)?.unwrap_or_default();
        if list.len() < 2 || list.len() > MOST_THROUGH {
            return Err(row.place(key).fault(
                format!("\"{key}\" names {}", counted(list.len(), "point", "points")),
                format!("name 2 to {MOST_THROUGH}"),
            ));
        }
        let each = list.into_iter().map(|t| scope.point(t));
        each.map(|p| p.map_err(|f| row.place(key).put(f))).collect()
    };
    let path = |key: &'static str| row.place(key).within(scope.path(row.need(key)?));
    match how {
        "straight" => Ok(LineMake::Straight(points("straight")?)),
        "curve" => {
            let points = points("curve")?;
            let tangents = tangents(row, scope, &points)?;
            Ok(LineMake::Curve {
                points,
                tangents,
                closed: row.flag("closed")?,
            })
        }
        "arc" => arc(row, scope, &points("arc")?),
        "part" => {
            let end = |key: &'static str| row.place(key).within(scope.point(row.need(key)?));
            Ok(LineMake::Part {
                of: path("part")?,
                from: end("from")?,
                to: end("to")?,
            })
        }
        "join" => {
            let list = row.list("join")?.unwrap_or_default();
            if list.is_empty() {
                return Err(row.place("join").fault("it joins nothing", "name lines"));
            }
            let each = list.into_iter().map(|t| scope.path(t));
            let each = each.map(|p| p.map_err(|f| row.place("join").put(f)));
            Ok(LineMake::Join(each.collect::<Outcome<_>>()?))
        }
        "beside" => Ok(LineMake::Beside {
            of: path("beside")?,
            by: row.need_formula("by", scope)?,
        }),
        "mirror" => Ok(LineMake::Mirrored {
            of: path("mirror")?,
            about: about(row, scope)?,
        }),
        _ => Ok(LineMake::Join(vec![path("line")?])),
    }
}

fn arc(row: &Keys, scope: Scope, points: &[PointRef]) -> Outcome<LineMake> {
    let centre = row.text("centre")?.map(|t| scope.point(t)).transpose();
    let centre = centre.map_err(|f| row.place("centre").put(f))?;
    let radius = row.formula("radius", scope)?;
    let left = match row.text("turn")? {
        None => None,
        Some("left") => Some(true),
        Some("right") => Some(false),
        Some(_) => {
            return Err(row
                .place("turn")
                .fault("an arc turns left or right", "write turn = \"left\""));
        }
    };
    match (points, centre, radius, left) {
        (&[a, b, c], None, None, None) => Ok(LineMake::ArcThrough([a, b, c])),
        (&[a, b], Some(m), None, Some(left)) => Ok(LineMake::ArcAbout([a, b, m], left)),
        (&[a, b], None, Some(r), Some(left)) => Ok(LineMake::ArcOf([a, b], r, left)),
        _ => Err(row.at.fault(
            "this arc is not clear",
            "name three points; or two, with turn and with centre or radius",
        )),
    }
}

fn tangents(row: &Keys, scope: Scope, points: &[PointRef]) -> Outcome<Vec<Option<TangentDecl>>> {
    let mut out: Vec<Option<TangentDecl>> = vec![None; points.len()];
    let tangent = |place: &super::decl::Where, text: &str, pull: Option<Formula>| {
        let way = way(text, scope).map_err(|f| place.put(f))?;
        Ok(TangentDecl {
            heading: Heading { way, turn: None },
            pull,
        })
    };
    if let Some(table) = row.table("tangents")? {
        for (name, item) in table.iter() {
            let place = row.place("tangents");
            let at = place.within(scope.point(name))?;
            let Some(k) = points.iter().position(|p| *p == at) else {
                return Err(place.fault(
                    format!("the curve does not go through \"{name}\""),
                    "name one of its points",
                ));
            };
            let Some(text) = item.as_str() else {
                return Err(place.fault(
                    format!("the tangent at \"{name}\" is no text"),
                    "write it in quotes: \"up\"",
                ));
            };
            out[k] = Some(tangent(&place, text, None)?);
        }
    }
    let ends = [
        ("start", "start_pull", 0),
        ("end", "end_pull", points.len() - 1),
    ];
    for (key, pull, k) in ends {
        let pull_by = row.formula(pull, scope)?;
        match (row.text(key)?, pull_by) {
            (Some(text), pull) => out[k] = Some(tangent(&row.place(key), text, pull)?),
            (None, Some(_)) => {
                return Err(row.place(pull).fault(
                    format!("\"{pull}\" wants a direction"),
                    format!("add {key} = \"up\""),
                ));
            }
            (None, None) => {}
        }
    }
    Ok(out)
}
