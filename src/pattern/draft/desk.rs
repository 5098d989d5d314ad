//! The draft on the desk: a table that is filled in, drawn anew as it is typed. What can't
//! be drawn leaves the last drawing standing, and says why.

use super::{Cell, Draft, DraftTable, Drawn, Measures, Row, parse};
use crate::fault::Outcome;
use std::collections::BTreeMap;

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
    fault: Option<String>,
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
            fault: None,
            edition: 0,
        };
        desk.draw();
        Ok(desk)
    }

    pub fn draft(&self) -> &Draft {
        &self.draft
    }

    pub fn rows(&self) -> Vec<Row> {
        self.table.rows()
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
        self.text() != self.saved
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
        self.fault.as_deref()
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
    /// it out. What can't be taken is refused, and the table is as it was.
    pub fn set_cell(&mut self, piece: &str, row: usize, key: &str, text: &str) {
        let done = self.table.set_cell(piece, row, key, text);
        self.redraw(done);
    }

    /// A new row before another, or at the end.
    pub fn add_row(&mut self, piece: &str, before: usize, cells: &[Cell]) {
        let done = self.table.add_row(piece, before, cells);
        self.redraw(done);
    }

    pub fn remove_row(&mut self, piece: &str, row: usize) {
        let done = self.table.remove_row(piece, row);
        self.redraw(done);
    }

    fn redraw(&mut self, done: Outcome<()>) {
        let read = done.and_then(|()| parse(&self.table.text()));
        match read {
            Ok(draft) => {
                self.draft = draft;
                self.draw();
            }
            Err(fault) => self.fault = Some(fault.to_string()),
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
            Err(fault) => self.fault = Some(fault.to_string()),
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

    #[test]
    fn a_cell_and_a_row_are_typed_and_what_can_not_be_is_refused() {
        let mut desk = desk();
        let rows = desk.rows();
        let tip = rows
            .iter()
            .find(|r| r.piece == "sole" && r.point == "tip")
            .unwrap()
            .number;
        let [_, h] = sole(&desk);
        desk.set_cell("sole", tip, "up", "foot length * 1.10");
        assert!(sole(&desk)[1] > h + 5.0);
        assert!(desk.is_changed());
        let text = desk.text();
        desk.set_cell("sole", tip, "up", "foot length * foot length");
        assert!(desk.fault().is_some());
        assert!(sole(&desk)[1] > h + 5.0);
        desk.set_cell("sole", tip, "up", "foot length * 1.10");
        assert_eq!((desk.text(), desk.fault()), (text, None));
        let cells = [
            ("point", "new"),
            ("from", "tip"),
            ("go", "down"),
            ("by", "foot length / 10"),
        ];
        let cells = cells.map(|(key, text)| Cell {
            key: key.into(),
            text: text.into(),
        });
        desk.add_row("sole", usize::MAX, &cells);
        assert_eq!(desk.fault(), None);
        let sketch = &desk.drawn().unwrap().sketches[0];
        assert!(sketch.points.iter().any(|(name, _)| name == "new"));
        let last = desk.rows().iter().filter(|r| r.piece == "sole").count() - 1;
        desk.remove_row("sole", last);
        desk.set_cell("sole", tip, "up", "foot length * 1.048");
        // Comments, order and all else are as the person wrote them.
        assert_eq!(desk.text(), DEMO);
        desk.remove_row("sole", 0);
        assert!(desk.fault().is_some(), "others are measured from it");
    }
}
