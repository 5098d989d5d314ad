//! The demo is cut from the first part to the last with two keys; the program is
//! killed on the way, and the keyboard goes elsewhere for a while.

use crate::desktop::Desktop;
use crate::session::{SIZE, Session, alone, frame, job_and_profile, lit, shows, true_profile};
use ghostchalk::frame::{lit_table, reach};
use ghostchalk::job::{Job, open_session};
use ghostchalk::lay::Marking;
use ghostchalk::session::table::LiveTable;
use ghostchalk::work::cutting::Phase;
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Bench, Cuts, Goods, History, State};
use std::path::Path;
use std::time::Duration;

/// Between two signals, ms: far more than counts once, for a program built for
/// tests draws a frame by software in a third of a second.
const PAUSE: u64 = 700;

/// The bench that the program has, to know how many signals it takes.
fn bench(job: &Path) -> Bench {
    let job = Job::open(job).unwrap();
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.file.articles.clone(),
    };
    let ways = job.file.light.unwrap_or_default();
    let state = State::new(job.file.panels.clone(), job.file.placed.clone(), ways);
    let mut bench = Bench::new(goods, state, History::default());
    let profile = true_profile();
    let map = profile.mapping().unwrap();
    bench.set_reach(lit_table(&map, SIZE));
    bench.set_table_top(reach(&profile, &map, &bench.state().panels));
    bench.set_band(3.0);
    bench
}

/// What is cut, as it is read back from the job and its journal.
fn on_disk(job: &Path) -> Cuts {
    let table = LiveTable::new(open_session(job).unwrap());
    let mut cuts = table.bench.state().cuts.clone();
    for part in &mut cuts.parts {
        // When and by which table: no bench of ours knows it.
        let by = part.by.take().unwrap();
        assert!(by.profile.is_some_and(|p| p.ends_with(".toml")));
        assert!(by.when.ends_with('Z') && by.error_mm.is_some_and(|mm| mm > 0.0));
    }
    cuts
}

/// A signal, and time for the next.
fn signal(desktop: &Desktop, key: &str) {
    desktop.hand(&["key", key]);
    std::thread::sleep(Duration::from_millis(PAUSE));
}

/// The light, once it changes no more.
fn settled(desktop: &Desktop) -> Vec<[u8; 3]> {
    let mut last = desktop.projector(SIZE);
    desktop.until("the light stands", || {
        std::thread::sleep(Duration::from_millis(600));
        let now = desktop.projector(SIZE);
        let same = now == last;
        last = now;
        same
    });
    last
}

#[test]
fn the_demo_is_cut_with_two_keys_though_the_program_is_killed_on_the_way() {
    let _alone = alone();
    let folder = tempfile::tempdir().unwrap();
    let Some(desktop) = Desktop::start(folder.path()) else {
        return;
    };
    let (job, profile) = job_and_profile(folder.path());
    let by = ["--profile", profile.to_str().unwrap()];
    desktop.point_away();
    let session = Session::start(&desktop, &job, &by);
    shows(&desktop, &frame(&job, &by), "the demo is lit");

    // The cautions lie over the laptop: no key goes past them to the light, and those that close
    // them begin nothing.
    for close in ["Return", "Escape", "F3"] {
        signal(&desktop, "F3");
        signal(&desktop, "5");
        signal(&desktop, close);
    }
    shows(&desktop, &frame(&job, &by), "nothing was done");

    // Along with the program: how many signals there are to the end.
    let mut along = bench(&job);
    along.act(Act::BeginCutting, 0.0);
    let mut signals = 0;
    let over = |bench: &Bench| {
        let phase = bench.doing().cutting().map(|c| c.phase.clone());
        phase == Some(Phase::Over)
    };
    while !over(&along) {
        signals += 1;
        along.act(Act::Signal(Told::GoOn), f64::from(signals));
    }
    assert!((14..40).contains(&signals), "{signals}");
    let after = |signals: u32| {
        let mut along = bench(&job);
        along.act(Act::BeginCutting, 0.0);
        for k in 0..signals {
            along.act(Act::Signal(Told::GoOn), f64::from(k));
        }
        along.state().cuts.clone()
    };

    // The first press is over to cutting; three in a moment count once.
    signal(&desktop, "Return");
    desktop.hand(&["key", "--delay", "10", "Return", "Return", "Return"]);
    std::thread::sleep(Duration::from_millis(PAUSE));
    signal(&desktop, "Return");
    // What is done is on disk at once: killed, it has two signals.
    session.kill();
    let two = after(2);
    assert_eq!(on_disk(&job), two, "at the kill");
    let session = Session::start(&desktop, &job, &by);
    desktop.until("there is light again", || {
        lit(&desktop.projector(SIZE)) > 1000
    });
    std::thread::sleep(Duration::from_millis(500));
    // The cloth lies as it did.
    signal(&desktop, "Return");
    // One signal too many, and back.
    signal(&desktop, "Return");
    assert_eq!(on_disk(&job), after(3), "after one more");
    signal(&desktop, "BackSpace");
    assert_eq!(on_disk(&job), two, "after back");

    // The keyboard goes elsewhere: the light says so, and says it no more when it
    // has come back.
    let before = settled(&desktop);
    let other = desktop.other_program();
    desktop.until("the light says that the keyboard is gone", || {
        let now = desktop.projector(SIZE);
        let pairs = now.iter().zip(&before);
        pairs.filter(|(a, b)| a != b).count() > 1000
    });
    drop(other);
    // The panel's upper edge: nothing there is a control.
    desktop.hand(&["mousemove", "--sync", "560", "60", "click", "1"]);
    desktop.point_away();
    desktop.until("the light is as it was", || {
        desktop.projector(SIZE) == before
    });

    for _ in 2..signals {
        signal(&desktop, "Return");
    }
    session.close(&desktop);
    let done = Job::open(&job).unwrap().file.cutting.unwrap_or_default();
    let want = &along.state().cuts;
    let order = |cuts: &Cuts| {
        let parts = cuts.parts.iter();
        parts.map(|p| (p.id, p.placed, p.face)).collect::<Vec<_>>()
    };
    assert_eq!(order(&done), order(want), "cut in the same order");
    assert_eq!(done.parts.len(), 14);
    assert!(done.parts.iter().all(|p| p.marking != Marking::ToDo));

    // What is cut has no light: nothing but drop places and words is left.
    let session = Session::start(&desktop, &job, &by);
    desktop.until("the lay is dark", || {
        let n = lit(&desktop.projector(SIZE));
        n < 2000
    });
    session.close(&desktop);
}
