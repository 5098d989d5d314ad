//! What each act comes to.

use super::typed::Length;
use super::{Ended, Known, Setting, SettingAct, SettingReply, Step};
use crate::calibration::Profile;
use crate::fault::{Fault, Outcome};
use crate::projection::rescaled::{InBands, effective_pixel};
use crate::projection::wedge::least_visible_code;
use crate::space::{Point, Projector, Vector};
use crate::stand::{Hand, Side};
use crate::work::Said;

impl SettingReply {
    pub(super) fn saying(words: impl Into<String>) -> Self {
        Self {
            said: Some(Said {
                words: words.into(),
                warning: false,
            }),
            ended: None,
        }
    }

    pub(super) fn warning(words: impl Into<String>) -> Self {
        let mut reply = Self::saying(words);
        if let Some(said) = &mut reply.said {
            said.warning = true;
        }
        reply
    }

    pub(super) fn ending(ended: Ended) -> Self {
        Self {
            said: None,
            ended: Some(ended),
        }
    }
}

/// What is seen near black.
pub(super) const NONE_SEEN: &str = "then the projector swallows dark steps: set its input range to full (RGB full, PC mode) and \
     its black level up, and look again";

/// What can be done about smeared colours.
const SMEARED: &str = "noted: until the output is set to full colour (4:4:4, RGB, PC mode), read and cut by white \
     light only";

impl Setting {
    /// Takes an act in. Whatever it is, the machine is in a step that can be
    /// shown; what is refused is said.
    pub fn answer(&mut self, act: SettingAct) -> SettingReply {
        let done = match act {
            SettingAct::GoOn => self.go_on(),
            SettingAct::Back => Ok(self.back()),
            SettingAct::Typed(text) => self.typed(&text),
            SettingAct::Choose(n) => self.choose(n),
            SettingAct::Field(k) => {
                self.field = k.min(self.fields().saturating_sub(1));
                Ok(SettingReply::default())
            }
            SettingAct::Nudge { right, away } => self.nudge(Vector::new(right, -away)),
            SettingAct::Step(pace) => {
                self.pace = pace;
                Ok(SettingReply::default())
            }
            SettingAct::Drag(to) => self.drag(to),
            SettingAct::PickMark(n) => self.pick(n),
            SettingAct::SetSide(side) => {
                self.set_side(side);
                Ok(SettingReply::default())
            }
            SettingAct::SetHand(hand) => {
                self.start.cuts = hand;
                Ok(SettingReply::default())
            }
            SettingAct::TurnWords => self.turn_words(),
            SettingAct::Mirror(mirror) => self.set_mirror(mirror),
            SettingAct::Inches(inches) => {
                self.start.inches = inches;
                // A verdict was about a square of the other unit.
                if self.step == Step::Verdict {
                    self.again(Step::Check);
                }
                Ok(SettingReply::default())
            }
            SettingAct::Scales => {
                self.scales = !self.scales;
                Ok(SettingReply::default())
            }
            SettingAct::Leave => Ok(SettingReply::ending(Ended::Left)),
        };
        done.unwrap_or_else(|fault: Fault| SettingReply::warning(fault.to_string()))
    }

    /// To the next step, with what this one concluded.
    pub(super) fn go(&mut self, to: Step, known: Known) {
        let before = std::mem::replace(&mut self.known, known);
        self.past.push((self.step, before));
        self.enter(to);
    }

    fn enter(&mut self, step: Step) {
        self.step = step;
        self.field = 0;
        self.refused.clear();
        self.sheet = 0;
        self.sheets = 1;
        self.doubt = false;
    }

    /// Back to an earlier step, whose answer and all after it are taken back.
    pub(super) fn again(&mut self, to: Step) {
        if let Some(at) = self.past.iter().rposition(|(s, _)| *s == to) {
            if self.step == Step::More {
                // The one in hand was not gone on from.
                self.more.pop();
            }
            self.known = self.past[at].1.clone();
            self.past.truncate(at);
            self.enter(to);
        }
    }

    fn back(&mut self) -> SettingReply {
        if self.sheet > 0 {
            self.sheet -= 1;
            return SettingReply::default();
        }
        match self.past.last() {
            Some(&(step, _)) => {
                self.again(step);
                SettingReply::default()
            }
            None => SettingReply::ending(Ended::Left),
        }
    }

