//! Drawings that are corrected and kept, on a disk.

use super::*;
use crate::drawing::read::ReadOptions;
use crate::drawing::read::correct::{Correction, Taken, strokes};
use crate::job::{first_job, open_session, toml_text};
use crate::lay::wish::Wish;
use crate::work::Act;
use std::fs;

const FILES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/pattern_files");

/// A job whose pattern is another program's PDF, all of it laid.
fn job() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("plain.pdf");
    fs::copy(Path::new(FILES).join("reportlab_plain.pdf"), &pdf).unwrap();
    let pattern = read::any(&pdf, &ReadOptions::default()).unwrap();
    let job = first_job("j", "plain.pdf", &pattern.pieces, "canvas", [1200.0, 800.0]).unwrap();
    fs::write(folder.path().join("job.toml"), toml_text(&job).unwrap()).unwrap();
    folder
}

fn open(folder: &tempfile::TempDir) -> LiveTable {
    LiveTable::new(open_session(folder.path()).unwrap())
}

fn ask(table: &mut LiveTable, wish: ReadWish) -> Outcome<()> {
    table.draft(&DraftWish::Read { reading: 0, wish })
}

fn correct(table: &mut LiveTable, correction: Correction) {
    ask(table, ReadWish::Correct(correction)).unwrap();
}

fn at(table: &LiveTable, name: &str) -> usize {
    let pieces = &table.proving.readings[0].desk.read().pieces;
    pieces.iter().position(|p| p.name == name).unwrap()
}

fn files(folder: &tempfile::TempDir) -> Vec<String> {
    let each = fs::read_dir(folder.path()).unwrap();
    let mut all: Vec<String> = each
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|n| n != ".in-use" && !n.starts_with("journal"))
        .collect();
    all.sort();
    all
}

#[test]
fn a_corrected_drawing_is_written_beside_the_original_and_lain_by() {
    let folder = job();
    let original = fs::read(folder.path().join("plain.pdf")).unwrap();
    let mut table = open(&folder);
    let band = at(&table, "heel band");
    let all = strokes(&table.proving.readings[0].desk.read().pieces[band]);
    let drill = all.iter().position(|s| s.taken == Taken::Drill).unwrap();
    let notches = table
        .bench
        .goods
        .stock()
        .piece("heel band")
        .unwrap()
        .notches
        .len();
    correct(&mut table, Correction::TurnGrain { piece: band });
    correct(
        &mut table,
        Correction::Take {
            piece: band,
            stroke: drill,
            taken: Taken::LeftOut,
        },
    );
    assert_eq!(
        files(&folder),
        ["job.toml", "plain.pdf"],
        "nothing is written on its own"
    );
    table.draft(&DraftWish::Keep).unwrap();
    assert_eq!(
        files(&folder),
        ["job.toml", "plain.corrected.svg", "plain.pdf"]
    );
    let kept = table
        .bench
        .goods
        .stock()
        .piece("heel band")
        .unwrap()
        .clone();
    assert!(kept.drills.is_empty() && kept.notches.len() == notches);
    assert!(!table.proving.readings[0].is_changed());
    // What is kept is what will be read.
    let pieces = table.bench.goods.pieces.clone();
    table.close().unwrap();
    let mut table = open(&folder);
    assert_eq!(table.bench.goods.pieces, pieces);
    assert_eq!(table.job().file.patterns[0].file, "plain.corrected.svg");
    assert_eq!(fs::read(folder.path().join("plain.pdf")).unwrap(), original);
    // Corrected again it is another file; the first is as it was.
    let first = fs::read(folder.path().join("plain.corrected.svg")).unwrap();
    let band = at(&table, "heel band");
    correct(&mut table, Correction::TurnGrain { piece: band });
    table.draft(&DraftWish::Keep).unwrap();
    assert_eq!(table.job().file.patterns[0].file, "plain.corrected-2.svg");
    assert_eq!(
        fs::read(folder.path().join("plain.corrected.svg")).unwrap(),
        first
    );
}

