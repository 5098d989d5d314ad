//! The layers of sewn-products patterns, one block a piece (ASTM D6673; the layer
//! numbers from the trade's table, the texts and the notch points from memory of it).

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

use kurbo::{Affine, BezPath, Point, Vec2};

use super::expand::note_heights;
use super::file::{Block, Entity, File};
use super::shape::{Draw, Drawn as Shape, placement};
use crate::drawing::read::drawn::assemble;
use crate::drawing::read::drawn::drawing::{Drawing, Drawn, Group, on_page};
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::drawn::place::{Part, Place, excerpt};
use crate::drawing::read::drawn::roles::{Role, Told};
use crate::fault::{Fault, Outcome};
use crate::pattern::{NotchKind, Pattern};

/// Depth of a notch whose point does not say it, mm (half of a usual allowance of
/// 6 mm: common practice).
const NOTCH: f64 = 3.0;
/// Two slits this near are a double notch, mm (common practice: 5 to 6 mm apart).
const DOUBLE: f64 = 7.0;
/// How many slits before it may be a slit's partner.
const NEIGHBOURS: usize = 256;
/// Most pieces that a text may ask for.
const MAX_COUNT: u32 = 999;

/// What a layer holds.
enum Layer {
    Role(Role),
    Notch(NotchKind),
    /// Points that repeat vertices of the outline.
    Vertices,
    /// Copies for checking.
    Copies,
    Words,
    Other,
}

fn layer(name: &str) -> Layer {
    match name.trim().parse::<u32>().unwrap_or(0) {
        1 => Layer::Role(Role::Cut),
        2 | 3 => Layer::Vertices,
        4 => Layer::Notch(NotchKind::Slit),
        6 => Layer::Role(Role::Fold),
        7 => Layer::Role(Role::Grain),
        8..=10 => Layer::Role(Role::Line),
        11 => Layer::Role(Role::Cutout),
        13 => Layer::Role(Role::Drill),
        14 => Layer::Role(Role::Net),
        15 => Layer::Words,
        80..=83 => Layer::Notch(NotchKind::Slit),
        84..=87 => Layer::Copies,
        _ => Layer::Other,
    }
}

fn is_line(entity: &Entity) -> bool {
    matches!(
        entity.kind,
        "LINE" | "POLYLINE" | "LWPOLYLINE" | "ARC" | "SPLINE" | "ELLIPSE"
    )
}

/// A single line or arc bounds nothing.
fn is_piece(block: &Block) -> bool {
    let on_one = |e: &&Entity| e.layer() == "1" && is_line(e);
    let lines = block.entities.iter().filter(on_one);
    let bounds =
        lines.clone().any(|e| !matches!(e.kind, "LINE" | "ARC")) || lines.take(2).count() > 1;
    !block.name.starts_with('*') && bounds
}

/// Whether the text names a piece, as the standard has it.
fn names_a_piece(entity: &Entity) -> bool {
    let words = entity.words(1).unwrap_or_default().to_lowercase();
    entity.kind == "TEXT" && words.starts_with("piece name")
}

/// Whether the drawing is one of blocks with a boundary on layer 1. Where closed lines
/// lie outside the blocks, one of those must name its piece; else `notes` says why not.
pub fn is_sewn(file: &File, notes: &mut Vec<String>) -> bool {
    let mut pieces = file.blocks.iter().filter(|b| is_piece(b));
    if pieces.clone().next().is_none() {
        return false;
    }
    let closed = |e: &Entity| {
        matches!(e.kind, "LWPOLYLINE" | "POLYLINE") && e.flags().is_ok_and(|flags| flags & 1 == 1)
    };
    let sewn = !file.entities.iter().any(closed)
        || pieces.any(|block| block.entities.iter().any(names_a_piece));
    if !sewn {
        notes.push(
            "blocks hold lines on layer 1, but closed lines lie outside of them and no block names \
             its piece: it was read by its looks, not by the layers of ASTM D6673."
                .into(),
        );
    }
    sewn
}

