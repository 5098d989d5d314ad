//! What is kept and what is lit, without windows.

use super::*;
use crate::draft::{Part, RowAt};
use crate::job::open_session;
use crate::session::papers::PaperWish;
use crate::session::proving::DraftWish;
use crate::work::signals::Told;
use std::fs;

/// What is cut is on disk when the signal is answered, and not soon after: the
/// light that goes out is proof that nothing is lost.
#[test]
fn what_is_cut_is_on_disk_before_it_is_shown() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["job.toml", "slippers.svg", "slippers.seams.toml"] {
        let from = std::path::Path::new("demo-data").join(file);
        fs::copy(from, folder.path().join(file)).unwrap();
    }
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    table.act(Act::BeginCutting, 0.0).unwrap();
    for k in 1..30 {
        table.act(Act::Signal(Told::GoOn), f64::from(k)).unwrap();
        assert!(table.memory.writer().unwrap().is_on_disk(), "signal {k}");
    }
    assert_eq!(table.bench.state().cuts.parts.len(), 14);
    table.close().unwrap();
}

#[test]
fn papers_are_written_into_the_job_and_over_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    for file in ["job.toml", "slippers.svg", "slippers.seams.toml"] {
        let from = std::path::Path::new("demo-data").join(file);
        fs::copy(from, folder.path().join(file)).unwrap();
    }
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    let unit = crate::measure::Unit::Mm;
    let none = table.write_paper(PaperWish::Piece, unit).unwrap_err();
    assert!(none.to_string().contains("no piece is in hand"), "{none}");
    table.act(Act::Hold(1), 0.0).unwrap();
    // The maps of shade are not there: that is told, and papers are written all the same.
    for (wish, begins) in [
        (PaperWish::Tickets, &b"%PDF-"[..]),
        (PaperWish::CutList, b"%PDF-"),
        (PaperWish::Ledger, b"part,when,"),
        (PaperWish::Piece, b"%PDF-"),
    ] {
        let path = table.write_paper(wish, unit).unwrap();
        assert!(path.starts_with(folder.path()));
        assert!(fs::read(&path).unwrap().starts_with(begins), "{wish:?}");
        // Again, over its own.
        assert_eq!(table.write_paper(wish, unit).unwrap(), path);
        fs::write(&path, "mine").unwrap();
        let said = table.write_paper(wish, unit).unwrap_err().to_string();
        assert!(said.contains("another file of this name"), "{said}");
        assert_eq!(fs::read(&path).unwrap(), b"mine");
    }
    // The ruler has the tape of the demo's ring.
    assert_eq!(table.bench.tapes()[0].1.name, "stay tape");
    table.close().unwrap();
}

/// The demo's job, without its maps of shade.
fn slippers() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for file in ["job.toml", "slippers.svg", "slippers.seams.toml"] {
        let from = std::path::Path::new("demo-data").join(file);
        fs::copy(from, folder.path().join(file)).unwrap();
    }
    folder
}

#[test]
fn a_job_file_that_another_program_changed_is_told_before_the_table_is_left_and_how_to_go_on() {
    let folder = slippers();
    let job = folder.path().join("job.toml");
    let old = fs::read_to_string(&job).unwrap();
    let by_hand = format!("# by hand\n{old}");
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    fs::write(&job, &by_hand).unwrap();
    assert_eq!(table.asked_to_end(), None, "nothing was done here");
    table.act(Act::Hold(1), 0.0).unwrap();
    table.act(Act::Lock, 1.0).unwrap();
    let said = table.asked_to_end().unwrap();
    assert!(
        said.contains("changed by another program") && said.contains("or end again"),
        "{said}"
    );
    assert_eq!(table.asked_to_end(), None, "the second ending ends");
    table.act(Act::Lock, 2.0).unwrap();
    assert!(table.asked_to_end().is_some(), "more was done since");
    fs::write(&job, &old).unwrap();
    assert_eq!(table.asked_to_end(), None, "it was put back");
    table.act(Act::Lock, 3.0).unwrap();
    fs::write(&job, &by_hand).unwrap();
    let state = table.bench.state().clone();
    let said = table.close().unwrap_err().to_string();
    assert!(said.contains("job.toml.1 the name job.toml"), "{said}");
    assert!(said.contains("in the journal only"), "{said}");
    assert_eq!(fs::read_to_string(&job).unwrap(), by_hand);
    // It is done as it is told.
    fs::rename(&job, folder.path().join("theirs.toml")).unwrap();
    fs::rename(folder.path().join("job.toml.1"), &job).unwrap();
    let table = LiveTable::new(open_session(folder.path()).unwrap());
    assert!(*table.bench.state() == state);
    assert_eq!(table.bench.history().depth(), 3);
}

