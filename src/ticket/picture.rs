//! A piece drawn small and true to its shape.

use crate::pattern::PatternPiece;
use crate::shape::bounds;
use crate::sheet::{Page, Path};
use crate::space::{Piece, Point};

/// A notch is drawn so long at least, mm on paper.
const TICK: f64 = 1.2;

/// Draws a piece within a box: left, bottom, width, height, mm; mirrored if asked.
pub fn draw(page: &mut Page, piece: &PatternPiece, within: [f64; 4], mirrored: bool) {
    let [left, bottom, width, height] = within;
    let Some(b) = bounds(piece.cut.iter().flatten().copied()) else {
        return;
    };
    let scale = (width / b.width().max(1.0)).min(height / b.height().max(1.0));
    let middle = b.center();
    let (cx, cy) = (left + width / 2.0, bottom + height / 2.0);
    let way = if mirrored { -scale } else { scale };
    let at = |p: Point<Piece>| (cx + way * (p.x - middle.x), cy + scale * (p.y - middle.y));
    let mut path = |points: &[Point<Piece>], closed: bool, width: f64, dash| {
        if points.len() > 1 {
            page.path(Path {
                points: points.iter().map(|&p| at(p)).collect(),
                closed,
                width,
                dash,
            });
        }
    };
    for ring in piece.cut.iter().chain(&piece.cutouts) {
        path(ring, true, 0.3, None);
    }
    for net in &piece.net {
        path(&net.points, net.closed, 0.12, Some((0.8, 0.6)));
    }
    for fold in &piece.folds {
        path(fold, false, 0.8, Some((2.0, 0.8)));
    }
    for dart in &piece.darts {
        path(dart, false, 0.15, None);
    }
    for line in &piece.lines {
        path(&line.points, line.closed, 0.1, Some((0.4, 0.4)));
    }
    for notch in &piece.notches {
        let long = notch.depth.max(TICK / scale);
        path(
            &[notch.at, notch.at + notch.inward * long],
            false,
            0.35,
            None,
        );
    }
    if let Some([tail, head]) = piece.grain {
        path(&[tail, head], false, 0.15, None);
        let along = (head - tail) / (head - tail).length().max(1e-9) * (1.6 / scale);
        let across = along.yx();
        let across = crate::space::Vector::new(-across.x, across.y) * 0.35;
        path(
            &[head - along + across, head, head - along - across],
            false,
            0.15,
            None,
        );
    }
    for &drill in &piece.drills {
        page.circle(at(drill), 0.5, 0.15);
    }
}
