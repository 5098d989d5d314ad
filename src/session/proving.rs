//! The pattern on the panel: what was found when it was proven, and its drafts, open to
//! be changed. Without disk: what is kept is written by the table.

use crate::job::{Job, Patterns};
use crate::pattern::draft::{Cell, Desk};
use crate::pattern::prove::{Asked, Proof, prove};
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

    /// Does what only changes the desk, or proves. `job` has the pieces that no draft
    /// draws.
    pub fn grant(&mut self, wish: &DraftWish, job: &Job) {
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
            DraftWish::Prove => self.prove(job),
            DraftWish::Keep => {}
        }
    }

    /// All checks, of what is drawn now.
    pub fn prove(&mut self, job: &Job) {
        let mut patterns = Patterns::default();
        let mut findings = job.miscounts();
        for open in &self.drafts {
            match open.desk.drawn().cloned().map(|d| d.finished()) {
                Some(Ok((pattern, sewing))) => {
                    patterns.pieces.extend(pattern.pieces);
                    patterns.sewing.seams.extend(sewing.seams);
                    patterns.sewing.rings.extend(sewing.rings);
                }
                Some(Err(fault)) => findings.push(crate::pattern::Finding::from(&fault)),
                None => {}
            }
        }
        let is_drafted = |name: &str| patterns.pieces.iter().any(|p| p.name == name);
        let others: Vec<_> = job
            .pieces
            .iter()
            .filter(|p| !is_drafted(&p.name))
            .cloned()
            .collect();
        patterns.pieces.extend(others);
        let sewing = &mut patterns.sewing;
        for seam in &job.sewing.seams {
            if !sewing.seams.iter().any(|s| s.name == seam.name) {
                sewing.seams.push(seam.clone());
            }
        }
        for ring in &job.sewing.rings {
            if !sewing.rings.iter().any(|r| r.name == ring.name) {
                sewing.rings.push(ring.clone());
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
