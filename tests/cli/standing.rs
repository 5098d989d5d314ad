//! Commands that only read a job see it as it now stands, its journal included; and what a job
//! file that was changed by hand leaves behind is told.

use super::*;
use ghostchalk::cloth::OnTable;
use ghostchalk::job::{Job, note, open_session, open_state};
use ghostchalk::lay::{CutPart, Marking, Trim};
use ghostchalk::work::{Op, Record, State};
use std::collections::BTreeMap;

/// A profile of twenty marks, whose light reaches all of the demo's table.
const WORKED: &str = "calibration/worked/twenty-marks.toml";

/// A copy of the demo with its cloths' photos, and nothing laid.
fn bare(b: &Bench) -> String {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    std::fs::create_dir_all(b.path("job")).unwrap();
    let own = ["slippers.svg", "slippers.seams.toml"];
    for file in own
        .into_iter()
        .chain(["canvas.png", "flannel.png", "felt.png"])
    {
        std::fs::copy(demo.join(file), b.path("job").join(file)).unwrap();
    }
    let text = std::fs::read_to_string(demo.join("job.toml")).unwrap();
    let known = |l: &&str| !l.starts_with("looks = ");
    let text: String = text.split_inclusive('\n').filter(known).collect();
    let lay = text.find("# ---- the lay").unwrap();
    b.write("job/job.toml", &text[..lay]);
    b.str("job")
}

/// Notes steps in the job's journal, each on its own.
fn noted(job: &str, steps: &[&dyn Fn(&State) -> Op]) {
    let _alone = alone();
    for step in steps {
        note(Path::new(job), |at| Ok((vec![step(at.state)], ()))).unwrap();
    }
}

/// Writes what is in the journal into the job file, as the live table does.
fn saved(job: &str) {
    let _alone = alone();
    let (_, state) = open_state(Path::new(job)).unwrap();
    let mut memory = open_session::<Record>(Path::new(job)).unwrap();
    let file = memory.job.file.with_work(&state);
    memory.save(&file).unwrap();
    memory.close().unwrap();
}

/// Changes the job file as an editor does.
fn by_hand(b: &Bench) {
    let text = std::fs::read_to_string(b.path("job/job.toml")).unwrap();
    b.write("job/job.toml", text + "# by hand\n");
}

/// All files of the job's folder.
fn files(job: &str) -> BTreeMap<PathBuf, Vec<u8>> {
    let all = std::fs::read_dir(job).unwrap();
    let all = all.map(|f| f.unwrap().path());
    all.map(|f| (f.clone(), std::fs::read(f).unwrap()))
        .collect()
}

fn trim() -> Trim {
    Trim {
        tool: "shears".to_owned(),
        cloth: "canvas".to_owned(),
        plies: 1,
        edge_mm: 0.4,
        error_mm: 0.1,
        on: true,
    }
}

/// The sling, 5 mm further to the right.
fn moved(state: &State) -> Op {
    let from = state.panel("sling").unwrap().on_table;
    Op::Lie {
        panel: "sling".to_owned(),
        from,
        to: OnTable {
            x_mm: from.x_mm + 5.0,
            ..from
        },
    }
}

fn trimmed(state: &State) -> Op {
    state.noting(trim())
}

