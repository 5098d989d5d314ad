//! The draft on the desk: a table that is filled in, drawn anew as it is typed. What can't
//! be drawn leaves the last drawing standing, and says why.

use super::spots::row_of;
use super::table::{Cell, Change, DraftTable, Part, Row, RowAt};
use super::{Draft, Drawn, Measures, fresh, parse};
use crate::fault::{Fault, Outcome};
use std::collections::BTreeMap;

/// What was typed and can't be taken as yet, and why.
#[derive(Debug, Clone)]
struct Waiting {
    change: Change,
    why: String,
}

/// A draft under way: its text, the measures it is drawn for, and the last drawing.
#[derive(Debug)]
pub struct Desk {
    table: DraftTable,
    draft: Draft,
    /// As on disk.
    saved: String,
    /// Measures as they were typed, where that was done.
    typed: BTreeMap<String, String>,
    scales: [f64; 2],
    drawn: Option<Drawn>,
    /// Cells that can't be taken alone: they stay as typed, and are tried again with every
    /// change.
    waiting: Vec<Waiting>,
    /// Why it can't be drawn, and at which row.
    fault: Option<(String, Option<RowAt>)>,
    /// Goes up with every drawing.
    edition: u64,
}

impl Desk {
    /// Opens a draft's text, to be drawn for measures as they were typed. `scales`: along
    /// the grain and across it, 1 as drafted.
    ///
    /// # Errors
    /// If the text is no draft. One that can't be drawn is opened all the same.
    pub fn open(text: &str, typed: BTreeMap<String, String>, scales: [f64; 2]) -> Outcome<Self> {
        let mut desk = Self {
            table: DraftTable::open(text)?,
            draft: parse(text)?,
            saved: text.to_owned(),
            typed,
            scales,
            drawn: None,
            waiting: Vec::new(),
            fault: None,
            edition: 0,
        };
        desk.draw();
        Ok(desk)
    }

    pub fn draft(&self) -> &Draft {
        &self.draft
    }

    /// The rows of a kind; cells that wait to be taken show what was typed.
    pub fn rows(&self, part: Part) -> Vec<Row> {
        let mut rows = self.table.rows(part);
        for Waiting { change, .. } in &self.waiting {
            let Some(row) = rows.iter_mut().find(|r| r.at == change.at) else {
                continue;
            };
            match row.cells.iter_mut().find(|c| c.key == change.key) {
                Some(cell) => cell.text.clone_from(&change.text),
                None => row.cells.push(Cell::new(&*change.key, &*change.text)),
            }
        }
        rows
    }

    /// What is wrong at a row, a sentence each.
    pub fn faults_at(&self, at: RowAt) -> Vec<&str> {
        let waiting = self.waiting.iter().filter(|w| w.change.at == at);
        let drawing = self.fault.iter().filter(|(_, row)| *row == Some(at));
        let all = waiting.map(|w| w.why.as_str());
        all.chain(drawing.map(|(why, _)| why.as_str())).collect()
    }

    /// The draft's text as it is now.
    pub fn text(&self) -> String {
        self.table.text()
    }

    /// As it is on disk.
    pub fn saved(&self) -> &str {
        &self.saved
    }

    /// Whether it is another than on disk.
    pub fn is_changed(&self) -> bool {
        self.text() != self.saved || !self.waiting.is_empty()
    }

    /// It was written.
    pub fn is_written(&mut self) {
        self.saved = self.text();
    }

    /// The last drawing that came out, if any did.
    pub fn drawn(&self) -> Option<&Drawn> {
        self.drawn.as_ref()
    }

    pub fn edition(&self) -> u64 {
        self.edition
    }

    /// Why what is typed can't be drawn, if it can't.
    pub fn fault(&self) -> Option<&str> {
        let waiting = self.waiting.first().map(|w| w.why.as_str());
        waiting.or(self.fault.as_ref().map(|(why, _)| why.as_str()))
    }

