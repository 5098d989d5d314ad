//! A clock that goes back: by hours each time that it is read, and between two programs. Nothing
//! that is kept hangs on it.

use crate::child::{child, works_on};
use crate::killed::{NAME, all_is_there};
use crate::shim::{Stop, program, run};
use crate::two::{Holder, SPREAD, shop};
use crate::world;

/// Seconds by which the clock goes back each time that it is read.
const CLOCK: &str = "FAULTS_CLOCK";

#[test]
fn the_work_is_kept_whatever_the_clock_does() {
    let states = world::states();
    let folder = world::folder();
    let job = world::job(folder.path(), NAME);
    let mut command = child("works", &job);
    command.env(CLOCK, "36000");
    let ran = run(command, &job, Stop::Never);
    ran.ended_well("the clock goes back");
    assert!(ran.out.contains("\nclosed "), "{}", ran.out);
    all_is_there(&job, &states, "the clock goes back");
    // On with the right clock.
    let said = works_on(&job, Stop::Never, None);
    assert!(said.closed && said.faults.is_empty(), "{:?}", said.faults);
    all_is_there(&job, &states, "the clock is right again");
}

#[test]
fn a_job_that_is_taken_in_times_to_come_is_taken_just_now() {
    let shop = shop();
    let at = shop.path();
    let first = Holder::of(&at.join("job"));
    let mut second = program(at, &SPREAD);
    second.env(CLOCK, "86400");
    let ran = run(second, at, Stop::Never);
    assert_eq!(ran.status.code(), Some(2), "{}", ran.err);
    let said = ran.sentence();
    assert!(said.contains("begun just now"), "{said}");
    first.ends();
    let mut again = program(at, &SPREAD);
    again.env(CLOCK, "86400");
    let ran = run(again, at, Stop::Never);
    assert!(ran.status.success(), "{}", ran.err);
}
