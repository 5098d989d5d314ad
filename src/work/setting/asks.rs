//! What each step asks of the person, for the panel.

use super::marks::TapeChoice;
use super::typed::{ASKED, Length, place_name};
use super::{Setting, Step};
use crate::calibration::light_on;
use crate::calibration::table_marks::Span;
use crate::measure::Unit;
use crate::projection::grid;
use crate::stand::{Hand, Side};

/// What is asked now.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    pub title: &'static str,
    /// Sentences, without full stops.
    pub words: Vec<String>,
    pub fields: Vec<Field>,
    /// Which field is in hand; 0 if there is none.
    pub field: usize,
    /// Any of them is an answer.
    pub choices: Vec<String>,
    /// The stage's number and how many there are.
    pub step_of: (usize, usize),
}

/// Something to be typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    pub label: String,
    /// What is typed so far.
    pub text: String,
    /// It could not be taken as it stands.
    pub refused: bool,
    /// `mm`, `in`, or nothing.
    pub unit: &'static str,
}

/// How near a mark is set by a reading to a tenth of a fine line, px.
pub const READ_TO: f64 = grid::FINE as f64 / 20.0;

/// How near a mark is set by the finest fine move, px: half of it.
pub const MOVED_TO: f64 = 0.05;

const UPRIGHT: &str = "if the words of light are not upright for you: T turns them, M if they are \
                       mirrored";

const SCALES: &str = "on a printed vernier mark: V lights its scales, and the lines that agree say in \
                      tenths of a millimetre how far the light is off";

impl Setting {
    /// What is asked now.
    pub fn asks(&self) -> Ask {
        Ask {
            title: self.step.title(),
            words: self.words(),
            fields: (0..self.fields()).map(|k| self.field_at(k)).collect(),
            field: self.field,
            choices: self.choices(),
            step_of: self.step.counted(self.start.first_time),
        }
    }

    /// How many fields this step has.
    pub(super) fn fields(&self) -> usize {
        match self.step {
            Step::Count(_) | Step::Wedge => 1,
            Step::Tape if self.typed.by_places => 8,
            Step::Tape | Step::Check => 6,
            Step::Read | Step::More => 4,
            Step::Board if self.board_corner().is_none() => 3,
            _ => 0,
        }
    }

    fn field_at(&self, k: usize) -> Field {
        let taken = self.taken_at(k);
        match self.refused.get(&k) {
            Some(text) => Field {
                text: text.clone(),
                refused: true,
                ..taken
            },
            None => taken,
        }
    }

    /// The field with what was taken in it.
    fn taken_at(&self, k: usize) -> Field {
        let unit = self.unit();
        let typed = &self.typed;
        let length = |label: String, length: &Option<Length>| Field {
            label,
            text: length.as_ref().map_or(String::new(), |l| l.shown(unit)),
            refused: false,
            unit: match unit {
                Unit::Inch => "in",
                _ => "mm",
            },
        };
        let plain = |label: &str, text: String| Field {
            label: label.to_owned(),
            text,
            refused: false,
            unit: "",
        };
        match self.step {
            Step::Count(axis) => {
                let bands = typed.bands[axis].map_or(String::new(), |n| n.to_string());
                plain("bands from edge to edge", bands)
            }
            Step::Wedge => {
                let code = self.known.least_code;
                let text = code.map_or(String::new(), |c| c.to_string());
                plain("first square you can see", text)
            }
            Step::Tape if typed.by_places => length(place_name(k), &typed.places[k]),
            Step::Tape => length(asked(ASKED[k], k), &typed.edges[k]),
            Step::Check => length(on_the_light(ASKED[k]).to_owned(), &typed.check[k]),
            Step::Board => length(super::board::ASKED[k].to_owned(), &self.board.typed[k]),
            Step::More => {
                let from = self.distances().and_then(|d| d[k].clone());
                length(format!("from mark {}, {}", k + 1, corner(k)), &from)
            }
            _ => {
                let on = self.upright();
                let reading = typed.readings.get(k).and_then(Option::as_ref);
                let text = reading.map_or(String::new(), |r| r.shown(on));
                plain(&format!("mark {}, {}", k + 1, corner(k)), text)
            }
        }
    }

