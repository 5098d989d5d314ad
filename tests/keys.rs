//! The table of keys: in every activity each key does something, and none does
//! two things.

use ghostchalk::job::Job;
use ghostchalk::shape::Region;
use ghostchalk::space::Point;
use ghostchalk::work::cutting::Item;
use ghostchalk::work::{
    Act, Bench, Doing, Errand, Goods, History, Key, KeyAct, Outside, Pressed, Relative, Seek,
    State, Task, Ways, act_of, sheet, table,
};
use std::collections::HashSet;

/// The demonstration job, with light that can be changed both ways and
/// three marks on the canvas.
fn bench() -> Bench {
    let job = Job::open("demo-data".as_ref()).unwrap();
    let ways = Ways {
        work_light: 20,
        brightness: 60,
        band_mm: 4.0,
        ..Ways::default()
    };
    let goods = Goods {
        pieces: job.pieces.clone(),
        cloths: job.file.cloths.clone(),
        articles: job.articles.clone(),
    };
    let state = State::new(job.file.panels.clone(), job.file.placed.clone(), ways);
    let mut bench = Bench::new(goods, state, History::default());
    bench.set_table_marks(vec![Point::new(-20.0, -20.0), Point::new(1190.0, 790.0)]);
    let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
    let reach = corners.map(|(x, y)| Point::new(x, y)).to_vec();
    bench.set_reach(Region::ring(reach));
    let tapes = job.tapes().unwrap().remove("1").unwrap();
    let twice = ["1", "2"].map(|article| (article.to_owned(), tapes[0].clone()));
    bench.set_tapes(twice.to_vec());
    let point = |bench: &mut Bench, x, y| bench.act(Act::Point(Point::new(x, y)), 0.0);
    bench.act(Act::Begin(Task::Marks("sling".into())), 0.0);
    for (x, y) in [(120.0, 400.0), (800.0, 420.0), (500.0, 650.0)] {
        point(&mut bench, x, y);
        bench.act(Act::Press, 0.0);
    }
    bench.act(Act::Leave, 0.0);
    // Undone, so that there is something to do again; then in the first upper.
    bench.act(Act::Waste(true), 0.0);
    bench.act(Act::Undo, 0.0);
    let upper = bench.laid().1[0].pose.shift;
    point(&mut bench, upper.x, upper.y);
    bench
}

/// The bench in each activity, as far on as a key needs it.
fn activities() -> Vec<Bench> {
    let begun = |task, presses: usize| {
        let mut b = bench();
        b.act(Act::Begin(task), 1.0);
        for k in 0..presses {
            let at = [(300.0, 400.0), (500.0, 400.0), (500.0, 600.0)][k];
            b.act(Act::Point(Point::new(at.0, at.1)), 1.0);
            b.act(Act::Press, 1.0);
        }
        if presses > 0 {
            b.act(Act::Point(Point::new(700.0, 420.0)), 1.0);
        }
        b
    };
    let sling = || "sling".to_owned();
    let mut laying = bench();
    let mut checking = begun(Task::Check, 0);
    checking.act(Act::Point(Point::new(-16.0, -18.0)), 1.0);
    checking.act(Act::Press, 1.0);
    checking.act(Act::Point(Point::new(1188.0, 796.0)), 1.0);
    let held = laying.piece_at(laying.pointer().unwrap()).unwrap();
    laying.act(Act::Hold(held), 1.0);
    let mut samples = begun(Task::Samples, 0);
    if let Doing::Samples { at } = *samples.doing() {
        samples.act(Act::Point(at), 1.0);
    }
    let mut lengths = bench();
    lengths.act(Act::Lengths, 1.0);
    vec![
        laying,
        lengths,
        begun(Task::Outline(sling()), 3),
        begun(Task::KeepOut(sling()), 3),
        begun(Task::Marks(sling()), 0),
        begun(Task::Moved(sling()), 2),
        begun(Task::Warp(sling()), 1),
        begun(Task::Edge, 1),
        begun(Task::Tape, 1),
        samples,
        begun(Task::Strip, 1),
        checking,
    ]
}

#[test]
fn no_two_entries_of_an_activity_share_a_key() {
    for bench in activities() {
        let mut seen = HashSet::new();
        for line in table(bench.doing()) {
            for (pressed, act) in line.presses {
                assert!(
                    seen.insert(pressed),
                    "{pressed} twice in {:?}",
                    bench.doing()
                );
                assert_eq!(act_of(pressed, bench.doing()), Some(act), "{pressed}");
            }
        }
    }
}

#[test]
fn the_sheet_has_words_for_every_line_and_no_two_the_same() {
    let mut cutting = bench();
    cutting.act(Act::BeginCutting, 1.0);
    let mut asked = cutting.clone();
    asked.act(Act::Take(Item::Check), 2.0);
    assert_eq!(
        act_of(Pressed::plain(Key::Letter('P')), asked.doing()),
        Some(KeyAct::Act(Act::Press))
    );
    for bench in activities().into_iter().chain([cutting, asked]) {
        let sheet = sheet(bench.doing());
        let keys: HashSet<_> = sheet.iter().map(|(k, _)| k).collect();
        let whats: HashSet<_> = sheet.iter().map(|(_, w)| w).collect();
        assert_eq!((keys.len(), whats.len()), (sheet.len(), sheet.len()));
        assert!(sheet.iter().all(|(k, w)| !k.is_empty() && w.len() > 2));
    }
}

