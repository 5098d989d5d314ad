//! What lies under or in place of the guides: the work light, plain light, and
//! the finished look.

use crate::lay::{Laid, inside};
use crate::render::Drawn;
use crate::scene::{Figure, Level, Patch};
use crate::shape::{Region, counter_clockwise, intersection};
use crate::space::{Piece, Table};
use crate::work::{Way, Ways};

/// The light under the guides.
pub fn work_light(ways: &Ways) -> Level {
    Level((f64::from(ways.work_light) * 2.55).round() as i16)
}

/// What the whole picture is lit with.
pub fn sheets(ways: &Ways, [width, height]: [u32; 2]) -> Vec<Drawn> {
    let level = match ways.way {
        Way::Plain => Level::FULL,
        Way::Guides | Way::Hand => work_light(ways),
        // Dark is dark, and a fade is judged against the dark.
        Way::Finished | Way::Dark => Level(0),
    };
    if level == Level(0) {
        return Vec::new();
    }
    vec![Drawn::sheet(width, height, level)]
}

/// A piece as it will be seen when it is sewn: light inside its net lines, or
/// inside its cut line if none of them is closed.
pub fn finished(l: &Laid, level: Level) -> Figure {
    let closed = l.piece.net.iter().filter(|n| n.closed);
    let rings: Vec<Vec<_>> = closed
        .map(|n| counter_clockwise(n.points.clone()))
        .collect();
    let region = if rings.is_empty() {
        inside(l)
    } else {
        // A cut-out stays a hole.
        let net: Region<Piece> = crate::shape::union([&Region::new(rings)]);
        let net: Region<Table> = net.moved(&l.pose);
        intersection(&net, &inside(l))
    };
    Figure {
        patches: vec![Patch { region, level }],
        height: l.height,
    }
}