    pub(super) fn choices(&self) -> Vec<String> {
        let own = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect();
        match self.step {
            Step::SwitchOff => {
                let day = self.earlier.as_ref().map(|p| p.made.as_deref());
                day.map(|day| match day {
                    Some(day) => format!("the projector is as on {day}: go to the marks"),
                    None => "the projector is as it was: go to the marks".to_owned(),
                })
                .into_iter()
                .collect()
            }
            Step::Stripes => own(&["clean stripes, or an even grey", "bands that stay"]),
            Step::Pairs(_) => own(&[
                "lines too wide (three pixels)",
                "lines too narrow (one pixel)",
                "only soft",
            ]),
            Step::Wedge => own(&["I see none of them", "go on without"]),
            Step::Colours => own(&["as thin and clear as the white ones", "smeared or dim"]),
            Step::Stand => self.stand_choices(),
            Step::Tape => self.tape_choices().into_iter().map(tape_words).collect(),
            Step::Read if self.earlier.as_ref().is_some_and(|p| p.marks.len() >= 4) => {
                own(&["begin from the earlier readings"])
            }
            Step::Mirror => own(&["it goes over a mirror", "it goes straight to the table"]),
            Step::Check => own(&["go on without the measuring tape"]),
            Step::Verdict => self.redos().into_iter().map(|r| r.words()).collect(),
            Step::Done => own(&[
                "set more marks: the light gets surer of its place",
                "find the lens by a board: for thick cloth",
            ]),
            Step::More => own(&["no more marks", "take out the mark that was set last"]),
            _ => Vec::new(),
        }
    }

    fn stand_choices(&self) -> Vec<String> {
        let mirrored = if self.known.mirror {
            "turn the words back over: no mirror"
        } else {
            "the words are mirrored: the light goes over a mirror"
        };
        let mut all = vec![
            "turn the words a quarter turn".to_owned(),
            mirrored.to_owned(),
        ];
        let now = |is: bool| if is { " (now)" } else { "" };
        for side in Side::ALL {
            let here = now(side == self.start.stands);
            all.push(format!("I stand {}{here}", beside(side)));
        }
        for (hand, word) in [(Hand::Left, "left"), (Hand::Right, "right")] {
            let this = now(hand == self.start.cuts);
            all.push(format!("I cut with my {word} hand{this}"));
        }
        all
    }

    fn words(&self) -> Vec<String> {
        let unit = self.unit();
        let own = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect::<Vec<String>>();
        match self.step {
            Step::Cautions => own(&["read them in the light, then go on", UPRIGHT]),
            Step::SwitchOff => own(&[
                "in the projector's own menu, switch off automatic keystone and automatic focus: one \
                 that corrects by itself moves the light after it was set, and this program can't \
                 see that",
                "set its picture to native size, without zoom or overscan, and switch off what dims it by itself (dynamic contrast, eco)",
                UPRIGHT,
            ]),
            Step::Stripes => own(&[
                "look at the stripes: an even grey or clean lines are right",
                "bands mean that the projector rescales the picture: set it to native size; if they \
                 can't be got rid of, choose that they stay",
            ]),
            Step::Count(axis) => {
                let way = if self.counted_across(axis) {
                    "from the left edge to the right one"
                } else {
                    "from the far edge to the near one"
                };
                vec![format!(
                    "count the places {way} where the stripes fade out, and type how many"
                )]
            }
            Step::Pairs(_) => own(&[
                "now two pixels on, two off: look closely where the bands were",
            ]),
            Step::Wedge => own(&[
                "darken the room: what is dimmer than the first square you can see is lost at the \
                 edge of every line",
            ]),
            Step::Colours => own(&["red and blue lines should be as thin as white ones"]),
            Step::Focus => own(&[
                "turn the focus by hand: all nine stars alike is better than one sharp",
                "leave zoom and focus alone from here on",
            ]),
            Step::Stand => own(&[
                "stand where you will work: words, arrows and labels follow you",
                "labels keep clear of the hand that holds the cloth",
            ]),
            Step::Tape if self.typed.by_places => own(&[
                "put four marks on the table, near the corners of the light",
                "type each one's place: x to the right, y away from the front",
            ]),
            Step::Tape => own(&[
                "paste four marks flat on the table, near the corners of the light, where no cloth will lie: 1 front left, 2 front \
                 right, 3 back right, 4 back left",
                "measure the front edge, the left side and both diagonals from mark to mark: a table 1° \
                 out of square is 14 mm out over 800",
                "the right side and the back edge are a check, and needed if the readings do not go together",
            ]),
            Step::HowToRead => own(&["read in the light how a mark is read, then go on"]),
            Step::Read => own(&[
                "walk round once and note each mark's cell and fine lines, tenths by eye; then type \
                 them: H12 3.5 7.2",
            ]),
            Step::Mirror => vec![
                if self.known.mirror {
                    "a mirror was said, and these readings do not turn the picture over: how does the \
                     light go?"
                } else {
                    "these readings turn the picture over: how does the light go?"
                }
                .to_owned(),
            ],
            Step::Fine => {
                let mut words = own(&[
                    "only if you want it finer: drag each cross onto its mark, or use the arrows; 1 to 4 \
                     pick the mark",
                    SCALES,
                ]);
                words.extend(self.stated());
                words
            }
            Step::Check => match self.square() {
                Ok(square) => vec![
                    format!(
                        "lay the measuring tape from corner to corner, where the middles of two lines cross: edges {}, diagonals {}",
                        unit.show(square.side),
                        unit.show(square.expected(Span::Diagonal13))
                    ),
                    format!(
                        "a reading may be off by up to {}; an edge each way and both diagonals tell most",
                        unit.show(square.tolerance(Span::Front))
                    ),
                ],
                Err(fault) => vec![fault.to_string()],
            },
            Step::Verdict => self.verdict_words().into_iter().collect(),
            Step::More => self.more_words(),
            Step::Board => self.board_words(),
            Step::Done => self.summary(),
        }
    }

