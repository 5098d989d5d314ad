//! The plan: the table to scale as the person sees it, in the patterns of the
//! light. What is in hand is bright and doubled, the others dim, what is locked
//! dashed, what is wrong hatched.

use super::fit::Fit;
use super::hatch::{Slant, hatch};
use super::sign::triangle;
use super::style::{BODY, CHALK, DIM, GROUND, HERE, RULE, WARN, letters};
use super::view::{PanelView, Wish};
use crate::cloth::Panel;
use crate::lay::Laid;
use crate::shape::Region;
use crate::space::Point;
use crate::space::Table;
use crate::stand::Hand;
use crate::work::Act;
use crate::work::Doing;
use egui::{
    Align2, Color32, EventFilter, Id, Key, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui,
    Vec2, WidgetInfo, pos2, vec2,
};

/// Below the table: the person.
const PERSON: f32 = 34.0;

/// Lines, points of the window.
const FINE: f32 = 1.0;
const LINE: f32 = 1.6;
const BOLD: f32 = 5.5;
const DASH: [f32; 2] = [7.0, 5.0];

/// Draws the plan into all the room there is; wishes for the piece pressed on.
pub fn show(ui: &mut Ui, view: &PanelView, wishes: &mut Vec<Wish>) {
    let room = ui.available_size().max(vec2(120.0, 120.0));
    let (_, rect) = ui.allocate_space(room);
    let response = ui.interact(rect, Id::unique("plan"), Sense::click());
    let (_, laid) = view.bench.laid();
    let name = told(view, laid.len());
    response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, &name));
    let mut into = rect.shrink(14.0);
    into.max.y -= PERSON;
    let fit = Fit::new(view.bench.ways().stands, extent(view, &laid), into);
    if let Some(at) = response
        .interact_pointer_pos()
        .filter(|_| response.clicked())
    {
        let hit = view.bench.piece_at(fit.back(at));
        wishes.push(Wish::Act(hit.map_or(Act::LetGo, Act::Hold)));
    }
    if response.has_focus() {
        steps(ui, response.id, wishes);
    }
    if ui.is_rect_visible(rect) {
        let painter = ui.painter_at(rect);
        Drawing { painter, fit }.all(view, &laid);
        if response.has_focus() {
            let at = rect.shrink(2.0);
            let painter = ui.painter();
            painter.rect_stroke(at, 0.0, Stroke::new(2.0, HERE), egui::StrokeKind::Inside);
        }
    }
}

/// With the keyboard on the plan, arrows step through the pieces.
fn steps(ui: &Ui, id: Id, wishes: &mut Vec<Wish>) {
    let filter = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|m| m.set_focus_lock_filter(id, filter));
    let pressed = |key| ui.input(|i| i.key_pressed(key));
    if pressed(Key::ArrowRight) || pressed(Key::ArrowDown) {
        wishes.push(Wish::Act(Act::Next));
    }
    if pressed(Key::ArrowLeft) || pressed(Key::ArrowUp) {
        wishes.push(Wish::Act(Act::Previous));
    }
}

/// The plan in words.
fn told(view: &PanelView, pieces: usize) -> String {
    let held = view
        .bench
        .held()
        .and_then(|id| view.bench.state().placed.get(&id));
    let hand = match held {
        Some(p) => format!("{} {} is in hand", p.piece, p.article),
        None => "nothing is in hand".to_owned(),
    };
    let pieces = crate::fault::counted(pieces, "piece", "pieces");
    format!("plan of the table: {pieces}, {hand}; arrows step through them")
}

/// All that must be seen.
fn extent<'a>(view: &'a PanelView, laid: &'a [Laid]) -> impl Iterator<Item = Point<Table>> + 'a {
    let panels = view.bench.state().panels.iter().filter(|p| p.spread);
    let cloth = panels.flat_map(|p| on_table(p, &p.outline_mm));
    let pieces = laid.iter().flat_map(|l| {
        let pose = l.pose.mapper();
        l.piece.cut.iter().flatten().map(move |&q| pose(q))
    });
    let reach = view.facts.reach.iter().flat_map(|r| &r.rings).flatten();
    cloth.chain(pieces).chain(reach.copied())
}

