//! A job's text changed in three ways: what it says, what that means, what it shall mean.

use ghostchalk::cloth::{ClothMark, KeepOut};
use ghostchalk::colour::Tint;
use ghostchalk::job::{JobFile, saved_text};
use ghostchalk::work::Ways;

use super::bytes::Bytes;
use super::{Target, is_itself};

pub const SAVED: Target = Target {
    name: "saved",
    run: saved,
    seeds: &["fuzz/seeds/saved/*"],
};

const DEMO: &str = include_str!("../../../demo-data/job.toml");

/// Tables, lists and numbers in other spellings, with comments at odd places.
const STYLES: &str = r#"# at the top
ghostchalk_job = 1 # version
"name" = 'a # in a name'
pattern = [{ file = "p.svg" }]
cloth = [ { name = "canvas" }, # first
  # alone
  { name = "felt", thickness_mm = 5, no_face = true } ]

[[article]] # the only one
name = "1"
part = [{ piece = "a", cloth = "canvas", count = 4, pair = true }]

[[placed]]
piece = "a"
article = "1"
panel = "front"
x_mm = 1_0 # ten
y_mm = +2e1
# between two tables
[[panel]]
name = "front"
cloth = "canvas"
outline_mm = [
  [0, 0], [500.25, 0], # lower
  [500, 400], [0, 400]
]
on_table.x_mm = 1
on_table.y_mm = 2
mark = [] # none yet

[[panel.keep_out]]
name = "hole"
outline_mm = [[1, 1], [2, 1], [2, 2]]

[[placed]] # after a panel
piece = "a"
article = "1"
panel = "front"
x_mm = 0x10
y_mm = 7
id = 7

[[panel]]
name = "back"
cloth = "canvas"
outline_mm = [[0, 0], [1, 0], [1, 1]]
on_table = { x_mm = 1, y_mm = 2 }
under = "front"
# at the end"#;

/// Names with all that a file of this kind needs a sign for.
const NAMES: [&str; 6] = ["front", "", "a \"b\" 'c'", "# d", "e\nf\u{1}", "ü\\"];

/// Changes that an input makes at most.
const MOST: usize = 12;

/// The first byte says which text is changed, the next which changes; what is left may be the
/// text itself.
fn saved(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let which = bytes.below(3);
    let mut changes = Vec::new();
    for _ in 0..bytes.below(MOST) {
        let numbers = [number(&mut bytes), number(&mut bytes)];
        let places = [bytes.below(256), bytes.below(256)];
        changes.push((bytes.byte(), places, numbers));
    }
    let text = match which {
        0 => DEMO,
        1 => STYLES,
        _ => match std::str::from_utf8(bytes.rest()) {
            Ok(text) => text,
            Err(_) => return,
        },
    };
    let Ok(was) = JobFile::parse(text) else {
        assert!(which == 2, "a job of ours is not read");
        return;
    };
    if !is_itself(&was) {
        return;
    }
    assert_eq!(
        saved_text(text, &was).as_deref(),
        Ok(text),
        "nothing changed"
    );
    let mut now = was;
    for (what, places, numbers) in changes {
        let _ = change(&mut now, what, places, numbers);
    }
    let told = saved_text(text, &now);
    let told = told.unwrap_or_else(|fault| panic!("{fault}\n{text}\n{now:?}"));
    assert_eq!(JobFile::parse(&told).as_ref(), Ok(&now), "{told}");
    let again = saved_text(&told, &now);
    assert_eq!(again.as_deref(), Ok(told.as_str()), "saved twice");
}

/// A number that can be written, of any size.
fn number(bytes: &mut Bytes) -> f64 {
    let odd = [-0.0, 1e-300, f64::MAX, f64::MIN_POSITIVE, 0.1, -1e15];
    match bytes.below(8) {
        0 => odd[bytes.below(odd.len())],
        1 => f64::from(bytes.byte()),
        _ => bytes.mm(),
    }
}

/// One change; none where there is no such place.
fn change(job: &mut JobFile, what: u8, [k, n]: [usize; 2], [x, y]: [f64; 2]) -> Option<()> {
    let name = NAMES[n % NAMES.len()].to_owned();
    let outline = || (0..n % 12).map(|c| [x + c as f64, y]).collect::<Vec<_>>();
    match what % 20 {
        0 => {
            let placed = pick(&mut job.placed, k)?;
            (placed.x_mm, placed.y_mm, placed.turn_deg) = (x, y, x / 2.0);
        }
        1 => {
            let placed = pick(&mut job.placed, k)?;
            placed.face = placed.face.other();
            placed.locked = !placed.locked;
        }
        2 => pick(&mut job.placed, k)?.id = (n > 3).then_some(n as u32),
        3 => taken(&mut job.placed, k),
        4 => {
            let mut placed = pick(&mut job.placed, k)?.clone();
            (placed.x_mm, placed.panel) = (x, name);
            let at = n % (job.placed.len() + 1);
            job.placed.insert(at, placed);
        }
        5 => swapped(&mut job.placed, k, n),
        6 => {
            let on = &mut pick(&mut job.panels, k)?.on_table;
            (on.x_mm, on.y_mm, on.turn_deg) = (x, y, y);
        }
        7 => {
            let panel = pick(&mut job.panels, k)?;
            (panel.spread, panel.grain_deg) = (!panel.spread, x);
        }
        8 => pick(&mut job.panels, k)?.under = (n > 9).then_some(name),
        9 => *pick(&mut pick(&mut job.panels, k)?.outline_mm, n)? = [x, y],
        10 => taken(&mut pick(&mut job.panels, k)?.outline_mm, n),
        11 => pick(&mut job.panels, k)?.outline_mm = outline(),
        12 => {
            let outline_mm = outline();
            let places = &mut pick(&mut job.panels, k)?.keep_out;
            places.push(KeepOut { name, outline_mm });
        }
        13 => taken(&mut pick(&mut job.panels, k)?.keep_out, n),
        14 => {
            let (x_mm, y_mm) = (x, y);
            let marks = &mut pick(&mut job.panels, k)?.marks;
            marks.push(ClothMark { name, x_mm, y_mm });
        }
        15 => taken(&mut job.panels, k),
        16 => {
            let mut panel = pick(&mut job.panels, k)?.clone();
            panel.name = name;
            job.panels.push(panel);
        }
        17 => swapped(&mut job.panels, k, n),
        18 => {
            job.profile = (n > 99).then(|| name.clone());
            job.name = name;
            let creep = n % 2 == 1;
            let colour = Tint::ALL[n % Tint::ALL.len()];
            let ways = Ways {
                band_mm: x,
                colour,
                creep,
                ..Ways::default()
            };
            job.light = (k > 99).then_some(ways);
        }
        _ => pick(&mut job.cloths, k)?.thickness_mm = x,
    }
    Some(())
}

fn pick<T>(list: &mut [T], k: usize) -> Option<&mut T> {
    let count = list.len().max(1);
    list.get_mut(k % count)
}

fn taken<T>(list: &mut Vec<T>, k: usize) {
    if !list.is_empty() {
        list.remove(k % list.len());
    }
}

fn swapped<T>(list: &mut [T], a: usize, b: usize) {
    if !list.is_empty() {
        list.swap(a % list.len(), b % list.len());
    }
}
