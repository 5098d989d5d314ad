//! Where tags lie on the table, and what a photo of them says of that.

use super::{COUNT, Doubt, Found, Tag, Why};
use crate::fault::{Fault, Outcome, short};
use crate::photo::Seen;
use crate::space::{Photo, Point, Rigid, Table, Vector};
use std::collections::BTreeMap;

/// Side of a printed tag's black square, mm: eight cells of 7.
pub const SIZE: f64 = 56.0;
/// Distance of the printed sheet's tags, from middle to middle, across and along, mm.
pub const PITCH: f64 = 85.0;
/// Tags across and along the printed sheet.
pub const ACROSS: u16 = 2;
pub const ALONG: u16 = 3;
/// Standard error of a printed corner's place on its sheet along each axis, mm: a printer's
/// paper path and its ink's spread (common practice).
pub const PRINTED: f64 = 0.1;

/// Most that a tag's measured lower side may differ from its size, mm: a tape's reading at
/// either end, and a printer that is 1 in 100 wrong.
const AMISS: f64 = 2.0;
/// Longest table, mm.
const FARTHEST: f64 = 20_000.0;

/// What is known of one tag's place.
#[derive(Debug, Clone, PartialEq)]
struct Placed {
    /// By corner, in the order of [`Tag::corners`]; a place that is not known is `None`.
    corners: [Option<Point<Table>>; 4],
    sigma_mm: f64,
}

/// Tags by number, and where their corners lie on the table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Board {
    tags: BTreeMap<u16, Placed>,
}

/// What a photo of a board says.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// Corners, tag by tag, as a camera's pose is fitted to.
    pub seen: Vec<Seen>,
    /// Numbers of the board's tags that were seen.
    pub ids: Vec<u16>,
    /// What was left out and why, a sentence each.
    pub notes: Vec<String>,
}

impl Board {
    /// The printed sheet, whole and flat, its lower left tag's lower left corner at the
    /// table's origin and its lower side along x: tags 0 and 1 in the upper row, 2 and 3, then
    /// 4 and 5 in the lower. Both papers have it alike.
    pub fn sheet() -> Self {
        let mut board = Self::default();
        for id in 0..ACROSS * ALONG {
            let at = Point::new(
                PITCH * f64::from(id % ACROSS),
                PITCH * f64::from(ALONG - 1 - id / ACROSS),
            );
            let placed = Placed {
                corners: square(at, Vector::new(1.0, 0.0), SIZE).map(Some),
                sigma_mm: PRINTED,
            };
            board.tags.insert(id, placed);
        }
        board
    }

    /// The board as it lies elsewhere on the table.
    #[must_use]
    pub fn moved(mut self, by: &Rigid<Table, Table>) -> Self {
        for placed in self.tags.values_mut() {
            placed.corners = placed.corners.map(|c| c.map(|p| by.point(p)));
        }
        self
    }

    /// A tag of which only the lower left corner was measured (the one marked 1), to
    /// `sigma_mm` along each axis: it gives that corner alone, since its turn is not known.
    ///
    /// # Errors
    /// If the family has no such tag, the board has it already, or a number is of no use.
    pub fn with_corner(
        mut self,
        id: u16,
        lower_left: Point<Table>,
        sigma_mm: f64,
    ) -> Outcome<Self> {
        self.check(id, &[lower_left], sigma_mm)?;
        let placed = Placed {
            corners: [Some(lower_left), None, None, None],
            sigma_mm,
        };
        self.tags.insert(id, placed);
        Ok(self)
    }

    /// A tag of `size` mm of which both lower corners were measured (1 and 2), to `sigma_mm`
    /// along each axis: it gives four, two by its size.
    ///
    /// # Errors
    /// As [`Board::with_corner`], or if the corners are not about as far apart as the tag is
    /// wide.
    pub fn with_side(
        mut self,
        id: u16,
        size: f64,
        lower: [Point<Table>; 2],
        sigma_mm: f64,
    ) -> Outcome<Self> {
        self.check(id, &lower, sigma_mm)?;
        if !(1.0..=FARTHEST).contains(&size) {
            return Err(Fault::input(
                format!("a tag {} mm wide is of no use", short(size)),
                format!("measure its black square; the printed sheet's are {SIZE} mm"),
            )
            .at(format!("tag {id}")));
        }
        let side = lower[1] - lower[0];
        let off = side.length() - size;
        // Both of its ends were measured.
        if off.abs() > AMISS.max(4.0 * sigma_mm).min(size / 2.0) {
            return Err(Fault::input(
                format!(
                    "corners 1 and 2 are {} mm apart, and the tag is {} mm wide",
                    short(side.length()),
                    short(size)
                ),
                "measure both again: 1 is the lower left corner of the black square, 2 the lower \
                 right, with the arrow pointing up",
            )
            .at(format!("tag {id}")));
        }
        // The size is surer than two readings: it is laid out about their middle.
        let along = side.normalize();
        let start = lower[0].lerp(lower[1], 0.5) - along * (size / 2.0);
        let placed = Placed {
            corners: square(start, along, size).map(Some),
            sigma_mm,
        };
        self.tags.insert(id, placed);
        Ok(self)
    }