    fn go_on(&mut self) -> Outcome<SettingReply> {
        if self.step.is_words() && self.sheet + 1 < self.sheets {
            self.sheet += 1;
            return Ok(SettingReply::default());
        }
        // What stands in a field and was not taken is not passed over, nor called missing.
        if let Some((field, text)) = self.refused.pop_first() {
            self.field = field;
            return self.typed(&text);
        }
        let known = self.known.clone();
        let choose = || {
            Err(Fault::input(
                "nothing is chosen yet",
                "choose by its number",
            ))
        };
        match self.step {
            Step::Cautions => self.go(Step::SwitchOff, known),
            Step::SwitchOff => self.go(Step::Stripes, known),
            Step::Stripes | Step::Pairs(_) | Step::Colours | Step::Mirror => return choose(),
            Step::Count(axis) => return self.counted(axis),
            Step::Wedge => {
                return Err(Fault::input(
                    "no square is named",
                    "type the number of the first one you can see",
                ));
            }
            Step::Focus => self.go(Step::Stand, known),
            Step::Stand => self.go(Step::Tape, known),
            Step::Tape => return self.taped(),
            Step::HowToRead => self.go(Step::Read, known),
            Step::Read => return self.readings_done(),
            Step::Fine => return self.moves_done(),
            Step::Check => return self.check_done(),
            Step::Verdict => return self.verdict_done(),
            Step::More => return self.more_done(),
            Step::Board => return self.board_done(),
            Step::Done if !self.more.is_empty() => return self.set_with_all(),
            Step::Done => return Ok(SettingReply::ending(Ended::Set)),
        }
        Ok(SettingReply::default())
    }

    fn typed(&mut self, text: &str) -> Outcome<SettingReply> {
        let text = text.trim();
        let field = self.field;
        self.refused.remove(&field);
        let done = self.take(text);
        if done.is_err() && !text.is_empty() && field < self.fields() {
            self.refused.insert(field, text.to_owned());
            // What was doubted, and what may be gone on from, was typed before.
            self.doubt = false;
        }
        done
    }

    /// Takes in what is typed into the field in hand.
    fn take(&mut self, text: &str) -> Outcome<SettingReply> {
        let field = self.field;
        let reply = match self.step {
            Step::Count(axis) if text.is_empty() => {
                self.typed.bands[axis] = None;
                return self.go_on();
            }
            Step::Wedge if text.is_empty() => return self.go_on(),
            Step::Count(axis) => {
                let count = number(text, "how many bands there are, in digits; 0 for none")?;
                // Too many to mean anything are refused at once.
                effective_pixel(count, self.start.picture[axis], InBands::Soft)?;
                self.typed.bands[axis] = Some(count);
                return self.counted(axis);
            }
            Step::Wedge => {
                let count = number(text, "an even number from 2 to 32")?;
                let code = least_visible_code(count)?;
                let known = Known {
                    least_code: Some(code),
                    ..self.known.clone()
                };
                self.go(Step::Colours, known);
                return Ok(SettingReply::saying(format!(
                    "the darkest light that counts here is step {code} of 255"
                )));
            }
            Step::Tape if self.typed.by_places => {
                let unit = self.unit();
                let (slot, shown) = length(&self.typed.places[field], text, unit, false)?;
                self.typed.places[field] = slot;
                shown
            }
            Step::Tape => {
                let unit = self.unit();
                let (slot, shown) = length(&self.typed.edges[field], text, unit, true)?;
                self.typed.edges[field] = slot;
                self.doubt = false;
                shown
            }
            Step::Check => {
                let unit = self.unit();
                let (slot, shown) = length(&self.typed.check[field], text, unit, true)?;
                self.typed.check[field] = slot;
                shown
            }
            Step::More => {
                let unit = self.unit();
                let now = self.distances().and_then(|d| d[field].clone());
                let (slot, shown) = length(&now, text, unit, true)?;
                if let Some(more) = self.more.last_mut() {
                    more.distances[field] = slot;
                }
                self.doubt = false;
                shown
            }
            Step::Board => {
                let unit = self.unit();
                let (slot, shown) = length(&self.board.typed[field], text, unit, true)?;
                self.board.typed[field] = slot;
                shown
            }
            Step::Read => self.read_mark(field, text)?,
            _ => {
                return Err(Fault::input(
                    "nothing is to be typed here",
                    "go on, or choose",
                ));
            }
        };
        if self.field + 1 < self.fields() {
            self.field += 1;
        } else if text.is_empty() {
            return self.go_on();
        }
        Ok(reply.map_or_else(SettingReply::default, SettingReply::saying))
    }

