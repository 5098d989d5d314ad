//! What a person does with cloth: draw its outline and its keep-outs, give it
//! marks, and carry the lay when it has moved.

use super::act::{Act, Reply, Task, Touched};
use super::bench::Bench;
use super::doing::Doing;
use super::op::Op;
use super::pieces::{degrees, rounded};
use super::samples;
use crate::cloth::{ClothMark, KeepOut, OnTable, Panel};
use crate::lay::{
    Along, Carried, Finding, Pointing, Sighting, carried, edge_from, squared, warp_from,
};
use crate::measure::Unit;
use crate::shape::{Region, pairs, signed_area};
use crate::space::{Cloth, Point, Rigid, Table, Vector};

/// A press this near a mark gives that mark anew, mm: nobody needs two so close.
const SAME_MARK: f64 = 8.0;

/// Two presses this near each other are one corner, mm.
const SAME_CORNER: f64 = 1.0;

impl Bench {
    /// Answers what is about cloth; hands back what is not.
    pub(super) fn about_cloth(&mut self, act: Act) -> Result<Reply, Act> {
        Ok(match act {
            Act::Begin(task) => self.begin(task),
            Act::Press => self.press(),
            Act::Finish => self.finish(),
            Act::Leave => {
                self.doing = Doing::Laying;
                Reply::touching(Touched::Over)
            }
            Act::BackUp => self.back_up(),
            Act::PassOver => self.pass_over(),
            Act::Spread { panel, spread } => self.spread(&panel, spread),
            Act::Under { panel, top } => self.slip_under(&panel, top),
            Act::DropKeepOut { panel, at } => self.change_keep_out(&panel, at, |_| None),
            Act::NameKeepOut { panel, at, name } => {
                self.change_keep_out(&panel, at, |k| Some(KeepOut { name, ..k }))
            }
            Act::DropMark { panel, at } => self.change_mark(&panel, at, |_| None),
            Act::NameMark { panel, at, name } => {
                self.change_mark(&panel, at, |m| Some(ClothMark { name, ..m }))
            }
            other => return Err(other),
        })
    }

    /// The marks of the panel that is being worked on.
    pub fn marks_in_work(&self) -> Vec<(String, Point<Cloth>)> {
        let panel = self.doing.panel().and_then(|p| self.state.panel(p));
        let marks = panel.map_or(&[][..], |p| &p.marks);
        let pair = |m: &ClothMark| (m.name.clone(), Point::new(m.x_mm, m.y_mm));
        marks.iter().map(pair).collect()
    }

    /// Where a panel would lie by the marks pointed at so far: shows the next
    /// mark near where it is now.
    pub fn guessed_pose(&self) -> Option<Rigid<Cloth, Table>> {
        let Doing::Carrying { panel, .. } = &self.doing else {
            return None;
        };
        let before = self.state.panel(panel)?.on_table.pose();
        let seen = self.sightings();
        if seen.len() >= 2 {
            return carried(seen, Pointing::default()).ok().map(|c| c.pose);
        }
        let Some(one) = seen.first() else {
            return Some(before);
        };
        let by = one.table - before.point(one.cloth);
        Some(Rigid::new(false, before.turn, before.shift + by))
    }

    pub(super) fn sightings(&self) -> Vec<Sighting> {
        let Doing::Carrying { now, .. } = &self.doing else {
            return Vec::new();
        };
        let marks = self.marks_in_work().into_iter().zip(now);
        let seen = marks.filter_map(|((name, cloth), now)| {
            Some(Sighting {
                name,
                cloth,
                table: (*now)?,
            })
        });
        seen.collect()
    }

