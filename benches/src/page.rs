//! All figures of all machines: kept as JSON, told as a page.

use crate::plan::TABLES;
use crate::short::{Short, Spot, short};
use crate::table::Table;
use ghostchalk::disk;
use ghostchalk::fault::{Fault, Outcome};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

/// Between these lines of the README the figures in short are written.
const BEGIN: &str = "<!-- figures: from here -->";
const END: &str = "<!-- figures: to here -->";

/// The largest file of figures that is taken in, bytes.
const LARGEST: u64 = 64 << 20;

/// One table of one machine, as it was made last.
#[derive(Debug, Clone, Default)]
pub struct Run {
    pub commit: String,
    pub date: String,
    pub quick: bool,
    pub load: Option<f64>,
    pub seconds: f64,
    pub commands: Vec<String>,
    pub text: String,
    pub tables: Vec<Table>,
    pub raw: Vec<Value>,
}

#[derive(Debug)]
struct Machine {
    name: String,
    hardware: Value,
    runs: BTreeMap<String, Run>,
}

/// What was made so far.
#[derive(Debug, Default)]
pub struct Figures {
    machines: Vec<Machine>,
}

fn text_of(v: &Value) -> String {
    v.as_str().unwrap_or_default().to_owned()
}

impl Run {
    fn of(v: &Value) -> Self {
        let texts = |v: &Value| v.as_array().into_iter().flatten().map(text_of).collect();
        let text = text_of(&v["text"]);
        Self {
            commit: text_of(&v["commit"]),
            date: text_of(&v["date"]),
            quick: v["quick"] == true,
            load: v["load"].as_f64(),
            seconds: v["seconds"].as_f64().unwrap_or(f64::NAN),
            commands: texts(&v["commands"]),
            tables: Table::read_all(&text),
            raw: v["raw"].as_array().cloned().unwrap_or_default(),
            text,
        }
    }

    fn json(&self) -> Value {
        json!({
            "commit": self.commit,
            "date": self.date,
            "quick": self.quick,
            "load": self.load,
            "seconds": self.seconds,
            "commands": self.commands,
            "text": self.text,
            "tables": self.tables.iter().map(Table::json).collect::<Vec<_>>(),
            "raw": self.raw,
        })
    }

    /// The median of a time in ms, from the raw figures of frames.
    fn time(&self, scene: &str, height: u64, by: &str, what: &str) -> Option<String> {
        let all = self.raw.iter().filter_map(|r| r["times"].as_array());
        let mut all = all.flatten();
        let found = all.find(|t| {
            let here = t["scene"] == scene && t["size_px"][1] == height;
            here && t["by"] == by && t["what"] == what
        });
        Some(format!("{:.2}", found?["median_ms"].as_f64()?))
    }

    /// A cell of the first table that has such a column and a row that begins so.
    fn cell(&self, row: &str, column: &str) -> Option<String> {
        self.tables.iter().find_map(|table| {
            let at = table.head.iter().position(|h| h == column)?;
            let starts = |cells: &&Vec<String>| cells.first().is_some_and(|c| c.starts_with(row));
            table.rows.iter().find(starts)?.get(at).cloned()
        })
    }
}

impl Figures {
    /// Those of a folder, none if it has none.
    ///
    /// # Errors
    /// If they can't be read.
    pub fn of_folder(folder: &Path) -> Outcome<Self> {
        let path = folder.join("figures.json");
        match path.exists() {
            true => Self::read(&path),
            false => Ok(Self::default()),
        }
    }

    /// # Errors
    /// If the file can't be read.
    pub fn read(path: &Path) -> Outcome<Self> {
        let bytes = disk::read(path, "reading the figures", LARGEST)?;
        let all: Value = serde_json::from_slice(&bytes).map_err(|e| {
            Fault::input(
                format!("these are no figures: {e}"),
                "put it away, and run the tables again",
            )
            .in_file(path)
        })?;
        let machines = all["machines"].as_array().into_iter().flatten();
        let machine = |m: &Value| Machine {
            name: text_of(&m["name"]),
            hardware: m["hardware"].clone(),
            runs: (m["tables"].as_object().into_iter().flatten())
                .map(|(key, run)| (key.clone(), Run::of(run)))
                .collect(),
        };
        Ok(Self {
            machines: machines.map(machine).collect(),
        })
    }

    /// Takes in a run; an earlier one of the same table and machine goes.
    pub fn put(&mut self, name: &str, hardware: &Value, key: &str, run: Run) {
        let at = self.machines.iter().position(|m| m.name == name);
        let at = at.unwrap_or_else(|| {
            self.machines.push(Machine {
                name: name.to_owned(),
                hardware: Value::Null,
                runs: BTreeMap::new(),
            });
            self.machines.len() - 1
        });
        self.machines[at].hardware = hardware.clone();
        self.machines[at].runs.insert(key.to_owned(), run);
    }

    /// Takes in all that is there and not older than what is here.
    pub fn merge(&mut self, other: Self) {
        for m in other.machines {
            for (key, run) in m.runs {
                let own = self.machines.iter().find(|o| o.name == m.name);
                let own = own.and_then(|o| o.runs.get(&key));
                if own.is_none_or(|own| own.date <= run.date) {
                    self.put(&m.name, &m.hardware, &key, run);
                }
            }
        }
    }

