//! Drawing on the cloth: its outline, and places to keep out of.

use super::act::{Reply, Touched};
use super::bench::Bench;
use super::doing::Doing;
use super::op::Op;
use super::pieces::rounded;
use crate::cloth::{KeepOut, Panel};
use crate::shape::{Region, pairs, signed_area};
use crate::space::{Point, Table};

/// Two presses this near each other are one corner, mm.
const SAME_CORNER: f64 = 1.0;

impl Bench {
    pub(super) fn finish_drawing(
        &mut self,
        name: &str,
        keep_out: bool,
        corners: &[Point<Table>],
    ) -> Reply {
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
                name: free_name("bad place", panel.keep_out.iter().map(|k| k.name.as_str())),
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

    pub(super) fn change_keep_out(
        &mut self,
        name: &str,
        at: usize,
        change: impl FnOnce(KeepOut) -> Option<KeepOut>,
    ) -> Reply {
        let found = self.state.panel(name).and_then(|p| p.keep_out.get(at));
        let Some(from) = found.cloned() else {
            return Reply::refused(format!("{name} has no such bad place"));
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
