//! The disk fails at every call by which the work changes a file: full, broken, gone read-only. It
//! is said in a sentence, the work goes on, and all is written when the disk can be written again.

use crate::child::{Said, child, works_on};
use crate::killed::{NAME, all_is_there, found};
use crate::shim::{CANNOT, DENIED, IO, NO_ROOM, READ_ONLY, Stop, at_every_call, is_sentence, run};
use crate::world::{self, Model};
use ghostchalk::job::{open_session, read_profile};
use ghostchalk::work::{Record, State};
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What a person reads of each.
fn word(error: i32) -> &'static str {
    match error {
        NO_ROOM => "the disk is full",
        READ_ONLY => "the disk is read-only",
        DENIED => "access is denied",
        _ => "the disk fails",
    }
}

/// It came to its end, and said what was wrong.
fn is_told(said: &Said, error: i32, told: &str) {
    said.ran.ended_well(told);
    assert!(said.ran.status.success(), "{told}: {}", said.ran.out);
    for fault in &said.faults {
        assert!(is_sentence(fault), "{told}: {fault}");
        assert!(fault.contains(word(error)), "{told}: {fault}");
    }
}

/// A job that it would not work on is as it was.
fn is_untouched(job: &Path, states: &[State], told: &str) {
    let memory = open_session::<Record>(job).unwrap();
    assert!(memory.read_only().is_none() && memory.steps.is_empty());
    assert!(Model::of(&memory).state == states[0], "{told}");
}

/// The disk fails from the so-manieth call on, until there is room again.
fn fails_for_a_while(error: i32) {
    let states = world::states();
    at_every_call(|n| {
        let folder = world::folder();
        let job = world::job(folder.path(), NAME);
        let over = folder.path().join("over");
        let said = works_on(&job, Stop::On(n, error), Some(&over));
        let told = format!("{error} from {n} on, {:?}", said.ran.calls.get(n - 1));
        is_told(&said, error, &told);
        if said.shut {
            is_untouched(&job, &states, &told);
        } else {
            assert!(said.closed, "{told}: {:?}", said.faults);
            all_is_there(&job, &states, &told);
            let there = read_profile(&job.join("table.toml")).unwrap();
            assert!(there == world::profile(2), "{told}");
        }
        said.ran.reached(n)
    });
}

#[test]
fn a_disk_that_fills_is_told_and_all_is_written_when_there_is_room() {
    fails_for_a_while(NO_ROOM);
}

#[test]
fn a_disk_that_turns_read_only_is_told_and_all_is_written_when_it_can_be() {
    fails_for_a_while(READ_ONLY);
}

#[test]
fn one_call_that_fails_costs_nothing() {
    let states = world::states();
    at_every_call(|n| {
        let folder = world::folder();
        let job = world::job(folder.path(), NAME);
        let said = works_on(&job, Stop::Once(n, IO), None);
        let told = format!("call {n} fails, {:?}", said.ran.calls.get(n - 1));
        is_told(&said, IO, &told);
        if said.shut {
            is_untouched(&job, &states, &told);
        } else {
            assert!(said.closed, "{told}: {:?}", said.faults);
            all_is_there(&job, &states, &told);
        }
        said.ran.reached(n)
    });
}

/// To the end of the program and beyond it.
#[test]
fn a_disk_that_stays_full_costs_only_what_was_not_confirmed() {
    let states = world::states();
    at_every_call(|n| {
        let folder = world::folder();
        let job = world::job(folder.path(), NAME);
        let said = works_on(&job, Stop::On(n, NO_ROOM), None);
        let told = format!("full from {n} on, {:?}", said.ran.calls.get(n - 1));
        is_told(&said, NO_ROOM, &told);
        if said.shut {
            is_untouched(&job, &states, &told);
        } else if said.ran.reached(n) {
            let owned_up = said.faults.iter().any(|f| f.contains("lost"));
            let memory = found(&job, &said, &states, &told);
            let lost = memory.steps.len() < world::STEPS;
            assert!(owned_up || !lost, "{told}: lost without a word");
        }
        said.ran.reached(n)
    });
}

/// What `saves` said of its two saves, when a call failed; and the calls.
fn saved_twice(stop: Stop) -> (Vec<&'static str>, Vec<String>) {
    let folder = world::folder();
    let job = world::job(folder.path(), "job");
    let ran = run(child("saves", &job), &job, stop);
    let words = ["saved", "stands", "failed"];
    let said = ran.out.lines().filter_map(|line| {
        let word = line.split(':').next();
        words.into_iter().find(|w| Some(*w) == word)
    });
    (said.collect(), ran.calls)
}

/// The file is in its place and only the folder could not be flushed: a second save, though there
/// is nothing new to be written, is not done until the disk has confirmed it.
#[test]
fn a_save_that_was_not_confirmed_is_not_taken_for_done() {
    let is_flush = |call: &String| call.contains(" sync ") && call.ends_with("/job");
    let renamed = |call: &String| call.contains(" rename ") && call.ends_with("/job.toml");
    let failed_there = |calls: &[String], n: usize| {
        n >= 2 && calls.get(n - 2).is_some_and(renamed) && calls.get(n - 1).is_some_and(is_flush)
    };
    let tried = AtomicUsize::new(0);
    at_every_call(|n| {
        let (said, calls) = saved_twice(Stop::Once(n, IO));
        if !failed_there(&calls, n) {
            assert!(!said.contains(&"stands"), "{said:?}: {calls:?}");
            return calls.len() >= n;
        }
        assert_eq!(said, ["stands", "saved"], "{calls:?}");
        assert!(calls[n..].iter().any(is_flush), "not flushed: {calls:?}");
        // A disk that flushes no folders never will: that is no failure.
        let (said, calls) = saved_twice(Stop::Once(n, CANNOT));
        if failed_there(&calls, n) {
            assert_eq!(said, ["saved", "saved"], "{calls:?}");
        }
        let (said, calls) = saved_twice(Stop::On(n, IO));
        if failed_there(&calls, n) {
            assert_eq!(said, ["stands", "stands"], "{calls:?}");
            tried.fetch_add(1, Ordering::SeqCst);
        }
        true
    });
    assert!(tried.into_inner() > 0, "no flush of the folder failed");
}
