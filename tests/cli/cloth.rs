//! The cloth: places for pieces, and what is left of it.

#[path = "cloth/find.rs"]
mod find;
#[path = "cloth/offcuts.rs"]
mod offcuts;
#[path = "cloth/photo.rs"]
mod photo;
#[path = "cloth/plies.rs"]
mod plies;
#[path = "cloth/too_much.rs"]
mod too_much;

use super::*;
use ghostchalk::cloth::Cloth;
use ghostchalk::job::{Job, OFFCUT_VERSION, Offcut, open_state};
use ghostchalk::lay::{Checked, Laid, grounds};
use ghostchalk::work::State;

/// A copy of the demo, with its lay or without.
fn demo(laid: bool) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for file in ["slippers.svg", "slippers.seams.toml"] {
        std::fs::copy(Path::new("demo-data").join(file), folder.path().join(file)).unwrap();
    }
    let job = std::fs::read_to_string("demo-data/job.toml").unwrap();
    // Nothing is known of its cloth yet, and nothing wished.
    let known = |l: &&str| !l.starts_with("looks = ");
    let job: String = job.split_inclusive('\n').filter(known).collect();
    let wishes = job.find("# ---- what is wished").unwrap();
    let lay = job.find("# ---- the lay").unwrap();
    let rest = if laid { &job[lay..] } else { "" };
    std::fs::write(
        folder.path().join("job.toml"),
        job[..wishes].to_owned() + rest,
    )
    .unwrap();
    folder
}

/// A job as it now stands.
fn standing(folder: &Path) -> (Job, State) {
    let _alone = alone();
    open_state(folder).unwrap()
}

/// What the lay's checks say of a job as it stands, and how many pieces lie.
fn troubles(folder: &Path) -> (usize, Vec<String>) {
    let (job, state) = standing(folder);
    let stock = job.stock();
    let laid: Vec<Laid> = state
        .placed
        .values()
        .filter_map(|p| stock.laid(p, &state.panels))
        .collect();
    let grounds = grounds(&state.panels).unwrap();
    let checked = Checked::new(&laid, &grounds, None, 3.0);
    let all = checked.all();
    (
        laid.len(),
        all.iter().map(|w| checked.sentence(w)).collect(),
    )
}

/// A photo from straight above, 1 px a mm, of a table of 1200 by 800 mm with a disc in each
/// corner: `cloth` says how light the cloth is at a place of the table, mm, where there is any.
fn above(path: &Path, cloth: impl Fn(f64, f64) -> Option<f64>) {
    let discs = [(30.0, 30.0), (1170.0, 30.0), (1170.0, 770.0), (30.0, 770.0)];
    let picture = image::RgbImage::from_fn(1200, 800, |x, y| {
        let (x, y) = (f64::from(x) + 0.5, 799.5 - f64::from(y));
        let near = discs.iter().map(|(a, b)| (x - a).hypot(y - b));
        let dark = (9.5 - near.fold(f64::MAX, f64::min)).clamp(0.0, 1.0);
        let ground = cloth(x, y).unwrap_or(0.7);
        image::Rgb([code(ground * (1.0 - dark) + 0.02 * dark); 3])
    });
    picture.save(path).unwrap();
}

/// sRGB's code of linear light.
fn code(linear: f64) -> u8 {
    let v = match linear <= 0.003_130_8 {
        true => 12.92 * linear,
        false => 1.055 * linear.powf(1.0 / 2.4) - 0.055,
    };
    (255.0 * v).round() as u8
}