#[test]
fn what_is_in_the_journal_alone_is_lit_budgeted_and_rehearsed() {
    let b = Bench::new();
    let job = bare(&b);
    let demo = Job::open(Path::new("demo-data")).unwrap().state();
    let lay = |id: u32| {
        let placed = demo.placed[&id].clone();
        move |_: &State| Op::Lay {
            id,
            placed: placed.clone(),
        }
    };
    let cut = |state: &State| {
        let placed = &state.placed[&2];
        Op::Cut {
            parts: vec![CutPart {
                id: 1,
                placed: 2,
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
        }
    };
    let out = b.str("frame.png");
    let own: [&str; 6] = ["frame", &job, "--profile", WORKED, "-o", &out];
    let light = || {
        let o = run(&[&own[..], &["--json"]].concat());
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        let said: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        (said, std::fs::read(&out).unwrap())
    };
    let budget = || {
        let o = run(&["budget", &job, "--profile", WORKED, "--json"]);
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        let said: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        said
    };
    let (said, dark) = light();
    assert_eq!(said["pieces"].as_array().unwrap().len(), 0);

    noted(&job, &[&lay(1), &lay(2)]);
    let (said, two) = light();
    assert_eq!(said["pieces"].as_array().unwrap().len(), 2);
    assert_ne!(two, dark);
    noted(&job, &[&moved, &trimmed, &cut]);
    std::fs::remove_file(b.path("job/.in-use")).unwrap();
    let before = files(&job);
    let (said, one) = light();
    assert_ne!(one, two);
    let cut: Vec<bool> = said["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["is_cut"].as_bool().unwrap())
        .collect();
    assert_eq!(cut, [false, true]);
    let notes = said["notes"].to_string();
    assert!(notes.contains("trim on for shears in canvas"), "{notes}");
    let o = run(&own);
    assert!(stdout(&o).contains("1 piece lit in "), "{}", stdout(&o));
    let errors = budget();
    assert_eq!(errors["pieces"].as_array().unwrap().len(), 2);
    let x = errors["pieces"][0]["at_mm"][0].as_f64().unwrap();
    let o = run(&[
        "rehearse",
        &job,
        "--fault",
        "table",
        "--out",
        &b.str("seen"),
    ]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    // As far as the folder for it: something is laid.
    std::fs::create_dir(b.path("mine")).unwrap();
    b.write("mine/table.toml", "my own table");
    refused(&["rehearse", &job, "--out", &b.str("mine")], "mine");
    // Who looks takes no lock and writes nothing.
    assert_eq!(files(&job), before);

    // In the job file it is the same.
    saved(&job);
    let there = Job::open(Path::new(&job)).unwrap();
    assert_eq!((there.file.placed.len(), there.file.trims.len()), (2, 1));
    assert_eq!(light(), (said, one));
    assert_eq!(budget(), errors);
    // The budget is of where the sling lies now.
    noted(&job, &[&moved]);
    let further = budget()["pieces"][0]["at_mm"][0].as_f64().unwrap();
    assert!((further - x - 5.0).abs() < 1e-6, "{x} to {further}");
}

#[test]
fn steps_that_a_changed_job_file_did_not_hold_are_told() {
    let b = Bench::new();
    let job = bare(&b);
    let away = |_: &State| Op::Spread {
        panel: "felt".to_owned(),
        from: true,
        to: false,
    };
    let order = |job: &str| {
        let o = run(&["order", job]);
        String::from_utf8_lossy(&o.stderr).into_owned()
    };
    let keep = |b: &Bench| {
        let cut = ["cut-test", "--length", "240.9,240.7", "--width"];
        let kept = ["60.8,60.6", "--cloth", "flannel", "--keep"];
        let job = b.str("job");
        let o = run(&[&cut[..], &kept[..], &[job.as_str()]].concat());
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        String::from_utf8_lossy(&o.stderr).into_owned()
    };
    let lost = "not taken over";

    // One is in the file, two are not.
    noted(&job, &[&away]);
    saved(&job);
    noted(&job, &[&trimmed, &moved]);
    assert!(!order(&job).contains(lost));
    by_hand(&b);
    let told = "note: job.toml: 2 steps that it did not hold yet are not taken over: the trim for \
                shears in canvas, one ply on; sling moved on the table. Do them again. Before you \
                change the file next time, open the job at the table (`ghostchalk light`) and \
                close it: then the file holds all that was done.\n";
    let before = files(&job);
    let said = order(&job);
    assert!(said.contains(told), "{said}");
    assert_eq!(files(&job), before);
    let said = keep(&b);
    assert!(said.contains(told), "{said}");
    assert!(said.contains("journal.1"), "{said}");
    // Once it is put aside, no more.
    assert!(!keep(&b).contains(lost) && !order(&job).contains(lost));

    // All is in the file.
    saved(&job);
    by_hand(&b);
    let said = keep(&b);
    assert!(said.contains("journal.2") && !said.contains(lost), "{said}");

    // The first few are named.
    let eight: [&dyn Fn(&State) -> Op; 8] = [&moved; 8];
    noted(&job, &[&moved]);
    saved(&job);
    noted(&job, &eight);
    by_hand(&b);
    let said = order(&job);
    assert!(said.contains("8 steps that it did not hold yet"), "{said}");
    let six = format!(
        "{}; and 2 more. Do",
        ["sling moved on the table"; 6].join("; ")
    );
    assert!(said.contains(&six), "{said}");

    // One alone.
    keep(&b);
    noted(&job, &[&moved]);
    saved(&job);
    noted(&job, &[&moved]);
    by_hand(&b);
    let said = order(&job);
    assert!(said.contains("1 step that it did not hold yet is not taken over"));
    assert!(
        said.contains("sling moved on the table. Do it again."),
        "{said}"
    );

    // The file is called by the name it has.
    let other = b.str("job/slippers.toml");
    std::fs::rename(b.str("job/job.toml"), &other).unwrap();
    let said = order(&other);
    assert!(said.contains("note: slippers.toml: 1 step that"), "{said}");
    assert!(!said.contains("job.toml"), "{said}");
}
