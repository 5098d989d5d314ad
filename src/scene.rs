//! What is to be lit: polygons in table millimetres, each with its brightness
//! and the height of the plane it must land on. Knows no projector.

use crate::shape::Region;
use crate::space::Table;

/// Linear brightness, in 255ths of the projector's white: light adds, so this
/// is never an sRGB code. Below nought it takes light away: what is summed ends
/// between dark and white.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Level(pub i16);

impl Level {
    /// All the light there is.
    pub const FULL: Level = Level(255);
    /// Takes away all that up to eight full lights give: what stands out upon it
    /// is lit by [`Level::ON_BLACKED`].
    pub const BLACKED: Level = Level(-8 * 255);
    /// White where [`Level::BLACKED`] was put down first.
    pub const ON_BLACKED: Level = Level(9 * 255);
}

/// One area lit evenly.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    pub region: Region<Table>,
    pub level: Level,
}

/// What is lit and moves together: one piece's band, marks and label. Its
/// patches do not overlap one another, nor those of any other figure of the
/// lay; what lies over the lay (pointer, words) may.
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
