//! Where to hang the lens above one's own table, worked out before anything is bought or
//! drilled.
//!
//! Lengths are mm and angles radians, unless a name says otherwise. Places are table space (x
//! along the near edge to the right, from its left end; y away from the person); heights count
//! from the table's top, unless they are said to count from the floor. The lens is a point that
//! looks straight down through optics that bend nothing; a pixel is square.
//!
//! Where the formulas come from:
//! * throw ratio = distance ÷ picture width (projectors' data sheets);
//! * lens offset = how far the picture's middle lies from the lens' axis, in parts of the
//!   picture's height: at 0.5 the axis goes through the picture's edge (data sheets; common
//!   practice). Some sheets count from the picture's edge instead: look at their drawing;
//! * light aimed at a place d from the lens' foot lands d·t/h short on cloth t thick (similar
//!   triangles; `projection` corrects by the same);
//! * a ball's shadow is where its tangent cone from the lens meets the table: an ellipse, if the
//!   lens hangs higher than the ball's top (plane sections of a cone).
//!
//! The person is common practice, from memory and not measured: the head is a ball of
//! [`HEAD`] radius, its top as high as the person stands, its middle leaning in over the near
//! edge by [`LEAN`]. A head that leans is lower in truth, and its shadow is smaller.

mod freed;
mod head;
mod page;
mod plan;
mod side;
mod view;
mod wanted;
mod words;

#[cfg(test)]
mod page_tests;
#[cfg(test)]
mod tests;

pub use freed::Freed;
pub use head::{Head, Oval};
pub use page::hang_page;
pub use wanted::{Side, Wanted};
pub use words::{told, warnings};

use crate::fault::{Fault, Outcome, short};
use crate::projection::LensPlace;
use crate::space::{Bounds, Point, Table, Vector};
use wanted::HEIGHTS;

/// Where the height is proposed, the picture is so many times as large as the table, at least.
pub const COVERS: f64 = 1.05;
/// Where hands work: from here to there in from the near edge, in its middle, mm (common
/// practice).
pub const WORK: [f64; 2] = [100.0, 400.0];
/// How far the head's middle leans in over the near edge, mm (common practice).
pub const LEAN: f64 = 250.0;
/// The head's radius, mm (common practice).
pub const HEAD: f64 = 100.0;
/// How well the lens' place is known, mm, each way and in height: what is left of a height error
/// is told for this.
pub const KNOWN: f64 = 30.0;
/// What is held so high above the cloth is told for its shadow, mm.
pub const HELD: f64 = 50.0;

/// The largest picture, mm: beyond it a number has slipped.
const LARGEST: f64 = 20_000.0;

/// Where the lens hangs, and what follows from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hang {
    pub wanted: Wanted,
    pub side: Side,
    pub lens: LensPlace,
    /// Whether the height is ours.
    pub proposed: bool,
    /// The picture on the table, mm, width first.
    pub size: [f64; 2],
    /// What it lights of the table's plane.
    pub lit: Bounds<Table>,
    pub head: Head,
}

/// Where the lens hangs if the picture lies about the table's middle.
///
/// # Errors
/// A number that no table, projector, person or room has.
pub fn hang(wanted: &Wanted) -> Outcome<Hang> {
    wanted.sound()?;
    let (side, covering) = wanted.covering();
    let height = wanted.height.unwrap_or(covering);
    if !(HEIGHTS[0]..=HEIGHTS[1]).contains(&height) {
        return Err(Fault::input(
            format!(
                "to cover this table the lens would hang {} mm above it",
                short(height.round())
            ),
            "check the table's sides and the throw ratio, or give a height of 300 to 10000 mm",
        )
        .at("--throw"));
    }
    let size = wanted.size_at(height);
    if size[0].max(size[1]) > LARGEST {
        return Err(Fault::input(
            format!(
                "from {} mm up the picture would be {} by {} mm",
                short(height.round()),
                short(size[0].round()),
                short(size[1].round())
            ),
            "check the height, the throw ratio and the picture's pixels",
        )
        .at("--throw"));
    }
    let [along, away] = wanted.table;
    let middle: Point<Table> = Point::new(along / 2.0, away / 2.0);
    let half: Vector<Table> = match side.is_across() {
        true => Vector::new(size[0], size[1]) / 2.0,
        false => Vector::new(size[1], size[0]) / 2.0,
    };
    Ok(Hang {
        wanted: *wanted,
        side,
        lens: LensPlace {
            foot: middle + side.way() * (wanted.offset * size[1]),
            height,
        },
        proposed: wanted.height.is_none(),
        size,
        lit: Bounds::new(middle - half, middle + half),
        head: Head {
            at: Point::new(along / 2.0, LEAN),
            height: wanted.person - HEAD - wanted.table_height,
            radius: HEAD,
        },
    })
}