    /// Measures as they were typed, for the job file.
    pub fn typed(&self) -> &BTreeMap<String, String> {
        &self.typed
    }

    /// Along the grain and across it, 1 as drafted.
    pub fn scales(&self) -> [f64; 2] {
        self.scales
    }

    /// What a measure is drawn for, as text.
    pub fn measure(&self, name: &str) -> String {
        let usual = || {
            let m = self.draft.measures().iter().find(|m| m.name == name);
            m.map_or_else(String::new, |m| m.unit.show(m.usual))
        };
        self.typed.get(name).cloned().unwrap_or_else(usual)
    }

    /// Types a measure; one without a unit is in the unit in which it is usually told.
    pub fn set_measure(&mut self, name: &str, text: &str) {
        self.typed.insert(name.to_owned(), text.trim().to_owned());
        self.draw();
    }

    /// Along the grain and across it, 1 as drafted.
    pub fn set_scales(&mut self, scales: [f64; 2]) {
        self.scales = scales;
        self.draw();
    }

    /// Types a cell: `point`, `from`, `go`, `by` or another word of the row. Empty takes
    /// it out. What can't be taken waits as it was typed, and says why at its row: another
    /// cell may put it right.
    pub fn set_cell(&mut self, at: RowAt, key: &str, text: &str) {
        let (key, text) = (key.to_owned(), text.to_owned());
        self.set(vec![Change { at, key, text }]);
    }

    /// Tells a row in another of the ways that it can be told, by its place among them: the
    /// words of the others go, and its own are filled in where something can be meant.
    pub fn tell(&mut self, at: RowAt, way: usize) {
        let Some(chosen) = at.part.ways().get(way) else {
            return;
        };
        let rows = self.rows(at.part);
        let Some(row) = rows.iter().find(|r| r.at == at) else {
            return;
        };
        let ways = at.part.ways().iter().flat_map(|w| w.keys);
        let change = |key: &str, text: &str| Change {
            at,
            key: key.to_owned(),
            text: text.to_owned(),
        };
        let gone = ways.filter(|k| !chosen.keys.contains(k) && !row.text(k).is_empty());
        let mut changes: Vec<Change> = gone.map(|k| change(k, "")).collect();
        let meant = fresh::told(&self.table, row, way);
        let new = meant.iter().filter(|c| row.text(&c.key).is_empty());
        changes.extend(new.map(|c| change(&c.key, &c.text)));
        self.set(changes);
    }

    /// A new row of a kind at the end, filled in with what can be meant.
    pub fn add_row(&mut self, part: Part, piece: usize) {
        let done = match part {
            Part::Pieces => self.table.add_piece(&fresh::piece(&self.table)),
            _ => {
                let cells = fresh::row(&self.table, part, piece);
                cells.and_then(|cells| self.table.add(part, piece, &cells))
            }
        };
        self.done(done);
    }

    /// Takes a row away; what waits in it goes with it.
    pub fn remove_row(&mut self, at: RowAt) {
        let done = self.table.remove(at);
        if done.is_ok() {
            let gone = |w: &Waiting| {
                let of = at.part == Part::Pieces
                    && w.change.at.part.is_of_a_piece()
                    && w.change.at.piece == at.row;
                w.change.at == at || of
            };
            self.waiting.retain(|w| !gone(w));
            for w in &mut self.waiting {
                let like = w.change.at.part == at.part && w.change.at.piece == at.piece;
                if like && w.change.at.row > at.row {
                    w.change.at.row -= 1;
                }
                let later = at.part == Part::Pieces && w.change.at.part.is_of_a_piece();
                if later && w.change.at.piece > at.row {
                    w.change.at.piece -= 1;
                }
            }
        }
        self.done(done);
    }