fn on_table<'a>(
    panel: &'a Panel,
    corners: &'a [[f64; 2]],
) -> impl Iterator<Item = Point<Table>> + 'a {
    let pose = panel.on_table.pose().mapper();
    corners.iter().map(move |&c| pose(Point::from(c)))
}

struct Drawing {
    painter: Painter,
    fit: Fit,
}

impl Drawing {
    fn all(&self, view: &PanelView, laid: &[Laid]) {
        if let Some(reach) = &view.facts.reach {
            self.reach(reach);
        }
        let panels = view.bench.state().panels.iter().filter(|p| p.spread);
        for panel in panels.clone() {
            self.panel(panel);
        }
        let (ids, _) = view.bench.laid();
        let held = view.bench.held();
        let locked = |id| view.bench.state().placed.get(id).is_some_and(|p| p.locked);
        let gone = |id: &u32| view.bench.state().cuts.has(*id);
        for (_, l) in ids.iter().zip(laid).filter(|(id, _)| gone(id)) {
            self.gone(l);
        }
        let others = ids.iter().zip(laid);
        let others = others.filter(|(id, _)| Some(**id) != held && !gone(id));
        for (id, l) in others {
            self.piece(l, false, locked(id));
        }
        if let Some((id, l)) = ids.iter().zip(laid).find(|(id, _)| Some(**id) == held) {
            self.piece(l, true, locked(id));
        }
        for bad in view.wrong {
            let piece = ids.iter().position(|id| *id == bad.id);
            self.trouble(&bad.place, piece.map(|k| &laid[k]));
        }
        for panel in panels {
            self.marks(view, panel);
        }
        self.doing(view.bench.doing());
        if let Some(at) = view.bench.pointer() {
            self.pointer(self.fit.at(at));
        }
        self.person(view.bench.ways().cuts);
        if !view.bench.state().panels.iter().any(|p| p.spread) {
            let at = self.painter.clip_rect().center();
            self.words(at, Align2::CENTER_CENTER, "no cloth is on the table", DIM);
        }
    }

    fn rings(&self, region: &Region<Table>) -> Vec<Vec<Pos2>> {
        let rings = region.rings.iter();
        rings.map(|r| self.fit.line(r.iter().copied())).collect()
    }

    fn lines(&self, lines: impl IntoIterator<Item = [Pos2; 2]>, stroke: Stroke) {
        let each = lines.into_iter().map(|l| Shape::line_segment(l, stroke));
        self.painter.extend(each);
    }

    fn closed(&self, line: &[Pos2], stroke: Stroke) {
        self.painter.add(Shape::closed_line(line.to_vec(), stroke));
    }

    fn dashed(&self, line: &[Pos2], stroke: Stroke, [dash, gap]: [f32; 2]) {
        let mut ring = line.to_vec();
        ring.extend(line.first());
        self.painter
            .extend(Shape::dashed_line(&ring, stroke, dash, gap));
    }

    fn words(&self, at: Pos2, anchor: Align2, words: impl ToString, colour: Color32) -> Rect {
        let painter = &self.painter;
        let text = painter.layout_no_wrap(words.to_string(), letters(BODY), colour);
        let rect = anchor.anchor_size(at, text.size());
        painter.rect_filled(
            rect.expand2(vec2(3.0, 0.0)),
            0.0,
            GROUND.gamma_multiply(0.85),
        );
        painter.galley(rect.min, text, colour);
        rect
    }

    /// Where light can fall: corners as a frame-maker marks them, and its edge.
    fn reach(&self, reach: &Region<Table>) {
        for ring in self.rings(reach) {
            self.closed(&ring, Stroke::new(FINE, RULE));
            let n = ring.len();
            // Only true corners get an angle; a lens bends the sides.
            for k in 0..n {
                let (a, b, c) = (ring[(k + n - 1) % n], ring[k], ring[(k + 1) % n]);
                let (u, v) = ((a - b).normalized(), (c - b).normalized());
                if u.dot(v).abs() < 0.6 {
                    let arm = |d: Vec2| [b, b + d * 16.0];
                    self.lines([arm(u), arm(v)], Stroke::new(3.0, DIM));
                }
            }
        }
    }

