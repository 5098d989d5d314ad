//! What a new row says until a person says otherwise: something that can be meant, from
//! the points, edges and pieces that there are.

use super::table::{Cell, DraftTable, Part, Row};
use crate::fault::{Fault, Outcome};

/// `word 1`, or the first of its like that no row has.
fn free(table: &DraftTable, part: Part, piece: usize) -> String {
    let word = part.words().1;
    let mut rows = table.rows(part);
    rows.retain(|r| !part.is_of_a_piece() || r.at.piece == piece);
    let others = match part {
        // These share their names.
        Part::Lines => table.rows(Part::Edges),
        Part::Edges => table.rows(Part::Lines),
        Part::Lengths => table.rows(Part::Measures),
        Part::Measures => table.rows(Part::Lengths),
        _ => Vec::new(),
    };
    let taken = |name: &str| rows.iter().chain(&others).any(|r| r.name() == name);
    let names = (1..).map(|k| format!("{word} {k}"));
    names.into_iter().find(|n| !taken(n)).unwrap_or_default()
}

fn names(table: &DraftTable, part: Part, piece: usize) -> Vec<String> {
    let rows = table.rows(part).into_iter();
    let own = rows.filter(|r| !part.is_of_a_piece() || r.at.piece == piece);
    own.map(|r| r.name().to_owned()).collect()
}

fn first_edges(table: &DraftTable) -> Vec<String> {
    let pieces = names(table, Part::Pieces, 0);
    let rows = table.rows(Part::Edges);
    let each = rows.iter().filter_map(|r| {
        let piece = pieces.get(r.at.piece)?;
        Some(format!("{piece}: {}", r.name()))
    });
    each.collect()
}

/// The cells of a new row.
///
/// # Errors
/// If there is nothing yet that it could be of: no two points for a line, no edge for a
/// notch.
pub fn row(table: &DraftTable, part: Part, piece: usize) -> Outcome<Vec<Cell>> {
    let name = free(table, part, piece);
    let cell = |key: &str, text: &str| Cell::new(key, text);
    let need = |what: &str| {
        Fault::input(
            format!("there is no {what} yet that it could be of"),
            format!("add {what} first"),
        )
    };
    let edge = || {
        let all = names(table, Part::Edges, piece);
        all.first().cloned().ok_or_else(|| need("edge"))
    };
    Ok(match part {
        Part::Measures => vec![
            cell("name", &name),
            cell("least", "100mm"),
            cell("most", "200mm"),
            cell("usual", "150mm"),
        ],
        Part::Lengths => vec![cell("name", &name), cell("is", "10mm")],
        Part::Pieces => Vec::new(),
        Part::Points => {
            let mut cells = vec![cell("point", &name)];
            if let Some(last) = names(table, part, piece).pop() {
                cells.extend([cell("from", &last), cell("go", "right"), cell("by", "10mm")]);
            }
            cells
        }
        Part::Lines | Part::Edges => {
            let points = names(table, Part::Points, piece);
            let [.., a, b] = points.as_slice() else {
                return Err(need("point, and another,"));
            };
            let key = part.name_key();
            vec![cell(key, &name), cell("straight", &format!("{a}; {b}"))]
        }
        Part::Notches => vec![
            cell("notch", &name),
            cell("edge", &edge()?),
            cell("at", "0.5"),
        ],
        Part::Darts => vec![
            cell("edge", &edge()?),
            cell("at", "0.5"),
            cell("width", "10mm"),
            cell("depth", "30mm"),
        ],
        Part::Seams => {
            let edges = first_edges(table);
            let [one, other, ..] = edges.as_slice() else {
                return Err(need("edge, and another,"));
            };
            vec![cell("name", &name), cell("one", one), cell("other", other)]
        }
        Part::Rings => {
            let edges = first_edges(table);
            let one = edges.first().ok_or_else(|| need("edge"))?;
            let cells = [("name", name.as_str()), ("edges", one), ("girth", "200mm")];
            cells.map(|(k, t)| cell(k, t)).to_vec()
        }
    })
}