#[cfg(unix)]
#[test]
fn what_is_in_no_journal_is_told_before_the_table_is_left() {
    let folder = slippers();
    let journal = folder.path().join("journal");
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    for _ in 0..2 {
        table.memory.writer().unwrap().sync().unwrap();
    }
    fs::rename(&journal, folder.path().join("elsewhere")).unwrap();
    fs::write(&journal, "theirs").unwrap();
    table.act(Act::Hold(1), 0.0).unwrap();
    table.act(Act::Lock, 1.0).unwrap();
    // The second is answered when the files have been looked at.
    for _ in 0..2 {
        table.memory.writer().unwrap().sync().unwrap();
    }
    let said = table.journal_trouble().unwrap().to_string();
    assert!(said.contains("another file stands"), "{said}");
    let said = table.asked_to_end().unwrap();
    assert!(
        said.contains("another file stands") && said.contains("if you end again"),
        "{said}"
    );
    assert_eq!(table.asked_to_end(), None, "the second ending ends");
    assert!(table.close().is_err());
    assert_eq!(fs::read(&journal).unwrap(), b"theirs");
    let job = fs::read_to_string(folder.path().join("job.toml")).unwrap();
    assert!(job.contains("locked = true"), "it is in the job");
}

/// A job whose pattern is the draft.
fn drafted() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let demo = std::path::Path::new("demo-data");
    let draft = "slippers.draft.toml";
    fs::copy(demo.join(draft), folder.path().join(draft)).unwrap();
    let job = fs::read_to_string(demo.join("job.toml")).unwrap();
    let drawing = "file = \"slippers.svg\"\nseams = \"slippers.seams.toml\"";
    assert!(job.contains(drawing));
    let job = job.replace(drawing, "file = \"slippers.draft.toml\"");
    fs::write(folder.path().join("job.toml"), job).unwrap();
    folder
}

/// The point at the sole's tip.
const TIP: RowAt = RowAt {
    part: Part::Points,
    piece: 0,
    row: 8,
};

fn sole(table: &LiveTable) -> f64 {
    let piece = table.bench.goods.stock().piece("sole").unwrap();
    crate::shape::bounds(piece.cut[0].iter().copied())
        .unwrap()
        .height()
}

fn measure(table: &mut LiveTable, text: &str) {
    let name = "foot length".to_owned();
    let text = text.to_owned();
    table
        .draft(&DraftWish::Measure {
            draft: 0,
            name,
            text,
        })
        .unwrap();
}

