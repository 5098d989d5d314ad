//! The job file is written back exactly, and no comment of the person's is
//! lost by it: for random changes to files of several styles.

use ghostchalk::cloth::{ClothMark, KeepOut};
use ghostchalk::colour::Tint;
use ghostchalk::job::{JobFile, saved_text};
use ghostchalk::lay::Face;
use ghostchalk::work::Ways;
use proptest::prelude::*;
use proptest::sample::Index;

fn demo() -> String {
    std::fs::read_to_string("demo-data/job.toml").unwrap()
}

/// Every way of writing tables, lists and numbers, and a comment at each place
/// where one may stand.
const ODD: &str = r#"# c01 at the very top

# c02 before the first key
ghostchalk_job = 1 # c03
"name" = 'hash # in a name' # c04
profile = "table.toml" # c05

# c06
[[pattern]] # c07
# c08
file = "p.svg"
[[cloth]]
name = "canvas" # c09
[[article]]
name = "1"
part = [ # c10
  { piece = "a", cloth = "canvas", count = 4, pair = true }, # c11
  # c12
]
# c13
[[placed]] # c14
# c15
piece = "a" # c16
article = "1"
panel = "front"
x_mm = 1_0 # c17
y_mm = 2e1
turn_deg = +3.50
face = "down" # c18

# c19 before a panel that stands between placements
[[panel]]
name = "front"
cloth = "canvas"
outline_mm = [ # c20
  [0, 0], # c21
  [500.25, 0], [500, 400],
  # c22
  [0, 400] # c23
  # c24
]
mark = [] # c25
spread = true # c26

# c27
[panel.on_table] # c28
# c29
x_mm = 0
y_mm = 0.0 # c30

# c31
[[panel.keep_out]] # c32
name = "hole" # c33
outline_mm = [[1, 1], [2, 1], [2, 2]] # c34

# c35
[[placed]]
piece = "a"
article = "1"
panel = "front"
x_mm = 0x10 # c36
y_mm = 7
id = 7 # c37
locked = true # c38

[[panel]] # c39
name = "back"
cloth = "canvas"
outline_mm = [[0, 0], [1, 0], [1, 1]]
on_table.x_mm = 1 # c40
# c41
on_table.y_mm = 2
mark = [
  # c42
  { name = "cross", x_mm = 1, y_mm = 2 }, # c43
  { name = "hole", x_mm = 3, y_mm = 4 } # c44
] # c45
keep_out = [ { name = "tear", outline_mm = [[1, 1], [2, 1], [2, 2]] } ] # c46
under = "front" # c47
# c48 at the end
"#;

/// The lay in one value, and no line feed at the end.
const FLAT: &str = r#"ghostchalk_job = 1
name = "flat"
pattern = [{ file = "p.svg" }]
cloth = [{ name = "canvas" }]
article = [{ name = "1", part = [{ piece = "a", cloth = "canvas", count = 2, pair = false }] }]
panel = [{ name = "front", cloth = "canvas", outline_mm = [[0, 0], [1, 0], [1, 1]], on_table = { x_mm = 1, y_mm = 2 } }] # c01
placed = [ # c02
  { piece = "a", article = "1", panel = "front", x_mm = 1, y_mm = 2 }, # c03
  # c04
  { piece = "a", article = "1", panel = "front", x_mm = 3, y_mm = 4, id = 1 } # c05
  # c06
] # c07"#;

/// The comments of a text in which `#` stands within no name but the one.
fn comments(text: &str) -> Vec<&str> {
    let text = text.lines().filter_map(|l| {
        let l = l.trim_start_matches("\"name\" = 'hash # in a name'");
        l.find('#').map(|at| l[at..].trim())
    });
    text.collect()
}