    /// Numbers of all its tags.
    pub fn ids(&self) -> impl Iterator<Item = u16> + '_ {
        self.tags.keys().copied()
    }

    /// Where a tag's corners lie, in the order of [`Tag::corners`], as far as that is known.
    pub fn corners(&self, id: u16) -> Option<[Option<Point<Table>>; 4]> {
        self.tags.get(&id).map(|placed| placed.corners)
    }

    fn check(&self, id: u16, at: &[Point<Table>], sigma_mm: f64) -> Outcome<()> {
        let wrong = |what: String, remedy: &str| {
            Err(Fault::input(what, remedy.to_owned()).at(format!("tag {id}")))
        };
        if usize::from(id) >= COUNT {
            return wrong(
                format!(
                    "the tags that Ghostchalk reads are numbered 0 to {}",
                    COUNT - 1
                ),
                "read the number that is printed beside the tag on the sheet that `ghostchalk sheets` prints",
            );
        }
        if self.tags.contains_key(&id) {
            return wrong("it has a place already".into(), "give each tag one place");
        }
        let near = |p: &Point<Table>| p.x.abs() <= FARTHEST && p.y.abs() <= FARTHEST;
        if let Some(p) = at.iter().find(|p| !near(p)) {
            return wrong(
                format!("({}, {}) mm is no place on a table", short(p.x), short(p.y)),
                "measure it again, in mm from the table's origin",
            );
        }
        if !(0.0..=100.0).contains(&sigma_mm) {
            return wrong(
                format!("a place can't be sure to {} mm", short(sigma_mm)),
                "give what the tape may be wrong by, 0.5 mm for instance",
            );
        }
        Ok(())
    }

    /// The board's corners as a photo shows them.
    ///
    /// # Errors
    /// If none of the board's tags is in the photo, or one is there twice.
    pub fn seen(&self, found: &Found) -> Outcome<Sighting> {
        let mut sighting = Sighting {
            seen: Vec::new(),
            ids: Vec::new(),
            notes: Vec::new(),
        };
        for pair in found.tags.windows(2) {
            if pair[0].id == pair[1].id && self.tags.contains_key(&pair[0].id) {
                return Err(twice(pair));
            }
        }
        for tag in &found.tags {
            let Some(placed) = self.tags.get(&tag.id) else {
                sighting.notes.push(format!(
                    "tag {} {} is none of those whose place is known, and is left out",
                    tag.id,
                    place(tag.middle())
                ));
                continue;
            };
            sighting.ids.push(tag.id);
            sighting.seen.extend(placed.seen(tag));
        }
        let known = |d: &&Doubt| d.id.is_none_or(|id| self.tags.contains_key(&id));
        let doubts = found.doubts.iter().filter(known).map(doubted);
        sighting.notes.extend(doubts);
        if sighting.seen.is_empty() {
            return Err(self.none(&sighting.notes));
        }
        Ok(sighting)
    }

    fn none(&self, notes: &[String]) -> Fault {
        if self.tags.is_empty() {
            return Fault::input(
                "no tag's place is known",
                "print the sheet of tags, or measure where each lies",
            );
        }
        let what = match notes {
            [] => "no tag is seen in the photo".to_owned(),
            [first, ..] => format!("no tag in the photo can be measured from: {first}"),
        };
        Fault::input(
            what,
            "lay the printed tags flat and uncovered, each with its white margin, in even light, \
             and take the photo from where each fills a twentieth of its width or more",
        )
    }
}

impl Placed {
    fn seen(&self, tag: &Tag) -> Vec<Seen> {
        let corners = tag.corners.iter().zip(tag.sigma_px).enumerate();
        let known = corners.zip(self.corners);
        known
            .filter_map(|((k, (at, sigma)), is)| {
                // What a mm is there, px: by the two sides that meet in the corner.
                let sides = [1, 3].map(|d| (tag.corners[(k + d) % 4] - *at).length());
                let mm = self.sigma_mm * 0.5 * (sides[0] + sides[1]) / self.side();
                Some(Seen {
                    at: *at,
                    is: is?,
                    sigma_px: sigma.hypot(mm),
                })
            })
            .collect()
    }

    /// The black square's side, mm.
    fn side(&self) -> f64 {
        match self.corners {
            [Some(a), Some(b), ..] => (b - a).length(),
            _ => SIZE,
        }
    }
}

/// Lower left, lower right, upper right, upper left.
fn square(at: Point<Table>, along: Vector<Table>, size: f64) -> [Point<Table>; 4] {
    let right = along * size;
    let up = Vector::new(-right.y, right.x);
    [at, at + right, at + right + up, at + up]
}

fn place(at: Point<Photo>) -> String {
    format!("at {:.0}, {:.0} px", at.x, at.y)
}

fn twice(pair: &[Tag]) -> Fault {
    let [a, b] = [pair[0].middle(), pair[1].middle()];
    Fault::input(
        format!(
            "tag {} is in the photo twice, {} and {}",
            pair[0].id,
            place(a),
            place(b)
        ),
        "take one away, or cover it, and what mirrors it; print a sheet only once",
    )
}

fn doubted(doubt: &Doubt) -> String {
    let name = doubt
        .id
        .map_or_else(|| "something like a tag".into(), |id| format!("tag {id}"));
    let why = match doubt.why {
        Why::Covered => "is partly covered, or has no white margin",
        Why::Blurred => "is too small or too blurred",
        Why::Crumpled => "doesn't lie flat",
        Why::Mirrored => "is mirrored: turn the camera's mirroring off",
        Why::Unknown => "is none of those that `ghostchalk sheets` prints",
    };
    format!("{name} {} {why}", place(doubt.at))
}

#[cfg(test)]
#[path = "board_tests.rs"]
mod tests;
