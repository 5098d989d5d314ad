//! What a person knows of table, projector and room, and whether there is such a thing.

use super::{COVERS, HEAD};
use crate::fault::{Fault, Outcome, short};
use crate::space::{Table, Vector};

/// Lenses hang between these heights over a table, mm.
pub(super) const HEIGHTS: [f64; 2] = [300.0, 10_000.0];
/// Sides of a table, mm: on the shortest there is room for hands to work.
const TABLES: [f64; 2] = [200.0, 10_000.0];

/// A side of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Near,
    Far,
    Left,
    Right,
}

impl Side {
    pub fn word(self) -> &'static str {
        match self {
            Side::Near => "near",
            Side::Far => "far",
            Side::Left => "left",
            Side::Right => "right",
        }
    }

    /// From the table's middle towards that side.
    pub(super) fn way(self) -> Vector<Table> {
        match self {
            Side::Near => Vector::new(0.0, -1.0),
            Side::Far => Vector::new(0.0, 1.0),
            Side::Left => Vector::new(-1.0, 0.0),
            Side::Right => Vector::new(1.0, 0.0),
        }
    }

    /// Whether the picture's width runs along the near edge: the offset, which is along its
    /// height, then goes near or far.
    pub fn is_across(self) -> bool {
        matches!(self, Side::Near | Side::Far)
    }
}

/// What a person knows of table, projector and room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// The table along its near edge, and away from it, mm.
    pub table: [f64; 2],
    /// The projector's picture, px, width first.
    pub picture: [u32; 2],
    pub throw: f64,
    /// The lens above the table, mm; none: the height at which the picture covers the table.
    pub height: Option<f64>,
    /// In parts of the picture's height, not negative.
    pub offset: f64,
    /// The side of the picture's middle at which the lens hangs if it has an offset; none: far
    /// or right, whichever takes the lower height.
    pub side: Option<Side>,
    /// How tall the person is, mm.
    pub person: f64,
    /// The table's top above the floor, mm.
    pub table_height: f64,
    /// The thickest cloth or stack, mm.
    pub thick: f64,
    /// The ceiling above the floor, mm.
    pub ceiling: Option<f64>,
}

fn within(flag: &str, what: &str, mm: f64, [least, most]: [f64; 2]) -> Outcome<()> {
    if (least..=most).contains(&mm) {
        return Ok(());
    }
    let (least, most) = (short(least), short(most));
    Err(Fault::input(
        format!("{what} is {} mm", short(mm)),
        format!("give a length of {least} to {most} mm, with its unit"),
    )
    .at(flag))
}

impl Wanted {
    pub(super) fn sound(&self) -> Outcome<()> {
        for mm in self.table {
            within("--table", "a side of the table", mm, TABLES)?;
        }
        if self.picture.iter().any(|px| !(64..=16_384).contains(px)) {
            let [wide, high] = self.picture;
            return Err(Fault::input(
                format!("the picture is {wide} by {high} px"),
                "give the projector's own width and height, each 64 to 16384 px",
            )
            .at("--picture"));
        }
        if !(0.1..=10.0).contains(&self.throw) {
            return Err(Fault::input(
                format!("the throw ratio is {}", short(self.throw)),
                "give distance divided by picture width, 0.1 to 10, from the data sheet",
            )
            .at("--throw"));
        }
        if !(0.0..=2.0).contains(&self.offset) {
            return Err(Fault::input(
                format!("the lens offset is {} %", short(self.offset * 100.0)),
                "give 0% to 200% of the picture's height, and the lens' side by --side",
            )
            .at("--offset"));
        }
        if let Some(mm) = self.height {
            within("--height", "the lens' height above the table", mm, HEIGHTS)?;
        }
        let tall = [500.0, 2500.0];
        within("--person", "the person's height", self.person, tall)?;
        let top = "the table's height above the floor";
        within("--table-height", top, self.table_height, [0.0, 1500.0])?;
        within("--thick", "the thickest cloth", self.thick, [0.0, 200.0])?;
        if let Some(mm) = self.ceiling {
            let low = self.table_height + HEIGHTS[0];
            within(
                "--ceiling",
                "the ceiling's height above the floor",
                mm,
                [low, 20_000.0],
            )?;
        }
        if self.person - 2.0 * HEAD < self.table_height {
            return Err(Fault::input(
                format!(
                    "a head {} mm above the floor is not above a table of {} mm",
                    short(self.person),
                    short(self.table_height)
                ),
                "give the person's height as they stand at the table, and --table-height",
            )
            .at("--person"));
        }
        Ok(())
    }

    /// The picture from a height, mm: width and height.
    pub(super) fn size_at(&self, height: f64) -> [f64; 2] {
        let [wide, high] = self.picture.map(f64::from);
        let width = height / self.throw;
        [width, width * high / wide]
    }

    /// The side at which the lens hangs, and the lowest height from which the picture covers
    /// the table and something to spare.
    pub(super) fn covering(&self) -> (Side, f64) {
        let [wide, high] = self.picture.map(f64::from);
        let from = |side: Side| {
            let [along, away] = self.table;
            let (by_width, by_height) = match side.is_across() {
                true => (along, away),
                false => (away, along),
            };
            COVERS * self.throw * by_width.max(by_height * wide / high)
        };
        let side = self
            .side
            .unwrap_or(match from(Side::Right) < from(Side::Far) {
                true => Side::Right,
                false => Side::Far,
            });
        (side, from(side))
    }
}
