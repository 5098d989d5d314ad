//! The journal: its lines, damaged or not, and the steps that they hold, done and undone.

use std::sync::LazyLock;

use ghostchalk::job::{JobFile, Line, crc32c, encode_line, read_journal};
use ghostchalk::work::{Record, State, apply_all, replay};

use super::Target;

pub const JOURNAL: Target = Target {
    name: "journal",
    run: journal,
    seeds: &["fuzz/seeds/journal/*"],
};

const FIRST: &str = "ghostchalk journal 1\n";

/// What steps are done to: the demo as it begins, read once for all inputs.
static BEGUN: LazyLock<State> = LazyLock::new(|| {
    let job = JobFile::parse(include_str!("../../../demo-data/job.toml"));
    let job = job.unwrap_or_else(|fault| panic!("{fault}"));
    State::new(job.panels, job.placed, job.light.unwrap_or_default())
});

/// The input is taken as a journal, and then each of its lines as the content of a record,
/// with the number and checksum that it needs to get past the first look.
fn journal(data: &[u8]) {
    read(data);
    let mut whole = FIRST.as_bytes().to_vec();
    for (k, content) in data.split(|&b| b == b'\n').enumerate() {
        let numbered = [format!("{} ", k + 1).as_bytes(), content].concat();
        let sum = crc32c(&numbered);
        whole.extend(format!("{} {sum:08x} ", k + 1).bytes());
        whole.extend(content);
        whole.push(b'\n');
    }
    let records = read(&whole);
    let steps = records.into_iter().filter_map(|line| match line {
        Line::Op(step) => Some(step),
        Line::Base { .. } | Line::Saving { .. } => None,
    });
    done_and_undone(&steps.collect::<Vec<Record>>());
}

/// What a journal holds; written and read again it is the same.
fn read(bytes: &[u8]) -> Vec<Line<Record>> {
    let Ok(found) = read_journal::<Record>(bytes) else {
        return Vec::new();
    };
    assert!(found.good <= bytes.len());
    let mut whole = FIRST.as_bytes().to_vec();
    for (number, line) in (1..).zip(&found.records) {
        let line = match line {
            Line::Base { job_crc } => Line::Base { job_crc: *job_crc },
            Line::Saving { job_crc } => Line::Saving { job_crc: *job_crc },
            Line::Op(step) => Line::Op(step),
        };
        match encode_line(number, &line) {
            Ok(bytes) => whole.extend(bytes),
            Err(fault) => panic!("what was read can't be written: {fault}"),
        }
    }
    let back = read_journal::<Record>(&whole);
    let back = back.unwrap_or_else(|fault| panic!("{fault}"));
    assert_eq!(back.good, whole.len());
    assert_eq!(back.records, found.records);
    found.records
}

/// Steps that fit are done; all of them undone, the work is as it was, and done again it is as
/// it came out.
fn done_and_undone(steps: &[Record]) {
    let mut state = BEGUN.clone();
    let (mut history, wrong) = replay(&mut state, steps, 0);
    assert!(wrong.is_none_or(|(at, _)| at < steps.len()));
    let after = state.clone();
    let mut turned_back = |record: &Record, state: &mut State| -> usize {
        let mut count = 0;
        loop {
            let ops = history.take(record);
            if ops.is_empty() {
                return count;
            }
            let done = apply_all(state, &ops);
            assert!(done.is_ok(), "{record:?}: {done:?}");
            count += 1;
        }
    };
    // A step of no changes looks like the end of all steps.
    let empty = |record: &Record| matches!(record, Record::Do { ops, .. } if ops.is_empty());
    if steps.iter().any(empty) || !steps.iter().all(|r| matches!(r, Record::Do { .. })) {
        return;
    }
    let undone = turned_back(&Record::Undo, &mut state);
    assert_eq!(state, *BEGUN, "undone");
    assert_eq!(turned_back(&Record::Redo, &mut state), undone);
    assert_eq!(state, after, "done again");
}
