//! What pages paint: forms, pictures, and paths, which are gathered as strokes.

use hayro_syntax::object::{Array, Dict, Name, Stream};
use hayro_syntax::page::Resources;
use kurbo::{Affine, BezPath, Rect, Shape};

use super::clip;
use super::cost::Cost;
use super::interpret::Walk;
use super::state::State;
use crate::drawing::read::drawn::left_out::Why;
use crate::drawing::read::drawn::place::Part;
use crate::drawing::read::strokes::{MAX_STROKES, Stroke, Where, on_page};
use crate::fault::{Fault, Outcome};
use crate::pattern::NotchKind;

/// Most forms drawn, counted each time one is.
const MAX_FORMS: usize = 20_000;
/// Most forms within one another.
const MAX_DEPTH: usize = 24;

/// Why what can't be unpacked is left out.
pub const DAMAGED: Why = Why::Said(
    "it is missing or damaged, and can't be unpacked",
    "they are missing or damaged, and can't be unpacked",
);

/// Why what lies outside every clip is left out.
pub const CLIPPED: Why = Why::Said(
    "it is clipped away, or off the page",
    "they are clipped away, or off the page",
);

impl Walk<'_> {
    /// An image or a form.
    pub(super) fn object(
        &mut self,
        object: &Stream,
        resources: &Resources,
        state: &State,
    ) -> Outcome<()> {
        let dict = object.dict();
        match dict.get::<Name>("Subtype").as_ref().map(|s| s.as_str()) {
            Some("Form") => {}
            _ => {
                self.picture();
                return Ok(());
            }
        }
        let id = object.obj_id();
        if self.within.contains(&id) {
            return Err(Fault::input(
                "a repeated part draws itself",
                "print the file to PDF again",
            ));
        }
        Cost::spend(
            &mut self.cost.forms,
            1,
            MAX_FORMS,
            "draws repeated parts more than 20 000 times",
        )?;
        if self.within.len() >= MAX_DEPTH {
            return Err(Fault::input(
                "repeated parts lie more than 24 deep within one another",
                "print the file to PDF again",
            ));
        }
        let matrix = dict
            .get::<Array>("Matrix")
            .map(|m| m.iter::<f64>().take(6).collect::<Vec<_>>());
        let matrix = matrix
            .and_then(|m| <[f64; 6]>::try_from(m).ok())
            .map_or(Affine::IDENTITY, Affine::new);
        let mut inner = state.clone();
        inner.ctm *= matrix;
        if let Some(b) = dict.get::<hayro_syntax::object::Rect>("BBox") {
            let shape = inner
                .ctm
                .transform_rect_bbox(Rect::new(b.x0, b.y0, b.x1, b.y1));
            inner.clip = inner.clip.intersect(shape);
        }
        let Some(content) = self.cost.unpacked.stream(object)? else {
            self.leave("form", DAMAGED);
            return Ok(());
        };
        let own = dict.get::<Dict>("Resources").map(Resources::new);
        self.hidden.push(self.shown.entry(dict));
        self.within.push(id);
        self.content(&content, own.as_ref().unwrap_or(resources), inner)?;
        self.within.pop();
        self.hidden.pop();
        Ok(())
    }

    pub(super) fn picture(&mut self) {
        self.pictures += 1;
        const PICTURE: Why = Why::Said("it is a picture, no line", "they are pictures, no lines");
        self.leave("picture", PICTURE);
    }

    /// A path on paper, painted.
    pub(super) fn paint(&mut self, path: BezPath, state: &State, white: bool) -> Outcome<()> {
        if path.segments().next().is_none() {
            return Ok(());
        }
        if !path.is_finite() || !on_page(&path) {
            self.leave(
                "path",
                Why::Said(
                    "it lies farther than 100 m off",
                    "they lie farther than 100 m off",
                ),
            );
            return Ok(());
        }
        let bounds = path.bounding_box();
        let place = Where {
            part: Part::Page,
            number: self.number,
            what: format!(
                "path at x {} mm, y {} mm",
                // Within 100 m, and of thousands of paths most are asked for no words.
                bounds.x0.round() as i64,
                bounds.y0.round() as i64
            ),
        };
        let why = match self.layer() {
            Some(on) if !on.shows => Some(Why::LayerOff(on.layer.clone())),
            _ if white => Some(Why::Said("it is white", "they are white")),
            _ => None,
        };
        if let Some(why) = why {
            self.left_out.add(place.place(), why);
            return Ok(());
        }
        let shows = clip::cut(&path, state.clip);
        if shows.segments().next().is_none() {
            self.left_out.add(place.place(), CLIPPED);
            return Ok(());
        }
        let parts = shows
            .elements()
            .iter()
            .filter(|e| matches!(e, kurbo::PathEl::MoveTo(_)))
            .count();
        Cost::spend(
            &mut self.cost.strokes,
            parts,
            MAX_STROKES,
            "draws more than 500 000 strokes",
        )?;
        let layer = self.layer().map(|on| on.layer.clone());
        self.drawn.strokes.push(Stroke {
            path: shows,
            dashed: state.dashed,
            layer,
            told: None,
            notch: NotchKind::Slit,
            place,
        });
        Ok(())
    }
}