    fn set(&mut self, changes: Vec<Change>) {
        let same = |w: &Waiting| {
            let mut new = changes.iter();
            new.any(|c| (c.at, &c.key) == (w.change.at, &w.change.key))
        };
        self.waiting.retain(|w| !same(w));
        let waiting = self.waiting.iter().map(|w| w.change.clone());
        let all: Vec<Change> = waiting.chain(changes.iter().cloned()).collect();
        // What is refused alone may be right together with what waits.
        if self.table.set(&all).is_ok() {
            self.waiting.clear();
        } else if let Err(why) = self.table.set(&changes) {
            let why = said(&why);
            let new = changes.into_iter().map(|change| Waiting {
                change,
                why: why.clone(),
            });
            self.waiting.extend(new);
            return;
        } else {
            let mut waiting = std::mem::take(&mut self.waiting);
            waiting.retain(|w| self.table.set(std::slice::from_ref(&w.change)).is_err());
            self.waiting = waiting;
        }
        self.done(Ok(()));
    }

    fn done(&mut self, done: Outcome<()>) {
        let read = done.and_then(|()| parse(&self.table.text()));
        match read {
            Ok(draft) => {
                self.draft = draft;
                self.draw();
            }
            Err(fault) => self.fault = Some((said(&fault), None)),
        }
    }

    fn draw(&mut self) {
        let drawn = self.asked().and_then(|asked| self.draft.draw(&asked));
        match drawn {
            Ok(drawn) => {
                self.drawn = Some(drawn);
                self.fault = None;
                self.edition += 1;
            }
            Err(fault) => {
                let row = row_of(&self.table.text(), &fault);
                self.fault = Some((said(&fault), row));
            }
        }
    }

    fn asked(&self) -> Outcome<Measures> {
        let mut asked = Measures::default();
        for (name, text) in &self.typed {
            asked.set(name, self.draft.typed(name, text)?);
        }
        [asked.length, asked.width] = self.scales;
        Ok(asked)
    }
}

