//! Follows the operators of pages and forms, and gathers lines and texts on paper.

use std::collections::HashMap;
use std::rc::Rc;

use hayro_syntax::Pdf;
use hayro_syntax::content::UntypedIter;
use hayro_syntax::object::{Array, Dict, Name, Object, ObjectIdentifier, Stream};
use hayro_syntax::page::{Page, Resources};
use kurbo::{BezPath, Point, Rect, Shape};

use super::cost::{Cost, MAX_STEPS};
use super::font::Font;
use super::layers::{On, Shown};
use super::operands::{Numbers, Space, all_closed, build, close, is_dashed, name, space};
use super::page::paper;
use super::paint::DAMAGED;
use super::state::State;
use super::tiles::upright;
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::drawn::limits::MAX_POINTS;
use crate::drawing::read::drawn::place::Part;
use crate::drawing::read::strokes::{Stroke, Text, Where};
use crate::fault::{Fault, Outcome};

/// Most graphics states saved within one another.
const MAX_SAVED: usize = 512;
/// What asking for a layer counts for, operators: it may be one of several.
const LAYER: usize = 10;
/// A gap between letters that parts words, thousandths of an em.
pub const SPACE: f64 = 200.0;

/// What one page draws, on paper: mm, y down.
pub struct Drawn {
    /// What shows of the paper.
    pub paper: Rect,
    pub strokes: Vec<Stroke>,
    pub texts: Vec<Text>,
}

/// What all pages draw.
///
/// # Errors
///
/// When a repeated part draws itself, there is too much, or there are pictures and no lines.
pub fn pages(pdf: &Pdf, shown: &Shown, scale: f64, left_out: &mut LeftOut) -> Outcome<Vec<Drawn>> {
    let mut all = Vec::new();
    let mut cost = Cost::default();
    let mut pictures = 0;
    for (k, page) in pdf.pages().iter().enumerate() {
        let number = k + 1;
        let placed = |fault: Fault| fault.at(format!("page {number}"));
        let (ctm, paper) = paper(page, scale).map_err(placed)?;
        let mut walk = Walk {
            shown,
            number,
            cost: &mut cost,
            fonts: HashMap::new(),
            named_fonts: HashMap::new(),
            within: Vec::new(),
            hidden: Vec::new(),
            pictures: 0,
            text_end: None,
            drawn: Drawn {
                paper,
                strokes: Vec::new(),
                texts: Vec::new(),
            },
            left_out: &mut *left_out,
        };
        walk.page(page, State::new(ctm, paper)).map_err(placed)?;
        pictures += walk.pictures;
        all.push(walk.drawn);
    }
    if all.iter().all(|page| page.strokes.is_empty()) {
        return Err(match pictures {
            0 => Fault::input(
                "the PDF draws no line",
                "check that it is the right file, and that its layers are on",
            ),
            _ => Fault::input(
                "the PDF holds a picture of the pattern, not its lines",
                "get it as a drawing (PDF, SVG or DXF with lines), or trace the picture",
            ),
        });
    }
    Ok(all)
}

/// A walk along the operators of one page.
pub struct Walk<'w> {
    pub(super) shown: &'w Shown,
    pub(super) number: usize,
    pub(super) cost: &'w mut Cost,
    /// By the object that holds them.
    pub(super) fonts: HashMap<ObjectIdentifier, Rc<Font>>,
    /// Those that no object holds, by the form that names them (none: the page) and name.
    pub(super) named_fonts: HashMap<(Option<ObjectIdentifier>, String), Rc<Font>>,
    /// Forms that are being drawn.
    pub(super) within: Vec<ObjectIdentifier>,
    /// Marked content that is open: the layer, where it is about one.
    pub(super) hidden: Vec<Option<On>>,
    pub(super) pictures: usize,
    /// Where the last text ends.
    pub(super) text_end: Option<Point>,
    pub(super) drawn: Drawn,
    pub(super) left_out: &'w mut LeftOut,
}

