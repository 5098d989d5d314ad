//! The pattern on the panel: what was found when it was proven, and its drafts, open to
//! be changed. Without disk: what is kept is written by the table.

use crate::fault::Outcome;
use crate::job::{Job, PatternFile, Patterns};
use crate::pattern::draft::{Cell, Desk};
use crate::pattern::prove::{Asked, Proof, prove};
use crate::pattern::{Finding, Severity, Spot, Topic};
use std::collections::BTreeMap;

/// A draft of the job, on the desk.
#[derive(Debug)]
pub struct DraftOpen {
    /// As the job names it.
    pub file: String,
    pub desk: Desk,
}

/// What the panel shows of the pattern.
#[derive(Debug, Default)]
pub struct Proving {
    pub proof: Option<Proof>,
    pub drafts: Vec<DraftOpen>,
    /// The drawings on the desks that the proof is of.
    of: Vec<u64>,
}

/// What is asked for at the panel's leaf of the pattern. `draft` counts from 0.
#[derive(Debug, Clone, PartialEq)]
pub enum DraftWish {
    Measure {
        draft: usize,
        name: String,
        text: String,
    },
    /// Along the grain and across it, percent.
    Scales {
        draft: usize,
        percent: [f64; 2],
    },
    Cell {
        draft: usize,
        piece: String,
        row: usize,
        key: String,
        text: String,
    },
    AddRow {
        draft: usize,
        piece: String,
    },
    RemoveRow {
        draft: usize,
        piece: String,
        row: usize,
    },
    /// All checks again, of what is drawn now.
    Prove,
    /// The drafts are written, and their pieces are those on the table.
    Keep,
}

impl Proving {
    /// What a job's pattern is like. `texts`: its drafts', by their names in the job.
    pub fn of(job: &Job, texts: &BTreeMap<String, String>) -> Self {
        let mut proving = Self::default();
        for f in &job.file.patterns {
            let scales = [f.length_percent, f.width_percent].map(|p| p.unwrap_or(100.0) / 100.0);
            let text = texts.get(&f.file);
            let desk = text.and_then(|t| Desk::open(t, f.measures.clone(), scales).ok());
            proving.drafts.extend(desk.map(|desk| DraftOpen {
                file: f.file.clone(),
                desk,
            }));
        }
        proving
    }

    /// Whether what is drawn is not what was proven.
    pub fn is_stale(&self) -> bool {
        self.proof.is_none() || self.of != self.editions()
    }

    fn editions(&self) -> Vec<u64> {
        self.drafts.iter().map(|d| d.desk.edition()).collect()
    }

    /// Does what only changes a desk.
    pub fn grant(&mut self, wish: &DraftWish) {
        let desk = |drafts: &'_ mut [DraftOpen], k: usize, act: &dyn Fn(&mut Desk)| {
            if let Some(open) = drafts.get_mut(k) {
                act(&mut open.desk);
            }
        };
        let drafts = &mut self.drafts;
        match wish {
            DraftWish::Measure { draft, name, text } => {
                desk(drafts, *draft, &|d| d.set_measure(name, text));
            }
            DraftWish::Scales { draft, percent } => {
                desk(drafts, *draft, &|d| {
                    d.set_scales(percent.map(|p| p / 100.0))
                });
            }
            DraftWish::Cell {
                draft,
                piece,
                row,
                key,
                text,
            } => desk(drafts, *draft, &|d| d.set_cell(piece, *row, key, text)),
            DraftWish::AddRow { draft, piece } => desk(drafts, *draft, &|d| {
                let rows = d.rows();
                let own = || rows.iter().filter(|r| r.piece == *piece);
                let last = own().next_back().map(|r| r.point.clone());
                let free = |k: &usize| own().all(|r| r.point != format!("point {k}"));
                let name = format!("point {}", (1..).find(free).unwrap_or(1));
                let cell = |key: &str, text: &str| Cell {
                    key: key.to_owned(),
                    text: text.to_owned(),
                };
                let mut cells = vec![cell("point", &name)];
                if let Some(last) = last {
                    cells.extend([cell("from", &last), cell("go", "right"), cell("by", "10mm")]);
                }
                d.add_row(piece, usize::MAX, &cells);
            }),
            DraftWish::RemoveRow { draft, piece, row } => {
                desk(drafts, *draft, &|d| d.remove_row(piece, *row));
            }
            DraftWish::Prove | DraftWish::Keep => {}
        }
    }

    /// All pieces of a job as the desks have them: drawn, with their seams, and with the
    /// parts that are derived from them.
    ///
    /// # Errors
    /// As [`Patterns::read`], or if a part can't be derived.
    pub fn drawn(&self, job: &Job) -> Outcome<Patterns> {
        let at_hand = |f: &PatternFile| {
            let open = self.drafts.iter().find(|d| d.file == f.file);
            open.and_then(|d| d.desk.drawn().cloned())
        };
        let mut all = Patterns::read_with(&job.folder, &job.file.patterns, at_hand)?;
        all.derive(&job.file.derived)?;
        Ok(all)
    }

    /// All checks, of what is drawn now.
    pub fn prove(&mut self, job: &Job) {
        let (patterns, mut findings) = match self.drawn(job) {
            Ok(patterns) => {
                let findings = job.miscounts(&patterns.pieces);
                (patterns, findings)
            }
            Err(fault) => (Patterns::default(), vec![Finding::from(&fault)]),
        };
        for open in &self.drafts {
            if let Some(why) = open.desk.fault() {
                let what = format!("{}: what is typed can't be drawn: {why}", open.file);
                let (spot, remedy) = (Spot::default(), "put that right");
                findings.push(Finding::new(
                    Severity::Spoils,
                    Topic::File,
                    spot,
                    what,
                    remedy,
                ));
            }
        }
        let asked = Asked {
            findings,
            ..Asked::default()
        };
        self.proof = Some(prove(&patterns.pieces, &patterns.sewing, &asked));
        self.of = self.editions();
    }
}