#[test]
fn a_draft_that_is_kept_is_written_and_lain_by() {
    let folder = drafted();
    let path = folder.path().join("slippers.draft.toml");
    let text = fs::read_to_string(&path).unwrap();
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    let before = sole(&table);
    measure(&mut table, "260mm");
    assert_eq!(sole(&table), before, "nothing changes on its own");
    table.draft(&DraftWish::Keep).unwrap();
    let kept = sole(&table);
    assert!(
        (kept - before - 10.0 * 1.048).abs() < 0.1,
        "{before} {kept}"
    );
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        text,
        "only a measure has changed"
    );
    let cell = |text: &str| DraftWish::Cell {
        draft: 0,
        at: TIP,
        key: "up".to_owned(),
        text: text.to_owned(),
    };
    // What can't be drawn is not kept.
    table.draft(&cell("foot length * shoe")).unwrap();
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(said.contains("shoe"), "{said}");
    table.draft(&cell("foot length * 1.08")).unwrap();
    table.draft(&DraftWish::Keep).unwrap();
    assert!(sole(&table) > kept + 4.0);
    let written = fs::read_to_string(&path).unwrap();
    assert_eq!(
        written,
        text.replacen("foot length * 1.048", "foot length * 1.08", 1)
    );
    let now = sole(&table);
    table.close().unwrap();
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    assert_eq!(sole(&table), now);
    assert_eq!(
        fs::read_to_string(path.with_extension("toml.1")).unwrap(),
        text
    );
    // A draft that another program changed meanwhile is not written over.
    fs::write(&path, format!("# by hand\n{written}")).unwrap();
    table.draft(&cell("foot length * 1.05")).unwrap();
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(said.contains("another program"), "{said}");
    assert!(fs::read_to_string(&path).unwrap().starts_with("# by hand"));
    fs::write(&path, &written).unwrap();
    // What is cut is cut by the pattern as it was. The first time it is said that its pieces lie wrong.
    table.act(Act::BeginCutting, 0.0).unwrap();
    table.act(Act::BeginCutting, 0.5).unwrap();
    for k in 1..4 {
        table.act(Act::Signal(Told::GoOn), f64::from(k)).unwrap();
    }
    assert!(!table.bench.state().cuts.parts.is_empty());
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(said.contains("cut already"), "{said}");
    assert_eq!(sole(&table), now);
    // What was typed and not kept is not lost.
    table.close().unwrap();
    let by = fs::read_to_string(folder.path().join("slippers.draft.toml.not-kept.1")).unwrap();
    assert!(by.contains("foot length * 1.05"));
}

#[test]
fn what_is_typed_at_a_draft_and_not_kept_is_told_before_the_table_is_left() {
    let folder = drafted();
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    assert_eq!(table.asked_to_end(), None);
    measure(&mut table, "260mm");
    let said = table.asked_to_end().unwrap();
    assert!(
        said.starts_with("slippers.draft.toml: other measures") && said.contains("\"keep it\""),
        "{said}"
    );
    assert_eq!(table.asked_to_end(), None, "the second ending ends");
    table
        .draft(&DraftWish::Cell {
            draft: 0,
            at: TIP,
            key: "up".into(),
            text: "foot length * 1.08".into(),
        })
        .unwrap();
    let said = table.asked_to_end().unwrap();
    assert!(
        said.starts_with("slippers.draft.toml is changed and not written yet")
            && said.contains("other measures"),
        "{said}"
    );
    table.draft(&DraftWish::Keep).unwrap();
    assert_eq!(table.asked_to_end(), None);
}

#[test]
fn a_job_that_changed_meanwhile_keeps_no_half_of_a_draft() {
    let folder = drafted();
    let path = folder.path().join("slippers.draft.toml");
    let text = fs::read_to_string(&path).unwrap();
    let mut table = LiveTable::new(open_session(folder.path()).unwrap());
    let before = sole(&table);
    let job = folder.path().join("job.toml");
    let by_hand = format!("# by hand\n{}", fs::read_to_string(&job).unwrap());
    fs::write(&job, &by_hand).unwrap();
    measure(&mut table, "270mm");
    table
        .draft(&DraftWish::Cell {
            draft: 0,
            at: TIP,
            key: "up".into(),
            text: "foot length * 1.08".into(),
        })
        .unwrap();
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(said.contains("changed by another program"), "{said}");
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
    assert_eq!(fs::read_to_string(&job).unwrap(), by_hand);
    assert_eq!(sole(&table), before);
}
