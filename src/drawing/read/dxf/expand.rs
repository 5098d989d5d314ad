//! All entities of a drawing as loose strokes, inserts followed.

use kurbo::{Affine, BezPath};

use super::file::{Entity, File};
use super::shape::{Draw, Drawn, placement};
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::drawn::place::Part;
use crate::drawing::read::strokes::{MAX_STROKES, Sheet, Stroke, Text, Where, on_page};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::NotchKind;

/// Most blocks within one another.
const MAX_DEPTH: usize = 16;
/// Most groups read, each time a block is drawn: a file holds no more than 17 million.
const MAX_GROUPS: usize = 40_000_000;
/// Most inserts followed.
const MAX_INSERTS: usize = 100_000;

/// The drawing as strokes, millimetres, y down.
///
/// # Errors
///
/// When blocks hold themselves, a number can't be read, or there is too much.
pub fn sheet(
    file: &File,
    mm: f64,
    notes: &mut Vec<String>,
    left_out: &mut LeftOut,
) -> Outcome<Sheet> {
    let mut walk = Walk {
        file,
        draw: Draw {
            mm,
            points: 0,
            raised: 0,
            highest: 0.0,
        },
        sheet: Sheet::default(),
        inserts: 0,
        groups: 0,
        within: Vec::new(),
        left_out,
    };
    let to_page = Affine::scale_non_uniform(mm, -mm);
    walk.entities(&file.entities, to_page, "0")?;
    let Walk { draw, sheet, .. } = walk;
    note_heights(&draw, notes);
    if sheet.strokes.is_empty() {
        return Err(Fault::input(
            "there is no line in the drawing",
            "check that it is the right file, and that its layers are on",
        ));
    }
    Ok(from_its_corner(sheet))
}

/// Says that heights were left out.
pub fn note_heights(draw: &Draw, notes: &mut Vec<String>) {
    if draw.raised > 0 {
        notes.push(format!(
            "{} drawn at heights up to {} mm above the drawing's plane, and laid flat.",
            crate::fault::counted(draw.raised, "line is", "lines are"),
            short(draw.highest * draw.mm)
        ));
    }
}

/// `sheet` with its upper left corner at the origin: a drawing may lie far out.
fn from_its_corner(mut sheet: Sheet) -> Sheet {
    use kurbo::Shape;
    let boxes = sheet.strokes.iter().map(|s| s.path.bounding_box());
    if let Some(all) = boxes.reduce(|a, b| a.union(b)) {
        let by = Affine::translate((-all.x0, -all.y0));
        for stroke in &mut sheet.strokes {
            stroke.path.apply_affine(by);
        }
        for text in &mut sheet.texts {
            text.at = by * text.at;
        }
    }
    sheet
}

struct Walk<'w, 'f, 't> {
    file: &'w File<'f, 't>,
    draw: Draw,
    sheet: Sheet,
    inserts: usize,
    groups: usize,
    /// Blocks that are being drawn.
    within: Vec<usize>,
    left_out: &'w mut LeftOut,
}