    /// What the marks leave light off by, in words.
    fn stated(&self) -> Vec<String> {
        let show = |mm: f64| match self.unit() {
            // Sixteenths are too coarse for this.
            Unit::Inch => format!("{:.3} in", mm / Unit::Inch.mm()),
            _ => format!("{mm:.2} mm"),
        };
        let mut words = Vec::new();
        if let (Some(read), Some(moved)) = (self.off(READ_TO), self.off(MOVED_TO)) {
            words.push(format!(
                "read to a tenth of a fine line, light between the marks is off by {:.2} px, {} at \
                 most; set to 0.1 px, by {:.2} px, {}",
                read.px,
                show(read.mm),
                moved.px,
                show(moved.mm)
            ));
        }
        if let Some(error) = self.known.tape_error {
            words.push(format!(
                "the measuring tape adds {} to a mark's place (typical miss)",
                show(error)
            ));
        }
        words
    }

    fn more_words(&self) -> Vec<String> {
        let mut words = vec![format!(
            "stick mark {} down under the cross, or near it and move the cross onto it by drag or \
             arrows; then measure it from marks 1 to 4: three will do, the fourth is a check",
            self.more_in_hand()
        )];
        words.push(SCALES.to_owned());
        words.extend(self.surer());
        words
    }

    fn summary(&self) -> Vec<String> {
        let [w, h] = self.start.picture;
        let mut words = vec![format!("{w} × {h} px on {}", light_on(&self.start.output))];
        words.extend(self.stated());
        words.extend(self.surer());
        words.push(match self.judged() {
            Some(judged) if judged.right() => self.verdict_words().unwrap_or_default(),
            Some(_) => "kept, though the check is not within tolerance".to_owned(),
            None => "not checked with a measuring tape".to_owned(),
        });
        words
    }
}

fn beside(side: Side) -> &'static str {
    match side {
        Side::Front => "at the front, marks 1 and 2 next to me",
        Side::Right => "at the right, marks 2 and 3 next to me",
        Side::Back => "at the back, marks 3 and 4 next to me",
        Side::Left => "at the left, marks 4 and 1 next to me",
    }
}

pub(super) fn corner(mark: usize) -> &'static str {
    ["front left", "front right", "back right", "back left"]
        .get(mark)
        .copied()
        .unwrap_or_default()
}

/// A length between the marks, called as every sentence calls it.
fn asked(span: Span, k: usize) -> String {
    let name = span.to_string();
    let name = name.trim_start_matches("the ");
    if k < super::typed::NEEDED {
        name.to_owned()
    } else {
        format!("{name}, a check")
    }
}

fn on_the_light(span: Span) -> &'static str {
    match span {
        Span::Front => "front edge",
        Span::Left => "left side",
        Span::Diagonal13 => "diagonal from front left to back right",
        Span::Diagonal24 => "diagonal from front right to back left",
        Span::Right => "right side",
        Span::Back => "back edge",
    }
}

fn tape_words(choice: TapeChoice) -> String {
    match choice {
        TapeChoice::ByPlaces(true) => "type the marks' places instead",
        TapeChoice::ByPlaces(false) => "measure edges and diagonals instead",
        TapeChoice::AsBefore => "the marks are where they were",
        TapeChoice::AllTheSame => "go on all the same",
    }
    .to_owned()
}
