//! What is to be lit: polygons in table millimetres, each with its brightness
//! and the height of the plane it must land on. Knows no projector.

use crate::shape::Region;
use crate::space::Table;

/// Linear brightness, in 255ths of the projector's white: light adds, so this
/// is never an sRGB code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Level(pub u8);

impl Level {
    /// All the light there is.
    pub const FULL: Level = Level(255);
}

/// One area lit evenly.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    pub region: Region<Table>,
    pub level: Level,
}

/// What is lit and moves together: one piece's band, marks and label. Its
/// patches do not overlap one another, nor those of any other figure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figure {
    pub patches: Vec<Patch>,
    /// Height above the table of the plane the light must land on, mm.
    pub height: f64,
}

/// Everything that is lit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    pub figures: Vec<Figure>,
}
