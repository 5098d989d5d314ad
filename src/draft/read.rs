//! A draft's file, read: first every name, then what is said of each.

use toml_edit::Document;

use super::decl::{LengthDecl, LengthMake, PieceDecl, RingDecl, SeamDecl};
use super::formula::Formula;
use super::keys::{Keys, check_title, check_word, formula_text};
use super::names::{Names, Path, PieceNames, Scope};
use super::{Draft, Measure, read_piece};
use crate::fault::{Fault, Outcome, short};
use crate::measure::Unit;
use crate::pattern::{EdgeName, FitsAt};

/// Sizes past which a file is refused: far beyond what a person drafts.
const MOST_BYTES: usize = 512 * 1024;
const MOST_PIECES: usize = 60;
const MOST_MEASURES: usize = 40;
const MOST_LENGTHS: usize = 200;
const MOST_SEAMS: usize = 200;

/// Rows a piece may have, by list.
pub const MOST_ROWS: usize = 400;

/// The version of the file that is read.
const VERSION: i64 = 1;

/// Reads the draft `text`; see the module for its words.
///
/// # Errors
/// If it is no TOML, too large, says something unknown, or names what is not there. The
/// fault names the line, and the point or edge.
pub fn parse(text: &str) -> Outcome<Draft> {
    if text.len() > MOST_BYTES {
        return Err(Fault::input(
            format!("the draft has more than {} KB", MOST_BYTES / 1024),
            "check that it is the right file",
        ));
    }
    let doc = Document::parse(text).map_err(|error| {
        let why = error.message().lines().collect::<Vec<_>>().join(", ");
        Fault::in_text(&why, text, Some(error.span().map_or(0, |s| s.start)))
    })?;
    let top = Keys::new(text, doc.as_table(), Some(0), "the draft");
    match top.item("ghostchalk_draft").map(|i| i.as_integer()) {
        Some(Some(VERSION)) => {}
        Some(Some(v)) => {
            return Err(top.place("ghostchalk_draft").fault(
                format!("it is of version {v}, and this program knows version {VERSION}"),
                "use the program that wrote it, or a newer one",
            ));
        }
        Some(None) => {
            return Err(top.place("ghostchalk_draft").fault(
                "\"ghostchalk_draft\" is not a version number",
                format!("write ghostchalk_draft = {VERSION}"),
            ));
        }
        None => {
            return Err(Fault::input(
                format!(
                    "this is no draft that can be read: \"ghostchalk_draft = {VERSION}\" is \
                     missing"
                ),
                "check that it is the right file, and write that line at its top",
            ));
        }
    }
    let name = top.text("name")?.unwrap_or("draft").to_owned();
    let mut names = Names::default();

    let measures = top.rows("measure", MOST_MEASURES)?;
    let measures = measures.into_iter().map(|keys| measure(keys, &mut names));
    let measures = measures.collect::<Outcome<Vec<_>>>()?;

    let lengths = top.table("lengths")?;
    if let Some(table) = lengths {
        if table.len() > MOST_LENGTHS {
            return Err(top.place("lengths").fault(
                format!("there are more than {MOST_LENGTHS} lengths"),
                "leave some out",
            ));
        }
        for (key, _) in table.iter() {
            check_word(key).map_err(|f| top.place("lengths").put(f))?;
            if names.measures.iter().any(|m| m == key) {
                return Err(top.place("lengths").fault(
                    format!("\"{key}\" is a measure already"),
                    "give the length another name",
                ));
            }
            names.lengths.push(key.to_owned());
        }
    }

    let mut pieces = top.rows("piece", MOST_PIECES)?;
    let rows = pieces.iter_mut().enumerate();
    let rows = rows.map(|(k, keys)| read_piece::names(keys, k));
    for piece in rows.collect::<Outcome<Vec<PieceNames>>>()? {
        if names.pieces.iter().any(|p| p.name == piece.name) {
            return Err(top.place("piece").fault(
                format!("there are two pieces named \"{}\"", piece.name),
                "rename one",
            ));
        }
        names.pieces.push(piece);
    }

    let lengths = match lengths {
        None => Vec::new(),
        Some(table) => {
            let keys = Keys::new(text, table, None, "lengths");
            named_lengths(text, &keys, table, &names)?
        }
    };
    let each = pieces.iter().enumerate();
    let pieces = each.map(|(k, keys)| read_piece::piece(keys, &names, k));
    let pieces = pieces.collect::<Outcome<Vec<PieceDecl>>>()?;
    let scope = Scope {
        names: &names,
        here: None,
    };
    let seams = top.rows("seam", MOST_SEAMS)?;
    let seams = seams.into_iter().map(|keys| seam(keys, scope));
    let seams = seams.collect::<Outcome<Vec<_>>>()?;
    let rings = top.rows("ring", MOST_SEAMS)?;
    let rings = rings.into_iter().map(|keys| ring(keys, scope));
    let rings = rings.collect::<Outcome<Vec<_>>>()?;
    top.done()?;
    let mut said: Vec<&str> = Vec::new();
    for (name, at) in seams.iter().map(|s: &SeamDecl| (&s.name, &s.at)) {
        if said.contains(&name.as_str()) {
            return Err(at.fault("there are two seams of this name", "rename one"));
        }
        said.push(name);
    }
    Ok(Draft {
        name,
        measures,
        lengths,
        pieces,
        seams,
        rings,
    })
}

