//! Two signals, from anything that goes down and up: a foot switch, a number pad,
//! a spare mouse. Switches bounce, keys repeat, and a foot lingers.
//!
//! *Go on* counts when it goes down. *Back* has two meanings and counts when it
//! comes up again, or when it has been held. No clock here: the caller has one,
//! in seconds.

use serde::{Deserialize, Serialize};

/// What a switch stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Signal {
    GoOn,
    Back,
}

impl Signal {
    pub fn words(self) -> &'static str {
        match self {
            Signal::GoOn => "go on",
            Signal::Back => "back",
        }
    }
}

/// What the person has said by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    GoOn,
    Back,
    /// *Back* has been held.
    List,
}

/// Presses of one switch within this of each other count once, seconds.
pub const ONCE: f64 = 0.25;

/// *Back* is held when it has been down for so long, seconds.
pub const HELD: f64 = 0.6;

/// Up for less than this is a contact that bounces, seconds.
const BOUNCE: f64 = 0.04;

/// A switch that is down.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Down {
    since: f64,
    /// When it came up, if it has: it may be bouncing.
    up: Option<f64>,
    /// That it is held has been told.
    told: bool,
}

/// Makes signals of what switches do.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Signals {
    /// When each last began to count.
    last: [Option<f64>; 2],
    /// *Go on* is down, or came up just now.
    go_on: Option<Contact>,
    back: Option<Down>,
}

/// What *go on*'s switch was last seen to do.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Contact {
    Down,
    Up(f64),
}

impl Signals {
    /// A switch goes down, or a key that is down repeats.
    pub fn down(&mut self, signal: Signal, now: f64) -> Option<Told> {
        match signal {
            Signal::GoOn => {
                let repeats = match self.go_on.replace(Contact::Down) {
                    Some(Contact::Down) => true,
                    Some(Contact::Up(at)) => now - at < BOUNCE,
                    None => false,
                };
                // A run of presses counts once, however long it is.
                let counts = self.counts(0, now);
                self.last[0] = Some(now);
                (!repeats && counts).then_some(Told::GoOn)
            }
            Signal::Back => {
                let told = self.tick(now);
                if let Some(down) = &mut self.back {
                    down.up = None;
                } else if self.counts(1, now) {
                    self.last[1] = Some(now);
                    self.back = Some(Down {
                        since: now,
                        up: None,
                        told: false,
                    });
                }
                told
            }
        }
    }

    /// A switch comes up.
    pub fn up(&mut self, signal: Signal, now: f64) -> Option<Told> {
        match signal {
            Signal::GoOn => {
                self.go_on = Some(Contact::Up(now));
                None
            }
            Signal::Back => {
                let told = self.tick(now);
                if let Some(down) = &mut self.back {
                    down.up.get_or_insert(now);
                }
                told
            }
        }
    }

    /// When [`Signals::tick`] will have something to tell, if nothing happens.
    pub fn due(&self) -> Option<f64> {
        let down = self.back?;
        match down.up {
            Some(up) => Some(up + BOUNCE),
            None => (!down.told).then_some(down.since + HELD),
        }
    }

    /// Lets time pass.
    pub fn tick(&mut self, now: f64) -> Option<Told> {
        let down = self.back.as_mut()?;
        if down.up.is_some_and(|up| now >= up + BOUNCE) {
            let told = down.told;
            self.back = None;
            return (!told).then_some(Told::Back);
        }
        if down.up.is_none() && !down.told && now >= down.since + HELD {
            down.told = true;
            return Some(Told::List);
        }
        None
    }

    /// The keyboard is gone: what is down will not be seen to come up.
    pub fn forget(&mut self) {
        self.go_on = None;
        self.back = None;
    }

    fn counts(&self, which: usize, now: f64) -> bool {
        self.last[which].is_none_or(|last| now - last >= ONCE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Feeds downs (`true`) and ups at their times, and lets time pass to `end`.
    fn told(signal: Signal, events: &[(f64, bool)], end: f64) -> Vec<Told> {
        let mut signals = Signals::default();
        let mut all = Vec::new();
        for &(at, down) in events {
            while let Some(due) = signals.due().filter(|d| *d <= at) {
                all.extend(signals.tick(due));
            }
            all.extend(if down {
                signals.down(signal, at)
            } else {
                signals.up(signal, at)
            });
        }
        while let Some(due) = signals.due().filter(|d| *d <= end) {
            all.extend(signals.tick(due));
        }
        all
    }

    #[test]
    fn three_presses_in_200_ms_count_once() {
        let three = [
            (0.0, true),
            (0.05, false),
            (0.1, true),
            (0.15, false),
            (0.19, true),
            (0.2, false),
        ];
        assert_eq!(told(Signal::GoOn, &three, 2.0), [Told::GoOn]);
        assert_eq!(told(Signal::Back, &three, 2.0), [Told::Back]);
        // A quarter of a second apart they are two.
        let two = [(0.0, true), (0.1, false), (0.25, true), (0.35, false)];
        assert_eq!(told(Signal::GoOn, &two, 2.0), [Told::GoOn; 2]);
        assert_eq!(told(Signal::Back, &two, 2.0), [Told::Back; 2]);
    }

    #[test]
    fn a_key_that_repeats_counts_once_and_held_back_opens_the_list_once() {
        let mut held = vec![(0.0, true)];
        held.extend((0..60).map(|k| (0.5 + 0.03 * f64::from(k), true)));
        held.push((2.4, false));
        assert_eq!(told(Signal::GoOn, &held, 4.0), [Told::GoOn]);
        assert_eq!(told(Signal::Back, &held, 4.0), [Told::List]);
    }

    #[test]
    fn a_contact_that_bounces_going_down_or_up_is_one_press() {
        let bounces = [
            (0.0, true),
            (0.004, false),
            (0.007, true),
            (0.011, false),
            (0.013, true),
            (0.2, false),
            (0.204, true),
            (0.209, false),
        ];
        assert_eq!(told(Signal::Back, &bounces, 2.0), [Told::Back]);
        assert_eq!(told(Signal::GoOn, &bounces, 2.0), [Told::GoOn]);
        // A foot that lingers, on a switch that bounces as it comes up, or repeats
        // by coming up and going down again.
        let mut lingers = vec![(0.0, true)];
        for k in 1..20 {
            let at = 0.4 + 0.03 * f64::from(k);
            lingers.extend([(at, false), (at + 0.004, true)]);
        }
        lingers.push((1.2, false));
        assert_eq!(told(Signal::GoOn, &lingers, 3.0), [Told::GoOn]);
        assert_eq!(told(Signal::Back, &lingers, 3.0), [Told::List]);
    }

    #[test]
    fn what_was_down_when_the_keyboard_went_is_forgotten() {
        let mut signals = Signals::default();
        assert_eq!(signals.down(Signal::Back, 0.0), None);
        signals.forget();
        assert_eq!(signals.due(), None);
        assert_eq!(signals.tick(5.0), None);
        assert_eq!(signals.down(Signal::GoOn, 5.0), Some(Told::GoOn));
    }
}
