//! Pages of light for setting the table: what the projector shows before, and
//! while, it is calibrated. They are laid out in the reader's px
//! ([`crate::projection::Upright`]), so that words read the right way round from any side of
//! the table and over a mirror, and come out in projector px.
//!
//! What must hit whole pixels is a [`CodeRaster`] of sRGB codes; words and crosses
//! are outlines, lit by the share of each pixel that they cover. The two do not
//! overlap, but for the labels of the reading grid.

mod check;
mod colours;
mod cross;
mod focus;
mod grid;
mod places;
mod raster;
mod sheet;
mod stripes;
mod text;
mod wedge;

pub use check::{CheckPicture, check_picture};
pub use colours::colour_lines;
pub use cross::{Step, cross};
pub use focus::focus;
pub use grid::{CODES as GRID_CODES, UNDER as UNDER_CODE, reading_grid};
pub use places::mark_places;
pub use raster::CodeRaster;
pub use stripes::{Run, Stripes, stripes};
pub use text::{CAUTIONS, cautions, first_words, how_to_read, say, warm_up, warm_up_words};
pub use wedge::wedge;

use crate::scene::{Figure, Level, Patch};
use crate::shape::Region;
use crate::space::{Bounds, Point, Projector};

/// No words nearer to the picture's border than this, px: a projector's own
/// menu may crop that much.
pub const MARGIN: f64 = 24.0;

/// The least height of a capital, px: 12 mm at 0.6 mm a pixel, to be read from
/// 1.5 m.
pub const LEAST_CAPITAL: f64 = 20.0;

/// An area of the picture lit evenly.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    pub region: Region<Projector>,
    pub level: Level,
}

/// A line of words and the room it takes in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Words {
    pub text: String,
    pub room: Bounds<Projector>,
}

/// One page of light.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// The projector's picture, px.
    pub picture: [u32; 2],
    pub raster: Option<CodeRaster>,
    /// What is lit by outlines, words among it. None overlap.
    pub light: Vec<Shape>,
    pub words: Vec<Words>,
}

impl Page {
    /// The outlines as a figure. Its numbers are px, y down, and not table mm:
    /// draw it through [`crate::projection::Mapping::pixels`] and no other.
    pub fn figure(&self) -> Figure {
        let ring = |ring: &Vec<Point<Projector>>| ring.iter().map(|p| p.cast_unit()).collect();
        let patch = |shape: &Shape| Patch {
            region: Region::new(shape.region.rings.iter().map(ring).collect()),
            level: shape.level,
        };
        Figure {
            patches: self.light.iter().map(patch).collect(),
            height: 0.0,
        }
    }
}

#[cfg(test)]
mod tests;
