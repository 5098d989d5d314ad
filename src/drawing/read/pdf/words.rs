//! Texts: operators of text, and what they show.

use std::rc::Rc;

use hayro_syntax::object::{Name, Object};
use hayro_syntax::page::Resources;
use kurbo::{Affine, Point};

use super::font::Font;
use super::interpret::{SPACE, Walk};
use super::layers::On;
use super::operands::{Numbers, name};
use super::paint::CLIPPED;
use super::state::State;
use crate::drawing::read::drawn::left_out::Why;
use crate::drawing::read::drawn::place::Part;
use crate::drawing::read::strokes::{Text, Where};
use crate::fault::{Outcome, short};

/// Most texts shown.
const MAX_TEXTS: usize = 100_000;

impl Walk<'_> {
    /// Operators of text.
    pub(super) fn text(
        &mut self,
        operator: &str,
        args: &[&Object],
        n: &Numbers,
        resources: &Resources,
        state: &mut State,
    ) -> Outcome<()> {
        let text = &mut state.text;
        let first = n.0.first().copied().unwrap_or(0.0);
        match operator {
            "BT" => text.set(Affine::IDENTITY),
            "Tf" => {
                text.size = n.0.last().copied().unwrap_or(1.0);
                text.font = match name(args) {
                    Some(name) => self.font(name, resources)?,
                    None => None,
                };
            }
            "Tc" => text.letter_space = first,
            "Tw" => text.word_space = first,
            "Tz" => text.stretch = first / 100.0,
            "TL" => text.leading = first,
            "Ts" => text.rise = first,
            "Td" | "TD" => {
                if let &[x, y] = n.0.as_slice() {
                    if operator == "TD" {
                        text.leading = -y;
                    }
                    text.next_line(x, y);
                }
            }
            "Tm" => {
                if let Some(matrix) = n.matrix() {
                    text.set(matrix);
                }
            }
            "T*" => text.next_line(0.0, -text.leading),
            "Tj" => self.show(args, state),
            "'" | "\"" => {
                if let (&[word, letter], "\"") = (n.0.as_slice(), operator) {
                    (text.word_space, text.letter_space) = (word, letter);
                }
                text.next_line(0.0, -text.leading);
                self.show(args, state);
            }
            "TJ" => {
                let list = args.first().and_then(|a| (*a).clone().into_array());
                let items: Vec<Object> = list
                    .iter()
                    .flat_map(|l| l.iter::<Object>().take(100_000))
                    .collect();
                self.show(&items.iter().collect::<Vec<_>>(), state);
            }
            _ => {}
        }
        Ok(())
    }

    /// A font is read once, however often it is set.
    fn font(&mut self, name: &Name, resources: &Resources) -> Outcome<Option<Rc<Font>>> {
        let key = (self.within.last().copied(), name.as_str().to_owned());
        if let Some(font) = self.named_fonts.get(&key) {
            return Ok(Some(font.clone()));
        }
        let Some(dict) = resources.get_font(name) else {
            return Ok(None);
        };
        let known = dict.obj_id().and_then(|id| self.fonts.get(&id)).cloned();
        let font = match known {
            Some(font) => font,
            None => Rc::new(Font::of(&dict, &mut self.cost.unpacked)?),
        };
        if let Some(id) = dict.obj_id() {
            self.fonts.insert(id, font.clone());
        }
        self.named_fonts.insert(key, font.clone());
        Ok(Some(font))
    }

    /// Shows strings; numbers among them move back by thousandths of an em.
    fn show(&mut self, items: &[&Object], state: &mut State) {
        let from = state.text.at();
        let mut words = Some(String::new());
        for item in items {
            match item {
                Object::String(string) => {
                    let Some(font) = state.text.font.clone() else {
                        words = None;
                        continue;
                    };
                    let (told, ems, letters, spaces) = font.read(string.as_bytes());
                    words = words.zip(told).map(|(all, told)| all + &told);
                    state.text.advance(ems, letters, spaces);
                }
                Object::Number(back) => {
                    let back = back.as_f64();
                    state.text.advance(-back / 1000.0, 0, 0);
                    if back < -SPACE
                        && let Some(words) = &mut words
                    {
                        words.push(' ');
                    }
                }
                _ => {}
            }
        }
        let to_paper = state.ctm * state.text.matrix;
        let (at, end) = (state.ctm * from, state.ctm * state.text.at());
        let height = state.text.size.abs() * to_paper.determinant().abs().sqrt();
        let place = Where {
            part: Part::Page,
            number: self.number,
            what: format!(
                "text at x {} mm, y {} mm",
                short(at.x.round()),
                short(at.y.round())
            ),
        };
        self.cost.texts += 1;
        if self.cost.texts > MAX_TEXTS {
            const MANY: Why = Why::Said(
                "it comes after 100 000 others",
                "they come after 100 000 others",
            );
            self.leave("text", MANY);
            return;
        }
        let sound = at.is_finite() && end.is_finite() && height.is_finite();
        if words.as_ref().is_some_and(|w| w.trim().is_empty()) || !sound {
            return;
        }
        if let Some(On {
            layer,
            shows: false,
        }) = self.layer()
        {
            let why = Why::LayerOff(layer.clone());
            self.left_out.add(place.place(), why);
        } else if !state.clip.contains(at) {
            self.left_out.add(place.place(), CLIPPED);
        } else {
            match words {
                Some(words) => {
                    let text = Text {
                        at,
                        words,
                        height,
                        place,
                    };
                    add_text(&mut self.drawn.texts, text, self.text_end.replace(end));
                }
                None => {
                    const CODES: Why = Why::Said(
                        "its letters can't be told: the font does not say them",
                        "their letters can't be told: the fonts do not say them",
                    );
                    self.left_out.add(place.place(), CODES);
                }
            }
        }
    }
}

/// Adds a text; to the last one, which ends at `last`, where it runs on in its line.
fn add_text(texts: &mut Vec<Text>, text: Text, last: Option<Point>) {
    if let (Some(before), Some(last)) = (texts.last_mut(), last) {
        let (run, gap) = (last - before.at, text.at - last);
        let ahead = run.normalize().dot(gap);
        let aside = run.normalize().cross(gap).abs();
        let alike = (text.height - before.height).abs() <= 0.1 * before.height;
        if alike && aside <= 0.2 * text.height && ahead.abs() <= 0.8 * text.height {
            if ahead > 0.2 * text.height && !before.words.ends_with(' ') {
                before.words.push(' ');
            }
            before.words.push_str(&text.words);
            return;
        }
    }
    texts.push(text);
}