    /// Writes JSON and page, and the figures in short into a README, if it has the lines that
    /// they go between.
    ///
    /// # Errors
    /// If the files can't be written.
    pub fn write(&self, folder: &Path, readme: Option<&Path>) -> Outcome<()> {
        let machine = |m: &Machine| {
            let runs = m.runs.iter().map(|(key, run)| (key.clone(), run.json()));
            json!({
                "name": m.name,
                "hardware": m.hardware,
                "tables": runs.collect::<Map<_, _>>(),
            })
        };
        let all = json!({ "machines": self.machines.iter().map(machine).collect::<Vec<_>>() });
        disk::write_atomic(
            &folder.join("figures.json"),
            format!("{all:#}\n").as_bytes(),
        )?;
        disk::write_atomic(&folder.join("figures.md"), self.page().as_bytes())?;
        let Some(readme) = readme else {
            return Ok(());
        };
        let text = disk::read(readme, "reading the README", LARGEST)?;
        match between(&String::from_utf8_lossy(&text), &self.short()) {
            Some(new) if new.as_bytes() != text => disk::write_atomic(readme, new.as_bytes()),
            _ => Ok(()),
        }
    }

    fn page(&self) -> String {
        let mut page = String::from(
            "# Figures\n\nWritten by `benches/figures`, not by hand; `README.md` beside it says how. What is \
             not said to be simulated or on the device's clock is wall time.\n",
        );
        let _ = write!(page, "\n{}", self.short());
        for entry in &TABLES {
            let all = self.machines.iter();
            let runs = all.filter_map(|m| Some((m, m.runs.get(entry.key)?)));
            let runs: Vec<(&Machine, &Run)> = runs.collect();
            if runs.is_empty() {
                continue;
            }
            let _ = write!(page, "\n## {}\n\n{}\n", entry.title, entry.about);
            for (machine, run) in runs {
                let _ = write!(
                    page,
                    "\n### On {}\n\nCommit {}, {}, {:.0} s{}{}: `{}`\n\n{}\n",
                    machine.name,
                    run.commit,
                    run.date,
                    run.seconds,
                    run.load
                        .map_or(String::new(), |l| format!(", load {l} at the start")),
                    if run.quick { ", few runs" } else { "" },
                    run.commands.join("`, `"),
                    run.text.trim()
                );
            }
        }
        page
    }

    /// A few figures of each machine, and what it is.
    fn short(&self) -> String {
        let mut out = String::from("| |");
        for m in &self.machines {
            let _ = write!(out, " {} |", m.name);
        }
        let _ = write!(out, "\n| --- |{}\n", " ---: |".repeat(self.machines.len()));
        for Short { words, table, from } in short() {
            let cells = self.machines.iter().map(|m| {
                let run = m.runs.get(table)?;
                match from {
                    Spot::Time(scene, height, by, what) => run.time(scene, height, by, what),
                    Spot::Cell(row, column) => run.cell(row, column),
                }
            });
            let cells: Vec<Option<String>> = cells.collect();
            if cells.iter().all(Option::is_none) {
                continue;
            }
            let _ = write!(out, "| {words} |");
            for cell in cells {
                let _ = write!(out, " {} |", cell.unwrap_or_default());
            }
            out.push('\n');
        }
        for m in &self.machines {
            let mut made: Vec<String> = m
                .runs
                .values()
                .map(|r| format!("{} ({})", r.commit, r.date))
                .collect();
            made.sort();
            made.dedup();
            let h = &m.hardware;
            let adapters = h["adapters"].as_array().into_iter().flatten().map(text_of);
            let _ = write!(
                out,
                "\n*{}*: {}, {} cores, {}, {}; {}; commit {}.\n",
                m.name,
                text_of(&h["processor"]),
                h["cores"],
                text_of(&h["memory"]),
                text_of(&h["system"]),
                adapters.collect::<Vec<_>>().join("; "),
                made.join(", ")
            );
        }
        out
    }
}

/// The text with `new` between the two lines; `None` if it has no such lines.
fn between(text: &str, new: &str) -> Option<String> {
    let (before, rest) = text.split_once(BEGIN)?;
    let (_, after) = rest.split_once(END)?;
    Some(format!("{before}{BEGIN}\n{new}{END}{after}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(date: &str, text: &str) -> Run {
        Run {
            date: date.to_owned(),
            text: text.to_owned(),
            tables: Table::read_all(text),
            ..Run::default()
        }
    }

    #[test]
    fn another_machine_adds_its_rows_and_replaces_none() {
        let dir = tempfile::tempdir().unwrap();
        let text = "| part | Vulkan |\n| --- | ---: |\n| all of these | 127 (130) |\n";
        let mut here = Figures::default();
        here.put(
            "mine",
            &json!({ "cores": 2 }),
            "cold",
            run("2031-05-17", text),
        );
        let mut there = Figures::default();
        let card = text.replace("127 (130)", "12 (13)");
        there.put(
            "card",
            &json!({ "cores": 16 }),
            "cold",
            run("2031-05-17", &card),
        );
        there.put(
            "mine",
            &json!({ "cores": 2 }),
            "cold",
            run("2031-05-16", ""),
        );
        here.merge(there);
        here.write(dir.path(), None).unwrap();
        let page = std::fs::read_to_string(dir.path().join("figures.md")).unwrap();
        assert!(page.contains("| 127 (130) | 12 (13) |"), "{page}");
        assert!(page.contains("### On mine") && page.contains("### On card"));
        // What is written is read back.
        let again = Figures::of_folder(dir.path()).unwrap();
        assert_eq!(again.page(), here.page());
    }

    #[test]
    fn only_what_lies_between_the_lines_is_changed() {
        let text = format!("a\n{BEGIN}\nold\n{END}\nb\n");
        let new = format!("a\n{BEGIN}\nnew\n{END}\nb\n");
        assert_eq!(between(&text, "new\n").unwrap(), new);
        assert_eq!(between("a\n", "new\n"), None);
    }
}