impl Walk<'_, '_, '_> {
    /// `layer` is that of the insert: what a block draws on layer 0 is on it.
    fn entities(&mut self, entities: &[Entity], to_page: Affine, layer: &str) -> Outcome<()> {
        for entity in entities {
            let own = match entity.layer() {
                "0" => layer,
                own => own,
            };
            let place = Where {
                part: Part::Line,
                number: entity.line,
                what: entity.kind.to_owned(),
            };
            // Before anything else: what is off is walked along too.
            self.groups += 1 + entity.groups.len() + entity.parts.len();
            if self.groups > MAX_GROUPS {
                return Err(Fault::input(
                    "its blocks are drawn more often than any pattern needs",
                    "take the blocks apart into plain lines, then export the drawing again",
                )
                .at(place.place()));
            }
            if self.file.is_off(own) {
                let why = Why::LayerOff(own.to_owned());
                self.left_out.add(place.place(), why);
                continue;
            }
            let placed = |fault: Fault| match fault.place.is_empty() {
                true => fault.at(place.place()),
                false => fault,
            };
            if entity.kind == "INSERT" {
                self.insert(entity, to_page, own).map_err(placed)?;
                continue;
            }
            match self.draw.entity(entity).map_err(placed)? {
                Drawn::Path(path) => {
                    let path = to_page * path;
                    if !is_sound(&path) {
                        return Err(placed(too_far()));
                    }
                    if self.sheet.strokes.len() >= MAX_STROKES {
                        return Err(Fault::input(
                            "there are more than 500 000 strokes",
                            "take what is not pattern out of the drawing",
                        ));
                    }
                    // Each stroke has its own copy. The format's own limit, since 2000.
                    if own.len() > 255 {
                        return Err(placed(Fault::input(
                            "its layer's name is longer than 255 letters",
                            "give the layer a shorter name",
                        )));
                    }
                    self.sheet.strokes.push(Stroke {
                        path,
                        dashed: self.file.is_dashed(entity),
                        layer: Some(own.to_owned()),
                        told: None,
                        notch: NotchKind::Slit,
                        place,
                    });
                }
                Drawn::Text { at, words, height } => {
                    if !words.is_empty() {
                        self.sheet.texts.push(Text {
                            at: to_page * at,
                            words,
                            height: height * to_page.determinant().abs().sqrt(),
                            place,
                        });
                    }
                }
                Drawn::Point(_) => {
                    const POINT: Why = Why::Said("it is a single point", "they are single points");
                    self.left_out.add(place.place(), POINT);
                }
                Drawn::Not(one, many) => self.left_out.add(place.place(), Why::Said(one, many)),
            }
        }
        Ok(())
    }

    fn insert(&mut self, entity: &Entity, to_page: Affine, layer: &str) -> Outcome<()> {
        let name = entity.words(2).unwrap_or_default();
        let Some(index) = self.file.block(name) else {
            return Err(Fault::input(
                format!("it draws the block \"{name}\", which is not in the file"),
                "export the drawing again with its blocks, or take it out of the drawing",
            ));
        };
        if self.within.contains(&index) {
            return Err(Fault::input(
                format!("the block \"{name}\" holds itself"),
                "take the block apart into plain lines, then export the drawing again",
            ));
        }
        let file = self.file;
        let block = &file.blocks[index];
        let Some(places) = placement(entity, block.base)? else {
            self.left_out.add(
                Where {
                    part: Part::Line,
                    number: entity.line,
                    what: entity.kind.to_owned(),
                }
                .place(),
                Why::Said(
                    "it does not lie flat in the drawing's plane",
                    "they do not lie flat in the drawing's plane",
                ),
            );
            return Ok(());
        };
        self.inserts += places.len();
        if self.inserts > MAX_INSERTS || self.within.len() >= MAX_DEPTH {
            return Err(Fault::input(
                "blocks are drawn too often, or too deep within one another",
                "take the blocks apart into plain lines, then export the drawing again",
            ));
        }
        self.within.push(index);
        for place in places {
            self.entities(&block.entities, to_page * place, layer)?;
        }
        self.within.pop();
        Ok(())
    }
}

/// Whether every point is a number; how far out they are is seen on the page.
fn is_sound(path: &BezPath) -> bool {
    path.is_finite() && on_page(&moved_home(path))
}

/// The path with its first point at the origin.
fn moved_home(path: &BezPath) -> BezPath {
    match path.elements().first() {
        Some(kurbo::PathEl::MoveTo(p)) => Affine::translate((-p.x, -p.y)) * path.clone(),
        _ => path.clone(),
    }
}

fn too_far() -> Fault {
    Fault::input(
        "it is larger than 100 m",
        "check the unit of the drawing, or take it out",
    )
}