    fn choose(&mut self, n: usize) -> Outcome<SettingReply> {
        if n >= self.choices().len() {
            return Err(Fault::input(
                "there is no such choice",
                "choose one by its number",
            ));
        }
        let mut known = self.known.clone();
        match self.step {
            // Offered only with an earlier profile.
            Step::SwitchOff => {
                if let Some(Profile {
                    effective_px,
                    least_code,
                    colour_lines_clean,
                    ..
                }) = &self.earlier
                {
                    known.effective = *effective_px;
                    known.least_code = *least_code;
                    known.colours_clean = *colour_lines_clean;
                }
                self.go(Step::Stand, known);
            }
            Step::Stripes if n == 0 => {
                known.effective = Some([1.0; 2]);
                self.go(Step::Wedge, known);
            }
            Step::Stripes => self.go(Step::Count(0), known),
            Step::Pairs(axis) => {
                let seen = [InBands::Wide, InBands::Narrow, InBands::Soft][n];
                let bands = self.typed.bands[axis].unwrap_or(0);
                let length = effective_pixel(bands, self.start.picture[axis], seen)?;
                return Ok(self.effective(axis, length));
            }
            Step::Wedge if n == 0 => return Ok(SettingReply::warning(NONE_SEEN)),
            Step::Wedge => {
                known.least_code = None;
                self.go(Step::Colours, known);
            }
            Step::Colours => {
                known.colours_clean = Some(n == 0);
                self.go(Step::Focus, known);
                if n > 0 {
                    return Ok(SettingReply::warning(SMEARED));
                }
            }
            Step::Stand => return self.choose_stand(n),
            Step::Tape => return self.choose_tape(n),
            Step::Read => self.read_as_before(),
            Step::Mirror => return self.choose_mirror(n == 0),
            Step::Check => {
                known.judged = None;
                self.note_check(&mut known);
                self.go(Step::Done, known);
                return Ok(SettingReply::warning(
                    "set, and not checked with a measuring tape",
                ));
            }
            Step::Verdict => return self.choose_redo(n),
            Step::Done if n == 0 => return self.begin_more(),
            Step::Done => return self.begin_board(),
            Step::More if n == 0 => return self.more_over(),
            Step::More => return self.less(),
            _ => {}
        }
        Ok(SettingReply::default())
    }

    /// The bands along an axis are counted.
    fn counted(&mut self, axis: usize) -> Outcome<SettingReply> {
        match self.typed.bands[axis] {
            None => Err(Fault::input(
                "it is not said how many bands there are",
                "count them from edge to edge and type how many; 0 for none",
            )),
            Some(0) => Ok(self.effective(axis, 1.0)),
            Some(_) => {
                let known = self.known.clone();
                self.go(Step::Pairs(axis), known);
                Ok(SettingReply::default())
            }
        }
    }

    /// The length of an effective pixel along an axis is known.
    fn effective(&mut self, axis: usize, length: f64) -> SettingReply {
        let mut known = self.known.clone();
        let mut both = known.effective.unwrap_or([1.0; 2]);
        both[axis] = length;
        known.effective = Some(both);
        let to = if axis == 0 {
            Step::Count(1)
        } else {
            Step::Wedge
        };
        self.go(to, known);
        let along = ["width", "height"][axis];
        if length == 1.0 {
            return SettingReply::saying(format!("pixel for pixel along the picture's {along}"));
        }
        SettingReply::saying(format!(
            "along the picture's {along} a pixel of the projector is {length:.3} px long; no light is \
             finer than {:.2} px, and bands are at least {:.1} px wide",
            length.max(1.0),
            3.0 * length.max(1.0)
        ))
    }