    fn panel(&self, panel: &Panel) {
        let ring = self.fit.line(on_table(panel, &panel.outline_mm));
        let stroke = Stroke::new(FINE, DIM);
        match panel.under {
            // The ply beneath is dotted, as in the light.
            Some(_) => self.dashed(&ring, Stroke::new(1.5, DIM), [1.5, 4.0]),
            None => self.closed(&ring, stroke),
        }
        for place in &panel.keep_out {
            let ring = self.fit.line(on_table(panel, &place.outline_mm));
            let lines = hatch(std::slice::from_ref(&ring), 4.0, Slant::Falling);
            self.lines(lines, Stroke::new(FINE, DIM));
            self.closed(&ring, stroke);
        }
    }

    /// A piece that is cut: a hole in the sheet.
    fn gone(&self, l: &Laid) {
        let pose = l.pose.mapper();
        for ring in &l.piece.cut {
            let line = self.fit.line(ring.iter().map(|&p| pose(p)));
            self.dashed(&line, Stroke::new(FINE, DIM), [1.5, 4.0]);
        }
    }

    fn piece(&self, l: &Laid, held: bool, locked: bool) {
        let pose = l.pose.mapper();
        let outline = |ring: &Vec<_>| self.fit.line(ring.iter().map(|&p| pose(p)));
        for ring in l.piece.cut.iter().chain(&l.piece.cutouts).map(outline) {
            match (held, locked) {
                (false, false) => self.closed(&ring, Stroke::new(LINE, DIM)),
                (false, true) => self.dashed(&ring, Stroke::new(LINE, DIM), DASH),
                (true, false) => {
                    // Doubled: the middle of a broad line is taken out again.
                    self.closed(&ring, Stroke::new(BOLD, CHALK));
                    self.closed(&ring, Stroke::new(BOLD / 3.0, GROUND));
                }
                (true, true) => {
                    self.dashed(&ring, Stroke::new(BOLD, CHALK), [12.0, 7.0]);
                    self.closed(&ring, Stroke::new(BOLD / 3.0, GROUND));
                }
            }
        }
        if let Some([tail, head]) = l.piece.grain.filter(|_| held) {
            let (a, b) = (self.fit.at(pose(tail)), self.fit.at(pose(head)));
            self.painter.arrow(a, b - a, Stroke::new(LINE, CHALK));
        }
        let all = l.piece.cut.iter().flatten().map(|&p| self.fit.at(pose(p)));
        let rect = all.fold(Rect::NOTHING, |r, p| r.union(Rect::from_pos(p)));
        let name = format!("{} {}", l.piece.name, l.article);
        let colour = if held { CHALK } else { DIM };
        let size = self
            .painter
            .layout_no_wrap(name.clone(), letters(BODY), colour);
        let fits = rect.shrink(8.0).size();
        // Where there is no room for it, the name stands below the plan.
        if fits.x > size.size().x && fits.y > size.size().y {
            let at = self.fit.at(l.pose.shift.to_point());
            self.words(at, Align2::CENTER_CENTER, name, colour);
        }
    }

    /// Where something is wrong: hatched, with the sign of a warning; the sign
    /// alone on the piece, if it is wrong everywhere.
    fn trouble(&self, place: &Region<Table>, piece: Option<&Laid>) {
        let lines = hatch(&self.rings(place), 5.0, Slant::Rising);
        self.lines(lines, Stroke::new(2.0, WARN));
        let middle = place.bounds().map(|b| b.center());
        let middle = middle.or_else(|| piece.map(|l| l.pose.shift.to_point()));
        if let Some(at) = middle.map(|m| self.fit.at(m)) {
            self.painter.circle_filled(at, 13.0, GROUND);
            self.painter.extend(triangle(at));
        }
    }