#[test]
fn what_is_corrected_and_not_kept_is_told_before_the_table_is_left() {
    let folder = job();
    let mut table = open(&folder);
    assert_eq!(table.asked_to_end(), None);
    let turned = Correction::TurnGrain {
        piece: at(&table, "heel band"),
    };
    correct(&mut table, turned.clone());
    let said = table.asked_to_end().unwrap();
    assert!(
        said.starts_with("plain.pdf is corrected and not written yet")
            && said.contains("\"keep it\"")
            && said.contains("or end again"),
        "{said}"
    );
    assert_eq!(table.asked_to_end(), None, "the second ending ends");
    ask(&mut table, ReadWish::TakeBack(0)).unwrap();
    assert_eq!(table.asked_to_end(), None, "nothing is left of it");
    let scale = table.proving.readings[0].scale;
    ask(&mut table, ReadWish::Scale(scale * 1.002)).unwrap();
    assert!(table.asked_to_end().is_some(), "another size");
    ask(&mut table, ReadWish::Scale(scale)).unwrap();
    assert_eq!(table.asked_to_end(), None);
    // Who only looks can't keep it, and is asked nothing.
    let mut second = open(&folder);
    correct(&mut second, turned.clone());
    assert_eq!(second.asked_to_end(), None);
    drop(second);
    correct(&mut table, turned);
    assert!(table.asked_to_end().is_some(), "it is told anew");
    table.draft(&DraftWish::Keep).unwrap();
    assert_eq!(table.asked_to_end(), None);
}

#[test]
fn the_size_is_asked_for_until_it_is_said_to_be_true_and_a_wrong_one_is_put_right() {
    let folder = job();
    let mut table = open(&folder);
    assert!(table.proving.is_unconfirmed());
    ask(&mut table, ReadWish::Confirm).unwrap();
    assert!(!table.proving.is_unconfirmed());
    table.close().unwrap();
    // It is remembered, for this size only.
    let mut table = open(&folder);
    assert!(!table.proving.is_unconfirmed());
    let before = table.proving.readings[0].size().unwrap();
    ask(&mut table, ReadWish::Size(format!("{}mm", 2.0 * before[0]))).unwrap();
    assert!(table.proving.is_unconfirmed());
    for wrong in ["about 9", "0mm", "-3cm"] {
        assert!(
            ask(&mut table, ReadWish::Size(wrong.into())).is_err(),
            "{wrong}"
        );
    }
    table.draft(&DraftWish::Keep).unwrap();
    let file = &table.job().file.patterns[0];
    // The drawing is at its size: nothing is multiplied twice.
    assert_eq!(
        (file.scale, file.file.as_str()),
        (None, "plain.corrected.svg")
    );
    assert_eq!(
        file.true_size_mm, None,
        "twice as large is not what was confirmed"
    );
    let now = table.proving.readings[0].size().unwrap();
    for (a, b) in now.iter().zip(&before) {
        assert!((a / b - 2.0).abs() < 1e-3, "{a} {b}");
    }
    ask(&mut table, ReadWish::Confirm).unwrap();
    table.close().unwrap();
    let table = open(&folder);
    assert!(!table.proving.is_unconfirmed());
    assert_eq!(table.job().file.patterns[0].true_size_mm, Some(now));
}

#[test]
fn a_piece_that_is_called_otherwise_is_so_in_all_of_the_job() {
    let folder = job();
    let mut table = open(&folder);
    let id = *table.bench.state().placed.keys().next().unwrap();
    table.act(Act::Hold(id), 0.0).unwrap();
    table.act(Act::Lock, 1.0).unwrap();
    assert!(table.bench.history().depth() > 0);
    let laid = table.bench.state().placed.len();
    for (old, new) in [
        ("upper", "sole"),
        ("sole", "upper"),
        ("heel band", "counter"),
    ] {
        let piece = at(&table, old);
        let name = new.to_owned();
        correct(&mut table, Correction::Name { piece, name });
    }
    table.draft(&DraftWish::Keep).unwrap();
    let named = |table: &LiveTable| {
        let mut all: Vec<String> = table
            .bench
            .state()
            .placed
            .values()
            .map(|p| p.piece.clone())
            .collect();
        all.sort();
        all.dedup();
        all
    };
    assert_eq!(named(&table), ["counter", "sole", "upper"]);
    assert_eq!(
        table.bench.history().depth(),
        0,
        "what was done spoke of old names"
    );
    // The light and the counts go by the new names.
    assert_eq!(table.bench.laid().1.len(), laid);
    table.act(Act::Hold(id), 2.0).unwrap();
    table.act(Act::Lock, 3.0).unwrap();
    table.close().unwrap();
    let mut table = open(&folder);
    assert_eq!(named(&table), ["counter", "sole", "upper"]);
    assert_eq!(table.bench.history().depth(), 1);
    table.act(Act::Undo, 4.0).unwrap();
    assert_eq!(table.bench.laid().1.len(), laid);
    let sole = table.bench.goods.stock().piece("sole").unwrap();
    let size = crate::shape::bounds(sole.cut[0].iter().copied()).unwrap();
    assert!((size.width() - 125.0).abs() < 0.1, "what was the upper");
}