/// One piece a block. A block that no insert names is left out, unless there is no
/// insert at all.
///
/// # Errors
///
/// When a number can't be read, or no block is a sound piece.
pub fn pattern(
    file: &File,
    mm: f64,
    mut notes: Vec<String>,
    mut left_out: LeftOut,
) -> Outcome<Pattern> {
    let mut drawing = Drawing {
        grouped: true,
        ..Drawing::default()
    };
    let mut draw = Draw {
        mm,
        points: 0,
        raised: 0,
        highest: 0.0,
    };
    notes.push(
        "pieces, marks and texts were told by the layers of ASTM D6673, one block a piece.".into(),
    );
    let mut copies = 0;
    let mut names = HashSet::new();
    let mut inserts: HashMap<String, (&Entity, usize)> = HashMap::new();
    for entity in file.entities.iter().filter(|e| e.kind == "INSERT") {
        let name = entity.words(2).unwrap_or_default().to_uppercase();
        inserts.entry(name).or_insert((entity, 0)).1 += 1;
    }
    for block in file.blocks.iter().filter(|b| is_piece(b)) {
        let place = on(block.line, "BLOCK", Some(block.name));
        let own = inserts.get(&block.name.trim().to_uppercase());
        if own.is_none() && !inserts.is_empty() {
            const UNUSED: Why = Why::Said("nothing inserts it", "nothing inserts them");
            left_out.add(place, UNUSED);
            continue;
        }
        if own.is_some_and(|&(_, count)| count > 1) {
            notes.push(format!(
                "the block \"{}\" is inserted several times; it is one piece here.",
                excerpt(block.name)
            ));
        }
        let own = match own {
            Some(&(insert, _)) => shape_only(insert, block)?,
            None => Affine::IDENTITY,
        };
        let mut piece = Piece {
            to_page: Affine::scale_non_uniform(mm, -mm) * own,
            mm,
            group: Group {
                place,
                name: Cow::Borrowed(block.name),
                cut_count: 1,
                pair: false,
                drawn: Vec::new(),
                hides: false,
                lenient: true,
            },
            size: None,
            copies: 0,
            guessed_depths: 0,
        };
        for entity in &block.entities {
            piece.entity(entity, file, &mut draw, &mut notes, &mut left_out)?;
        }
        piece.move_to_corner()?;
        copies += piece.copies;
        if piece.guessed_depths > 0 {
            notes.push(format!(
                "piece \"{}\": how deep {} is not said; made {NOTCH} mm.",
                excerpt(&piece.group.name),
                crate::fault::counted(piece.guessed_depths, "notch", "notches")
            ));
        }
        let mut group = piece.group;
        if names.contains(&group.name) {
            let size = piece.size.unwrap_or(block.name);
            group.name = Cow::Owned(format!("{} {size}", group.name));
        }
        names.insert(group.name.clone());
        group.drawn = doubled(group.drawn);
        drawing.groups.push(group);
    }
    // Once a block, however often it is inserted.
    let pieces: Vec<bool> = file.blocks.iter().map(is_piece).collect();
    for entity in file.entities.iter().filter(|e| e.kind == "INSERT") {
        let name = entity.words(2).unwrap_or_default();
        if !file.block(name).is_some_and(|k| pieces[k]) {
            const NO_PIECE: Why = Why::Said(
                "its block has no outline on layer 1",
                "their blocks have no outlines on layer 1",
            );
            left_out.add(on(entity.line, entity.kind, None), NO_PIECE);
        }
    }
    for entity in file.entities.iter().filter(|e| is_line(e)) {
        left_out.add(on(entity.line, entity.kind, None), Why::OutsidePieces);
    }
    if copies > 0 {
        notes.push(format!(
            "what repeats the outlines (layers 2, 3 and 84 to 87) was not used: {}.",
            crate::fault::counted(copies, "point or line", "points and lines")
        ));
    }
    note_heights(&draw, &mut notes);
    drawing.notes = notes;
    assemble::pattern(drawing, left_out)
}

