//! Tables in Markdown, written and read back.

use serde_json::{Value, json};

/// How a line begins that is meant for programs.
const RAW: &str = "raw: ";

/// A table: the columns from `right` on are numbers and stand to the right.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    pub head: Vec<String>,
    pub rows: Vec<Vec<String>>,
    right: usize,
}

impl Table {
    pub fn new<'a>(
        words: impl IntoIterator<Item = &'a str>,
        numbers: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        let mut head: Vec<String> = words.into_iter().map(str::to_owned).collect();
        let right = head.len();
        head.extend(numbers.into_iter().map(str::to_owned));
        Self {
            head,
            rows: Vec::new(),
            right,
        }
    }

    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// To standard output.
    pub fn print(&self) {
        let width: Vec<usize> = (0..self.head.len())
            .map(|c| {
                let cells = self.rows.iter().filter_map(|r| r.get(c));
                let widest = cells.map(|cell| cell.chars().count()).max();
                widest.unwrap_or(0).max(self.head[c].chars().count()).max(3)
            })
            .collect();
        let line = |cells: &[String]| {
            let each = cells.iter().zip(&width).enumerate();
            let each = each.map(|(c, (cell, &w))| match c < self.right {
                true => format!(" {cell:w$} |"),
                false => format!(" {cell:>w$} |"),
            });
            println!("|{}", each.collect::<String>());
        };
        line(&self.head);
        let rule = width
            .iter()
            .enumerate()
            .map(|(c, &w)| match c < self.right {
                true => "-".repeat(w),
                false => format!("{}:", "-".repeat(w - 1)),
            });
        line(&rule.collect::<Vec<_>>());
        for row in &self.rows {
            line(row);
        }
    }

    /// The tables in a text.
    pub fn read_all(text: &str) -> Vec<Self> {
        let mut all = Vec::new();
        let mut open: Option<Self> = None;
        for line in text.lines() {
            let Some(inner) = line.trim().strip_prefix('|') else {
                all.extend(open.take());
                continue;
            };
            let inner = inner.strip_suffix('|').unwrap_or(inner);
            let cells: Vec<String> = inner.split('|').map(|c| c.trim().to_owned()).collect();
            let is_rule = |c: &String| c.len() >= 3 && c.bytes().all(|b| b == b'-' || b == b':');
            match &mut open {
                None => {
                    open = Some(Self {
                        head: cells,
                        ..Self::default()
                    });
                }
                Some(_) if cells.iter().all(is_rule) => {}
                Some(table) => table.rows.push(cells),
            }
        }
        all.extend(open);
        all
    }

    pub fn json(&self) -> Value {
        json!({ "head": self.head, "rows": self.rows })
    }
}

/// Figures for the program that makes the page, if it asks for them.
pub fn raw(value: &Value) {
    if std::env::var_os(ASKS).is_some() {
        println!("{RAW}{value}");
    }
}

/// The variable by which it asks.
pub const ASKS: &str = "GHOSTCHALK_FIGURES";

/// A text's words for people, and its figures for programs.
pub fn parted(text: &str) -> (String, Vec<Value>) {
    let mut figures = Vec::new();
    let mut words = String::new();
    for line in text.lines() {
        match line.strip_prefix(RAW) {
            Some(raw) => figures.extend(serde_json::from_str::<Value>(raw)),
            None => {
                words += line;
                words += "\n";
            }
        }
    }
    (words, figures)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_found_among_words_and_raw_figures_taken_out() {
        let text = "Words\n\n| a | b |\n| --- | ---: |\n| x | 1 |\nraw: {\"n\":2}\nmore\n\n| c |\n| --- |\n";
        let (words, figures) = parted(text);
        assert_eq!(figures, [json!({ "n": 2 })]);
        assert!(!words.contains("raw"));
        let all = Table::read_all(&words);
        assert_eq!(all.len(), 2);
        assert_eq!(all[0].head, ["a", "b"]);
        assert_eq!(all[0].rows, [["x", "1"]]);
        assert!(all[1].rows.is_empty());
    }
}
