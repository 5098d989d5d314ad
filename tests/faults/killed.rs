//! The work is killed at every call by which it changes a file, before the call and half way
//! through its bytes. What was confirmed is there again, and the work goes on to its end.

use crate::child::{Said, child, works_on};
use crate::shim::{IO, Stop, at_every_call, plain, run};
use crate::world::{self, Model, PANEL, STEPS};
use ghostchalk::cloth::shade::ShadeMap;
use ghostchalk::job::{Job, Remembered, open_session, read_profile, read_shade};
use ghostchalk::space::Cloth;
use ghostchalk::work::{Record, State};
use std::path::Path;

/// A name that needs care, for good measure.
pub const NAME: &str = "Topflappen für Ada";

/// Opens a job after a stop: no step is lost that was confirmed, and what is there is one of the
/// states that there were. The journal's half line, if it has one, is told.
pub fn found(job: &Path, said: &Said, states: &[State], told: &str) -> Remembered<Record> {
    let journal = std::fs::read(job.join("journal")).unwrap_or_default();
    let torn = journal.last().is_some_and(|b| *b != b'\n');
    // One who only looks is told the same, and changes nothing.
    let before = world::files(job);
    let looks = plain(job, &["ledger", ".", "--json"]);
    looks.ended_well(told);
    assert!(looks.status.success(), "{told}: {}", looks.sentence());
    assert_eq!(looks.err.contains("note: "), torn, "{told}: {}", looks.err);
    assert_eq!(world::files(job), before, "{told}: looking changed a file");

    let memory = open_session::<Record>(job).unwrap();
    assert!(memory.read_only().is_none(), "{told}: {:?}", memory.notes);
    assert_eq!(!memory.notes.is_empty(), torn, "{told}: {:?}", memory.notes);
    let steps = memory.steps.len();
    assert!(
        steps >= said.steps(),
        "{told}: {steps} steps, and it said\n{}",
        said.ran.out
    );
    assert!(
        memory.replay_from >= said.save,
        "{told}: from {}, and it said\n{}",
        memory.replay_from,
        said.ran.out
    );
    let model = Model::of(&memory);
    assert!(model.state == states[steps], "{told}: another state");
    profile_is_one_of_its_times(job, said, told);
    shades_are_whole(job, said, told);
    memory
}

/// The last profile that was confirmed, or the one that was being written.
fn profile_is_one_of_its_times(job: &Path, said: &Said, told: &str) {
    let path = job.join("table.toml");
    if !path.exists() {
        assert_eq!(said.profile, 0, "{told}: the profile is gone");
        return;
    }
    let there = read_profile(&path).unwrap();
    let time = (1..=2).find(|t| there == world::profile(*t));
    let time = time.expect("a profile that was written") as usize;
    assert!(time >= said.profile && time <= said.profile + 1, "{told}");
}

/// A map of shade that has a name is whole.
fn shades_are_whole(job: &Path, said: &Said, told: &str) {
    let files = world::files(job);
    let named = files.keys().filter(|p| {
        let name = p.to_string_lossy();
        name.starts_with(PANEL) && name.ends_with(".toml")
    });
    let mut count = 0;
    for name in named {
        let map: ShadeMap<Cloth> = read_shade(&job.join(name)).unwrap();
        assert!(map == world::shade(), "{told}: another map");
        count += 1;
    }
    assert!(count >= said.shade, "{told}: a map of shade is gone");
}

/// Takes the work up again and ends it; all of it is there, and nothing more is to be told.
fn goes_on(mut memory: Remembered<Record>, job: &Path, states: &[State], told: &str) {
    let mut model = Model::of(&memory);
    for k in memory.steps.len()..STEPS {
        let record = model.step(k);
        memory.writer().unwrap().append(&record).unwrap();
    }
    let file = model.file(&memory.job.file);
    memory.save(&file).unwrap();
    memory.close().unwrap();
    all_is_there(job, states, told);
}

/// The whole course, in the journal and in the job file, and the person's own words.
pub fn all_is_there(job: &Path, states: &[State], told: &str) {
    let memory = open_session::<Record>(job).unwrap();
    assert_eq!(memory.notes, [""; 0], "{told}");
    assert_eq!(memory.steps.len(), STEPS, "{told}");
    assert!(Model::of(&memory).state == states[STEPS], "{told}");
    let saved = Job::open(job).unwrap();
    assert!(saved.state() == states[STEPS], "{told}: the job file");
    let text = std::fs::read_to_string(job.join("job.toml")).unwrap();
    assert!(text.contains("# The shop keeps this line."), "{told}");
}

