//! What was read from elsewhere, a drawing or a photo: looked at and corrected.

use super::{controls, fill, press, tab};
use crate::world::{NARROW, World, correcting, harness, photographed};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use ghostchalk::drawing::read::correct::Taken;
use ghostchalk::pattern::NotchKind;
use ghostchalk::session::panel::Wish;
use ghostchalk::session::photographed::PhotoWish;
use ghostchalk::session::proving::DraftWish;

#[test]
fn what_was_read_is_corrected_with_the_keyboard() {
    let mut harness = harness(correcting(), NARROW, 1.0);
    let mut names = controls(&harness);
    names.sort();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all, "{names:?}");
    // The size is asked for until it is said to be true, and so is the tab's sign.
    let asks = "Is that its true size?";
    assert_eq!(harness.query_all_by_label_contains(asks).count(), 1);
    assert!(harness.state().proving.is_unconfirmed());
    press(&mut harness, "the size of plain.pdf is true");
    assert_eq!(harness.query_all_by_label_contains(asks).count(), 0);
    assert!(!harness.state().proving.is_unconfirmed());
    let made = |harness: &Harness<World>, name: &str| {
        let made = harness.state().proving.readings[0].desk.made().clone();
        made.pieces.into_iter().find(|p| p.name == name)
    };
    let was = made(&harness, "heel band").unwrap();
    press(&mut harness, "piece heel band of plain.pdf");
    press(&mut harness, "stroke 3 notch, slit");
    press(&mut harness, "stroke 3 is: notch, double");
    fill(&mut harness, "name of heel band", "counter");
    tab(&mut harness);
    press(&mut harness, "heel band is cut left and right");
    let fault = harness.state().proving.readings[0]
        .desk
        .fault()
        .map(str::to_owned);
    assert!(fault.is_some_and(|f| f.contains("an even one for pairs")));
    fill(&mut harness, "how many of heel band", "2");
    let grain = harness.state().proving.readings[0].desk.strokes(1);
    let grain = grain.iter().position(|s| s.taken == Taken::Grain).unwrap() + 1;
    press(&mut harness, &format!("stroke {grain} grain line"));
    press(&mut harness, "turn the grain round");
    let now = made(&harness, "counter").unwrap();
    assert_eq!(now.notches[0].kind, NotchKind::Double);
    assert_eq!((now.cut_count, now.pair), (2, true));
    let ([tail, head], [t, h]) = (was.grain.unwrap(), now.grain.unwrap());
    assert!((tail - h).length() < 0.01 && (head - t).length() < 0.01);
    // A guess is turned down, and that is taken back.
    press(&mut harness, &format!("stroke {grain} is: left out"));
    assert_eq!(made(&harness, "counter").unwrap().grain, None);
    press(
        &mut harness,
        &format!("take back: heel band: stroke {grain} is left out"),
    );
    assert!(made(&harness, "counter").unwrap().grain.is_some());
    press(&mut harness, "piece sole of plain.pdf");
    press(&mut harness, "sole is no piece");
    assert!(made(&harness, "sole").is_none());
    press(&mut harness, "sole is a piece after all");
    assert!(made(&harness, "sole").is_some());
    // A stroke is chosen on the picture as well.
    let picture = harness.get_by_label_contains("picture of sole").rect();
    harness.hover_at(picture.center());
    harness.drag_at(picture.center());
    harness.drop_at(picture.center());
    harness.run();
    press(
        &mut harness,
        "keep it: write what is corrected beside the file, and lay from it",
    );
    assert_eq!(
        harness.state().wishes.last(),
        Some(&Wish::Draft(DraftWish::Keep))
    );
}

/// Marks of the table, of a cloth that is shown turned over, and places of cloth and table are
/// clicked on in the photo, where they are.
#[test]
fn a_photo_is_clicked_on_and_read_as_it_was_clicked() {
    let mut harness = harness(photographed(), [1280.0, 1300.0], 1.0);
    let size = harness.state().photo.as_ref().unwrap();
    let [w, h] = size.small.as_ref().unwrap().size.map(|n| n as f32);
    let click = |harness: &mut Harness<World>, x: f32, y: f32| {
        let photo = harness.get_by_label_contains("the photo: click on").rect();
        let at = photo.min + egui::vec2(x / w, y / h) * photo.size();
        harness.hover_at(at);
        harness.drag_at(at);
        harness.drop_at(at);
        harness.run();
    };
    let read = "read the photo";
    assert!(!controls(&harness).contains(&read.to_owned()));
    let corners = [
        (60.0, 1300.0),
        (1900.0, 1310.0),
        (1800.0, 160.0),
        (150.0, 190.0),
    ];
    for (x, y) in corners {
        click(&mut harness, x, y);
    }
    let asked = |harness: &mut Harness<World>| {
        press(harness, read);
        match harness.state().wishes.last() {
            Some(Wish::Photo(PhotoWish::Read(ask))) => ask.clone(),
            other => panic!("{other:?}"),
        }
    };
    let near = |[x, y]: [f64; 2], (a, b): (f32, f32)| {
        // A point of the panel is a few px of the photo.
        (x - f64::from(a)).hypot(y - f64::from(b)) < 6.0
    };
    let ask = asked(&mut harness);
    let numbers: Vec<usize> = ask.clicks.iter().map(|c| c.0).collect();
    assert_eq!(numbers, [1, 2, 3, 4]);
    assert!(
        ask.clicks.iter().zip(corners).all(|(c, at)| near(c.1, at)),
        "{ask:?}"
    );
    assert_eq!((&ask.own, &ask.panel), (&None, &None));
    // The cloth is looked for, and where it is like the table, both are shown.
    press(&mut harness, "look for the cloth of felt");
    press(&mut harness, "the next click is on cloth");
    click(&mut harness, 1300.0, 1000.0);
    press(&mut harness, "the next click is on table");
    click(&mut harness, 200.0, 900.0);
    let ask = asked(&mut harness);
    assert_eq!(ask.panel.as_deref(), Some("felt"));
    assert!(near(ask.cloth_at[0], (1300.0, 1000.0)) && near(ask.table_at[0], (200.0, 900.0)));
    // A panel shown turned over is read alone, by two marks of its own at least.
    press(&mut harness, "remnant is shown turned over");
    press(&mut harness, "the cloth's mark cross");
    click(&mut harness, 700.0, 800.0);
    assert!(!controls(&harness).contains(&read.to_owned()));
    press(&mut harness, "the cloth's mark patch");
    click(&mut harness, 400.0, 600.0);
    let ask = asked(&mut harness);
    assert_eq!((ask.own.as_deref(), &ask.panel), (Some("remnant"), &None));
    let named: Vec<&str> = ask.own_clicks.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(named, ["cross", "patch"]);
    assert!(near(ask.own_clicks[1].1, (400.0, 600.0)), "{ask:?}");
    press(&mut harness, "take back all clicks");
    assert!(!controls(&harness).contains(&read.to_owned()));
}
