//! A part of the world on the page, to scale.

use crate::sheet::{Page, Path};

/// x and y, mm: of the world or of the page.
pub(super) type Place = (f64, f64);

/// How a line is drawn: mm on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pen {
    pub width: f64,
    pub dash: Option<(f64, f64)>,
}

impl Pen {
    pub const fn solid(width: f64) -> Self {
        Self { width, dash: None }
    }

    pub const fn dashed(width: f64, on: f64, off: f64) -> Self {
        Self {
            width,
            dash: Some((on, off)),
        }
    }

    /// A line on the page itself.
    pub fn draw(self, page: &mut Page, points: Vec<Place>) {
        page.path(Path {
            points,
            closed: false,
            width: self.width,
            dash: self.dash,
        });
    }
}

/// What of the world lies between `least` and `most`, at 1 : `scale`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    pub least: Place,
    pub most: Place,
    pub scale: f64,
    /// Where `least` lies on the page.
    pub corner: Place,
}

impl View {
    /// mm on the page.
    pub fn size(&self) -> Place {
        let (wide, high) = (self.most.0 - self.least.0, self.most.1 - self.least.1);
        (wide / self.scale, high / self.scale)
    }

    /// Where a place of the world lies on the page.
    pub fn at(&self, (x, y): Place) -> Place {
        (
            self.corner.0 + (x - self.least.0) / self.scale,
            self.corner.1 + (y - self.least.1) / self.scale,
        )
    }

    /// Draws what of a line lies in view.
    pub fn draw(&self, page: &mut Page, points: &[Place], closed: bool, pen: Pen) {
        self.draw_but(page, points, closed, pen, |_| false);
    }

    /// The same, but for stretches whose middle, on the page, is to stay free.
    pub fn draw_but(
        &self,
        page: &mut Page,
        points: &[Place],
        closed: bool,
        pen: Pen,
        free: impl Fn(Place) -> bool,
    ) {
        let mut runs: Vec<Vec<Place>> = Vec::new();
        let ends = match closed {
            true => points.len(),
            false => points.len().saturating_sub(1),
        };
        for (k, &a) in points.iter().enumerate().take(ends) {
            let b = points[(k + 1) % points.len()];
            let Some([from, to]) = self.within(a, b) else {
                continue;
            };
            let (from_page, to_page) = (self.at(from), self.at(to));
            let middle = (
                (from_page.0 + to_page.0) / 2.0,
                (from_page.1 + to_page.1) / 2.0,
            );
            if free(middle) {
                continue;
            }
            match runs.last_mut().filter(|r| r.last() == Some(&from_page)) {
                Some(run) => run.push(to_page),
                None => runs.push(vec![from_page, to_page]),
            }
        }
        for run in runs {
            pen.draw(page, run);
        }
    }

    /// The part of a stretch that lies in view (Liang and Barsky's clipping).
    fn within(&self, a: Place, b: Place) -> Option<[Place; 2]> {
        let way = (b.0 - a.0, b.1 - a.1);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (step, start, least, most) in [
            (way.0, a.0, self.least.0, self.most.0),
            (way.1, a.1, self.least.1, self.most.1),
        ] {
            if step == 0.0 {
                if !(least..=most).contains(&start) {
                    return None;
                }
                continue;
            }
            let (one, other) = ((least - start) / step, (most - start) / step);
            from = from.max(one.min(other));
            to = to.min(one.max(other));
        }
        let at = |share: f64| match share < 1.0 {
            true => (a.0 + way.0 * share, a.1 + way.1 * share),
            // Bit for bit, so that the next stretch goes on from here.
            false => b,
        };
        (from < to).then(|| [at(from), at(to)])
    }
}

/// A rectangle's corners.
pub(super) fn rectangle(least: Place, most: Place) -> [Place; 4] {
    [least, (most.0, least.1), most, (least.0, most.1)]
}
