//! Is the light still true? Which of the table's marks are bare, which keep a
//! ring of light, what it means where they are pointed at, and when the projector
//! is warm.

use super::act::{Reply, Said, Task, Touched};
use super::bench::Bench;
use super::cutting::Phase;
use super::doing::Doing;
use super::drawing::outline_on_table;
use crate::calibration::still::{Finding, Judged, Noted, POINTING, Seen, bare_words, judge};
use crate::lay::{DROP_RADIUS, inside, inside_of};
use crate::measure::Unit;
use crate::shape::{Region, near};
use crate::space::{Point, Table};

/// Outer radius of the ring of light round a mark, mm.
pub const RING: f64 = 6.0;

/// Between a ring and whatever else is lit, mm.
const GAP: f64 = 2.0;

/// The signs of notches reach so far beyond the band, mm.
const SIGNS: f64 = 10.0;

/// Further than this from every bare mark, a press means none of them, mm. A bump
/// moves the light much less.
const BUMP: f64 = 150.0;

/// From first light until the projector is warm, seconds: 20 to 30 minutes, an
/// estimate.
const WARM: f64 = 20.0 * 60.0;

/// What the bench knows of the light's own table.
#[derive(Debug, Clone, Default)]
pub(super) struct Watch {
    /// Where the light of each mark is meant.
    marks: Vec<Point<Table>>,
    /// When there was light first, seconds.
    lit_from: Option<f64>,
    /// It was said that the projector is warm, or the table was set since.
    asked: bool,
    /// The projector was refocused, and the light not found on its marks since.
    refocused: bool,
    /// The last check found the light off its marks, and the table was not set anew since.
    off: bool,
    /// Checks that were made, for the profile.
    noted: Vec<Noted>,
    /// Those that could not be kept.
    unkept: Vec<Noted>,
}

impl Watch {
    /// Where the light of the table's marks is meant.
    pub(super) fn marks(&self) -> &[Point<Table>] {
        &self.marks
    }

    /// When the light will ask to be checked, seconds; `None` if it won't.
    fn warm_at(&self) -> Option<f64> {
        let will = !self.asked && !self.marks.is_empty();
        self.lit_from.filter(|_| will).map(|from| from + WARM)
    }

    /// The table was set anew: if that was done warm, warmth needs no check.
    fn set_anew(&mut self, now: f64) {
        self.asked |= self.warm_at().is_some_and(|at| now >= at);
        self.refocused = false;
        self.off = false;
    }

    /// A check was made.
    fn note(&mut self, noted: Noted) {
        // All marks or a few: the light is where it was, or it must be set anew.
        self.off = !noted.is_still();
        self.refocused &= self.off;
        self.noted.push(noted);
    }
}

impl Bench {
    /// The table is set: here the light of its marks is meant.
    pub fn set_table_marks(&mut self, marks: Vec<Point<Table>>) {
        self.watch.marks = marks;
    }

    /// There is light. Only the first time counts: the lamp warms from there on.
    pub fn first_light(&mut self, now: f64) {
        self.watch.lit_from.get_or_insert(now);
    }

    /// The table was set anew: if that was done warm, warmth needs no check.
    pub fn table_is_set(&mut self, now: f64) {
        self.watch.set_anew(now);
        // What was pointed at was about the light as it was.
        if let Some(seen) = self.doing.seen_marks_mut() {
            seen.clear();
        }
        if let Doing::Cutting(c) = &mut self.doing
            && let Phase::Check { off, .. } = &mut c.phase
        {
            *off = false;
        }
    }

    /// When the light will ask to be checked, seconds; `None` if it won't.
    pub fn warm_at(&self) -> Option<f64> {
        self.watch.warm_at()
    }

    /// What is to be said now that time has passed: once.
    pub fn due(&mut self) -> Option<Said> {
        self.warm_at().filter(|at| self.now >= *at)?;
        self.watch.asked = true;
        Some(Said {
            words: "the projector is warm now: check the light before the next cut (V)".to_owned(),
            warning: false,
        })
    }

    /// The projector was refocused: its picture has another size now, if only a little.
    pub(super) fn refocused(&mut self) -> Reply {
        self.watch.refocused = true;
        if self.bare_marks().is_empty() {
            let words = self.bare_words();
            return Reply::refused(format!("refocusing rescales the light; {words}"));
        }
        self.begin(Task::Check)
    }