#[test]
fn all_that_is_ordered_is_laid_on_the_demo_s_cloth() {
    let folder = demo(false);
    let job = folder.path().to_str().unwrap();
    let o = run(&["lay", job, "--seconds", "120", "--json", "--take"]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    assert_eq!(json["left"].as_array().unwrap().len(), 0, "{json:#}");
    let (count, wrong) = troubles(folder.path());
    assert_eq!((count, wrong), (14, Vec::<String>::new()));
    // Nothing is left to lay, and what lies stays.
    let again = run(&["lay", job]);
    assert!(stdout(&again).contains("All that is ordered is laid"));
}

#[test]
fn a_piece_moves_to_a_place_that_the_checks_allow() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let asked = |more: &[&str]| {
        let own = [
            "places",
            job,
            "upper",
            "--article",
            "1",
            "--panel",
            "sling",
            "--moves",
            "1",
        ];
        run(&[&own[..], more].concat())
    };
    let o = asked(&["--json"]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    let offers = json.as_array().unwrap();
    assert!((1..=5).contains(&offers.len()), "{json:#}");
    // Nothing has moved until it is taken.
    let before = standing(folder.path()).1.placed[&1].clone();
    let last = offers.len().to_string();
    assert_eq!(asked(&["--take", &last]).status.code(), Some(0));
    let (_, state) = standing(folder.path());
    let of = |p: &ghostchalk::lay::Placement| [p.x_mm, p.y_mm, p.turn_deg];
    assert_ne!(of(&state.placed[&1]), of(&before));
    assert_eq!(troubles(folder.path()), (14, Vec::new()));
    refused(
        &[
            "places",
            job,
            "upper",
            "--article",
            "1",
            "--panel",
            "sling",
            "--moves",
            "99",
        ],
        "99",
    );
    refused(
        &["places", job, "upper", "--article", "1", "--panel", "tent"],
        "tent",
    );
    refused(
        &[
            "places",
            job,
            "tongue",
            "--article",
            "1",
            "--panel",
            "sling",
        ],
        "tongue",
    );
}

#[test]
fn what_has_no_room_is_a_no_and_no_bad_input() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    assert_eq!(run(&["lay", job]).status.code(), Some(0));
    let asked = ["places", job, "upper", "--article", "1", "--panel", "sling"];
    let o = run(&asked);
    assert_eq!(o.status.code(), Some(1), "{o:?}");
    let said = stdout(&o);
    assert!(
        said.starts_with("upper on sling: no room: ") && said.contains("; make room"),
        "{said}"
    );
    let o = run(&[&asked[..], &["--json"]].concat());
    assert_eq!((o.status.code(), stdout(&o).trim()), (Some(1), "[]"));
    // More than the cloth gives is ordered.
    let file = folder.path().join("job.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let pair = "count = 2\npair = true";
    let more = text.replacen(pair, "count = 4\npair = true", 1);
    assert_ne!(more, text);
    std::fs::write(&file, more).unwrap();
    let o = run(&["lay", job, "--seconds", "2"]);
    assert_eq!(o.status.code(), Some(1), "{o:?}");
    assert!(stdout(&o).starts_with("Of 2 parts, "), "{}", stdout(&o));
}

#[test]
fn a_part_that_no_place_gives_alone_is_a_no_beside_what_is_laid() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let file = folder.path().join("job.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let lies = |piece: &str, b: &str| b.contains(&format!("piece = \"{piece}\""));
    let mut placed: Vec<&str> = text.split("[[placed]]\n").collect();
    // Two soles in one go, and one is ordered.
    placed.retain(|b| !b.contains("[[article]]") && !lies("felt sole", b));
    let head = &text[..text.find("[[placed]]").unwrap()];
    let one = head.replacen(
        "cloth = \"felt\"\ncount = 2\npair = true",
        "cloth = \"felt\"\ncount = 1\npair = false",
        1,
    );
    let one = one.replacen(
        "grain_deg = 90\nphoto = { file = \"felt.png\"",
        "grain_deg = 90\nstack = { layers = 2 }\nphoto = { file = \"felt.png\"",
        1,
    );
    let with = |placed: &[&str]| {
        let lay = placed.iter().map(|b| format!("[[placed]]\n{b}"));
        std::fs::write(&file, one.clone() + &lay.collect::<String>()).unwrap();
    };
    let sentence = "felt sole 1 in felt: 1 is not laid, and all the cloth for it lies in several \
                    plies, and one more place would cut one too many: lay a panel single.\n";
    with(&placed);
    let o = run(&["lay", job]);
    assert_eq!((o.status.code(), stdout(&o).as_str()), (Some(1), sentence));
    // Another part is sought beside it.
    let first = placed.iter().position(|b| lies("binding", b)).unwrap();
    placed.remove(first);
    with(&placed);
    let o = run(&["lay", job, "--seconds", "10"]);
    assert_eq!(o.status.code(), Some(1), "{o:?}");
    assert!(
        stdout(&o).starts_with("Of 1 part, 1 found a place.") && stdout(&o).ends_with(sentence),
        "{}",
        stdout(&o)
    );
    let o = run(&["lay", job, "--seconds", "10", "--json"]);
    assert_eq!(o.status.code(), Some(1), "{o:?}");
    let said: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    assert_eq!(said["left"][0]["piece"], "felt sole");
    assert_eq!(said["left"][0]["count"], 1);
}