    fn begin(&mut self, task: Task) -> Reply {
        let mut marks = 0;
        if let Task::Outline(p)
        | Task::KeepOut(p)
        | Task::Marks(p)
        | Task::Moved(p)
        | Task::Warp(p) = &task
        {
            let Some(panel) = self.state.panel(p).filter(|q| q.spread) else {
                return Reply::refused(format!("{p} is not on the table: spread it first"));
            };
            marks = panel.marks.len();
        }
        if let Task::Moved(p) = &task
            && marks < 2
        {
            return Reply::refused(format!(
                "{p} has {marks} of the two marks that carry it: give it marks before it moves"
            ));
        }
        self.held = self.held.filter(|_| task == Task::Edge);
        self.doing = match (task, self.pointer) {
            (Task::Samples, at) => Doing::Samples {
                at: at.unwrap_or_default(),
            },
            (task, _) => Doing::begun(task, marks),
        };
        Reply::touching(Touched::All)
    }

    fn press(&mut self) -> Reply {
        let Some(at) = self.pointer else {
            return Reply::default();
        };
        match self.doing.clone() {
            Doing::Laying => return Reply::default(),
            Doing::Drawing {
                mut corners,
                panel,
                keep_out,
            } => {
                corners.push(at);
                self.doing = Doing::Drawing {
                    panel,
                    keep_out,
                    corners,
                };
            }
            Doing::Marking { panel } => return self.give_mark(&panel, at),
            Doing::Carrying {
                panel,
                mut now,
                at: mark,
                ..
            } => {
                if let Some(slot) = now.get_mut(mark) {
                    *slot = Some(at);
                }
                self.doing = Doing::Carrying {
                    at: (mark + 1).min(now.len()),
                    panel,
                    now,
                    warned: false,
                };
            }
            Doing::Warp { panel, from: None } => {
                self.doing = Doing::Warp {
                    panel,
                    from: Some(at),
                };
            }
            Doing::Warp {
                panel,
                from: Some(from),
            } => return self.set_warp(&panel, from, at),
            Doing::Edge { from: None } => self.doing = Doing::Edge { from: Some(at) },
            Doing::Edge { from: Some(from) } => return self.square_to_edge(from, at),
            Doing::Tape { from, to } => {
                self.doing = match (from, to) {
                    (Some(from), None) => Doing::Tape {
                        from: Some(from),
                        to: Some(at),
                    },
                    _ => Doing::Tape {
                        from: Some(at),
                        to: None,
                    },
                };
            }
            Doing::Samples { at: where_ } => {
                let strength = samples::picked(where_, self.state.ways.stands, at);
                let Some(percent) = strength else {
                    return Reply::refused("press on one of the samples");
                };
                self.doing = Doing::Laying;
                let reply = self.answer_light(percent);
                return reply.saying(format!("guides at {percent} %"));
            }
        }
        Reply::touching(Touched::Over)
    }

    fn back_up(&mut self) -> Reply {
        match &mut self.doing {
            Doing::Drawing { corners, .. } => {
                corners.pop();
            }
            Doing::Carrying {
                now, at, warned, ..
            } => {
                *at = at.saturating_sub(1);
                *warned = false;
                if let Some(slot) = now.get_mut(*at) {
                    *slot = None;
                }
            }
            Doing::Warp { from, .. } | Doing::Edge { from } => *from = None,
            Doing::Tape { from, to } => {
                if to.take().is_none() {
                    *from = None;
                }
            }
            _ => return Reply::default(),
        }
        Reply::touching(Touched::Over)
    }

    fn pass_over(&mut self) -> Reply {
        if let Doing::Carrying { now, at, .. } = &mut self.doing
            && *at < now.len()
        {
            now[*at] = None;
            *at += 1;
        }
        Reply::touching(Touched::Over)
    }

    fn finish(&mut self) -> Reply {
        match self.doing.clone() {
            Doing::Laying => Reply::default(),
            Doing::Drawing {
                panel,
                keep_out,
                corners,
            } => self.finish_drawing(&panel, keep_out, &corners),
            Doing::Carrying { panel, warned, .. } => self.finish_carrying(&panel, warned),
            _ => {
                self.doing = Doing::Laying;
                Reply::touching(Touched::All)
            }
        }
    }

