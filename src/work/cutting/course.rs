//! What is kept through all of cutting, whatever else is done meanwhile.

use super::Stamp;

/// Cutting as a whole, beside what is asked for now.
#[derive(Debug, Clone, Default)]
pub(in crate::work) struct Course {
    /// Cutting goes on when what is being done is done.
    on: bool,
    /// How much had been done when it began: *back* takes back no more.
    from: usize,
    /// That the order cuts the same hand twice was said, and cutting was begun all the same.
    told_hands: bool,
    /// What was said last before going on, until it is gone on with.
    told: Option<String>,
    /// Outlines of what is cut are shown.
    outlines: bool,
    /// Spoilt parts that are cut again later.
    later: Vec<u32>,
    /// What the ledger shall say of what is cut now.
    stamp: Option<Stamp>,
}

impl Course {
    /// Cutting is under way, or an errand from it.
    pub(in crate::work) fn is_on(&self) -> bool {
        self.on
    }

    /// Cutting begins when so many steps have been done.
    pub(super) fn begin(&mut self, from: usize) {
        self.on = true;
        self.from = from;
        self.told = None;
    }

    /// Cutting goes on from where a stop has left it.
    pub(super) fn take_up(&mut self) {
        self.on = true;
    }

    pub(in crate::work) fn end(&mut self) {
        self.on = false;
    }

    /// Whether the last of so many steps was done since cutting began.
    pub(super) fn is_since(&self, depth: usize) -> bool {
        depth > self.from
    }

    /// Steps are counted from none again.
    pub(in crate::work) fn forget_steps(&mut self) {
        self.from = 0;
    }

    /// Whether this is to be said before going on: true, and the next time false.
    pub(super) fn tells(&mut self, words: &str) -> bool {
        let told = self.told.take();
        if told.as_deref() == Some(words) {
            return false;
        }
        self.told = Some(words.to_owned());
        true
    }

    /// What was said before going on is said again.
    pub(super) fn tells_anew(&mut self) {
        self.told = None;
    }

    /// Whether cutting was begun though the order cuts the same hand twice: that does not
    /// change, and is said no more.
    pub(super) fn has_told_hands(&self) -> bool {
        self.told_hands
    }

    /// Cutting is begun though the order cuts the same hand twice.
    pub(super) fn hands_are_told(&mut self) {
        self.told_hands = true;
    }

    pub(in crate::work) fn shows_outlines(&self) -> bool {
        self.outlines
    }

    pub(super) fn show_outlines(&mut self, on: bool) {
        self.outlines = on;
    }

    /// A spoilt part is cut again later.
    pub(super) fn put_off(&mut self, part: u32) {
        self.later.push(part);
    }

    pub(super) fn is_put_off(&self, part: u32) -> bool {
        self.later.contains(&part)
    }

    /// How often something was put off.
    pub(super) fn put_off_times(&self) -> usize {
        self.later.len()
    }

    /// What was put off may be cut again now.
    pub(super) fn later_is_now(&mut self) {
        self.later.clear();
    }

    pub(in crate::work) fn set_stamp(&mut self, stamp: Stamp) {
        self.stamp = Some(stamp);
    }

    pub(super) fn stamp(&self) -> Option<&Stamp> {
        self.stamp.as_ref()
    }
}