    /// What stands in the light until the light is found on its marks again.
    pub fn unchecked(&self) -> Option<&'static str> {
        let words = "refocused and not checked since: the light may have another size";
        let refocused = self.watch.refocused.then_some(words);
        self.found_off().or(refocused)
    }

    /// What a check has found, if it found the light off its marks and the table was not set
    /// anew since.
    pub(super) fn found_off(&self) -> Option<&'static str> {
        let words = "the light was found off the table's marks: set the table anew (F2), or check \
                     it again (V)";
        self.watch.off.then_some(words)
    }

    /// Whether the marks that are pointed at in this check lie off their light.
    pub(super) fn is_seen_off(&self) -> bool {
        let judged = self.check_so_far();
        judged.is_some_and(|j| j.finding != Finding::Still)
    }

    /// Checks that were made since this was last asked, for the profile; with them those that
    /// came back.
    pub fn take_checks(&mut self) -> Vec<Noted> {
        let watch = &mut self.watch;
        if watch.noted.is_empty() {
            return Vec::new();
        }
        let mut all = std::mem::take(&mut watch.unkept);
        all.append(&mut watch.noted);
        all
    }

    /// Checks that could not be kept are tried again with the next.
    pub fn put_checks_back(&mut self, unkept: Vec<Noted>) {
        self.watch.unkept = unkept;
    }

    /// The marks that no spread cloth covers, from 0, and where their light is meant.
    pub fn bare_marks(&self) -> Vec<(usize, Point<Table>)> {
        let cloths = self.panels().iter().filter(|p| p.spread);
        let cloths: Vec<Region<Table>> = cloths.filter_map(outline_on_table).collect();
        let marks = self.watch.marks.iter().copied().enumerate();
        let clear = |at: Point<Table>| {
            let ring = Region::disc(at, RING);
            !cloths.iter().any(|c| near(c, &ring, GAP))
        };
        marks.filter(|(_, at)| clear(*at)).collect()
    }

    /// The bare marks that keep a ring: those that no piece's light and no drop
    /// place lies over. None while the marks have crosses.
    pub fn watched_marks(&self) -> Vec<(usize, Point<Table>)> {
        let mut bare = self.bare_marks();
        if !self.ways().watch || self.doing.seen_marks().is_some() {
            return Vec::new();
        }
        let clear = |at: Point<Table>, of: &Region<Table>, reach: f64| {
            !near(of, &Region::disc(at, RING), reach + GAP)
        };
        let reach = self.lit.band() + SIGNS;
        if !bare.is_empty() {
            let (_, laid) = self.laid();
            for piece in laid.iter().filter(|l| !l.is_cut).map(inside) {
                bare.retain(|(_, at)| clear(*at, &piece, reach));
            }
        }
        let Some(cutting) = self.doing.cutting() else {
            return bare;
        };
        let stock = self.goods.stock();
        for lying in &cutting.lies {
            if let Some(piece) = stock.piece(&lying.piece) {
                let piece: Region<Table> = inside_of(piece).moved(&lying.pose);
                bare.retain(|(_, at)| clear(*at, &piece, reach));
            }
        }
        for drop in &cutting.drops {
            let far = DROP_RADIUS + RING + GAP;
            bare.retain(|(_, at)| (*at - drop.at).length() > far);
        }
        bare
    }

    /// How many marks are bare, and what that can't tell.
    pub(super) fn bare_words(&self) -> String {
        bare_words(self.bare_marks().len(), self.watch.marks.len())
    }

    /// The marks pointed at so far, judged; `None` while there are none.
    pub fn check_so_far(&self) -> Option<Judged> {
        let seen = self.doing.seen_marks()?.iter().filter_map(|(k, at)| {
            Some(Seen {
                number: k + 1,
                meant: *self.watch.marks.get(*k)?,
                seen: *at,
            })
        });
        judge(&seen.collect::<Vec<Seen>>(), POINTING, Unit::Mm).ok()
    }

    /// The bare mark that is nearest is here. Which it is needs no order: a bump is
    /// small against the way from mark to mark.
    pub(super) fn point_at_mark(&mut self, at: Point<Table>) -> Reply {
        let bare = self.bare_marks();
        let Some(seen) = self.doing.seen_marks_mut() else {
            return Reply::default();
        };
        let far = |p: &Point<Table>| (*p - at).length();
        let nearest = bare.iter().min_by(|a, b| far(&a.1).total_cmp(&far(&b.1)));
        let Some((k, _)) = nearest.filter(|(_, p)| far(p) < BUMP) else {
            return Reply::refused(
                "no bare mark of the table is near there: put the pointer on one",
            );
        };
        match seen.iter_mut().find(|(j, _)| j == k) {
            Some(again) => again.1 = at,
            None => seen.push((*k, at)),
        }
        let all = seen.len() == bare.len();
        if let Doing::Cutting(c) = &mut self.doing
            && let Phase::Check { off, .. } = &mut c.phase
        {
            *off = true;
        }
        let Some(judged) = self.check_so_far() else {
            return Reply::default();
        };
        if all {
            self.watch.note(Noted::from(&judged));
        }
        Reply {
            touched: Touched::Over,
            said: Some(Said {
                words: judged.to_string(),
                warning: judged.finding != Finding::Still,
            }),
        }
    }

    /// The check is over. Where all were pointed at it was noted then. `off`: the eye
    /// has not found the crosses on their marks.
    pub(super) fn note_check(&mut self, off: bool) {
        let bare = self.bare_marks().len();
        let noted = match self.check_so_far() {
            None if off || bare == 0 => return,
            None => Noted::by_eye(bare),
            Some(judged) if judged.marks >= bare => return,
            Some(judged) => Noted::from(&judged),
        };
        self.watch.note(noted);
    }
}
