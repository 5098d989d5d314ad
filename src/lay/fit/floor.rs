//! The free areas of the panels, as the search takes them.

use super::engine::Frame;
use super::free::Free;
use super::outline::{SLACK, fewer, in_f32, shrunk};
use super::{Rules, Spread};
use crate::shape::{Region, connected, difference, offset, signed_area, union};
use crate::space::{Cloth, Vector};

/// Which panel a frame is cut from, and where its origin lies in it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Floor {
    pub spread: usize,
    pub origin: Vector<Cloth>,
}

/// The connected free areas of at least `least` mm², of all panels; with what is laid
/// already, or as if nothing were.
pub(super) fn frames(
    spreads: &[Spread],
    rules: &Rules,
    least: f64,
    with_taken: bool,
) -> (Vec<Frame>, Vec<Floor>) {
    let mut frames = Vec::new();
    let mut floors = Vec::new();
    for (k, spread) in spreads.iter().enumerate() {
        for area in connected(&free(spread, rules, with_taken)) {
            if area.area() < least {
                continue;
            }
            let Some(bounds) = area.bounds() else {
                continue;
            };
            // Near the origin f32 has digits to spare.
            let origin = bounds.min.to_vector();
            if let Some(frame) = frame(&area, origin) {
                frames.push(frame);
                floors.push(Floor { spread: k, origin });
            }
        }
    }
    (frames, floors)
}

/// Where grown parts may lie on a panel.
fn free(spread: &Spread, rules: &Rules, with_taken: bool) -> Region<Cloth> {
    let half = rules.between / 2.0;
    let bad = union(&spread.keep_outs);
    let good = difference(&spread.outline, &bad);
    let mut free = shrunk(&good, rules.margin() - half);
    if with_taken {
        let wide: Vec<Region<Cloth>> = spread
            .taken
            .iter()
            .map(|t| offset(t, half + SLACK))
            .collect();
        free = difference(&free, &union(&wide));
    }
    free
}

/// From a connected area; as it is where its simpler form crosses itself.
fn frame(area: &Region<Cloth>, origin: Vector<Cloth>) -> Option<Frame> {
    let build = |area: &Region<Cloth>| {
        let (outer, holes): (Vec<_>, Vec<_>) =
            area.rings.iter().partition(|r| signed_area(r) > 0.0);
        let outer = in_f32(outer.first()?, origin)?;
        // A hole too small to have corners is a speck.
        let holes: Vec<_> = holes.iter().filter_map(|r| in_f32(r, origin)).collect();
        let shifted = area.rings.iter().map(|r| r.iter().map(|p| *p - origin));
        let shifted = Region::new(shifted.map(Iterator::collect).collect());
        let free = Free::sampled(&shifted, shifted.bounds()?);
        Frame::new(&outer, &holes, free)
    };
    let few = Region::new(area.rings.iter().map(|r| fewer(r)).collect());
    build(&few).or_else(|| build(area))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;

    fn rectangle(x: [f64; 2], y: [f64; 2]) -> Region<Cloth> {
        let corners = [[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]];
        Region::ring(corners.map(|[x, y]| Point::new(x, y)).to_vec())
    }

    fn spread() -> Spread {
        Spread {
            cloth: 0,
            outline: rectangle([500.0, 700.0], [500.0, 600.0]),
            keep_outs: vec![Region::disc(Point::new(550.0, 550.0), 10.0)],
            taken: vec![rectangle([598.0, 602.0], [400.0, 700.0])],
            warp_deg: 90.0,
            one_way: false,
        }
    }

    #[test]
    fn a_piece_across_parts_a_panel_in_two() {
        let rules = Rules {
            between: 3.0,
            edge: 5.0,
            ..Rules::default()
        };
        let (frames, floors) = frames(&[spread()], &rules, 10.0, true);
        assert_eq!(frames.len(), 2);
        for (frame, floor) in frames.iter().zip(&floors) {
            // 5 mm from the edge less half a band, half a band from the piece.
            let clear = 5.0 - 1.5 + SLACK;
            let x = floor.origin.x;
            let left = (x - (500.0 + clear)).abs() < 1e-6;
            assert!(left || (x - (602.0 + 1.5 + SLACK)).abs() < 1e-6, "{x}");
            let height = f64::from(frame.bounds[3]);
            assert!((height - (100.0 - 2.0 * clear)).abs() < 1e-4);
            let whole = f64::from(frame.bounds[2]) * height;
            let hole = if left {
                std::f64::consts::PI * (10.0 + clear).powi(2)
            } else {
                0.0
            };
            assert!((f64::from(frame.area) - (whole - hole)).abs() < 6.0);
        }
    }

    #[test]
    fn without_what_is_laid_it_is_one() {
        let (frames, _) = frames(&[spread()], &Rules::default(), 10.0, false);
        assert_eq!(frames.len(), 1);
        let (none, _) = super::frames(&[spread()], &Rules::default(), 1e6, false);
        assert!(none.is_empty());
    }
}
