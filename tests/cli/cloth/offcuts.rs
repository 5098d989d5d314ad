//! What is left of a cloth, kept and spread again.

use super::*;
use ghostchalk::job::note;
use ghostchalk::lay::{CutPart, Marking};
use ghostchalk::work::{Id, Op};

/// A laid piece is cut.
fn cut(folder: &Path, id: Id) {
    let _alone = alone();
    let cut = note(folder, |at| {
        let p = &at.state.placed[&id];
        let part = CutPart {
            id: 1,
            placed: id,
            piece: p.piece.clone(),
            article: p.article.clone(),
            cloth: "canvas".to_owned(),
            panel: p.panel.clone(),
            face: p.face,
            plies: 1,
            clipped_late: Vec::new(),
            marking: Marking::Nothing,
            spoilt: false,
            by: None,
        };
        Ok((vec![Op::Cut { parts: vec![part] }], ()))
    });
    cut.unwrap();
}

#[test]
fn offcuts_are_numbered_on_and_what_lies_uncut_is_told() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    cut(folder.path(), 1);
    let kept = folder.path().join("kept");
    let own = [
        "offcut",
        job,
        "--panel",
        "sling",
        "--to",
        kept.to_str().unwrap(),
    ];
    let told = |o: &Output| String::from_utf8_lossy(&o.stderr).into_owned();
    let noted = "note: what lies uncut on sling is counted as left with it: upper 1, 2 x sole 1, \
                 2 x heel band 1, 2 x binding 1; cut it first, or take it away.";
    for round in 1..=2 {
        let o = run(&own);
        assert_eq!(o.status.code(), Some(0), "{}", told(&o));
        assert!(told(&o).contains(noted), "{}", told(&o));
        let file = format!("sling-offcut-{round}.toml");
        let offcut = Offcut::read(&kept.join(&file)).unwrap();
        assert_eq!(offcut.panel.name, format!("sling offcut {round}"));
        assert!(stdout(&o).contains(&file), "{}", stdout(&o));
    }
    let mut names: Vec<String> = std::fs::read_dir(&kept)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("offcut"))
        .collect();
    names.sort();
    assert_eq!(names, ["sling-offcut-1.toml", "sling-offcut-2.toml"]);
    // Into the job that it came from, in which its panel lies; and as if from another.
    let first = kept.join("sling-offcut-1.toml");
    let first = first.to_str().unwrap();
    let o = run(&["spread", first, "--job", job]);
    assert_eq!(o.status.code(), Some(0), "{}", told(&o));
    let twice = "note: sling lies in this job still, and the offcut was left from it: its cloth \
                 counts twice until you put sling away.";
    assert!(told(&o).contains(twice), "{}", told(&o));
    let text = std::fs::read_to_string(first).unwrap();
    let other = text.replace("from = \"Deck-chair slippers\"", "from = \"a coat\"");
    assert_ne!(other, text);
    std::fs::write(first, other).unwrap();
    let o = run(&["spread", first, "--job", job, "--as", "second"]);
    assert_eq!(o.status.code(), Some(0), "{}", told(&o));
    assert!(!told(&o).contains("counts twice"), "{}", told(&o));
}