/// The turn, scale and mirror of the insert, not where it puts the block.
fn shape_only(insert: &Entity, block: &Block) -> Outcome<Affine> {
    let placed = |fault: Fault| fault.at(format!("line {}, INSERT", insert.line));
    let all = placement(insert, block.base).map_err(placed)?;
    let [a, b, c, d, ..] = all
        .and_then(|all| all.first().copied())
        .unwrap_or(Affine::IDENTITY)
        .as_coeffs();
    Ok(Affine::new([a, b, c, d, 0.0, 0.0]))
}

fn on<'t>(line: usize, tag: &'t str, id: Option<&'t str>) -> Place<'t> {
    Place {
        part: Part::Line,
        line,
        tag,
        id,
    }
}

struct Piece<'t> {
    to_page: Affine,
    mm: f64,
    group: Group<'t>,
    size: Option<&'t str>,
    copies: usize,
    guessed_depths: usize,
}

impl<'t> Piece<'t> {
    fn entity(
        &mut self,
        entity: &Entity<'_, 't>,
        file: &File,
        draw: &mut Draw,
        notes: &mut Vec<String>,
        left_out: &mut LeftOut,
    ) -> Outcome<()> {
        let place = on(entity.line, entity.kind, None);
        let placed = |fault: Fault| match fault.place.is_empty() {
            true => fault.at(place),
            false => fault,
        };
        if file.is_off(entity.layer()) {
            left_out.add(place, Why::LayerOff(entity.layer().to_owned()));
            return Ok(());
        }
        let shape = match draw.entity(entity).map_err(placed)? {
            Shape::Text { at, words, .. } => {
                self.text(entity, at, &words, notes, left_out);
                return Ok(());
            }
            Shape::Not(one, many) => {
                left_out.add(place, Why::Said(one, many));
                return Ok(());
            }
            shape => shape,
        };
        let (role, kind) = match layer(entity.layer()) {
            Layer::Vertices | Layer::Copies => {
                self.copies += 1;
                return Ok(());
            }
            Layer::Words | Layer::Other => {
                left_out.add(place, Why::Untold);
                return Ok(());
            }
            Layer::Role(role) => (role, NotchKind::Slit),
            Layer::Notch(kind) => (Role::Notch, kind),
        };
        let (path, kind) = match (shape, role) {
            (Shape::Path(path), _) => (path, kind),
            (Shape::Point(at), Role::Notch) => self.notch_point(entity, at).map_err(placed)?,
            (Shape::Point(at), Role::Drill) => {
                let mut path = BezPath::new();
                path.move_to(at);
                (path, kind)
            }
            _ => {
                const POINT: Why = Why::Said("it is a single point", "they are single points");
                left_out.add(place, POINT);
                return Ok(());
            }
        };
        self.group.drawn.push(Drawn {
            place,
            called: None,
            told: Told::Role(role),
            notch: kind,
            path: self.to_page * path,
            is_text: false,
        });
        Ok(())
    }

    /// A notch drawn as a point: its depth is its z, its width group 39, and it points
    /// along group 50, degrees (as read from memory of the standard).
    fn notch_point(&mut self, entity: &Entity, at: Point) -> Outcome<(BezPath, NotchKind)> {
        let depth = entity.number(30, 0.0)?.abs();
        let width = entity.number(39, 0.0)?.abs();
        let depth = if depth * self.mm > 0.05 {
            depth
        } else {
            self.guessed_depths += 1;
            NOTCH / self.mm
        };
        let turn = entity.number(50, 0.0)?.to_radians();
        let mut path = BezPath::new();
        path.move_to(at);
        path.line_to(at + Vec2::from_angle(turn) * depth);
        let wedge = entity.layer() == "4" && width * self.mm > 0.05;
        Ok((
            path,
            if wedge {
                NotchKind::Vee
            } else {
                NotchKind::Slit
            },
        ))
    }