impl Walk<'_> {
    fn page(&mut self, page: &Page, state: State) -> Outcome<()> {
        let content = self.page_content(page)?;
        self.content(&content, page.resources(), state)?;
        let notes = page.raw().get::<Array>("Annots");
        let notes = notes
            .into_iter()
            .flat_map(|a| a.iter::<Dict>().take(MAX_STEPS));
        for note in notes {
            self.cost.step()?;
            let kind = note.get::<Name>("Subtype");
            if kind.is_some_and(|kind| !matches!(kind.as_str(), "Link" | "Popup")) {
                const NOTE: Why = Why::Said(
                    "it is a note or a field laid on the page",
                    "they are notes or fields laid on the page",
                );
                self.leave("annotation", NOTE);
            }
        }
        Ok(())
    }

    /// What the page draws by: one stream, or several end to end (ISO 32000-1, 7.8.2).
    fn page_content(&mut self, page: &Page) -> Outcome<Vec<u8>> {
        let mut content = Vec::new();
        let mut add = |walk: &mut Self, stream: Option<Stream>| -> Outcome<()> {
            let data = match stream {
                Some(stream) => walk.cost.unpacked.stream(&stream)?,
                None => None,
            };
            match data {
                Some(data) => {
                    content.extend_from_slice(&data);
                    // Words do not run on from stream to stream.
                    content.push(b' ');
                }
                None => walk.leave("content", DAMAGED),
            }
            Ok(())
        };
        if let Some(stream) = page.raw().get::<Stream>("Contents") {
            add(self, Some(stream))?;
        } else if let Some(list) = page.raw().get::<Array>("Contents") {
            for part in list.iter::<Object>() {
                self.cost.step()?;
                add(self, part.into_stream())?;
            }
        } else if page.raw().contains_key("Contents") {
            self.leave("content", DAMAGED);
        }
        Ok(content)
    }

    /// Lists something that has no place of its own.
    pub(super) fn leave(&mut self, what: &str, why: Why) {
        self.left_out.add(
            Where {
                part: Part::Page,
                number: self.number,
                what: what.to_owned(),
            }
            .place(),
            why,
        );
    }

    pub(super) fn layer(&self) -> Option<&On> {
        // What is hidden at all is hidden, whatever lies between.
        let all = self.hidden.iter().flatten();
        all.clone().find(|on| !on.shows).or_else(|| all.last())
    }

    /// A mark is open from here on; `marks` were when this content began.
    fn mark(&mut self, on: Option<On>, marks: usize) -> Outcome<()> {
        // All that are open are looked through for every line that is drawn.
        if self.hidden.len() - marks >= MAX_SAVED {
            return Err(Fault::input(
                "groups lie more than 512 deep within one another",
                "print it to PDF again",
            ));
        }
        self.hidden.push(on);
        Ok(())
    }

    pub(super) fn content(
        &mut self,
        content: &[u8],
        resources: &Resources,
        state: State,
    ) -> Outcome<()> {
        let mut state = state;
        let mut saved: Vec<State> = Vec::new();
        let marks = self.hidden.len();
        let mut path = BezPath::new();
        let mut clips = false;
        let mut operators = UntypedIter::new(content);
        while let Some(step) = operators.next() {
            self.cost.step()?;
            let args: Vec<&Object> = step.operands().collect();
            let n = Numbers::of(&args);
            let operator = std::str::from_utf8(step.operator).unwrap_or_default();
            match operator {
                "q" => {
                    if saved.len() < MAX_SAVED {
                        saved.push(state.clone());
                    } else {
                        return Err(Fault::input(
                            "drawings lie more than 512 deep within one another",
                            "print it to PDF again",
                        ));
                    }
                }
                "Q" => {
                    if let Some(last) = saved.pop() {
                        state = last;
                    }
                }
                "cm" => {
                    if let Some(m) = n.matrix() {
                        state.ctm *= m;
                    }
                }
                "d" => {
                    let gaps = args.first().and_then(|a| (*a).clone().into_array());
                    state.dashed = gaps.is_some_and(|gaps| is_dashed(&gaps));
                }
                "gs" => {
                    let dict = name(&args).and_then(|name| resources.get_ext_g_state(name));
                    let dash = dict.and_then(|d| d.get::<Array>("D"));
                    if let Some(gaps) = dash.and_then(|d| d.iter::<Array>().next()) {
                        state.dashed = is_dashed(&gaps);
                    }
                }
                "G" | "RG" | "K" => {
                    state.stroke_space = Space::Device;
                    state.white_stroke = n.is_white(Space::Device);
                }
                "g" | "rg" | "k" => {
                    state.fill_space = Space::Device;
                    state.white_fill = n.is_white(Space::Device);
                }
                "SC" | "SCN" => state.white_stroke = n.is_white(state.stroke_space),
                "sc" | "scn" => state.white_fill = n.is_white(state.fill_space),
                "CS" => (state.white_stroke, state.stroke_space) = (false, space(&args, resources)),
                "cs" => (state.white_fill, state.fill_space) = (false, space(&args, resources)),
                "m" | "l" | "c" | "v" | "y" | "h" | "re" => {
                    build(&mut path, operator, &n, state.ctm);
                    Cost::spend(
                        &mut self.cost.points,
                        1,
                        MAX_POINTS,
                        "draws more than 4 million points",
                    )?;
                }
                "W" | "W*" => clips = true,
                "S" | "s" | "f" | "F" | "f*" | "B" | "B*" | "b" | "b*" | "n" => {
                    if matches!(operator, "s" | "b" | "b*") {
                        close(&mut path);
                    }
                    let fills = !matches!(operator, "S" | "s" | "n");
                    let strokes = !matches!(operator, "f" | "F" | "f*" | "n");
                    let white = (!fills || state.white_fill) && (!strokes || state.white_stroke);
                    if operator != "n" {
                        let path = if strokes {
                            path.clone()
                        } else {
                            all_closed(&path)
                        };
                        self.paint(path, &state, white)?;
                    }
                    if clips {
                        let shape = path.bounding_box();
                        if !path.elements().is_empty() && upright(&all_closed(&path)).is_none() {
                            const BOX: Why = Why::Said(
                                "it is no upright rectangle and its box was taken; lines near it \
                                 may be hidden in the original",
                                "they are no upright rectangles and their boxes were taken; lines \
                                 near them may be hidden in the original",
                            );
                            self.leave("clip", BOX);
                        }
                        state.clip = state.clip.intersect(shape);
                        clips = false;
                    }
                    path = BezPath::new();
                }
                "Do" => {
                    match name(&args).and_then(|name| resources.get_x_object(name)) {
                        Some(object) => self.object(&object, resources, &state)?,
                        // The parser gives none of a form within itself.
                        None => {
                            const MISSING: Why = Why::Said(
                                "it is not in the file, is damaged, or draws itself",
                                "they are not in the file, are damaged, or draw themselves",
                            );
                            self.leave("form or picture", MISSING);
                        }
                    }
                }
                "BI" => self.picture(),
                "sh" => {
                    const SHADE: Why =
                        Why::Said("it is a shading, no line", "they are shadings, no lines");
                    self.leave("shading", SHADE);
                }
                "BMC" => self.mark(None, marks)?,
                "BDC" => {
                    let on = match (args.first(), args.get(1)) {
                        (Some(Object::Name(tag)), Some(Object::Name(property)))
                            if tag.as_str() == "OC" =>
                        {
                            self.cost.steps(LAYER)?;
                            self.shown.property(&resources.properties, property)
                        }
                        _ => None,
                    };
                    self.mark(on, marks)?;
                }
                "EMC" => {
                    if self.hidden.len() > marks {
                        self.hidden.pop();
                    }
                }
                _ => self.text(operator, &args, &n, resources, &mut state)?,
            }
        }
        self.hidden.truncate(marks);
        Ok(())
    }
}