#[test]
fn what_can_not_be_kept_leaves_all_as_it_was() {
    let folder = job();
    let mut table = open(&folder);
    let before = table.bench.goods.pieces.clone();
    let sole = at(&table, "sole");
    // It is ordered.
    correct(&mut table, Correction::LeaveOut { piece: sole });
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(said.contains("\"sole\" is ordered"), "{said}");
    assert_eq!(files(&folder), ["job.toml", "plain.pdf"]);
    ask(&mut table, ReadWish::TakeBack(0)).unwrap();
    // It can't be drawn.
    correct(
        &mut table,
        Correction::Take {
            piece: sole,
            stroke: 0,
            taken: Taken::LeftOut,
        },
    );
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(
        said.contains("plain.pdf") && said.contains("no cut line") && !said.contains(".;"),
        "{said}"
    );
    ask(&mut table, ReadWish::TakeBack(0)).unwrap();
    // The job was changed meanwhile: the new drawing goes again.
    let job = folder.path().join("job.toml");
    let by_hand = format!("# by hand\n{}", fs::read_to_string(&job).unwrap());
    fs::write(&job, &by_hand).unwrap();
    let piece = at(&table, "heel band");
    correct(&mut table, Correction::TurnGrain { piece });
    let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
    assert!(said.contains("changed by another program"), "{said}");
    assert_eq!(files(&folder), ["job.toml", "plain.pdf"]);
    assert_eq!(fs::read_to_string(&job).unwrap(), by_hand);
    assert_eq!(table.bench.goods.pieces, before);
    // Files that are there are never written over.
    let taken = |_: &str| false;
    for (there, free) in [
        ("", "plain.corrected.svg"),
        ("plain.corrected.svg", "plain.corrected-2.svg"),
        ("plain.corrected-2.svg", "plain.corrected-3.svg"),
    ] {
        if !there.is_empty() {
            fs::write(folder.path().join(there), "theirs").unwrap();
        }
        for of in ["plain.pdf", "plain.corrected.svg", "plain.corrected-2.svg"] {
            assert_eq!(free_beside(folder.path(), of, taken).unwrap(), free);
        }
    }
    assert_eq!(
        free_beside(folder.path(), "sub/a.b.dxf", |f| f
            == "sub/a.b.corrected.svg")
        .unwrap(),
        "sub/a.b.corrected-2.svg"
    );
}

/// A renamed piece keeps its tape, its stiffener and what is derived from it.
#[test]
fn what_is_cut_along_a_renamed_piece_follows_it() {
    let text = r#"
        ghostchalk_job = 1
        name = "j"
        [[cloth]]
        name = "canvas"
        thickness_mm = 0.8
        [[make]]
        name = "slippers"
        part = [{ piece = "sole", cloth = "canvas" }, { piece = "pad", cloth = "canvas", inside = "sole" }]
        [[make.length]]
        name = "tape"
        along = ["sole: toe", "upper: toe"]
        [[article]]
        name = "1"
        [[article.length]]
        name = "binding"
        along = ["sole: heel"]
        [[derived]]
        name = "lining"
        of = "sole"
        [[wish]]
        piece = "sole"
        wish = { is = "even" }
        [[wish]]
        piece = "upper"
        wish = { is = "stripe-runs-on", edge = "toe", of = "sole", to = "toe" }
    "#;
    let mut job: JobFile = toml::from_str(text).unwrap();
    rename(&mut job, &|name: &str| name.replace("sole", "outsole"));
    let make = &job.makes[0];
    assert_eq!(make.parts[0].piece, "outsole");
    assert_eq!(make.parts[1].inside.as_deref(), Some("outsole"));
    assert_eq!(make.lengths[0].along, ["outsole: toe", "upper: toe"]);
    assert_eq!(job.articles[0].lengths[0].along, ["outsole: heel"]);
    assert_eq!(job.derived[0].of, "outsole");
    assert_eq!(job.wishes[0].piece, "outsole");
    assert_eq!(
        job.wishes[1].wish,
        Wish::StripeRunsOn {
            edge: "toe".into(),
            of: "outsole".into(),
            to: "toe".into()
        }
    );
}
