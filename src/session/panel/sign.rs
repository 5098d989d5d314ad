//! The sign of a warning: a triangle with a stroke in it, drawn, because few
//! fonts have one. A warning is told by it, not by its colour.

use super::style::{GROUND, WARN};
use egui::{Pos2, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, vec2};

/// Its size, and the room it takes before words, points.
pub const SIGN: f32 = 17.0;
pub const SIGN_WIDE: f32 = 24.0;

/// The sign about a place.
pub fn triangle(middle: Pos2) -> [Shape; 3] {
    let h = SIGN / 2.0;
    let corners = [vec2(0.0, -h), vec2(h, h - 1.0), vec2(-h, h - 1.0)];
    let corners = corners.map(|c| middle + c);
    let stroke = Stroke::new(2.2, GROUND);
    let bar = [vec2(0.0, -2.5), vec2(0.0, 2.5)].map(|d| middle + d);
    let dot = Shape::circle_filled(middle + vec2(0.0, 5.4), 1.3, GROUND);
    [
        Shape::convex_polygon(corners.to_vec(), WARN, Stroke::NONE),
        Shape::line_segment(bar, stroke),
        dot,
    ]
}

/// The sign as a word of a line.
pub fn sign(ui: &mut Ui) {
    let (rect, response) = ui.allocate_exact_size(Vec2::splat(SIGN + 2.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, "warning"));
    ui.painter().extend(triangle(rect.center()));
}
