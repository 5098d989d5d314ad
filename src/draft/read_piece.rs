//! One piece of a draft's file: its points, edges, notches and the rest.

use super::decl::{DartDecl, EdgeDecl, LineDecl, NotchDecl, PieceDecl, PointDecl, Spot};
use super::keys::{Keys, check_name};
use super::names::{Names, Path, PieceNames, PointRef, Scope};
use super::read::MOST_ROWS;
use super::read_line::{line, two};
use super::read_point::point_make;
use crate::fault::Outcome;
use crate::pattern::{Corner, NotchKind};

/// A piece is cut at most this often.
const MOST_CUT: u32 = 999;

/// The names that the rows of the piece `here` give, so that any row may use them.
pub fn names(keys: &mut Keys, here: usize) -> Outcome<PieceNames> {
    let name = keys.name("name")?;
    keys.what(format!("piece \"{name}\""));
    let mut out = PieceNames {
        name,
        ..PieceNames::default()
    };
    for (k, row) in keys.rows("points", MOST_ROWS)?.iter().enumerate() {
        let point = row.name("point")?;
        if out.points.insert(point.clone(), k).is_some() {
            return Err(row.place("point").fault(
                format!("there are two points named \"{point}\" in \"{}\"", out.name),
                "rename one",
            ));
        }
        out.point_list.push(point);
    }
    for (k, row) in keys.rows("lines", MOST_ROWS)?.iter().enumerate() {
        let line = row.name("line")?;
        let old = out.paths.insert(line.clone(), Path::Line(here, k));
        twice(row, "line", &line, old.is_some())?;
        out.outer.insert(line, Path::Line(here, k));
    }
    let mirrored = keys.has("mirror");
    for (k, row) in keys.rows("edges", MOST_ROWS)?.iter().enumerate() {
        let edge = row.name("edge")?;
        let old = out.paths.insert(edge.clone(), Path::Edge(here, k));
        twice(row, "edge", &edge, old.is_some())?;
        let whole = row.flag("whole")?;
        let outer = if mirrored && whole {
            Path::Whole(here, k)
        } else {
            Path::Edge(here, k)
        };
        out.outer.insert(edge.clone(), outer);
        if mirrored && !whole {
            let image = image_name(row, &edge)?;
            let old = out.outer.insert(image.clone(), Path::Image(here, k));
            twice(row, "edge", &image, old.is_some())?;
        }
    }
    for row in keys.rows("notches", MOST_ROWS)? {
        let (name, edge) = (row.text("notch")?, row.text("edge")?);
        let word = |t: Option<&str>| t.unwrap_or_default().to_owned();
        out.notches.push((word(name), word(edge)));
    }
    Ok(out)
}

fn twice(row: &Keys, key: &str, name: &str, taken: bool) -> Outcome<()> {
    if taken {
        return Err(row.place(key).fault(
            format!("there are two edges or lines named \"{name}\" in this piece"),
            "rename one",
        ));
    }
    Ok(())
}

fn image_name(row: &Keys, edge: &str) -> Outcome<String> {
    let said = row.text("mirrored")?;
    let name = said.map_or_else(|| format!("{edge} mirrored"), str::to_owned);
    check_name(&name).map_err(|f| row.place("mirrored").put(f))?;
    Ok(name)
}

