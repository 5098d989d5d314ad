//! The pattern on the panel: what was found when it was proven, its drawings and its
//! drafts, open to be changed. Without disk: what is kept is written by the table.

use super::reading::{ReadOpen, ReadWish};
use crate::draft::{Desk, Part, RowAt};
use crate::fault::Outcome;
use crate::job::{AtHand, Job, PatternFile, Patterns};
use crate::pattern::{Finding, Severity, Spot, Topic};
use crate::prove::{Asked, Proof, prove};
use crate::work::State;
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
    pub readings: Vec<ReadOpen>,
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
        at: RowAt,
        key: String,
        text: String,
    },
    /// A row told in another of the ways that it can be told.
    Tell {
        draft: usize,
        at: RowAt,
        way: usize,
    },
    AddRow {
        draft: usize,
        part: Part,
        piece: usize,
    },
    RemoveRow {
        draft: usize,
        at: RowAt,
    },
    /// Of the drawing of this place among them.
    Read {
        reading: usize,
        wish: ReadWish,
    },
    /// All checks again, of what is drawn now.
    Prove,
    /// Drafts and corrected drawings are written, and their pieces are those on the table.
    Keep,
}

impl Proving {
    /// What a job's pattern is like. `texts`: its drafts', by their names in the job.
    pub fn of(job: &Job, texts: &BTreeMap<String, String>) -> Self {
        let mut proving = Self {
            readings: ReadOpen::of(job),
            ..Self::default()
        };
        for f in job.file.patterns.iter().filter(|f| f.size.is_none()) {
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

    /// Whether a drawing's largest piece has yet to be said to be of its true size.
    pub fn is_unconfirmed(&self) -> bool {
        self.readings.iter().any(|r| !r.is_confirmed())
    }

    /// Whether what is drawn is not what was proven.
    pub fn is_stale(&self) -> bool {
        self.proof.is_none() || self.of != self.editions()
    }

    fn editions(&self) -> Vec<u64> {
        let drafts = self.drafts.iter().map(|d| d.desk.edition());
        let readings = self.readings.iter().map(|r| r.desk.edition());
        drafts.chain(readings).collect()
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
                at,
                key,
                text,
            } => desk(drafts, *draft, &|d| d.set_cell(*at, key, text)),
            DraftWish::Tell { draft, at, way } => desk(drafts, *draft, &|d| d.tell(*at, *way)),
            DraftWish::AddRow { draft, part, piece } => {
                desk(drafts, *draft, &|d| d.add_row(*part, *piece));
            }
            DraftWish::RemoveRow { draft, at } => desk(drafts, *draft, &|d| d.remove_row(*at)),
            DraftWish::Read { reading, wish } => {
                if let Some(open) = self.readings.get_mut(*reading) {
                    open.grant(wish);
                }
            }
            DraftWish::Prove | DraftWish::Keep => {}
        }
    }

    /// All pieces of a job as the desks have them: drawn, with their seams, and with the
    /// parts that are derived from them.
    ///
    /// # Errors
    /// As [`Patterns::of_job`].
    pub fn drawn(&self, job: &Job) -> Outcome<Patterns> {
        let at_hand = |k: usize, f: &PatternFile| {
            let open = self.readings.iter().find(|r| r.at == k);
            let read = open.map(|r| AtHand::Read(r.desk.made().clone()));
            read.or_else(|| self.drafted(f))
        };
        Patterns::of_job(&job.folder, &job.file, at_hand)
    }

    /// A draft as it is on its desk.
    pub fn drafted(&self, f: &PatternFile) -> Option<AtHand> {
        // In a size it is drawn for that size's measures.
        let of = |d: &&DraftOpen| d.file == f.file && f.size.is_none();
        let open = self.drafts.iter().find(of)?;
        open.desk.drawn().cloned().map(AtHand::Drafted)
    }

    /// All checks, of what is drawn now, and of the lay as it stands.
    pub fn prove(&mut self, job: &Job, state: &State) {
        let (patterns, mut findings) = match self.drawn(job) {
            Ok(patterns) => {
                let findings = job.miscounts(&patterns.pieces, state);
                (patterns, findings)
            }
            Err(fault) => (Patterns::default(), vec![Finding::from(&fault)]),
        };
        let drafts = self.drafts.iter().map(|d| (&d.file, d.desk.fault()));
        let readings = self.readings.iter().map(|r| (&r.file, r.desk.fault()));
        for (file, why) in drafts.chain(readings) {
            if let Some(why) = why {
                let what = format!("{file}: what is asked can't be drawn: {why}");
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