    /// Cloth marks: a cross and its letter, ringed if it is asked for.
    fn marks(&self, view: &PanelView, panel: &Panel) {
        let carried = match view.bench.doing() {
            Doing::Carrying {
                panel: p, at, now, ..
            } if *p == panel.name => Some((*at, now)),
            _ => None,
        };
        let guess = carried.and_then(|_| view.bench.guessed_pose());
        let pose = guess.unwrap_or_else(|| panel.on_table.pose());
        for (k, mark) in panel.marks.iter().enumerate() {
            let seen = carried.and_then(|(_, now)| now.get(k).copied().flatten());
            let place = seen.unwrap_or_else(|| pose.point(Point::new(mark.x_mm, mark.y_mm)));
            let at = self.fit.at(place);
            let asked = carried.is_some_and(|(n, _)| n == k);
            let colour = if asked || seen.is_some() { CHALK } else { DIM };
            let arm = if asked { 10.0 } else { 6.0 };
            let cross = [vec2(arm, arm), vec2(arm, -arm)].map(|d| [at - d, at + d]);
            self.lines(cross, Stroke::new(2.0, colour));
            if asked {
                for radius in [16.0, 20.0] {
                    let ring = Stroke::new(1.5, CHALK);
                    self.painter.circle_stroke(at, radius, ring);
                }
            }
            if seen.is_some() {
                let square = Rect::from_center_size(at, Vec2::splat(18.0));
                let stroke = Stroke::new(1.5, CHALK);
                self.painter
                    .rect_stroke(square, 0.0, stroke, egui::StrokeKind::Middle);
            }
            let beside = at + vec2(if asked { 24.0 } else { 12.0 }, 0.0);
            self.words(beside, Align2::LEFT_CENTER, &mark.name, colour);
        }
    }

    /// What is half done: points pressed so far, and the line between them.
    fn doing(&self, doing: &Doing) {
        let points: Vec<Pos2> = match doing {
            Doing::Drawing { corners, .. } => self.fit.line(corners.iter().copied()),
            Doing::Warp { from, .. } | Doing::Edge { from } => {
                from.iter().map(|p| self.fit.at(*p)).collect()
            }
            Doing::Tape { from, to } => from.iter().chain(to).map(|p| self.fit.at(*p)).collect(),
            _ => return,
        };
        let line = Shape::line(points.clone(), Stroke::new(2.0, CHALK));
        self.painter.add(line);
        for p in points {
            let square = Rect::from_center_size(p, Vec2::splat(9.0));
            self.painter.rect_filled(square, 0.0, CHALK);
        }
    }

    fn pointer(&self, at: Pos2) {
        let stroke = Stroke::new(1.5, CHALK);
        let arms = [
            vec2(1.0, 0.0),
            vec2(-1.0, 0.0),
            vec2(0.0, 1.0),
            vec2(0.0, -1.0),
        ];
        self.lines(arms.map(|d| [at + d * 5.0, at + d * 15.0]), stroke);
        self.painter.circle_filled(at, 1.5, CHALK);
    }

    /// Who stands at the bottom edge, and the hand that cuts.
    fn person(&self, cuts: Hand) {
        let rect = self.painter.clip_rect();
        let tip = pos2(rect.center().x, rect.max.y - 36.0);
        let base = [vec2(-13.0, 18.0), vec2(13.0, 18.0)].map(|d| tip + d);
        let arrow = vec![tip, base[1], base[0]];
        self.painter
            .add(Shape::convex_polygon(arrow, CHALK, Stroke::NONE));
        let (words, anchor) = match cuts {
            Hand::Right => ("you, cutting with this hand", Align2::LEFT_CENTER),
            Hand::Left => ("you, cutting with this hand", Align2::RIGHT_CENTER),
        };
        let at = tip + vec2(24.0 * cuts.sign() as f32, 12.0);
        self.words(at, anchor, words, DIM);
    }
}