#[test]
fn killed_at_any_call_it_has_all_that_was_confirmed() {
    let states = world::states();
    at_every_call(|n| {
        let mut modes = vec![Stop::Kill(n)];
        while let Some(stop) = modes.pop() {
            let folder = world::folder();
            let job = world::job(folder.path(), NAME);
            let said = works_on(&job, stop, None);
            let told = format!("{stop:?}, {:?}", said.ran.calls.last());
            if !said.ran.reached(n) {
                assert!(said.closed && said.faults.is_empty(), "{told}");
                all_is_there(&job, &states, &told);
                return false;
            }
            assert!(said.ran.was_killed(), "{told}: {}", said.ran.err);
            if matches!(stop, Stop::Kill(_)) && said.ran.writes(n) {
                modes.push(Stop::Half(n));
            }
            let memory = found(&job, &said, &states, &told);
            goes_on(memory, &job, &states, &told);
        }
        true
    });
}

/// A job file that was changed by hand puts the journal aside when the job is opened. Stopped
/// anywhere in that, or with a call that fails, the old journal is there under one name or the
/// other, and who has opened the job is told which.
#[test]
fn stopped_while_a_journal_is_put_aside_it_keeps_that() {
    let states = world::states();
    let shop = world::folder();
    let done = world::job(shop.path(), NAME);
    assert!(works_on(&done, Stop::Never, None).closed);
    let journal = std::fs::read(done.join("journal")).unwrap();
    let text = std::fs::read_to_string(done.join("job.toml")).unwrap() + "# by hand\n";
    std::fs::write(done.join("job.toml"), &text).unwrap();
    at_every_call(|n| {
        let mut reached = false;
        for stop in [Stop::Kill(n), Stop::Half(n), Stop::Once(n, IO)] {
            let folder = world::folder();
            let job = folder.path().join(NAME);
            world::copy(&done, &job);
            let ran = run(child("opens", &job), &job, stop);
            let told = format!("{stop:?}, {:?}: {}", ran.calls.get(n - 1), ran.out);
            reached |= ran.reached(n);
            let kept = |name: &str| std::fs::read(job.join(name)).is_ok_and(|j| j == journal);
            assert!(kept("journal") || kept("journal.1"), "{told}");
            if !ran.was_killed() {
                ran.ended_well(&told);
                assert!(ran.status.success(), "{told}{}", ran.err);
                let named = ran.out.contains("journal.1");
                assert_eq!(named, kept("journal.1"), "{told}");
            }
            let memory = open_session::<Record>(&job).unwrap();
            assert!(memory.read_only().is_none(), "{told}: {:?}", memory.notes);
            assert!(Model::of(&memory).state == states[STEPS], "{told}");
            memory.close().unwrap();
            assert!(kept("journal.1"), "{told}");
            let there = std::fs::read_to_string(job.join("job.toml")).unwrap();
            assert_eq!(there, text, "{told}");
        }
        reached
    });
}

/// Again and again on one job, each time a little later: what one stop leaves behind is no trouble
/// for the next.
#[test]
fn killed_again_and_again_it_loses_nothing() {
    let states = world::states();
    let folder = world::folder();
    let job = world::job(folder.path(), NAME);
    let mut steps = 0;
    for n in 4..200 {
        let stop = match n % 2 {
            0 => Stop::Kill(n),
            _ => Stop::Half(n),
        };
        let said = works_on(&job, stop, None);
        let told = format!("{stop:?}, {:?}", said.ran.calls.last());
        if said.closed {
            all_is_there(&job, &states, &told);
            return;
        }
        assert!(said.ran.was_killed(), "{told}: {}", said.ran.err);
        let memory = open_session::<Record>(&job).unwrap();
        let now = memory.steps.len();
        assert!(now >= steps.max(said.steps()), "{told}: {steps}, {now}");
        assert!(Model::of(&memory).state == states[now], "{told}");
        memory.close().unwrap();
        steps = now;
    }
    panic!("it came to no end");
}