    fn finish_drawing(&mut self, name: &str, keep_out: bool, corners: &[Point<Table>]) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::default();
        };
        let corners = &apart(corners)[..];
        if corners.len() < 3 || signed_area(corners).abs() < 1.0 {
            return Reply::refused("an outline has three corners or more, and room inside");
        }
        if crosses_itself(corners) {
            return Reply::refused("the outline crosses itself: take back the last corners");
        }
        let back = panel.on_table.pose().inverse();
        let on = |p: &Point<Table>| {
            let q = back.point(*p);
            [rounded(q.x), rounded(q.y)]
        };
        let mut outline: Vec<[f64; 2]> = corners.iter().map(on).collect();
        if signed_area(corners) < 0.0 {
            outline.reverse();
        }
        let op = if keep_out {
            let at = panel.keep_out.len();
            let kept = KeepOut {
                name: free_name("keep-out", panel.keep_out.iter().map(|k| k.name.as_str())),
                outline_mm: outline,
            };
            Op::KeepOut {
                panel: name.to_owned(),
                at,
                from: None,
                to: Some(kept),
            }
        } else {
            Op::Outline {
                panel: name.to_owned(),
                from: panel.outline_mm.clone(),
                to: outline,
            }
        };
        let said = op.to_string();
        self.does(vec![op]);
        self.doing = Doing::Laying;
        Reply::touching(Touched::All).saying(said)
    }

    fn give_mark(&mut self, name: &str, at: Point<Table>) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::default();
        };
        let pose = panel.on_table.pose();
        let p = pose.inverse().point(at);
        let place = |m: &ClothMark| pose.point(Point::new(m.x_mm, m.y_mm));
        let same = panel
            .marks
            .iter()
            .position(|m| (place(m) - at).length() < SAME_MARK);
        let from = same.map(|k| panel.marks[k].clone());
        let label = match &from {
            Some(m) => m.name.clone(),
            None => free_letter(panel),
        };
        let to = ClothMark {
            name: label.clone(),
            x_mm: rounded(p.x),
            y_mm: rounded(p.y),
        };
        self.does(vec![Op::Mark {
            panel: name.to_owned(),
            at: same.unwrap_or(panel.marks.len()),
            from,
            to: Some(to),
        }]);
        Reply::touching(Touched::Over).saying(format!("mark {label} of {name}"))
    }

    /// Carries the lay; if the marks say that the cloth is no longer what it
    /// was, says so first and carries when asked again.
    fn finish_carrying(&mut self, name: &str, warned: bool) -> Reply {
        let seen = self.sightings();
        let Some(panel) = self.state.panel(name) else {
            return Reply::default();
        };
        if seen.is_empty() {
            // The cloth was slid back under the light of its marks.
            self.doing = Doing::Laying;
            return Reply::touching(Touched::All)
                .saying(format!("{name} lies under its marks: nothing moved"));
        }
        let found = match carried(seen, Pointing::default()) {
            Ok(found) => found,
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        if found.finding != Finding::Moved && !warned {
            if let Doing::Carrying { warned, .. } = &mut self.doing {
                *warned = true;
            }
            return Reply::refused(format!("{found}; finish again to carry it all the same"));
        }
        let from = panel.on_table;
        let to = OnTable {
            x_mm: rounded(found.pose.shift.x),
            y_mm: rounded(found.pose.shift.y),
            turn_deg: degrees(found.pose.turn),
        };
        let mut said = found.to_string();
        if let Some(mm) = self.worst_error(&found, name) {
            said += &format!("; the lay lies true to {}", Unit::Mm.show(mm));
        }
        if let Some(join) = self.join_after(name, &to.pose()) {
            said += &format!("; {join}");
        }
        let used = self.sightings().into_iter().map(|s| s.name);
        let noted = Op::CarriedBy {
            panel: name.to_owned(),
            from: panel.carried_by.clone(),
            to: used.collect(),
        };
        let lies = Op::Lie {
            panel: name.to_owned(),
            from,
            to,
        };
        self.does(vec![lies, noted]);
        self.doing = Doing::Laying;
        Reply::touching(Touched::All).saying(said)
    }

    /// The greatest standard error of place along the cut lines on a panel, mm.
    fn worst_error(&self, found: &Carried, panel: &str) -> Option<f64> {
        let lines = self.cut_lines(panel);
        let corners = lines.iter().flat_map(|(_, r)| r.rings.iter().flatten());
        corners.map(|&p| found.error_at(p)).reduce(f64::max)
    }

    fn set_warp(&mut self, name: &str, from: Point<Table>, to: Point<Table>) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::default();
        };
        let warp = match warp_from(from, to, &panel.on_table.pose()) {
            Ok(warp) => degrees(warp.to_radians()),
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        let before = panel.grain_deg;
        self.does(vec![Op::Grain {
            panel: name.to_owned(),
            from: before,
            to: warp,
        }]);
        self.doing = Doing::Laying;
        Reply::touching(Touched::All).saying(format!("the warp of {name} runs at {warp:.1}°"))
    }

    /// Squares the piece in hand to a mat's edge, or says how the edge runs.
    fn square_to_edge(&mut self, from: Point<Table>, to: Point<Table>) -> Reply {
        let edge = match edge_from(from, to) {
            Ok(edge) => edge,
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        self.doing = Doing::Laying;
        let placed = self.held.and_then(|id| self.state.placed.get(&id));
        let found = placed.filter(|p| !p.locked).and_then(|p| {
            let grain = self.goods.stock().piece(&p.piece)?.grain?;
            let turn = self.state.panel(&p.panel)?.on_table.turn_deg;
            squared(grain, p.face, p.turn_deg, edge - turn, Along::Warp, false)
                .map(|t| t - p.turn_deg)
        });
        match (found, self.held.and_then(|id| self.pose(id))) {
            (Some(turn), Some(pose)) => {
                let turn = turn.to_radians();
                let turned: Rigid<Table, Table> = Rigid::new(false, turn, Vector::zero());
                let shift = pose.shift - turned.vector(pose.shift);
                let reply = self.moved(Rigid::new(false, turn, shift), None);
                reply.saying(format!("squared to the edge, which runs at {edge:.1}°"))
            }
            _ => Reply::touching(Touched::Over).saying(format!("the edge runs at {edge:.1}°")),
        }
    }

    fn spread(&mut self, name: &str, to: bool) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::refused(format!("there is no panel {name}"));
        };
        let from = panel.spread;
        if from == to {
            return Reply::default();
        }
        self.does(vec![Op::Spread {
            panel: name.to_owned(),
            from,
            to,
        }]);
        if self.held.is_some_and(|id| self.pose(id).is_none()) {
            self.held = None;
        }
        if self.doing.panel() == Some(name) {
            self.doing = Doing::Laying;
        }
        let said = if to { "is on the table" } else { "is put away" };
        Reply::touching(Touched::All).saying(format!("{name} {said}"))
    }

    fn slip_under(&mut self, name: &str, top: Option<String>) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::refused(format!("there is no panel {name}"));
        };
        if let Some(t) = &top {
            let known = self.state.panel(t).filter(|q| q.spread && q.name != name);
            let Some(above) = known else {
                return Reply::refused(format!("{t} is not on the table to lie over {name}"));
            };
            if above.under.is_some() {
                return Reply::refused(format!("{t} itself lies under another panel"));
            }
            let mut below = self.state.panels.iter();
            if let Some(third) = below.find(|q| q.under.as_deref() == Some(name)) {
                return Reply::refused(format!(
                    "{} lies under {name}: three plies can't be told apart",
                    third.name
                ));
            }
        }
        let from = panel.under.clone();
        if from == top {
            return Reply::default();
        }
        let op = Op::Under {
            panel: name.to_owned(),
            from,
            to: top,
        };
        let said = op.to_string();
        self.does(vec![op]);
        Reply::touching(Touched::All).saying(said)
    }

    fn change_keep_out(
        &mut self,
        name: &str,
        at: usize,
        change: impl FnOnce(KeepOut) -> Option<KeepOut>,
    ) -> Reply {
        let found = self.state.panel(name).and_then(|p| p.keep_out.get(at));
        let Some(from) = found.cloned() else {
            return Reply::refused(format!("{name} has no such keep-out"));
        };
        let op = Op::KeepOut {
            panel: name.to_owned(),
            at,
            to: change(from.clone()),
            from: Some(from),
        };
        self.does(vec![op]);
        Reply::touching(Touched::All)
    }

    fn change_mark(
        &mut self,
        name: &str,
        at: usize,
        change: impl FnOnce(ClothMark) -> Option<ClothMark>,
    ) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::refused(format!("there is no panel {name}"));
        };
        let Some(from) = panel.marks.get(at).cloned() else {
            return Reply::refused(format!("{name} has no such mark"));
        };
        let to = change(from.clone());
        if let Some(m) = &to
            && panel
                .marks
                .iter()
                .enumerate()
                .any(|(k, o)| k != at && o.name == m.name)
        {
            return Reply::refused(format!("{name} has a mark {} already", m.name));
        }
        self.does(vec![Op::Mark {
            panel: name.to_owned(),
            at,
            from: Some(from),
            to,
        }]);
        // What is asked for may have gone.
        if let Doing::Carrying { .. } = self.doing {
            self.doing = Doing::Laying;
        }
        Reply::touching(Touched::Over)
    }
}

