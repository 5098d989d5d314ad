//! The panel's one kind of control: words in a thin frame, the key that does the
//! same beside them. A bar says that it is chosen, a doubled frame that the
//! keyboard is on it.

use super::sign::{SIGN, SIGN_WIDE, triangle};
use super::style::{BODY, CAP, CHALK, DIM, GROUND, HERE, RAISED, RULE, letters};
use egui::{Id, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};

const PAD: f32 = 10.0;
const HIGH: f32 = 34.0;

/// A control that can be pressed.
#[derive(Debug, Clone)]
pub struct Press<'a> {
    shown: &'a str,
    name: String,
    key: String,
    chosen: Option<bool>,
    off: bool,
    warns: bool,
    wide: Option<f32>,
    role: Role,
}

/// Shown with these words, and called so by a screen reader.
pub fn press(shown: &str) -> Press<'_> {
    Press {
        shown,
        name: shown.to_owned(),
        key: String::new(),
        chosen: None,
        off: false,
        warns: false,
        wide: None,
        role: Role::Button,
    }
}

impl Press<'_> {
    /// What it is called where the words alone don't say: must be its own.
    #[must_use]
    pub fn named(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// The key that does the same.
    #[must_use]
    pub fn key(mut self, key: impl Into<String>) -> Self {
        self.key = key.into();
        self
    }

    /// One of several, or on and off.
    #[must_use]
    pub fn chosen(mut self, role: Role, chosen: bool) -> Self {
        self.role = role;
        self.chosen = Some(chosen);
        self
    }

    /// Can't be pressed now.
    #[must_use]
    pub fn off(mut self, off: bool) -> Self {
        self.off = off;
        self
    }

    /// Something is wrong with what it stands for.
    #[must_use]
    pub fn warns(mut self, warns: bool) -> Self {
        self.warns = warns;
        self
    }

    /// As wide as there is room.
    #[must_use]
    pub fn wide(self) -> Self {
        self.width(f32::INFINITY)
    }

    /// So wide, words in the middle.
    #[must_use]
    pub fn width(mut self, points: f32) -> Self {
        self.wide = Some(points);
        self
    }

    /// Draws it; whether it was pressed, by mouse, key or screen reader.
    pub fn show(self, ui: &mut Ui) -> bool {
        let on = self.chosen == Some(true);
        let colour = if self.off { DIM } else { CHALK };
        let room = ui.available_width().max(ui.max_rect().width()) - 2.0 * PAD - 8.0;
        let cap = (!self.key.is_empty()).then(|| {
            let painter = ui.painter();
            painter.layout_no_wrap(self.key.clone(), letters(CAP), DIM)
        });
        let cap_wide = cap.as_ref().map_or(0.0, |c| c.size().x + 22.0);
        let sign = if self.warns { SIGN_WIDE } else { 0.0 };
        let words = self.shown.to_owned();
        let fit = (room - cap_wide - sign).max(60.0);
        let text = ui.painter().layout(words, letters(BODY), colour, fit);
        let own = 2.0 * PAD + text.size().x + cap_wide + sign;
        let wide = match self.wide {
            Some(wide) if wide.is_finite() => wide.max(own - PAD),
            Some(_) => room + 2.0 * PAD,
            None => own,
        };
        let size = vec2(wide, (text.size().y + 12.0).max(HIGH));
        let (_, rect) = ui.allocate_space(size);
        let sense = if self.off {
            Sense::hover()
        } else {
            Sense::click()
        };
        let response = ui.interact(rect, Id::unique(("press", &self.name)), sense);
        response.widget_info(|| match self.chosen {
            Some(on) => WidgetInfo::selected(self.role, !self.off, on, &self.name),
            None => WidgetInfo::labeled(self.role, !self.off, &self.name),
        });
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        if ui.is_rect_visible(rect) {
            let painter = ui.painter();
            let fill = if on || response.hovered() && !self.off {
                RAISED
            } else {
                GROUND
            };
            let line = match (self.off, response.hovered()) {
                (false, true) => CHALK,
                (false, false) => DIM.gamma_multiply(0.75),
                (true, _) => RULE,
            };
            painter.rect(rect, 0.0, fill, Stroke::new(1.0, line), StrokeKind::Inside);
            if on {
                let bar = Rect::from_min_max(rect.min, pos2(rect.min.x + 5.0, rect.max.y));
                painter.rect_filled(bar, 0.0, CHALK);
            }
            if response.has_focus() {
                let at = rect.shrink(1.0);
                painter.rect_stroke(at, 0.0, Stroke::new(2.0, HERE), StrokeKind::Inside);
                let at = rect.shrink(4.5);
                painter.rect_stroke(at, 0.0, Stroke::new(1.0, HERE), StrokeKind::Inside);
            }
            let mut at = pos2(rect.min.x + PAD, rect.center().y - text.size().y / 2.0);
            if self.wide.is_some_and(f32::is_finite) {
                at.x = rect.center().x - (text.size().x + sign) / 2.0;
            }
            if self.warns {
                painter.extend(triangle(at + vec2(SIGN / 2.0, text.size().y / 2.0)));
                at.x += SIGN_WIDE;
            }
            painter.galley(at, text, colour);
            if let Some(cap) = cap {
                let size = cap.size() + vec2(10.0, 4.0);
                let at = pos2(rect.max.x - PAD - size.x, rect.center().y - size.y / 2.0);
                let frame = Rect::from_min_size(at, size);
                painter.rect_stroke(frame, 3.0, Stroke::new(1.0, RULE), StrokeKind::Inside);
                painter.galley(at + vec2(5.0, 2.0), cap, DIM);
            }
        }
        response.clicked()
    }
}
