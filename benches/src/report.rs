//! What was found: a table for people, JSON for programs.

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

    fn cells(&self) -> [String; 3] {
        let size = self
            .size
            .map_or("-".to_owned(), |[w, h]| format!("{w}x{h}"));
        [self.scene.to_owned(), size, self.by.to_owned()]
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

impl Report {
    /// Something that the figures depend on.
    pub fn fact(&mut self, what: impl Into<String>, value: impl Into<Value>) {
        self.facts.push((what.into(), value.into()));
    }

    pub fn time(&mut self, at: Subject, what: &str, samples: &Samples) {
        let [scene, size, by] = at.cells();
        eprintln!(
            "{scene} {size} {by}: {what}: {:.3} ms",
            samples.quantile(0.5)
        );
        self.times.push((at, what.to_owned(), samples.clone()));
    }

    pub fn error(&mut self, at: Subject, error: CoverageError) {
        self.errors.push((at, error));
    }

    pub fn text(&self) -> String {
        let mut text = String::new();
        for (what, value) in &self.facts {
            let value = match value {
                Value::String(s) => s.clone(),
                other => other.to_string(),
            };
            text += &format!("{what}: {value}\n");
        }
        let head = [
            "scene",
            "picture",
            "by",
            "what",
            "runs",
            "median ms",
            "95 % ms",
        ];
        let times = self.times.iter().map(|(at, what, samples)| {
            let [scene, size, by] = at.cells();
            let ms = |share| format!("{:.3}", samples.quantile(share));
            let runs = samples.count().to_string();
            [scene, size, by, what.clone(), runs, ms(0.5), ms(0.95)]
        });
        text += &table(head, 4, times.collect());
        let head = [
            "scene",
            "picture",
            "by",
            "edge pixels",
            "mean error",
            "worst error",
            "wrong elsewhere",
        ];
        let errors = self.errors.iter().map(|(at, e)| {
            let [scene, size, by] = at.cells();
            [
                scene,
                size,
                by,
                e.edge_pixels.to_string(),
                format!("{:.5}", e.mean),
                format!("{:.5}", e.worst),
                e.wrong_solid.to_string(),
            ]
        });
        text + &table(head, 3, errors.collect())
    }

    pub fn json(&self) -> Value {
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

/// Columns from `right` on are numbers and stand to the right.
fn table<const N: usize>(head: [&str; N], right: usize, rows: Vec<[String; N]>) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let width: [usize; N] = std::array::from_fn(|c| {
        let cells = rows.iter().map(|r| r[c].chars().count());
        cells.fold(head[c].chars().count(), usize::max)
    });
    let line = |cells: [&str; N]| {
        let mut line = String::from("|");
        for (c, cell) in cells.iter().enumerate() {
            let w = width[c];
            line += &if c < right {
                format!(" {cell:w$} |")
            } else {
                format!(" {cell:>w$} |")
            };
        }
        line + "\n"
    };
    let rule: [String; N] = std::array::from_fn(|c| {
        let dashes = "-".repeat(width[c] - 1);
        if c < right {
            format!("-{dashes}")
        } else {
            format!("{dashes}:")
        }
    });
    let mut text = format!("\n{}", line(head));
    text += &line(std::array::from_fn(|c| rule[c].as_str()));
    for row in &rows {
        text += &line(std::array::from_fn(|c| row[c].as_str()));
    }
    text
}