#[test]
fn one_key_checks_the_light_while_laying_and_while_cutting() {
    let key = Pressed::plain(Key::Letter('V'));
    let mut bench = bench();
    let begun = KeyAct::Relative(Relative::Begin(Errand::Check));
    assert_eq!(act_of(key, bench.doing()), Some(begun));
    bench.act(Act::BeginCutting, 1.0);
    let taken = KeyAct::Act(Act::Take(Item::Check));
    assert_eq!(act_of(key, bench.doing()), Some(taken));
}

/// Told apart by what the person would notice: the state, what is in hand,
/// pointed at or begun, or a word said.
fn notices(bench: &Bench, act: Act) -> bool {
    let mut after = bench.clone();
    let said = after.act(act, 5.0).said;
    let seen = |b: &Bench| {
        let about = (b.held(), b.pointer(), b.moves_together());
        (b.state().clone(), b.doing().clone(), about)
    };
    said.is_some_and(|s| !s.warning) || seen(&after) != seen(bench)
}

#[test]
fn every_key_does_something() {
    for bench in activities() {
        let laying = bench.doing().is_laying();
        // A piece is turned over, and another or a partner is laid, only where
        // the count allows: the key answers with a sentence.
        let counted = [
            Act::TurnOver,
            Act::Another,
            Act::Partner,
            Act::PartnerAcross,
            Act::Seek(Seek::Open),
        ];
        for line in table(bench.doing()) {
            for (pressed, act) in line.presses {
                let about = format!("{pressed} ({}) in {:?}", line.what, bench.doing());
                match act {
                    KeyAct::Outside(_) | KeyAct::Signal(_) => continue,
                    KeyAct::Act(act) if counted.contains(&act) => {
                        let said = bench.clone().act(act, 5.0).said;
                        assert!(said.is_some(), "{about}");
                    }
                    // The way that is lit already.
                    KeyAct::Act(Act::Way(way)) if way == bench.ways().way => continue,
                    KeyAct::Act(act) => assert!(notices(&bench, act), "{about}"),
                    KeyAct::Relative(Relative::HoldHere) => {
                        let mut empty = bench.clone();
                        empty.act(Act::LetGo, 4.0);
                        let act = Relative::HoldHere.act(&empty).unwrap();
                        assert!(notices(&empty, act), "{about}");
                    }
                    KeyAct::Relative(relative) => match relative.act(&bench) {
                        Ok(act) => assert!(notices(&bench, act), "{about}"),
                        Err(said) => assert!(said.contains("laid"), "{about}: {said}"),
                    },
                }
            }
        }
        assert_eq!(laying, bench.doing().is_laying());
    }
}

#[test]
fn the_next_open_part_goes_onto_the_panel_under_the_pointer() {
    let mut bench = bench();
    let (ids, _) = bench.laid();
    let away: Vec<_> = ids
        .into_iter()
        .filter(|id| bench.state().placed[id].piece == "sole")
        .collect();
    for id in &away {
        bench.act(Act::Hold(*id), 1.0);
        bench.act(Act::TakeAway, 1.0);
    }
    assert!(!away.is_empty());
    for _ in &away {
        let act = Relative::LayNext.act(&bench).unwrap();
        assert!(
            matches!(&act, Act::Lay { piece, panel, .. } if piece == "sole" && panel == "sling")
        );
        bench.act(act, 2.0);
    }
    let said = Relative::LayNext.act(&bench).unwrap_err();
    assert!(said.contains("canvas is laid"), "{said}");
}

#[test]
fn which_panel_is_asked_when_none_can_be_meant() {
    let mut bench = bench();
    bench.act(Act::Point(Point::new(-500.0, -500.0)), 1.0);
    let said = Relative::Begin(Errand::Marks).act(&bench).unwrap_err();
    assert!(said.contains("pointer"), "{said}");
    for panel in ["remnant", "felt"] {
        let spread = Act::Spread {
            panel: panel.into(),
            spread: false,
        };
        bench.act(spread, 1.0);
    }
    let act = Relative::Begin(Errand::Marks).act(&bench).unwrap();
    assert_eq!(act, Act::Begin(Task::Marks("sling".into())));
}

#[test]
fn plus_is_plus_however_it_is_typed() {
    let light = act_of(Pressed::plain(Key::Plus), &Doing::Laying);
    assert_eq!(light, Some(KeyAct::Relative(Relative::WorkLight(5))));
    assert_eq!(act_of(Pressed::shift(Key::Plus), &Doing::Laying), light);
    let end = act_of(Pressed::ctrl(Key::Letter('Q')), &Doing::Laying);
    assert_eq!(end, Some(KeyAct::Outside(Outside::Quit)));
}