#[test]
fn of_two_that_seek_at_once_one_lays_and_the_other_is_told() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let file = folder.path().join("job.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let mut placed: Vec<&str> = text.split("[[placed]]\n").collect();
    placed.retain(|b| !b.starts_with("piece = \"heel band\"\n"));
    let fewer = placed.join("[[placed]]\n");
    assert_ne!(fewer, text);
    std::fs::write(&file, fewer).unwrap();
    let seek = || run(&["lay", job, "--seconds", "5", "--take"]);
    let [a, b] = std::thread::scope(|scope| {
        let one = scope.spawn(seek);
        [seek(), one.join().unwrap()]
    });
    let told = |o: &Output| String::from_utf8_lossy(&o.stderr).into_owned();
    let refused = |o: &Output| {
        o.status.code() == Some(2)
            && (told(o).contains("was changed while places were sought")
                || told(o).contains("in use"))
    };
    let done = |o: &Output| o.status.code() == Some(0);
    assert!(
        (done(&a) && refused(&b)) || (done(&b) && refused(&a)),
        "{}\n{}",
        told(&a),
        told(&b)
    );
    assert_eq!(run(&["lay", job]).status.code(), Some(0), "none too many");
}

#[test]
fn an_offcut_is_taken_into_a_job_once() {
    let folder = demo(true);
    let job = folder.path().to_str().unwrap();
    let kept = folder.path().join("kept");
    let kept = kept.to_str().unwrap();
    refused(&["offcut", job, "--panel", "sling", "--to", kept], "sling");
    let (_, state) = standing(folder.path());
    let mut panel = state.panel("sling").unwrap().clone();
    panel.name = "sling offcut 1".to_owned();
    let mut offcut = Offcut {
        ghostchalk_offcut: OFFCUT_VERSION,
        from: "slippers".to_owned(),
        area_cm2: 1000.0,
        cloth: Cloth {
            name: "canvas".to_owned(),
            thickness_mm: 0.8,
            no_face: false,
        },
        panel,
    };
    let path = folder.path().join("offcut.toml");
    offcut.write(&path).unwrap();
    let path = path.to_str().unwrap();
    let blank = folder.path().join("blank.toml");
    offcut.panel.name = " ".to_owned();
    offcut.write(&blank).unwrap();
    let blank = ["spread", blank.to_str().unwrap(), "--job", job];
    refused(&blank, "name is blank; give it one with --as");
    let own = ["spread", path, "--job", job, "--at", "100,20"];
    let o = run(&own);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let (_, state) = standing(folder.path());
    let there = state.panel("sling offcut 1").unwrap();
    let corner = there.outline().unwrap().bounds().unwrap().min;
    assert_eq!(
        [
            there.on_table.x_mm + corner.x,
            there.on_table.y_mm + corner.y
        ],
        [100.0, 20.0]
    );
    refused(&own, "sling offcut 1");
    assert_eq!(
        run(&[&own[..], &["--as", "second"]].concat()).status.code(),
        Some(0)
    );
    // The table goes on from there, and saves it.
    let text = std::fs::read_to_string(folder.path().join("job.toml")).unwrap();
    assert!(!text.contains("offcut"), "it is in the journal");
}