impl Hang {
    /// The lens above the floor, mm.
    pub fn above_floor(&self) -> f64 {
        self.wanted.table_height + self.lens.height
    }

    /// A pixel along x and along y, mm.
    pub fn pixel(&self) -> [f64; 2] {
        let [wide, high] = self.wanted.picture.map(f64::from);
        let [x, y] = match self.side.is_across() {
            true => [wide, high],
            false => [high, wide],
        };
        [self.lit.width() / x, self.lit.height() / y]
    }

    /// How far the picture reaches beyond the table left, right, near and far, mm; what is
    /// negative isn't covered.
    pub fn beyond(&self) -> [f64; 4] {
        let [along, away] = self.wanted.table;
        let lit = &self.lit;
        [-lit.min.x, lit.max.x - along, -lit.min.y, lit.max.y - away]
    }

    /// The corner of the table that is farthest from the lens' foot, and how far it is.
    pub fn corner(&self) -> (Point<Table>, f64) {
        let [along, away] = self.wanted.table;
        let far = |p: Point<Table>| (p - self.lens.foot).length();
        // Of corners that are as far, the near right one: the drawing has room there.
        let corners = [(along, 0.0), (0.0, 0.0), (along, away), (0.0, away)];
        corners
            .map(|(x, y)| Point::new(x, y))
            .into_iter()
            .map(|p| (p, far(p)))
            .reduce(|a, b| if b.1 > a.1 + 1e-9 { b } else { a })
            .unwrap_or((self.lens.foot, 0.0))
    }

    /// How far light that is aimed `d` mm from the lens' foot lands short of it on cloth
    /// `thick` mm thick, mm.
    pub fn lands_short(&self, d: f64, thick: f64) -> f64 {
        d * thick / self.lens.height
    }

    /// What is left of that at most where heights are corrected for, mm, if the lens is not
    /// where it is believed to be, but [`KNOWN`] mm beside it and higher or lower by as much.
    pub fn left(&self, d: f64, thick: f64) -> f64 {
        let height = self.lens.height;
        let both = [-KNOWN, KNOWN];
        let errors = both.iter().flat_map(|aside| {
            both.iter().map(move |up| {
                let aim = d + (d - aside) * thick / (height + up - thick);
                (aim * (1.0 - thick / height) - d).abs()
            })
        });
        errors.fold(0.0, f64::max)
    }

    /// What one degree of tilt does, mm: by how much it moves the middle of the picture, and
    /// by how much it makes one edge longer than the one across from it. `None` if some of the
    /// picture would no longer meet the table's plane.
    ///
    /// Seen from the lens, a place s beyond the foot lies at (x, s, −h); turned by δ it meets
    /// the plane at h·(s cos δ + h sin δ)/(h cos δ − s sin δ), and what was wide there is
    /// h/(h cos δ − s sin δ) times as wide.
    pub fn one_degree(&self) -> Option<[f64; 2]> {
        let h = self.lens.height;
        let (sin, cos) = 1f64.to_radians().sin_cos();
        let [wide, high] = self.size;
        let middle = self.wanted.offset * high;
        let wider = |s: f64| {
            let depth = h * cos - s * sin;
            (depth > 0.0).then(|| h / depth)
        };
        let [here, beyond] = [middle - high / 2.0, middle + high / 2.0];
        let moved = (middle * cos + h * sin) * wider(middle)? - middle;
        Some([moved, wide * (wider(beyond)? - wider(here)?)])
    }
}