fn measure(mut keys: Keys, names: &mut Names) -> Outcome<Measure> {
    let name = keys.name("name")?;
    keys.what(format!("measure \"{name}\""));
    check_word(&name).map_err(|f| keys.place("name").put(f))?;
    if names.measures.contains(&name) {
        return Err(keys
            .at
            .fault("there are two measures of this name", "rename one"));
    }
    let empty = Names::default();
    let scope = Scope {
        names: &empty,
        here: None,
    };
    let length = |key| {
        keys.length(key, scope)?.ok_or_else(|| {
            keys.at.fault(
                format!("\"{key}\" is missing"),
                format!("add {key} = \"…mm\""),
            )
        })
    };
    let (least, most, usual) = (length("least")?, length("most")?, length("usual")?);
    let step = keys.length("step", scope)?;
    let unit = match keys.text("unit")?.unwrap_or("mm") {
        "mm" => Unit::Mm,
        "cm" => Unit::Cm,
        "in" => Unit::Inch,
        _ => {
            return Err(keys
                .place("unit")
                .fault("this unit is not known", "use mm, cm or in"));
        }
    };
    keys.done()?;
    if !(0.0 < least && least <= usual && usual <= most) || step.is_some_and(|s| s <= 0.0) {
        return Err(keys.at.fault(
            format!(
                "its range does not hold: from {} to {} mm, usually {}",
                short(least),
                short(most),
                short(usual)
            ),
            "write 0 < least ≤ usual ≤ most, and a step above 0",
        ));
    }
    names.measures.push(name.clone());
    Ok(Measure {
        name,
        unit,
        least,
        most,
        usual,
        step,
    })
}

fn named_lengths(
    text: &str,
    keys: &Keys,
    table: &dyn toml_edit::TableLike,
    names: &Names,
) -> Outcome<Vec<LengthDecl>> {
    let scope = Scope { names, here: None };
    let each = table.iter().map(|(key, item)| {
        let mut at = keys.place(key);
        at.what = format!("length \"{key}\"");
        let make = match item.as_table_like() {
            Some(inner) => {
                let mut keys = Keys::new(text, inner, item.span().map(|s| s.start), key);
                keys.what(at.what.clone());
                let make = LengthMake::Until {
                    until: keys.need_formula("until", scope)?,
                    is: keys.need_formula("is", scope)?,
                    least: keys.need_formula("least", scope)?,
                    most: keys.need_formula("most", scope)?,
                };
                keys.done()?;
                make
            }
            None => {
                let Some(formula) = formula_text(item) else {
                    return Err(at.fault("this is no formula", "write it in quotes"));
                };
                LengthMake::Is(at.within(Formula::read(&formula, scope))?)
            }
        };
        Ok(LengthDecl {
            name: key.to_owned(),
            make,
            at,
        })
    });
    each.collect()
}

fn edge_names(keys: &Keys, key: &'static str, scope: Scope) -> Outcome<Vec<EdgeName>> {
    let list = keys.list(key)?.unwrap_or_default();
    if list.is_empty() {
        return Err(keys.at.fault(
            format!("\"{key}\" names no edge"),
            format!("add {key} = [\"upper: side\"]"),
        ));
    }
    let each = list.into_iter().map(|text| {
        let found = scope.path(text);
        match (EdgeName::parse(text), found) {
            (Some(name), Ok(Path::Edge(..) | Path::Image(..) | Path::Whole(..))) => Ok(name),
            (_, Err(fault)) => Err(keys.place(key).put(fault)),
            _ => Err(keys.place(key).fault(
                format!("\"{text}\" is no edge"),
                "name an edge: upper: side",
            )),
        }
    });
    each.collect()
}

fn seam(mut keys: Keys, scope: Scope) -> Outcome<SeamDecl> {
    let name = keys.need("name")?.to_owned();
    check_title(&name).map_err(|f| keys.place("name").put(f))?;
    keys.what(format!("seam \"{name}\""));
    let decl = SeamDecl {
        one: edge_names(&keys, "one", scope)?,
        other: edge_names(&keys, "other", scope)?,
        ease: keys.formula("ease", scope)?,
        tolerance: keys.formula("tolerance", scope)?,
        at: keys.at.clone(),
        name,
    };
    keys.done()?;
    Ok(decl)
}

fn ring(mut keys: Keys, scope: Scope) -> Outcome<RingDecl> {
    let name = keys.need("name")?.to_owned();
    check_title(&name).map_err(|f| keys.place("name").put(f))?;
    keys.what(format!("ring \"{name}\""));
    let measured = match keys.text("at")? {
        None => FitsAt::default(),
        Some(word) => FitsAt::parse(word).ok_or_else(|| {
            let remedy = "write \"outside\" or \"mid-wall\"";
            let at = keys.place("at");
            at.fault("this is not a side of the cloth", remedy)
        })?,
    };
    let decl = RingDecl {
        edges: edge_names(&keys, "edges", scope)?,
        girth: keys.need_formula("girth", scope)?,
        ease: keys.formula("ease", scope)?,
        cloth: keys.formula("cloth", scope)?,
        measured,
        tolerance: keys.formula("tolerance", scope)?,
        sewn: keys.formula("sewn", scope)?,
        at: keys.at.clone(),
        name,
    };
    keys.done()?;
    Ok(decl)
}