/// A change to a job, at a place drawn by chance.
#[derive(Debug, Clone)]
enum Change {
    Move(Index, [f64; 3]),
    TurnOver(Index),
    Number(Index, Option<u32>),
    Lock(Index),
    TakeAway(Index),
    /// A copy at another place of the list.
    Another(Index, Index, f64),
    Swap(Index, Index),
    OtherPanel(Index, Index),
    NumberAll,
    Shift(Index, [f64; 3]),
    Spread(Index),
    Under(Index, Option<u8>),
    Grain(Index, f64),
    Corner(Index, Index, [f64; 2]),
    CornerMore(Index, Index, [f64; 2]),
    CornerLess(Index, Index),
    Outline(Index, Vec<[f64; 2]>),
    KeepOut(Index, Vec<[f64; 2]>),
    KeepOutLess(Index, Index),
    Mark(Index, u8, [f64; 2]),
    MarkLess(Index, Index),
    PanelLess(Index),
    PanelMore(Index),
    PanelSwap(Index, Index),
    Profile(Option<u8>),
    Thickness(Index, f64),
    Light(Option<(f64, u8)>),
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        -1e5..1e5f64,
        (-500i32..500).prop_map(f64::from),
        Just(-0.0),
        Just(1e-300),
        prop::num::f64::NORMAL,
    ]
}

fn corners() -> impl Strategy<Value = Vec<[f64; 2]>> {
    prop::collection::vec(prop::array::uniform2(number()), 0..20)
}

fn change() -> impl Strategy<Value = Change> {
    use Change as C;
    let i = any::<Index>;
    let xy = || prop::array::uniform2(number());
    let pose = || prop::array::uniform3(number());
    prop_oneof![
        (i(), pose()).prop_map(|(a, b)| C::Move(a, b)),
        i().prop_map(C::TurnOver),
        (i(), prop::option::of(0u32..9)).prop_map(|(a, b)| C::Number(a, b)),
        i().prop_map(C::Lock),
        i().prop_map(C::TakeAway),
        (i(), i(), number()).prop_map(|(a, b, c)| C::Another(a, b, c)),
        (i(), i()).prop_map(|(a, b)| C::Swap(a, b)),
        (i(), i()).prop_map(|(a, b)| C::OtherPanel(a, b)),
        Just(C::NumberAll),
        (i(), pose()).prop_map(|(a, b)| C::Shift(a, b)),
        i().prop_map(C::Spread),
        (i(), prop::option::of(0u8..3)).prop_map(|(a, b)| C::Under(a, b)),
        (i(), number()).prop_map(|(a, b)| C::Grain(a, b)),
        (i(), i(), xy()).prop_map(|(a, b, c)| C::Corner(a, b, c)),
        (i(), i(), xy()).prop_map(|(a, b, c)| C::CornerMore(a, b, c)),
        (i(), i()).prop_map(|(a, b)| C::CornerLess(a, b)),
        (i(), corners()).prop_map(|(a, b)| C::Outline(a, b)),
        (i(), corners()).prop_map(|(a, b)| C::KeepOut(a, b)),
        (i(), i()).prop_map(|(a, b)| C::KeepOutLess(a, b)),
        (i(), 0u8..4, xy()).prop_map(|(a, b, c)| C::Mark(a, b, c)),
        (i(), i()).prop_map(|(a, b)| C::MarkLess(a, b)),
        i().prop_map(C::PanelLess),
        i().prop_map(C::PanelMore),
        (i(), i()).prop_map(|(a, b)| C::PanelSwap(a, b)),
        prop::option::of(0u8..3).prop_map(C::Profile),
        (i(), number()).prop_map(|(a, b)| C::Thickness(a, b)),
        prop::option::of((number(), 0u8..50)).prop_map(C::Light),
    ]
}

fn at<'a, T>(list: &'a mut [T], index: &Index) -> Option<&'a mut T> {
    if list.is_empty() {
        return None;
    }
    let k = index.index(list.len());
    list.get_mut(k)
}

fn less<T>(list: &mut Vec<T>, index: &Index) {
    if !list.is_empty() {
        list.remove(index.index(list.len()));
    }
}

