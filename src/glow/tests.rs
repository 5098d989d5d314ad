//! Where words lie, without windows and without a picture.

use super::rim::seen;
use super::*;
use crate::calibration::MarkRow;
use crate::lay::Placement;
use crate::light::lettering;
use crate::scene::Patch;
use crate::stand::Side;
use crate::work::{Act, Doing, Goods, History, Said, State, Task, sheet};

/// The room between the marks of [`profile`].
fn table() -> Bounds<Table> {
    Bounds::new(Point::new(10.0, 10.0), Point::new(1190.0, 790.0))
}

/// Four marks on a table that the light reaches beyond on all sides.
fn profile() -> Profile {
    let marks = [
        ([10.0, 12.0], [330.0, 960.0]),
        ([1190.0, 10.0], [1600.0, 940.0]),
        ([1185.0, 790.0], [1540.0, 150.0]),
        ([15.0, 788.0], [380.0, 130.0]),
    ];
    let rows = marks.map(|(mm, px)| MarkRow {
        table: Point::from(mm),
        projector: Point::from(px),
    });
    Profile::of_four(&rows, [1920, 1080], false).unwrap()
}

fn bench(stands: Side) -> Bench {
    let ways = Ways {
        stands,
        ..Ways::default()
    };
    let state = State::new(Vec::new(), Vec::<Placement>::new(), ways);
    Bench::new(Goods::default(), state, History::default())
}

fn locked() -> Option<Said> {
    Some(Said {
        words: "sole 1 is locked: free it first".to_owned(),
        warning: true,
    })
}

/// All that lies over the lay.
fn patches(glow: &mut Glow, bench: &Bench, notice: &Notice) -> Vec<Patch> {
    let figures = over::over(glow, bench, notice);
    figures.into_iter().flat_map(|f| f.patches).collect()
}

/// The grounds of words among them.
fn grounds(patches: &[Patch]) -> Vec<Bounds<Table>> {
    let grounds = patches.iter().filter(|p| p.level == Level::BLACKED);
    grounds.filter_map(|p| p.region.bounds()).collect()
}

#[test]
fn what_is_said_lies_wholly_on_the_table_though_light_reaches_beyond() {
    let mut glow = Glow::new(&profile()).unwrap();
    let lit = glow.lit().bounds().unwrap();
    assert!(lit.contains_box(&table().inflate(60.0, 60.0)), "{lit:?}");
    for side in Side::ALL {
        for count in 0..6 {
            let notice = Notice {
                said: locked(),
                lines: vec!["place 1 of 5: there is room beside the other sole".to_owned(); count],
                ..Notice::default()
            };
            let said = grounds(&patches(&mut glow, &bench(side), &notice));
            let [words] = said[..] else {
                panic!("{said:?}");
            };
            assert!(table().contains_box(&words), "{side:?} {count}: {words:?}");
            // At the person's edge.
            let off = seen(side, &words).min.y - seen(side, &table()).min.y;
            assert!(off < 20.0, "{side:?} {count}: {off}");
        }
    }
}

#[test]
fn of_more_than_there_is_room_for_the_newest_is_said() {
    let mut glow = Glow::new(&profile()).unwrap();
    let bench = bench(Side::Front);
    let mut lines: Vec<String> = (0..40).map(|k| format!("line {k}")).collect();
    let mut said = |lines: &[String]| {
        let notice = Notice {
            said: locked(),
            lines: lines.to_vec(),
            ..Notice::default()
        };
        patches(&mut glow, &bench, &notice)
    };
    let all = said(&lines);
    let [words] = grounds(&all)[..] else {
        panic!("one block of words");
    };
    assert!(table().contains_box(&words), "{words:?}");
    // As though the oldest had not been there.
    let shown = ((words.height() - 10.0) / 24.0).round() as usize;
    assert!((25..40).contains(&shown), "{shown}");
    lines.drain(..41 - shown);
    assert!(said(&lines) == all);
    lines.remove(0);
    assert!(said(&lines) != all);
}

