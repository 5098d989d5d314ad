//! Marks on the cloth, and the lay that follows them when the cloth has moved.

use super::act::{Reply, Touched};
use super::bench::Bench;
use super::doing::Doing;
use super::op::Op;
use super::pieces::{degrees, rounded};
use crate::cloth::{ClothMark, OnTable, Panel};
use crate::lay::{Agreement, Carried, Pointing, Sighting, carried};
use crate::measure::Unit;
use crate::space::{Cloth, Point, Rigid, Table};

/// A press this near a mark gives that mark anew, mm: nobody needs two so close.
const SAME_MARK: f64 = 8.0;

impl Bench {
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

    pub(super) fn give_mark(&mut self, name: &str, at: Point<Table>) -> Reply {
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
    pub(super) fn finish_carrying(&mut self, name: &str, warned: bool) -> Reply {
        let seen = self.sightings();
        let Some(panel) = self.state.panel(name) else {
            return Reply::default();
        };
        if seen.is_empty() {
            // The cloth was slid back under the light of its marks.
            self.doing = Doing::Laying;
            return Reply::touching(Touched::All).saying(format!(
                "{name} lies with its marks in the crosses: nothing moved"
            ));
        }
        let found = match carried(seen, Pointing::default()) {
            Ok(found) => found,
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        if found.finding != Agreement::Moved && !warned {
            if let Doing::Carrying { warned, .. } = &mut self.doing {
                *warned = true;
            }
            return Reply::refused(format!(
                "{found}; go on again (Enter) to carry it all the same"
            ));
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

    pub(super) fn change_mark(
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
