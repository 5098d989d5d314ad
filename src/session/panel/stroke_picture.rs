//! A picture of a piece as it was read: its strokes by number, each drawn as what it is
//! taken to be.

use super::style::{CHALK, DIM, HERE, RULE, letters};
use crate::drawing::read::correct::{Stroke, Taken};
use crate::shape::{along, bounds, length, nearest};
use crate::space::{Piece, Point, Vector};
use egui::{Align2, Pos2, Sense, Shape, Ui, pos2, vec2};

/// Greatest height of the picture, and the room round the piece in it, points.
const PICTURE: f32 = 300.0;
const ROUND: f32 = 22.0;
/// Of more strokes only the chosen one is numbered.
const MOST_NUMBERS: usize = 60;
/// A press this near to a stroke chooses it, points.
const REACH: f32 = 14.0;

/// The strokes of the piece as they lie; which was pressed.
pub fn picture(
    ui: &mut Ui,
    strokes: &[Stroke],
    chosen: Option<usize>,
    name: &str,
) -> Option<usize> {
    let b = bounds(strokes.iter().flat_map(|s| &s.points).copied())?;
    let width = ui.available_width();
    let high = (width - 2.0 * ROUND) * (b.height() / b.width().max(1.0)) as f32;
    let size = vec2(width, (high + 2.0 * ROUND).min(PICTURE));
    let (response, painter) = ui.allocate_painter(size, Sense::click());
    let said = format!("picture of {name}: press a stroke to choose it");
    ui.ctx()
        .accesskit_node_builder(response.id, |node| node.set_label(said));
    let room = response.rect.shrink(ROUND);
    let scale = (f64::from(room.width()) / b.width().max(1.0))
        .min(f64::from(room.height()) / b.height().max(1.0));
    let at = |p: Point<Piece>| {
        let off = (p - b.center()) * scale;
        pos2(
            room.center().x + off.x as f32,
            room.center().y - off.y as f32,
        )
    };
    for (k, stroke) in strokes.iter().enumerate() {
        let here = chosen == Some(k);
        painter.extend(drawn(stroke, here, &at));
    }
    for (k, stroke) in strokes.iter().enumerate() {
        let here = chosen == Some(k);
        if here || strokes.len() <= MOST_NUMBERS {
            let colour = if here { HERE } else { DIM };
            let beside = at(middle(stroke)) + vec2(4.0, -2.0);
            let number = (k + 1).to_string();
            painter.text(beside, Align2::LEFT_BOTTOM, number, letters(13.0), colour);
        }
    }
    let hand = response
        .interact_pointer_pos()
        .filter(|_| response.clicked())?;
    let off = |stroke: &Stroke| {
        let v = (hand - room.center()) / scale as f32;
        let p = b.center() + Vector::new(f64::from(v.x), -f64::from(v.y));
        let mut line = stroke.points.clone();
        line.extend(stroke.points.first().filter(|_| stroke.closed).copied());
        let away = match line.as_slice() {
            [only] => (*only - p).length(),
            line => nearest(line, p).map_or(f64::INFINITY, |(_, d)| d),
        };
        away * scale
    };
    let away = strokes.iter().map(off).enumerate();
    let near = away.min_by(|a, b| a.1.total_cmp(&b.1))?;
    (near.1 <= f64::from(REACH)).then_some(near.0)
}

/// Half the way along a stroke.
fn middle(stroke: &Stroke) -> Point<Piece> {
    let points = &stroke.points;
    let half = length(points) / 2.0;
    along(points, half).map_or(points[0], |there| there.at)
}

/// A stroke as what it is taken to be: never by its colour alone.
fn drawn(stroke: &Stroke, here: bool, at: &dyn Fn(Point<Piece>) -> Pos2) -> Vec<Shape> {
    let mut line: Vec<Pos2> = stroke.points.iter().map(|&p| at(p)).collect();
    let first = line[0];
    line.extend(stroke.closed.then_some(first));
    let (wide, colour) = match stroke.taken {
        _ if here => (3.0, HERE),
        Taken::Cut | Taken::Piece(_) | Taken::Cutout | Taken::Notch(_) => (2.0, CHALK),
        Taken::Net | Taken::Grain | Taken::Fold | Taken::Drill => (1.5, CHALK),
        Taken::Line | Taken::Dart | Taken::Label => (1.0, DIM),
        Taken::LeftOut => (1.0, RULE),
    };
    let pen = egui::Stroke::new(wide, colour);
    let dashed = |on: f32, off: f32| Shape::dashed_line(&line, pen, on, off);
    match stroke.taken {
        Taken::Net => dashed(8.0, 4.0),
        Taken::Fold => {
            let mut all = dashed(14.0, 8.0);
            let inner = line.len() / 2;
            all.push(Shape::circle_stroke(line[inner], 5.0, pen));
            all
        }
        Taken::LeftOut if line.len() > 1 => Shape::dotted_line(&line, colour, 6.0, 1.5),
        Taken::Grain => {
            let mut all = vec![Shape::line(line.clone(), pen)];
            if let [.., tail, head] = line.as_slice() {
                let back = (*tail - *head).normalized() * 11.0;
                for side in [1.0, -1.0] {
                    let wing = back + vec2(-back.y, back.x) * (0.45 * side);
                    all.push(Shape::line_segment([*head, *head + wing], pen));
                }
            }
            all
        }
        Taken::Drill => {
            let across = vec2(5.0, 0.0);
            let up = vec2(0.0, 5.0);
            let c = at(middle(stroke));
            vec![
                Shape::circle_stroke(c, 3.5, pen),
                Shape::line_segment([c - across, c + across], pen),
                Shape::line_segment([c - up, c + up], pen),
            ]
        }
        _ if line.len() == 1 => vec![Shape::circle_stroke(first, 3.0, pen)],
        _ => vec![Shape::line(line, pen)],
    }
}