#[test]
fn all_keys_lie_on_the_table_and_no_words_cross_them() {
    for side in Side::ALL {
        let mut glow = Glow::new(&profile()).unwrap();
        let bench = bench(side);
        let list = sheet(bench.doing()).into_iter();
        let list: Vec<String> = list
            .map(|(keys, what)| format!("{keys}   {what}"))
            .collect();
        assert!(list.len() > 40, "more than one column holds");
        let notice = Notice {
            said: locked(),
            sheet: list.clone(),
            ..Notice::default()
        };
        let all = patches(&mut glow, &bench, &notice);
        let grounds = grounds(&all);
        let keys = grounds[0];
        assert_eq!(glow.keys, Some(keys));
        assert!(table().contains_box(&keys), "{side:?} {keys:?}");
        // There is room for what was said, too.
        assert_eq!(grounds.len(), 2, "{side:?}");
        assert!(!grounds[1].intersects(&keys), "{side:?} {grounds:?}");
        assert!(table().contains_box(&grounds[1]));

        // Of more than there is room for, what is newest still stands.
        let lines = vec!["the light was found off the table's marks".to_owned(); 12];
        let more = Notice {
            lines,
            ..notice.clone()
        };
        let more = self::grounds(&patches(&mut glow, &bench, &more));
        assert_eq!(more.len(), 2, "{side:?}");
        assert!(!more[1].intersects(&keys) && table().contains_box(&more[1]));

        // All of them, in letters that can be read, the first one at the person's far left.
        let letters = &all[1].region;
        assert!(keys.contains_box(&letters.bounds().unwrap()));
        let whole = |line: &String| {
            let line = std::slice::from_ref(line);
            lettering(&mut glow.letters, line, Point::origin(), side)
        };
        let whole: Vec<_> = list.iter().map(whole).collect();
        let full: f64 = whole.iter().map(|l| l.lit.area()).sum();
        let size = (letters.area() / full).sqrt();
        assert!((0.59..1.01).contains(&size), "{side:?} {size}");
        let first = Region::ring(letters.rings[0].clone()).bounds().unwrap();
        let (first, keys) = (seen(side, &first), seen(side, &keys));
        assert!(first.min.x - keys.min.x < 12.0, "{side:?} {first:?}");
        assert!(keys.max.y - first.max.y < 30.0, "{side:?} {first:?}");
        // Upright for the person.
        let (shown, meant) = (&letters.rings[0], &whole[0].lit.rings[0]);
        for (a, b) in shown.iter().zip(meant) {
            let off = (*a - shown[0]) - (*b - meant[0]) * size;
            assert!(off.length() < 1e-6, "{side:?} {off:?}");
        }
    }
}

#[test]
fn words_at_a_place_under_the_keys_are_left_out_and_come_back() {
    let mut glow = Glow::new(&profile()).unwrap();
    let mut bench = bench(Side::Front);
    bench.set_table_top(Region::ring(vec![
        Point::new(10.0, 10.0),
        Point::new(1190.0, 10.0),
        Point::new(1190.0, 790.0),
        Point::new(10.0, 790.0),
    ]));
    bench.act(Act::Begin(Task::Samples), 1.0);
    assert!(matches!(bench.doing(), Doing::Samples { .. }));
    let list = sheet(bench.doing()).into_iter();
    let notice = Notice {
        sheet: list
            .map(|(keys, what)| format!("{keys}   {what}"))
            .collect(),
        ..Notice::default()
    };
    // The list, and what is asked for: no numbers under samples beneath the list.
    let with = grounds(&patches(&mut glow, &bench, &notice));
    let keys = glow.keys.unwrap();
    let crossing = with.iter().filter(|g| g.intersects(&keys)).count();
    assert_eq!(crossing, 1, "only the list's own: {with:?}");
    let without = grounds(&patches(&mut glow, &bench, &Notice::default()));
    assert_eq!(glow.keys, None);
    assert_eq!(without.len(), 8, "seven numbers and what is asked for");
}