/// What a row says in one of its ways, as far as something can be meant.
pub fn told(table: &DraftTable, row: &Row, way: usize) -> Vec<Cell> {
    let at = row.at;
    let mut points = names(table, Part::Points, at.piece);
    points.retain(|p| at.part != Part::Points || p != row.name());
    let point = |k: usize| points.get(k).or(points.last()).cloned().unwrap_or_default();
    let lines = || {
        let lines = names(table, Part::Lines, at.piece).into_iter();
        let mut all = lines.chain(names(table, Part::Edges, at.piece));
        let own = row.name().to_owned();
        let other = all.find(|n| *n != own || at.part == Part::Points);
        other.unwrap_or_else(|| format!("{}, {}", point(0), point(1)))
    };
    let through = || {
        // A line told otherwise goes through the points that it went through.
        let now = ["straight", "curve", "arc"].into_iter();
        let mut now = now.map(|k| row.text(k)).filter(|t| !t.is_empty());
        let now = now.next().map(str::to_owned);
        now.unwrap_or_else(|| format!("{}; {}", point(0), point(1)))
    };
    let Some(way) = at.part.ways().get(way) else {
        return Vec::new();
    };
    let each = match (at.part, way.keys[0]) {
        (Part::Points, "from") => vec![
            ("from", point(0)),
            ("go", "up".into()),
            ("by", "10mm".into()),
        ],
        (_, "upright") => vec![("upright", point(0)), ("level", point(1))],
        (_, "on") => vec![("on", lines()), ("at", "0.5".into())],
        (_, "meet") => vec![(
            "meet",
            format!("line {}, up; line {}, right", point(0), point(1)),
        )],
        (Part::Points, "mirror") => vec![
            ("mirror", point(0)),
            ("about", format!("{}; {}", point(1), point(2))),
        ],
        (_, key @ ("straight" | "curve")) => vec![(key, through())],
        (_, "arc") => {
            let all = through();
            let count = all.split(';').count();
            let mut cells = vec![("arc", all)];
            if count == 2 {
                cells.extend([("turn", "left".into()), ("radius", "100mm".into())]);
            }
            cells
        }
        (_, "part") => vec![("part", lines()), ("from", point(0)), ("to", point(1))],
        (_, "join") => vec![("join", lines())],
        (_, "beside") => vec![("beside", lines()), ("by", "10mm".into())],
        (_, "mirror") => vec![
            ("mirror", lines()),
            ("about", format!("{}; {}", point(0), point(1))),
        ],
        (_, "at") => vec![("at", "0.5".into())],
        (_, "before_end") => vec![("before_end", "20mm".into())],
        (_, "point") => vec![("point", point(0))],
        (_, "with") => {
            let edges = first_edges(table);
            let notches = table.rows(Part::Notches);
            let other = notches.iter().find(|n| n.at != at && !n.name().is_empty());
            let pieces = names(table, Part::Pieces, 0);
            let named = other.and_then(|n| {
                let piece = pieces.get(n.at.piece)?;
                Some(vec![
                    ("with", format!("{piece}: {}", n.text("edge"))),
                    ("falls", n.name().to_owned()),
                ])
            });
            named.unwrap_or_else(|| vec![("with", edges.first().cloned().unwrap_or_default())])
        }
        (Part::Lengths, "until") => vec![
            ("until", "10mm".into()),
            ("is", "10mm".into()),
            ("least", "1mm".into()),
            ("most", "100mm".into()),
        ],
        (Part::Lengths, _) => vec![("is", "10mm".into())],
        _ => Vec::new(),
    };
    each.into_iter().map(|(k, t)| Cell::new(k, t)).collect()
}

/// A new piece, drawn as an oblong with its grain.
pub fn piece(table: &DraftTable) -> String {
    let name = free(table, Part::Pieces, 0);
    format!(
        "[[piece]]\nname = \"{name}\"\nallowance = \"6mm\"\ngrain = [\"a\", \"d\"]\npoints = [\n  \
         {{ point = \"a\" }},\n  {{ point = \"b\", from = \"a\", go = \"right\", by = \"100mm\" }},\n  \
         {{ point = \"c\", from = \"b\", go = \"up\", by = \"100mm\" }},\n  \
         {{ point = \"d\", upright = \"a\", level = \"c\" }},\n]\nedges = [\n  \
         {{ edge = \"low\", straight = [\"a\", \"b\"] }},\n  \
         {{ edge = \"right\", straight = [\"b\", \"c\"] }},\n  \
         {{ edge = \"top\", straight = [\"c\", \"d\"] }},\n  \
         {{ edge = \"left\", straight = [\"d\", \"a\"] }},\n]\n"
    )
}
