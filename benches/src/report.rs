//! What was found: tables for people, JSON for programs.

use crate::table::Table;
use crate::timing::Samples;
use ghostchalk::twin::exact::CoverageError;
use serde_json::{Value, json};

/// What a figure is about.
#[derive(Debug, Clone, Copy)]
pub struct Subject {
    /// Who drew: a driver, a peer, or `-` where nothing is drawn.
    pub by: &'static str,
    pub scene: &'static str,
    pub size: Option<[u32; 2]>,
}

impl Subject {
    pub fn by(self, by: &'static str) -> Self {
        Self { by, ..self }
    }

    fn size(&self) -> String {
        self.size
            .map_or("any picture".to_owned(), |[w, h]| format!("{w}x{h}"))
    }

    fn json(&self) -> Value {
        json!({ "scene": self.scene, "size_px": self.size, "by": self.by })
    }
}

#[derive(Debug, Default)]
pub struct Report {
    facts: Vec<(String, Value)>,
    times: Vec<(Subject, String, Samples)>,
    errors: Vec<(Subject, CoverageError)>,
}

/// Those of `all` that differ, in the order of their first.
fn distinct<T: PartialEq>(all: impl Iterator<Item = T>) -> Vec<T> {
    all.fold(Vec::new(), |mut kept, one| {
        if !kept.contains(&one) {
            kept.push(one);
        }
        kept
    })
}

impl Report {
    /// Something that the figures depend on.
    pub fn fact(&mut self, what: impl Into<String>, value: impl Into<Value>) {
        self.facts.push((what.into(), value.into()));
    }

    pub fn time(&mut self, at: Subject, what: &str, samples: &Samples) {
        eprintln!(
            "{} {} {}: {what}: {:.3} ms",
            at.scene,
            at.size(),
            at.by,
            samples.quantile(0.5)
        );
        self.times.push((at, what.to_owned(), samples.clone()));
    }

    pub fn error(&mut self, at: Subject, error: CoverageError) {
        self.errors.push((at, error));
    }

    /// All of it, to standard output.
    pub fn print(&self) {
        for (what, value) in &self.facts {
            let value = match value {
                Value::String(s) => s.clone(),
                other => other.to_string(),
            };
            println!("* {what}: {value}");
        }
        for scene in distinct(self.times.iter().map(|(at, ..)| at.scene)) {
            println!("\n*{scene}*: median, ms, and in brackets what 95 % take no more than\n");
            self.times_of(scene).print();
        }
        if !self.errors.is_empty() {
            println!("\nLight in edge pixels, as a share of white, against exact area\n");
            self.errors().print();
        }
        crate::table::raw(&self.json());
    }

    /// A row for each drawer and what it did, whole frames first; a column for each size.
    fn times_of(&self, scene: &str) -> Table {
        let own = || self.times.iter().filter(move |(at, ..)| at.scene == scene);
        let sizes = distinct(own().map(|(at, ..)| at.size()));
        let mut rows = distinct(own().map(|(at, what, _)| (at.by, what.as_str())));
        rows.sort_by_key(|(_, what)| !what.starts_with("whole frame"));
        let mut table = Table::new(["by", "what"], sizes.iter().map(String::as_str));
        for (by, what) in rows {
            let cells = sizes.iter().map(|size| {
                let here =
                    own().find(|(at, of, _)| at.by == by && of == what && at.size() == *size);
                here.map_or(String::new(), |(_, _, s)| {
                    format!("{:.3} ({:.3})", s.quantile(0.5), s.quantile(0.95))
                })
            });
            table.row([by, what].map(str::to_owned).into_iter().chain(cells));
        }
        table
    }

    fn errors(&self) -> Table {
        let numbers = [
            "edge pixels",
            "mean error",
            "worst error",
            "wrong elsewhere",
        ];
        let mut table = Table::new(["scene", "picture", "by"], numbers);
        for (at, e) in &self.errors {
            let cells = [
                at.scene.to_owned(),
                at.size(),
                at.by.to_owned(),
                e.edge_pixels.to_string(),
                format!("{:.5}", e.mean),
                format!("{:.5}", e.worst),
                e.wrong_solid.to_string(),
            ];
            table.row(cells);
        }
        table
    }

    fn json(&self) -> Value {
        let times = self.times.iter().map(|(at, what, samples)| {
            let mut v = at.json();
            v["what"] = json!(what);
            v["runs"] = json!(samples.count());
            v["median_ms"] = json!(samples.quantile(0.5));
            v["p95_ms"] = json!(samples.quantile(0.95));
            v
        });
        let errors = self.errors.iter().map(|(at, e)| {
            let mut v = at.json();
            v["edge_pixels"] = json!(e.edge_pixels);
            v["mean"] = json!(e.mean);
            v["worst"] = json!(e.worst);
            v["wrong_solid"] = json!(e.wrong_solid);
            v
        });
        let facts: serde_json::Map<_, _> = self.facts.iter().cloned().collect();
        json!({
            "facts": facts,
            "times": times.collect::<Vec<_>>(),
            "errors": errors.collect::<Vec<_>>(),
        })
    }
}