    fn choose_stand(&mut self, n: usize) -> Outcome<SettingReply> {
        match n {
            0 => return self.turn_words(),
            1 => {
                let mirror = !self.known.mirror;
                return self.set_mirror(mirror);
            }
            2..=5 => self.set_side(Side::ALL[n - 2]),
            6 => self.start.cuts = Hand::Left,
            _ => self.start.cuts = Hand::Right,
        }
        Ok(SettingReply::default())
    }

    /// The person has walked to another side: words turn with them.
    fn set_side(&mut self, side: Side) {
        let at = |s: Side| Side::ALL.iter().position(|o| *o == s).unwrap_or(0);
        let walked = 4 + at(side) - at(self.start.stands);
        self.reads = Side::ALL[(at(self.reads) + walked) % 4];
        self.start.stands = side;
    }

    fn turn_words(&mut self) -> Outcome<SettingReply> {
        self.not_yet_read()?;
        let at = Side::ALL.iter().position(|o| *o == self.reads).unwrap_or(0);
        self.reads = Side::ALL[(at + 1) % 4];
        Ok(SettingReply::default())
    }

    fn set_mirror(&mut self, mirror: bool) -> Outcome<SettingReply> {
        self.not_yet_read()?;
        self.known.mirror = mirror;
        Ok(SettingReply::default())
    }

    /// From the marks on, they say how the light lies.
    fn not_yet_read(&self) -> Outcome<()> {
        if self.known.profile.is_some() {
            return Err(Fault::input(
                "the marks say how the light lies",
                "to change it, go back and read them again",
            ));
        }
        Ok(())
    }

    fn nudge(&mut self, by: Vector<crate::projection::Reader>) -> Outcome<SettingReply> {
        let on = self.upright();
        let to = on.pixel(on.reader(self.cross().1) + by);
        self.drag(to)
    }

    fn drag(&mut self, to: Point<Projector>) -> Outcome<SettingReply> {
        let [w, h] = self.start.picture.map(f64::from);
        let inside = to.clamp(Point::origin(), Point::new(w, h));
        match (self.step, self.more.last_mut()) {
            _ if !to.is_finite() => {}
            (Step::Fine, _) => self.crosses[self.mark] = inside,
            (Step::More, Some(more)) => more.at = inside,
            (Step::Board, _) => {
                let corner = self.board.corner;
                if let Some(at) = self.board.crosses.get_mut(corner) {
                    *at = inside;
                }
            }
            _ => {}
        }
        Ok(SettingReply::default())
    }

    fn pick(&mut self, n: u32) -> Outcome<SettingReply> {
        let Some(mark) = (1..=4).contains(&n).then(|| n as usize - 1) else {
            return Err(Fault::input(
                format!("there is no mark {n}"),
                "they are 1 to 4",
            ));
        };
        match self.step {
            Step::Fine => self.mark = mark,
            Step::Read => self.field = mark,
            _ => {}
        }
        Ok(SettingReply::default())
    }
}

/// A whole number; the remedy says what of.
fn number(text: &str, like: &str) -> Outcome<u32> {
    text.parse().map_err(|_| {
        let short: String = text.chars().take(40).collect();
        Fault::input(
            format!("\"{short}\" is not a whole number"),
            format!("type {like}"),
        )
    })
}

/// What a length's slot holds after `text` was typed into it, and what is said:
/// nothing typed leaves it empty, and what stands there unchanged stays.
type Slot = (Option<Length>, Option<String>);

fn length(
    now: &Option<Length>,
    text: &str,
    unit: crate::measure::Unit,
    positive: bool,
) -> Outcome<Slot> {
    if text.is_empty() {
        return Ok((None, None));
    }
    if now.as_ref().is_some_and(|l| l.shown(unit) == text) {
        return Ok((now.clone(), None));
    }
    let read = Length::read(text, unit)?;
    if positive && read.mm <= 0.0 {
        return Err(Fault::input(
            format!("\"{text}\" is no distance"),
            "measure from mark to mark",
        ));
    }
    let shown = unit.show(read.mm);
    Ok((Some(read), Some(shown)))
}