/// A fault without the line of the file: it stands at its row.
fn said(fault: &Fault) -> String {
    let mut fault = fault.clone();
    fault.place.retain(|p| !p.starts_with("line "));
    fault.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::bounds;

    const DEMO: &str = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/demo-data/slippers.draft.toml"
    ));

    fn desk() -> Desk {
        Desk::open(DEMO, BTreeMap::new(), [1.0; 2]).unwrap()
    }

    fn sole(desk: &Desk) -> [f64; 2] {
        let drawn = desk.drawn().unwrap();
        let net = &drawn.pieces[0].piece;
        assert_eq!(net.name, "sole");
        let b = bounds(net.net[0].points.iter().copied()).unwrap();
        [b.width(), b.height()]
    }

    #[test]
    fn it_is_drawn_anew_as_it_is_typed_and_a_slip_leaves_the_last_drawing() {
        let mut desk = desk();
        assert!(!desk.is_changed() && desk.fault().is_none());
        assert_eq!(desk.measure("foot length"), "250.0 mm");
        let [w, h] = sole(&desk);
        desk.set_measure("foot length", "275");
        desk.set_measure("instep girth", "275");
        let [wide, high] = sole(&desk);
        // All in proportion, but for an allowance that is not in the net line.
        assert!((wide / w - 1.1).abs() < 1e-3 && (high / h - 1.1).abs() < 1e-3);
        let before = desk.edition();
        for slip in ["about 26", "9 m", "12mm"] {
            desk.set_measure("foot length", slip);
            assert!(
                desk.fault().is_some_and(|f| f.contains("foot length")),
                "{:?}",
                desk.fault()
            );
            assert_eq!((sole(&desk), desk.edition()), ([wide, high], before));
        }
        desk.set_measure("foot length", "10 13/16in");
        assert!(desk.fault().is_none());
        // Along and across the grain apart.
        desk.set_scales([1.02, 0.97]);
        let [a, b] = sole(&desk);
        desk.set_scales([1.0, 1.0]);
        let [c, d] = sole(&desk);
        assert!((a / c - 0.97).abs() < 1e-6 && (b / d - 1.02).abs() < 1e-6);
        assert!(!desk.is_changed(), "measures are the job's");
    }

    fn at(desk: &Desk, part: Part, name: &str) -> RowAt {
        let rows = desk.rows(part);
        let found = rows.iter().find(|r| r.name() == name);
        found.unwrap_or_else(|| panic!("no {name}")).at
    }

    #[test]
    fn a_cell_and_a_row_are_typed_and_what_can_not_be_waits() {
        let mut desk = desk();
        let tip = at(&desk, Part::Points, "tip");
        let [_, h] = sole(&desk);
        desk.set_cell(tip, "up", "foot length * 1.10");
        assert!(sole(&desk)[1] > h + 5.0);
        assert!(desk.is_changed());
        let text = desk.text();
        desk.set_cell(tip, "up", "foot length * foot length");
        assert!(desk.fault().is_some());
        assert_eq!(desk.faults_at(tip).len(), 1);
        assert!(sole(&desk)[1] > h + 5.0);
        desk.set_cell(tip, "up", "foot length * 1.10");
        assert_eq!((desk.text(), desk.fault()), (text, None));
        desk.add_row(Part::Points, 0);
        assert_eq!(desk.fault(), None);
        let sketch = &desk.drawn().unwrap().sketches[0];
        assert!(sketch.points.iter().any(|(name, _)| name == "point 1"));
        let last = at(&desk, Part::Points, "point 1");
        desk.remove_row(last);
        desk.set_cell(tip, "up", "foot length * 1.048");
        // Comments, order and all else are as the person wrote them.
        assert_eq!(desk.text(), DEMO);
        desk.remove_row(RowAt { row: 0, ..tip });
        assert!(desk.fault().is_some(), "others are measured from it");
        assert_eq!(desk.text(), DEMO);
    }

    #[test]
    fn cells_that_go_together_only_wait_for_each_other() {
        let mut desk = desk();
        let tip = at(&desk, Part::Points, "tip");
        // A name that is not there yet.
        desk.set_cell(tip, "up", "reach * 1.048");
        let said = desk.faults_at(tip).join(" ");
        assert!(said.contains("reach") && !said.contains("line "), "{said}");
        let row = |desk: &Desk| desk.rows(Part::Points).into_iter().find(|r| r.at == tip);
        assert_eq!(row(&desk).unwrap().text("up"), "reach * 1.048");
        assert!(desk.is_changed() && desk.text() == DEMO);
        desk.add_row(Part::Lengths, 0);
        let length = at(&desk, Part::Lengths, "length 1");
        desk.set_cell(length, "is", "foot length");
        assert!(!desk.faults_at(tip).is_empty());
        desk.set_cell(length, "name", "reach");
        assert_eq!(desk.fault(), None);
        assert!(desk.text().contains("up = \"reach * 1.048\""));
        // A dart has a depth or a tip: one goes, the other comes.
        let [_, h] = sole(&desk);
        desk.set_cell(length, "is", "foot length * 1.01");
        assert!(sole(&desk)[1] > h + 1.0);
    }

    #[test]
    fn a_fault_of_the_drawing_is_told_at_its_row() {
        let mut desk = desk();
        let edges = desk.rows(Part::Edges);
        let first = edges.iter().find(|r| r.at.piece == 0).unwrap();
        let before = sole(&desk);
        desk.remove_row(first.at);
        assert!(desk.fault().is_some());
        assert_eq!(sole(&desk), before, "the last drawing stands");
        let mut desk = Desk::open(DEMO, BTreeMap::new(), [1.0; 2]).unwrap();
        let notch = desk.rows(Part::Notches)[0].clone();
        let key = ["at", "before_end"]
            .into_iter()
            .find(|k| !notch.text(k).is_empty());
        desk.set_cell(notch.at, key.unwrap_or("depth"), "900mm");
        let said = desk.faults_at(notch.at);
        assert_eq!(said.len(), 1, "{:?}", desk.fault());
    }
}
