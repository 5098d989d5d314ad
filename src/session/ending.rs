//! Ending, and what the person must be told before: nothing has to be saved here, so what would be
//! lost by ending is said first, once, while the windows stand.

use super::app::App;
use super::proving::DraftOpen;
use super::table::LiveTable;
use crate::fault::{Fault, Outcome};
use crate::job::PatternFile;
use winit::event_loop::ActiveEventLoop;

/// What to do about what is not kept when the table is left.
const PRESS: &str = "press \"keep it\" on the leaf \"pattern\", or end again";

/// What the person was told of, when it was asked to end.
#[derive(Debug, Default)]
pub struct Ending(Vec<String>);

impl Ending {
    /// Asked to end while so much would be lost, a sentence each: what to say first, or `None` if
    /// nothing would, or if the person was told just that before.
    pub fn asked(&mut self, lost: Vec<String>) -> Option<String> {
        if lost.is_empty() || lost == self.0 {
            return None;
        }
        let words = lost.join(". ");
        self.0 = lost;
        Some(words)
    }

    /// Something was done since: what was told is told anew.
    pub fn anew(&mut self) {
        self.0.clear();
    }
}

impl LiveTable {
    /// Asked to end: what the person must be told first; `None` if it may end. Asked again with
    /// nothing done in between, it may.
    pub fn asked_to_end(&mut self) -> Option<String> {
        let lost = self.lost_by_ending();
        self.ending.asked(lost)
    }

    fn lost_by_ending(&self) -> Vec<String> {
        // What is only looked at can't be kept by anyone.
        if self.memory.read_only().is_some() {
            return Vec::new();
        }
        let mut lost = self.not_kept();
        if self.changed {
            lost.extend(self.memory.changed_outside().map(|why| unsaved(&why)));
        }
        lost.extend(self.memory.journal_trouble().map(|why| unwritten(&why)));
        lost
    }

    /// What is corrected or typed on the desks and not kept, a sentence each: what is lost of it
    /// by ending.
    fn not_kept(&self) -> Vec<String> {
        let readings = self.proving.readings.iter().filter(|r| r.is_changed());
        let readings = of_files(readings.map(|r| &*r.file));
        let drafts = self.proving.drafts.iter().filter(|d| d.desk.is_changed());
        let drafts = of_files(drafts.map(|d| &*d.file));
        let job = &self.memory.job.file.patterns;
        let drawn_for_other = |d: &&DraftOpen| {
            let mut own = job.iter().filter(|p| p.file == d.file && p.size.is_none());
            !own.any(|p| is_drawn_for(d, p))
        };
        let measures = self.proving.drafts.iter().filter(drawn_for_other);
        let measures = of_files(measures.map(|d| &*d.file));
        let told = [
            readings.map(|(files, are, them)| {
                format!(
                    "{files} {are} corrected and not written yet: {PRESS} to leave {them} as before"
                )
            }),
            drafts.map(|(files, are, them)| {
                format!(
                    "{files} {are} changed and not written yet: {PRESS}: what was typed is then \
                     put into a file beside {them}"
                )
            }),
            measures.map(|(files, _, them)| {
                format!(
                    "{files}: other measures are typed and not written yet: {PRESS} to leave \
                     {them} as before"
                )
            }),
        ];
        told.into_iter().flatten().collect()
    }
}

/// Files in a sentence, with its verb and what stands for them; `None` if there are none.
fn of_files<'a>(
    files: impl Iterator<Item = &'a str>,
) -> Option<(String, &'static str, &'static str)> {
    let files: Vec<&str> = files.collect();
    match files.as_slice() {
        [] => None,
        [one] => Some(((*one).to_owned(), "is", "it")),
        [first @ .., last] => Some((format!("{} and {last}", first.join(", ")), "are", "them")),
    }
}

/// Whether a draft is drawn for the measures and percents that the job says.
fn is_drawn_for(open: &DraftOpen, file: &PatternFile) -> bool {
    let percents = open.desk.scales().map(|s| s * 100.0);
    let said = [file.length_percent, file.width_percent].map(|p| p.unwrap_or(100.0));
    let mut pairs = percents.iter().zip(&said);
    // A percent that was kept may differ in its last digit.
    file.measures == *open.desk.typed() && pairs.all(|(now, said)| (now - said).abs() < 1e-6)
}

/// What was done can't go into the job file, and why.
fn unsaved(why: &Fault) -> String {
    format!(
        "{}: {}: put the file back as it was, or end again: what was done here is then in the \
         journal only, the file as it was is kept beside it, and you are told how to go on",
        why.place.join(": "),
        why.what
    )
}

/// What was done is not in the journal, and why.
fn unwritten(why: &Fault) -> String {
    format!(
        "{}: {}: put that right first; if you end again as it is, what was done since may be lost",
        why.place.join(": "),
        why.what
    )
}

impl App {
    /// Ends, unless something must be said before.
    pub(super) fn end(&mut self, event_loop: &ActiveEventLoop) -> Outcome<()> {
        match self.table.asked_to_end() {
            Some(words) => self.tell_where_seen(words),
            None => {
                event_loop.exit();
                Ok(())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_ending_ends_and_what_is_new_is_told_first() {
        let mut ending = Ending::default();
        let lost = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
        assert_eq!(ending.asked(lost(&[])), None);
        assert_eq!(ending.asked(lost(&["a"])).as_deref(), Some("a"));
        assert_eq!(ending.asked(lost(&["a"])), None);
        assert_eq!(ending.asked(lost(&["a", "b"])).as_deref(), Some("a. b"));
        assert_eq!(ending.asked(lost(&["a", "b"])), None);
        ending.anew();
        assert_eq!(ending.asked(lost(&["a", "b"])).as_deref(), Some("a. b"));
        assert_eq!(ending.asked(lost(&[])), None);
    }
}