    fn text(
        &mut self,
        entity: &Entity<'_, 't>,
        at: Point,
        words: &str,
        notes: &mut Vec<String>,
        left_out: &mut LeftOut,
    ) {
        let place = on(entity.line, entity.kind, None);
        let (key, value) = words.split_once(':').unwrap_or(("", words));
        let value = value.trim();
        match key.trim().to_lowercase().as_str() {
            "piece name" if !value.is_empty() => {
                self.group.name = Cow::Owned(value.to_owned());
                let mut path = BezPath::new();
                path.move_to(self.to_page * at);
                self.group.drawn.push(Drawn {
                    place,
                    called: None,
                    told: Told::Role(Role::Label),
                    notch: NotchKind::Slit,
                    path,
                    is_text: true,
                });
            }
            "quantity" => match quantity(value) {
                Some((count, pair)) => (self.group.cut_count, self.group.pair) = (count, pair),
                None => notes.push(format!(
                    "\"{}\" is no quantity that can be read; the piece is cut once.",
                    excerpt(words)
                )),
            },
            "size" => {
                let raw = entity.words(1).and_then(|raw| raw.split_once(':'));
                self.size = raw.map(|(_, size)| size.trim());
            }
            _ => left_out.add(place, Why::Text),
        }
    }

    /// Moves all to the page's upper left corner, wherever the block lay.
    fn move_to_corner(&mut self) -> Outcome<()> {
        use kurbo::Shape;
        let boxes = self.group.drawn.iter().map(|d| d.path.bounding_box());
        if let Some(all) = boxes.reduce(|a, b| a.union(b)) {
            let by = Affine::translate((-all.x0, -all.y0));
            for drawn in &mut self.group.drawn {
                drawn.path.apply_affine(by);
            }
        }
        let far = |d: &&Drawn| !d.path.is_finite() || !on_page(&d.path);
        match self.group.drawn.iter().find(far) {
            Some(drawn) => Err(Fault::input(
                "the piece is larger than 100 m",
                "check the unit of the drawing",
            )
            .at(drawn.place)),
            None => Ok(()),
        }
    }
}

/// `2`, or `1,1`: as drawn and mirrored.
fn quantity(value: &str) -> Option<(u32, bool)> {
    let counts: Option<Vec<u32>> = value
        .split([',', '/'])
        .map(|n| n.trim().parse().ok())
        .collect();
    let (count, pair) = match counts?[..] {
        [one] => (one, false),
        [one, other] => (one.checked_add(other)?, one == other && one > 0),
        _ => return None,
    };
    (1..=MAX_COUNT).contains(&count).then_some((count, pair))
}

/// Slits side by side are one double notch.
fn doubled(drawn: Vec<Drawn>) -> Vec<Drawn> {
    let ends = |d: &Drawn| match d.path.elements() {
        &[kurbo::PathEl::MoveTo(a), kurbo::PathEl::LineTo(b)] => Some([a, b]),
        _ => None,
    };
    let is_slit = |d: &Drawn| d.told == Told::Role(Role::Notch) && d.notch == NotchKind::Slit;
    let mut out: Vec<Drawn> = Vec::new();
    let mut slits: Vec<usize> = Vec::new();
    for one in drawn {
        let Some([a, b]) = ends(&one).filter(|_| is_slit(&one)) else {
            out.push(one);
            continue;
        };
        let partner = slits.iter().rev().take(NEIGHBOURS).copied().find(|&k| {
            let Some([c, d]) = ends(&out[k]) else {
                return false;
            };
            let (v, w) = (b - a, d - c);
            (c - a).hypot() <= DOUBLE && v.dot(w) > 0.9 * v.hypot() * w.hypot()
        });
        match partner {
            Some(k) => {
                // It is one of the last, so that this takes no longer for a million of them.
                if let Some(at) = slits.iter().rposition(|&s| s == k) {
                    slits.remove(at);
                }
                if let Some([c, d]) = ends(&out[k]) {
                    let mut path = BezPath::new();
                    path.move_to(a.midpoint(c));
                    path.line_to(b.midpoint(d));
                    out[k].path = path;
                    out[k].notch = NotchKind::Double;
                }
            }
            None => {
                slits.push(out.len());
                out.push(one);
            }
        }
    }
    out
}