/// Does a change; where its place isn't there, nothing.
fn make(job: &mut JobFile, change: &Change) -> Option<()> {
    use Change as C;
    match change {
        C::Move(k, [x, y, t]) => {
            let p = at(&mut job.placed, k)?;
            (p.x_mm, p.y_mm, p.turn_deg) = (*x, *y, *t);
        }
        C::TurnOver(k) => {
            let p = at(&mut job.placed, k)?;
            p.face = match p.face {
                Face::Up => Face::Down,
                Face::Down => Face::Up,
            };
        }
        C::Number(k, id) => at(&mut job.placed, k)?.id = *id,
        C::Lock(k) => {
            let p = at(&mut job.placed, k)?;
            p.locked = !p.locked;
        }
        C::TakeAway(k) => less(&mut job.placed, k),
        C::Another(k, to, x) => {
            let mut p = at(&mut job.placed, k)?.clone();
            (p.x_mm, p.id) = (*x, None);
            job.placed.insert(to.index(job.placed.len() + 1), p);
        }
        C::Swap(a, b) => {
            at(&mut job.placed, a)?;
            let n = job.placed.len();
            job.placed.swap(a.index(n), b.index(n));
        }
        C::OtherPanel(k, to) => {
            let name = at(&mut job.panels, to)?.name.clone();
            at(&mut job.placed, k)?.panel = name;
        }
        C::NumberAll => {
            for (k, p) in job.placed.iter_mut().enumerate() {
                p.id = Some(u32::try_from(k).unwrap() + 1);
            }
        }
        C::Shift(k, [x, y, t]) => {
            let p = &mut at(&mut job.panels, k)?.on_table;
            (p.x_mm, p.y_mm, p.turn_deg) = (*x, *y, *t);
        }
        C::Spread(k) => {
            let p = at(&mut job.panels, k)?;
            p.spread = !p.spread;
        }
        C::Under(k, n) => at(&mut job.panels, k)?.under = n.map(|n| format!("panel {n}")),
        C::Grain(k, g) => at(&mut job.panels, k)?.grain_deg = *g,
        C::Corner(k, c, xy) => *at(&mut at(&mut job.panels, k)?.outline_mm, c)? = *xy,
        C::CornerMore(k, c, xy) => {
            let outline = &mut at(&mut job.panels, k)?.outline_mm;
            outline.insert(c.index(outline.len() + 1), *xy);
        }
        C::CornerLess(k, c) => less(&mut at(&mut job.panels, k)?.outline_mm, c),
        C::Outline(k, corners) => at(&mut job.panels, k)?.outline_mm = corners.clone(),
        C::KeepOut(k, corners) => at(&mut job.panels, k)?.keep_out.push(KeepOut {
            name: "new \"place\" 'one'".to_owned(),
            outline_mm: corners.clone(),
        }),
        C::KeepOutLess(k, c) => less(&mut at(&mut job.panels, k)?.keep_out, c),
        C::Mark(k, n, [x, y]) => {
            let name = format!("cross {n}");
            let (x_mm, y_mm) = (*x, *y);
            let marks = &mut at(&mut job.panels, k)?.marks;
            marks.retain(|m| m.name != name);
            marks.push(ClothMark { name, x_mm, y_mm });
        }
        C::MarkLess(k, c) => less(&mut at(&mut job.panels, k)?.marks, c),
        C::PanelLess(k) => less(&mut job.panels, k),
        C::PanelMore(k) => {
            let mut p = at(&mut job.panels, k)?.clone();
            p.name = format!("panel {}", job.panels.len());
            job.panels.push(p);
        }
        C::PanelSwap(a, b) => {
            at(&mut job.panels, a)?;
            let n = job.panels.len();
            job.panels.swap(a.index(n), b.index(n));
        }
        C::Profile(p) => job.profile = p.map(|n| format!("table {n}.toml")),
        C::Light(light) => {
            job.light = light.map(|(band_mm, work_light)| Ways {
                band_mm,
                work_light,
                colour: Tint::ALL[usize::from(work_light) % Tint::ALL.len()],
                creep: work_light % 2 == 1,
                ..Ways::default()
            });
        }
        C::Thickness(k, t) => at(&mut job.cloths, k)?.thickness_mm = *t,
    }
    Some(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Saved twice over: each time the text says exactly what it should, and
    /// every comment of the first text is in it, once.
    #[test]
    fn what_is_saved_is_read_back_and_every_comment_stays(
        style in 0usize..3,
        once in prop::collection::vec(change(), 0..6),
        twice in prop::collection::vec(change(), 0..6),
    ) {
        let first = [demo(), ODD.to_owned(), FLAT.to_owned()][style].clone();
        let mut job = JobFile::parse(&first).unwrap();
        let mut text = first.clone();
        for changes in [once, twice] {
            for change in &changes {
                let _ = make(&mut job, change);
            }
            text = saved_text(&text, &job).unwrap();
            let back = JobFile::parse(&text).unwrap();
            prop_assert_eq!(&back, &job);
            let there = comments(&text);
            for comment in comments(&first) {
                let times = there.iter().filter(|c| **c == comment).count();
                prop_assert_eq!(times, 1, "{} in\n{}", comment, text);
            }
        }
    }
}

#[test]
fn what_did_not_change_is_not_touched() {
    for text in [&demo(), ODD, FLAT] {
        let job = JobFile::parse(text).unwrap();
        assert_eq!(saved_text(text, &job).unwrap(), text);
    }
}

#[test]
fn a_moved_piece_changes_its_numbers_and_nothing_else() {
    let text = demo();
    let mut job = JobFile::parse(&text).unwrap();
    let piece = &mut job.placed[4];
    (piece.x_mm, piece.turn_deg) = (700.125, -0.1);
    let saved = saved_text(&text, &job).unwrap();
    let changed: Vec<(&str, &str)> = text
        .lines()
        .zip(saved.lines())
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(
        changed,
        [
            ("x_mm = 664", "x_mm = 700.125"),
            ("turn_deg = 0", "turn_deg = -0.1")
        ]
    );
    assert_eq!(text.lines().count(), saved.lines().count());
}

#[test]
fn what_is_taken_away_leaves_its_comments_to_the_next() {
    let text = demo();
    let mut job = JobFile::parse(&text).unwrap();
    // The first upper, under the heading of the lay, and the lone felt sole's panel.
    job.placed.remove(0);
    let saved = saved_text(&text, &job).unwrap();
    let heading = saved.find("# ---- the lay").unwrap();
    let next = saved.find("[[placed]]").unwrap();
    assert!(heading < next, "{saved}");
    assert!(saved[next..].starts_with(
        "[[placed]]\npiece = \"upper\"\narticle = \"1\"\npanel = \"sling\"\nx_mm = 158\ny_mm = 123.1\n"
    ));
}

/// A header is printed where its table stood. Here a panel stands after the
/// piece before which the new one comes.
#[test]
fn a_new_piece_comes_where_the_list_has_it() {
    let mut job = JobFile::parse(ODD).unwrap();
    job.placed.remove(0);
    let text = saved_text(ODD, &job).unwrap();
    let mut more = job.placed[0].clone();
    more.id = Some(20);
    job.placed.insert(0, more);
    let text = saved_text(&text, &job).unwrap();
    assert_eq!(JobFile::parse(&text).unwrap(), job);
}

#[test]
fn new_things_are_laid_out_for_reading() {
    let text = demo();
    let mut job = JobFile::parse(&text).unwrap();
    job.panels[1].marks.push(ClothMark {
        name: "chalk cross".to_owned(),
        x_mm: 10.0,
        y_mm: 20.5,
    });
    job.panels[1].spread = false;
    job.placed[0].id = Some(1);
    let mut more = job.placed[0].clone();
    more.id = Some(2);
    job.placed.push(more);
    let saved = saved_text(&text, &job).unwrap();
    assert!(
        saved.contains("spread = false\n") && saved.contains("\nid = 1\n"),
        "{saved}"
    );
    assert!(
        saved.contains("mark = [\n  { name = \"chalk cross\", x_mm = 10.0, y_mm = 20.5 },\n]\n"),
        "{saved}"
    );
    assert!(
        saved.ends_with(
            "face = \"down\"\n\n[[placed]]\nid = 2\npiece = \"upper\"\narticle = \"1\"\n\
             panel = \"sling\"\nx_mm = 158.0\ny_mm = 306.9\nturn_deg = 90.0\nface = \"up\"\n"
        ),
        "{saved}"
    );
}

#[test]
fn a_number_that_is_none_is_not_saved() {
    let text = demo();
    let mut job = JobFile::parse(&text).unwrap();
    job.placed[0].x_mm = f64::NAN;
    assert!(saved_text(&text, &job).is_err());
    assert!(saved_text("not = [", &job).is_err());
}
