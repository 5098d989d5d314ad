//! A drawing on the panel: what was read and guessed, put right, and written as a drawing
//! of our own. Without disk: reading and writing is done by the table.

use crate::drawing::read::correct::{Correction, CorrectionDesk};
use crate::drawing::read::{self, ReadOptions};
use crate::drawing::write;
use crate::fault::Outcome;
use crate::job::Job;
use crate::measure::{Unit, parse_length};
use crate::pattern::Pattern;

/// A size that was confirmed is still that if it is off by no more, mm: another
/// flattening of the same curves.
const SAME: f64 = 0.5;

/// A drawing of the job, on the desk.
#[derive(Debug)]
pub struct ReadOpen {
    /// Its place among the job's pattern files.
    pub at: usize,
    /// As the job names it.
    pub file: String,
    pub desk: CorrectionDesk,
    /// How much larger than drawn it was read; and how much the job says.
    pub scale: f64,
    job_scale: f64,
    /// Width and height of its largest piece, mm, as the person found them to be true.
    confirmed: Option<[f64; 2]>,
    /// What has become of the corrections when it was read again.
    pub note: Option<&'static str>,
}

/// What is asked of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum ReadWish {
    Correct(Correction),
    /// The correction of this place among them, from 0.
    TakeBack(usize),
    /// How long the largest piece's longer side is, as it is typed.
    Size(String),
    /// Read at this scale.
    Scale(f64),
    /// The largest piece is of its true size.
    Confirm,
}

impl ReadOpen {
    /// The drawings of a job, as they were read.
    pub fn of(job: &Job) -> Vec<Self> {
        let each = job.drawings.iter().filter_map(|(at, pattern)| {
            let file = job.file.patterns.get(*at)?;
            let scale = file.scale.unwrap_or(1.0);
            Some(Self {
                at: *at,
                file: file.file.clone(),
                desk: CorrectionDesk::of(pattern.clone()),
                scale,
                job_scale: scale,
                confirmed: file.true_size_mm,
                note: None,
            })
        });
        each.collect()
    }

    /// Whether it is another than the job has.
    pub fn is_changed(&self) -> bool {
        self.desk.is_changed() || self.scale != self.job_scale
    }

    /// Width and height of the largest piece, mm, to a tenth.
    pub fn size(&self) -> Option<[f64; 2]> {
        let largest = self.desk.largest()?;
        Some(largest.size.map(|mm| (mm * 10.0).round() / 10.0))
    }

    /// Whether a person has said that the largest piece is of its true size, as it is now.
    pub fn is_confirmed(&self) -> bool {
        let near = |(a, b): (&f64, &f64)| (a - b).abs() <= SAME;
        match (self.confirmed, self.size()) {
            (Some(said), Some(now)) => said.iter().zip(&now).all(near),
            _ => false,
        }
    }

    /// The size that was confirmed, if it still is.
    pub fn confirmed(&self) -> Option<[f64; 2]> {
        self.confirmed.filter(|_| self.is_confirmed())
    }

    /// The largest piece is of its true size.
    pub fn confirm(&mut self) {
        self.confirmed = self.size();
    }

    /// At what scale the file must be read for the largest piece's longer side to be as it
    /// was typed; a length without unit is in `unit`.
    ///
    /// # Errors
    /// If it is no length, or the scale would not be one.
    pub fn scale_for(&self, text: &str, unit: Unit) -> Outcome<f64> {
        Ok(self.scale * self.desk.scale_to(parse_length(text, unit)?)?)
    }

    /// How the file is read at another scale than the job says.
    ///
    /// # Errors
    /// If what the job says of it can't be read.
    pub fn options(&self, job: &Job, scale: f64) -> Outcome<ReadOptions> {
        let file = job.file.patterns.get(self.at);
        let options = file.map_or(Ok(ReadOptions::default()), |f| f.options())?;
        Ok(ReadOptions { scale, ..options })
    }

    /// Takes up the file as it was read at another scale.
    pub fn take_up(&mut self, read: Pattern, scale: f64) {
        self.scale = scale;
        let had = self.desk.is_changed();
        let kept = self.desk.read_again(read);
        let lost = "at this size the strokes are sorted otherwise, so the corrections made before are gone";
        self.note = (had && !kept).then_some(lost);
    }

    /// Does what only changes the desk.
    pub fn grant(&mut self, wish: &ReadWish) {
        match wish {
            ReadWish::Correct(correction) => self.desk.correct(correction.clone()),
            ReadWish::TakeBack(k) => self.desk.take_back(*k),
            ReadWish::Confirm => self.confirm(),
            ReadWish::Size(_) | ReadWish::Scale(_) => {}
        }
    }

    /// The corrected pieces as a drawing of our own, and that as it will be read.
    ///
    /// # Errors
    /// If it would not be read back: then nothing must be written.
    pub fn written(&self) -> Outcome<(String, Pattern)> {
        let text = write::svg(&self.desk.made().pieces);
        let back = read::parse(text.as_bytes(), &ReadOptions::default())?;
        Ok((text, back))
    }
}