/// Corners without those pressed twice; the first may be pressed again to
/// close the outline.
fn apart(corners: &[Point<Table>]) -> Vec<Point<Table>> {
    let mut kept: Vec<Point<Table>> = Vec::new();
    let near = |a: &Point<Table>, b: &Point<Table>| (*a - *b).length() < SAME_CORNER;
    for c in corners {
        if !kept.last().is_some_and(|last| near(last, c)) {
            kept.push(*c);
        }
    }
    while kept.len() > 1 && near(&kept[0], &kept[kept.len() - 1]) {
        kept.pop();
    }
    kept
}

/// Whether any two edges that are no neighbours meet.
fn crosses_itself(corners: &[Point<Table>]) -> bool {
    let edges: Vec<_> = pairs(corners).collect();
    let side = |a: Point<Table>, b: Point<Table>, p: Point<Table>| (b - a).cross(p - a);
    let cross = |(a, b): (Point<Table>, Point<Table>), (c, d): (Point<Table>, Point<Table>)| {
        // Edges on one line are told apart by their boxes.
        let boxes = (a.min(b).max(c.min(d)), a.max(b).min(c.max(d)));
        boxes.0.x <= boxes.1.x
            && boxes.0.y <= boxes.1.y
            && side(a, b, c) * side(a, b, d) <= 0.0
            && side(c, d, a) * side(c, d, b) <= 0.0
    };
    let n = edges.len();
    (0..n).any(|i| {
        let far = (i + 2)..n;
        far.filter(|j| (j + 1) % n != i)
            .any(|j| cross(edges[i], edges[j]))
    })
}

/// A, B, … Z, A1, B1, …: the first letter that no mark of the panel has.
fn free_letter(panel: &Panel) -> String {
    let letters = (0..).map(|k: u32| {
        let letter = char::from(b'A' + (k % 26) as u8);
        match k / 26 {
            0 => letter.to_string(),
            n => format!("{letter}{n}"),
        }
    });
    let mut free = letters.filter(|l| panel.marks.iter().all(|m| m.name != *l));
    free.next().unwrap_or_default()
}

fn free_name<'a>(stem: &str, taken: impl Iterator<Item = &'a str> + Clone) -> String {
    let mut names = (1..).map(|k| format!("{stem} {k}"));
    names
        .find(|n| taken.clone().all(|t| t != n))
        .unwrap_or_default()
}

/// Where a panel's outline lies on the table; `None` if it encloses nothing.
pub fn outline_on_table(panel: &Panel) -> Option<Region<Table>> {
    Some(panel.outline().ok()?.moved(&panel.on_table.pose()))
}
