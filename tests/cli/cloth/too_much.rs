//! More laid than is ordered, or two lefts.

use super::*;

/// A piece as it is laid in a job's text, the first of it or a later one, from 0.
fn laid_as<'t>(text: &'t str, piece: &str, nth: usize) -> &'t str {
    let named = format!("[[placed]]\npiece = \"{piece}\"\n");
    let at = text.match_indices(&named).nth(nth).unwrap().0;
    let next = text[at + 1..].find("[[placed]]").unwrap();
    &text[at..=at + next]
}

#[test]
fn what_is_laid_too_often_or_as_the_wrong_hand_is_a_no() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let file = folder.path().join("job.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let upper = laid_as(&text, "upper", 1);
    let other_hand = upper.replace("face = \"down\"", "face = \"up\"");
    assert_ne!(other_hand, upper);
    let band = laid_as(&text, "heel band", 1);
    for (from, to, what, remedy) in [
        (
            upper,
            other_hand,
            "upper 1 in canvas: a pair needs 1 as drawn and 1 mirrored, and 2 and 0 are laid",
            "turn one of them over",
        ),
        (
            band,
            format!("{band}{band}"),
            "heel band 1 in canvas: 3 laid of 2",
            "take one of them away",
        ),
    ] {
        std::fs::write(&file, text.replacen(from, &to, 1)).unwrap();
        let says = format!("this would spoil the work: {what}; {remedy}.\n");
        let o = run(&["order", job]);
        assert_eq!(o.status.code(), Some(1), "{o:?}");
        assert!(stdout(&o).contains(&says), "{}", stdout(&o));
        // Nothing is left to lay, and it is not right all the same.
        let o = run(&["lay", job]);
        assert_eq!((o.status.code(), stdout(&o)), (Some(1), says));
        let o = run(&["lay", job, "--json"]);
        assert_eq!(o.status.code(), Some(1), "{o:?}");
        let told: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
        assert_eq!(told["faults"][0]["what"], what);
        let o = run(&["prove", job, "--json"]);
        assert_eq!(o.status.code(), Some(1), "{o:?}");
        let told: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
        let found = told["findings"].as_array().unwrap();
        assert!(found.iter().any(|f| f["what"] == what), "{found:?}");
    }
}

#[test]
fn more_than_is_ordered_is_not_taken() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    // A sheet on which there is room.
    let mut panel = standing(folder.path()).1.panel("sling").unwrap().clone();
    panel.name = "other half".to_owned();
    let offcut = Offcut {
        ghostchalk_offcut: OFFCUT_VERSION,
        from: "another job".to_owned(),
        area_cm2: 3800.0,
        cloth: Cloth {
            name: "canvas".to_owned(),
            thickness_mm: 0.8,
            no_face: false,
        },
        panel,
    };
    let path = folder.path().join("offcut.toml");
    offcut.write(&path).unwrap();
    let o = run(&[
        "spread",
        path.to_str().unwrap(),
        "--job",
        job,
        "--at",
        "2000,300",
    ]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let asked = |piece: &'static str, more: &[&'static str]| {
        let own = [
            "places",
            job,
            piece,
            "--article",
            "1",
            "--panel",
            "other half",
        ];
        [&own[..], more].concat()
    };
    let before = standing(folder.path()).1.placed;
    refused(
        &asked("heel band", &["--take", "1"]),
        "all 2 of heel band 1 are laid; move one that lies there with --moves",
    );
    // The first upper as the other hand: there would be two of it.
    refused(
        &asked("upper", &["--moves", "1", "--mirrored", "--take", "1"]),
        "upper 1: mirrored would be one too many of that hand; turn it over",
    );
    assert_eq!(standing(folder.path()).1.placed, before);
    // As the hand that it is, it may go there.
    let o = run(&asked("upper", &["--moves", "1", "--take", "1"]));
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    assert_eq!(standing(folder.path()).1.placed[&1].panel, "other half");
}
