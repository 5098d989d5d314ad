//! A job as it would be opened if the work were written into its file.

use super::added::{add_notches, take_off_notches};
use super::{Job, JobFile};
use crate::fault::{Fault, Outcome};
use crate::work::{AddedNotch, State};

impl JobFile {
    /// The file as it would be written with the work as it is in `state`.
    #[must_use]
    pub fn with_work(&self, state: &State) -> Self {
        Self {
            panels: state.panels.clone(),
            placed: state.placed.values().cloned().collect(),
            light: Some(state.ways),
            trims: state.trims.clone(),
            wishes: state.wishes.clone(),
            cutting: (!state.cuts.is_empty()).then(|| state.cuts.clone()),
            ..self.clone()
        }
    }

    fn notches(&self) -> &[AddedNotch] {
        let added = self.cutting.as_ref().map(|c| c.notches.as_slice());
        added.unwrap_or_default()
    }
}

impl Job {
    /// The job as it would be opened with the work as it is in `state` in its file: its pieces
    /// have the notches that were added since, too.
    ///
    /// # Errors
    /// Names an added notch whose piece is not there, or that lies on no cut line.
    pub fn with_work(mut self, state: &State) -> Outcome<Self> {
        let now = self.file.with_work(state);
        if now.notches() != self.file.notches() {
            take_off_notches(&mut self.pieces, self.file.notches());
            // It may stand in the journal alone.
            add_notches(&mut self.pieces, now.notches()).map_err(|f| Fault {
                remedy: "open the job at the table and take it back, or draw the pattern as it was"
                    .to_owned(),
                ..f
            })?;
        }
        self.file = now;
        Ok(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::saved_text;
    use crate::lay::{CutPart, Marking};
    use crate::pattern::PatternPiece;
    use crate::work::{Op, Spot};
    use std::path::Path;

    /// The demo's job and its text.
    fn demo() -> (Job, String) {
        let path = Path::new("demo-data/job.toml");
        let text = std::fs::read_to_string(path).unwrap();
        (Job::from_text(path, &text).unwrap(), text)
    }

    fn band(job: &Job) -> &PatternPiece {
        let mut pieces = job.pieces.iter();
        pieces.find(|p| p.name == "heel band").unwrap()
    }

    /// A notch in the middle of an edge of the heel band.
    fn notch_of(job: &Job, edge: usize) -> AddedNotch {
        let ring = &band(job).cut[0];
        let at = ring[edge].lerp(ring[edge + 1], 0.5);
        AddedNotch {
            piece: "heel band".to_owned(),
            x_mm: at.x,
            y_mm: at.y,
        }
    }

    #[test]
    fn a_job_with_its_work_is_the_one_that_is_opened_once_it_is_saved() {
        let (job, text) = demo();
        let mut state = job.state();
        let placed = state.placed[&1].clone();
        let to = Spot {
            x_mm: placed.x_mm + 3.0,
            ..Spot::of(&placed)
        };
        let [first, second] = [0, 1].map(|edge| notch_of(&job, edge));
        let notch = |from, to| Op::NextNotch { at: 0, from, to };
        let ops = [
            Op::Move {
                id: 1,
                from: Spot::of(&placed),
                to,
            },
            notch(None, Some(first.clone())),
            Op::Cut {
                parts: vec![CutPart {
                    id: 1,
                    placed: 1,
                    piece: placed.piece.clone(),
                    article: placed.article.clone(),
                    cloth: "canvas".to_owned(),
                    panel: placed.panel.clone(),
                    face: placed.face,
                    plies: 1,
                    clipped_late: Vec::new(),
                    marking: Marking::Nothing,
                    spoilt: false,
                    by: None,
                }],
            },
        ];
        for op in &ops {
            state.apply(op).unwrap();
        }
        let now = job.clone().with_work(&state).unwrap();
        let saved = |job: &Job| {
            let text = saved_text(&text, &job.file).unwrap();
            Job::from_text(Path::new("demo-data/job.toml"), &text).unwrap()
        };
        assert_eq!(now.file, saved(&now).file);
        assert_eq!(now.pieces, saved(&now).pieces);
        assert_eq!(band(&now).notches.len(), band(&job).notches.len() + 1);
        let cut: Vec<bool> = now.laid().iter().map(|l| l.is_cut).collect();
        assert!(cut[0] && !cut[1..].contains(&true), "{cut:?}");
        // A notch that is in the file and was taken back since is on no piece.
        let mut state = now.state();
        state.apply(&notch(Some(first), None)).unwrap();
        state.apply(&notch(None, Some(second.clone()))).unwrap();
        let other = now.with_work(&state).unwrap();
        assert_eq!(other.pieces, saved(&other).pieces);
        state.apply(&notch(Some(second), None)).unwrap();
        let none = other.with_work(&state).unwrap();
        assert_eq!(none.pieces, job.pieces);
    }
}