/// Reads a piece; `k` is its place among them.
pub fn piece(keys: &Keys, names: &Names, k: usize) -> Outcome<PieceDecl> {
    let own = &names.pieces[k];
    let scope = Scope {
        names,
        here: Some(k),
    };
    let point = |key: &str, text: &str| scope.point(text).map_err(|f| keys.place(key).put(f));
    let pair_of = |key: &'static str| -> Outcome<Option<[PointRef; 2]>> {
        keys.list(key)?
            .map(|l| two(keys, key, &l, scope))
            .transpose()
    };
    keys.item("name");
    let of = |row: &mut Keys, word: &str, name: &str| {
        row.what(format!("{word} \"{name}\" of \"{}\"", own.name));
    };

    let mut points = Vec::new();
    for (i, mut row) in keys.rows("points", MOST_ROWS)?.into_iter().enumerate() {
        let name = own.point_list[i].clone();
        of(&mut row, "point", &name);
        row.item("point");
        let make = point_make(&row, scope)?;
        row.done()?;
        let at = row.at.clone();
        points.push(PointDecl { name, make, at });
    }
    let mut lines = Vec::new();
    for mut row in keys.rows("lines", MOST_ROWS)? {
        let name = row.need("line")?.to_owned();
        of(&mut row, "line", &name);
        let decl = LineDecl {
            make: line(&row, scope, false)?,
            show: row.flag("show")?,
            cutout: row.flag("cutout")?,
            once: row.flag("once")?,
            at: row.at.clone(),
            name,
        };
        row.done()?;
        lines.push(decl);
    }
    let mut edges = Vec::new();
    for mut row in keys.rows("edges", MOST_ROWS)? {
        let name = row.need("edge")?.to_owned();
        of(&mut row, "edge", &name);
        let decl = EdgeDecl {
            make: line(&row, scope, true)?,
            allowance: row.formula("allowance", scope)?,
            stitched: row.formula("stitched", scope)?,
            corner: corner(&row)?,
            fold: row.flag("fold")?,
            mirrored: image_name(&row, &name)?,
            whole: row.flag("whole")?,
            at: row.at.clone(),
            name,
        };
        row.done()?;
        if decl.whole && !keys.has("mirror") {
            return Err(decl.at.fault(
                "\"whole\" is for pieces that are drawn half",
                "give the piece its mirror = [\"a\", \"b\"], or leave it out",
            ));
        }
        edges.push(decl);
    }
    if edges.is_empty() {
        return Err(keys.at.fault(
            "the piece has no edges",
            "add edges = [ { edge = \"side\", straight = [\"a\", \"b\"] }, … ]",
        ));
    }
    let mut notches = Vec::new();
    for mut row in keys.rows("notches", MOST_ROWS)? {
        let name = row.text("notch")?.map(str::to_owned);
        let edge = on_edge(&row, own)?;
        match &name {
            Some(name) => of(&mut row, "notch", &format!("{name} on {}", edge.1)),
            None => of(&mut row, "notch on", &edge.1),
        }
        notches.push(NotchDecl {
            spot: spot(&row, scope)?,
            kind: kind(&row)?,
            depth: row.formula("depth", scope)?,
            once: row.flag("once")?,
            at: row.at.clone(),
            edge: edge.0,
        });
        row.done()?;
    }
    let mut darts = Vec::new();
    for mut row in keys.rows("darts", MOST_ROWS)? {
        let edge = on_edge(&row, own)?;
        of(&mut row, "dart on", &edge.1);
        let tip = row.text("tip")?.map(|t| scope.point(t)).transpose();
        let decl = DartDecl {
            spot: spot(&row, scope)?,
            width: row.need_formula("width", scope)?,
            depth: row.formula("depth", scope)?,
            tip: row.at.within(tip)?,
            once: row.flag("once")?,
            at: row.at.clone(),
            edge: edge.0,
        };
        row.done()?;
        if decl.depth.is_some() == decl.tip.is_some() {
            return Err(decl
                .at
                .fault("a dart has a depth or a tip", "give one of the two"));
        }
        darts.push(decl);
    }
    let drills = keys.list("drills")?.unwrap_or_default();
    let drills = drills.into_iter().map(|d| point("drills", d));
    let label = keys.text("label")?.map(|l| point("label", l));
    let decl = PieceDecl {
        name: own.name.clone(),
        cut: keys.count("cut", MOST_CUT)?.unwrap_or(1),
        pair: keys.flag("pair")?,
        allowance: keys.formula("allowance", scope)?,
        stitched: keys.formula("stitched", scope)?,
        mirror: pair_of("mirror")?,
        grain: pair_of("grain")?,
        label: label.transpose()?,
        drills: drills.collect::<Outcome<_>>()?,
        points,
        lines,
        edges,
        notches,
        darts,
        at: keys.at.clone(),
    };
    keys.done()?;
    Ok(decl)
}

fn corner(row: &Keys) -> Outcome<Corner> {
    match row.text("corner")?.unwrap_or("mitred") {
        "mitred" => Ok(Corner::Mitred),
        "folded" => Ok(Corner::Folded),
        "squared" => Ok(Corner::Squared),
        _ => Err(row
            .place("corner")
            .fault("this corner is not known", "use mitred, folded or squared")),
    }
}

fn kind(row: &Keys) -> Outcome<NotchKind> {
    match row.text("kind")?.unwrap_or("slit") {
        "slit" => Ok(NotchKind::Slit),
        "double" => Ok(NotchKind::Double),
        "vee" => Ok(NotchKind::Vee),
        _ => Err(row
            .place("kind")
            .fault("this kind of notch is not known", "use slit, double or vee")),
    }
}

fn on_edge(row: &Keys, own: &PieceNames) -> Outcome<(usize, String)> {
    let name = row.need("edge")?;
    match own.paths.get(name) {
        Some(Path::Edge(_, k)) => Ok((*k, name.to_owned())),
        _ => Err(row.place("edge").fault(
            format!("there is no edge named \"{name}\" in \"{}\"", own.name),
            "check the name; of a mirrored piece, name the edge of the drawn half",
        )),
    }
}

fn spot(row: &Keys, scope: Scope) -> Outcome<Spot> {
    let said = ["at", "before_end", "point", "with"];
    let mut said = said.into_iter().filter(|k| row.has(k));
    let (Some(how), None) = (said.next(), said.next()) else {
        return Err(row.at.fault(
            "it is not clear where it is",
            "give one of at, before_end, point, with",
        ));
    };
    match how {
        "at" | "before_end" => {
            let back = how == "before_end";
            let at = row.need_formula(if back { "before_end" } else { "at" }, scope)?;
            Ok(Spot::At { at, back })
        }
        "point" => {
            let point = scope.point(row.need("point")?);
            Ok(Spot::Point(point.map_err(|f| row.place("point").put(f))?))
        }
        _ => {
            let run = row.place("with").within(scope.path(row.need("with")?))?;
            let (Path::Edge(p, e) | Path::Image(p, e) | Path::Whole(p, e)) = run else {
                return Err(row
                    .place("with")
                    .fault("this is no edge", "name an edge: sole: toe"));
            };
            let wanted = row.need("falls")?;
            let theirs = &scope.names.pieces[p];
            let found = theirs.notches.iter().position(|(name, edge)| {
                name == wanted && theirs.paths.get(edge) == Some(&Path::Edge(p, e))
            });
            let notch = found.ok_or_else(|| {
                row.place("falls").fault(
                    format!("there is no notch named \"{wanted}\" on that edge"),
                    "give the other notch its name: notch = \"…\"",
                )
            })?;
            let shared = match row.text("walk")?.unwrap_or("same") {
                "same" => false,
                "in proportion" => true,
                _ => {
                    return Err(row.place("walk").fault(
                        "this way of walking is not known",
                        "use same or in proportion",
                    ));
                }
            };
            Ok(Spot::As {
                run,
                notch: (p, notch),
                reversed: row.flag("reversed")?,
                shared,
            })
        }
    }
}
