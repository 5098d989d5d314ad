//! The program as a person or a script meets it: what it prints, what it
//! writes, and one sentence for each kind of bad input.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(args)
        .output()
        .unwrap()
}

fn stdout(o: &Output) -> String {
    String::from_utf8(o.stdout.clone()).unwrap()
}

/// What the program itself said; drivers may say more.
fn sentence(o: &Output) -> String {
    let text = String::from_utf8_lossy(&o.stderr).into_owned();
    let ours: Vec<&str> = text
        .lines()
        .filter(|l| l.starts_with("ghostchalk: "))
        .collect();
    assert_eq!(ours.len(), 1, "one sentence: {text}");
    assert!(!text.contains("panicked"), "{text}");
    ours[0].to_owned()
}

/// Bad input: exit code 2, one sentence that names `place` and ends in a remedy.
fn refused(args: &[&str], place: &str) -> String {
    let o = run(args);
    assert_eq!(
        o.status.code(),
        Some(2),
        "{args:?}: {}",
        String::from_utf8_lossy(&o.stderr)
    );
    let said = sentence(&o);
    assert!(said.contains(place), "{said}");
    assert!(
        said.contains("; ") && said.ends_with('.'),
        "no remedy: {said}"
    );
    said
}

struct Bench {
    dir: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        Self {
            dir: tempfile::tempdir().unwrap(),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn str(&self, name: &str) -> String {
        self.path(name).to_str().unwrap().to_owned()
    }

    fn write(&self, name: &str, text: impl AsRef<[u8]>) -> String {
        std::fs::write(self.path(name), text).unwrap();
        self.str(name)
    }

    fn profile(&self) -> String {
        let out = self.str("table.toml");
        let points = self.write("points.csv", POINTS);
        let o = run(&[
            "calibrate",
            "--points",
            &points,
            "--projector",
            "1920x1080",
            "-o",
            &out,
        ]);
        assert!(o.status.success(), "{}", String::from_utf8_lossy(&o.stderr));
        out
    }

    /// A copy of the demo job in which `from` has become `to`.
    fn demo(&self, from: &str, to: &str) -> String {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
        let text = std::fs::read_to_string(demo.join("job.toml")).unwrap();
        assert!(text.contains(from), "the demo job has no {from}");
        std::fs::create_dir_all(self.path("job")).unwrap();
        for file in ["slippers.svg", "slippers.seams.toml"] {
            std::fs::copy(demo.join(file), self.path("job").join(file)).unwrap();
        }
        self.write("job/job.toml", text.replacen(from, to, 1));
        self.str("job")
    }
}

const POINTS: &str = "table_x_mm,table_y_mm,projector_x_px,projector_y_px\n\
    0,0,60.5,1040\n1200,0,1850,1033.25\n1200,800,1660,60\n0,800,250,75\n";

#[test]
fn calibrate_prints_the_mapping_that_meets_the_points() {
    let b = Bench::new();
    let points = b.write("points.csv", POINTS);
    let out = b.str("table.toml");
    let o = run(&[
        "calibrate",
        "--points",
        &points,
        "--projector",
        "1920x1080",
        "-o",
        &out,
        "--json",
    ]);
    assert_eq!(o.status.code(), Some(0));
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    let h = |r: usize, c: usize| json["table_to_projector"][r][c].as_f64().unwrap();
    for line in POINTS.lines().skip(1) {
        let v: Vec<f64> = line.split(',').map(|t| t.parse().unwrap()).collect();
        let dot = |r: usize| h(r, 0) * v[0] + h(r, 1) * v[1] + h(r, 2);
        assert!((dot(0) / dot(2) - v[2]).abs() < 1e-9);
        assert!((dot(1) / dot(2) - v[3]).abs() < 1e-9);
    }
    // The file on disk is the same mapping.
    let text = std::fs::read_to_string(out).unwrap();
    assert!(text.contains("ghostchalk_profile = 1") && text.contains("projector_px"));
}

#[test]
fn frame_writes_the_picture_and_lists_the_outlines() {
    let b = Bench::new();
    let (profile, out) = (b.profile(), b.str("frame.png"));
    let o = run(&[
        "frame",
        "demo-data",
        "--profile",
        &profile,
        "-o",
        &out,
        "--json",
    ]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    // 3 mm, or three of this keystone's coarsest pixels (1.05 mm).
    let band = json["band_mm"].as_f64().unwrap();
    assert!((3.0..3.3).contains(&band), "{band}");
    let pieces = json["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 14);
    assert!(
        pieces
            .iter()
            .all(|p| !p["cut_outlines_mm"][0].as_array().unwrap().is_empty())
    );
    // Every paired piece is there as left and right.
    for (piece, cloth) in [
        ("upper", "canvas"),
        ("upper", "flannel"),
        ("sole", "canvas"),
        ("felt sole", "felt"),
    ] {
        let faces: Vec<&str> = pieces
            .iter()
            .filter(|p| p["piece"] == piece && p["cloth"] == cloth)
            .map(|p| p["face"].as_str().unwrap())
            .collect();
        assert!(
            faces.contains(&"up") && faces.contains(&"down"),
            "{piece} in {cloth}: {faces:?}"
        );
    }
    let image = image::open(&out).unwrap().to_luma8();
    assert_eq!(image.dimensions(), (1920, 1080));
    let lit = image.pixels().filter(|p| p.0[0] == 255).count();
    assert!((20_000..400_000).contains(&lit), "{lit}");
}

#[test]
fn help_of_each_command_has_an_example() {
    for command in [
        "rehearse",
        "begin",
        "calibrate",
        "budget",
        "cut-test",
        "frame",
        "sheets",
    ] {
        let o = run(&[command, "--help"]);
        assert_eq!(o.status.code(), Some(0));
        let text = stdout(&o);
        assert!(
            text.contains("Example:") && text.contains("--json"),
            "{text}"
        );
    }
    assert!(stdout(&run(&["--help"])).contains("Exit codes"));
    assert_eq!(run(&[]).status.code(), Some(2));
    assert_eq!(run(&["frame"]).status.code(), Some(2));
}

const TWENTY: &str = "calibration/worked/twenty-marks.csv";

fn calibrated(points: &str, output: &str, more: &[&str]) -> Vec<String> {
    let own = [
        "calibrate",
        "--points",
        points,
        "--projector",
        "1920x1080",
        "-o",
        output,
    ];
    own.iter().chain(more).map(|w| (*w).to_owned()).collect()
}

#[test]
fn many_marks_tell_their_error_and_what_is_wrong_is_refused_before_anything_is_written() {
    let b = Bench::new();
    let profile = b.str("t.toml");
    let words = |points: &str, more: &[&str]| calibrated(points, &profile, more);
    let run_all = |words: Vec<String>| run(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let said = |words: Vec<String>, name: &str| {
        refused(&words.iter().map(String::as_str).collect::<Vec<_>>(), name)
    };
    let twenty = std::fs::read_to_string(TWENTY).unwrap();
    // Two marks exchanged: no figure is given for a table that nobody has.
    let swapped = twenty
        .replacen("A1,20.2,20.8", "X", 1)
        .replacen("D5,1180.0,779.9", "A1,20.2,20.8", 1)
        .replacen('X', "D5,1180.0,779.9", 1);
    let swapped = b.write("swapped.csv", swapped);
    let words_of = said(words(&swapped, &[]), &swapped);
    assert!(words_of.contains("do not go together"), "{words_of}");
    // A field too many, as a decimal comma makes one.
    let comma = b.write("comma.csv", twenty.replacen("20.8", "20,8", 1));
    let words_of = said(words(&comma, &[]), &comma);
    assert!(
        words_of.contains("line 4") && words_of.contains("beyond the last column"),
        "{words_of}"
    );
    // Refused late: a report over somebody's file, cloth as high as the lens.
    let folder = b.str("report");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(b.str("report/calibration.txt"), "my notes").unwrap();
    let report = ["--report", folder.as_str()];
    assert!(said(words(TWENTY, &report), "calibration.txt").contains("not a calibration"));
    let board = "calibration/worked/board-marks.csv";
    let tall = ["--raised", board, "--board", "60mm", "--stack", "1800mm"];
    assert!(said(words(TWENTY, &tall), "").contains("reaches the lens"));
    for (thick, say) in [("3mm", "would hang"), ("1500mm", "would hang")] {
        let board = ["--raised", board, "--board", thick];
        let words_of = said(words(TWENTY, &board), "");
        assert!(words_of.contains(say), "{thick}: {words_of}");
    }
    assert!(
        !std::path::Path::new(&profile).exists(),
        "a profile was written"
    );
    // And what is right.
    std::fs::remove_file(b.str("report/calibration.txt")).unwrap();
    let o = run_all(words(
        TWENTY,
        &[
            "--raised", board, "--board", "60mm", "--report", &folder, "--json",
        ],
    ));
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let error = told["account"]["error_mm"][0].as_f64().unwrap();
    assert!((0.2..0.4).contains(&error), "{error}");
    assert_eq!(told["account"]["form"], "lens");
    assert_eq!(told["account"]["marks"].as_array().unwrap().len(), 20);
    let picture = std::fs::read_to_string(b.str("report/calibration.svg")).unwrap();
    assert!(roxmltree::Document::parse(&picture).is_ok());
    // One mark 8 px off is named, and moves the light.
    let slip = b.write(
        "slip.csv",
        twenty.replacen("B3,600.3,272.8", "B3,608.3,272.8", 1),
    );
    let o = run_all(words(&slip, &["--json"]));
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(told["account"]["slip"]["name"], "B3");
    assert_eq!(told["account"]["improve"], "set B3 again");
    // A slip of the tape blames no mark.
    let tape = std::fs::read_to_string("calibration/worked/tape.csv").unwrap();
    let line = tape
        .lines()
        .find(|l| l.starts_with("left-in,right-in"))
        .unwrap();
    let tape = b.write("tape.csv", tape.replace(line, "left-in,right-in,430"));
    let set = "calibration/worked/set-marks.csv";
    let o = run_all(words(set, &["--tape", &tape, "--json"]));
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert!(told["account"]["slip"].is_null());
    let improve = told["account"]["improve"].as_str().unwrap();
    assert!(improve.contains("left-in to right-in"), "{improve}");
}

#[test]
fn a_budget_and_a_cut_test_are_told_and_nonsense_is_refused() {
    let worked = "calibration/worked/twenty-marks.toml";
    let o = run(&["budget", "demo-data", "--profile", worked, "--json"]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let pieces = told["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 14);
    let edges = pieces[0]["edges"].as_array().unwrap();
    assert_eq!(edges.len(), 4);
    assert_eq!(edges[2]["edge"], "throat");
    // One girth is declared, and laid in canvas. Its edges share a steady lift: more than
    // any of them alone, and not as if each knew nothing of the others.
    let rings = told["rings"].as_array().unwrap();
    assert_eq!(rings.len(), 1, "{rings:?}");
    assert_eq!(rings[0]["ring"], "top line");
    assert!((rings[0]["drawn_mm"].as_f64().unwrap() - 344.3).abs() < 0.1);
    let error = rings[0]["error_mm"].as_f64().unwrap();
    assert!((3.0..6.0).contains(&error), "{error}");
    for p in pieces {
        let (place, shape) = (
            p["place_mm"].as_f64().unwrap(),
            p["shape_mm"].as_f64().unwrap(),
        );
        assert!(shape > 0.4 && place >= shape * 0.99 && place < 8.0, "{p}");
    }
    let o = run(&[
        "cut-test",
        "--length",
        "240.9,240.7",
        "--width",
        "60.8,60.6",
        "--json",
    ]);
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert!((told["edge_mm"].as_f64().unwrap() - 1.0 / 3.0).abs() < 0.01);
    assert_eq!(told["worth_it"], true);
    let said = refused(&["cut-test", "--length", "24,24", "--width", "60,60"], "");
    assert!(said.contains("length is given as 24.0 mm"), "{said}");
    let said = refused(&["cut-test", "--length", "240", "--width", "60,60"], "");
    assert!(said.contains("not two readings"), "{said}");
    // Kept in a job, it is in its journal, off; the job file is not touched.
    let b = Bench::new();
    let job = b.demo("name = \"1\"", "name = \"1\"");
    let file = std::fs::read(b.path("job/job.toml")).unwrap();
    for (wide, edge) in [("60.8,60.6", 0.33), ("60.6,60.4", 0.20)] {
        let cut = ["cut-test", "--length", "240.9,240.7", "--width", wide];
        let o = run(&[&cut[..], &["--cloth", "canvas", "--keep", &job]].concat());
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        let memory = ghostchalk::job::open_session::<ghostchalk::work::Record>(Path::new(&job));
        let memory = memory.unwrap();
        let mut state = memory.job.state();
        let (_, wrong) = ghostchalk::work::replay(&mut state, &memory.steps, memory.replay_from);
        assert!(wrong.is_none());
        assert_eq!(state.trims.len(), 1);
        assert!(
            !state.trims[0].on && (state.trims[0].edge_mm - edge).abs() < 0.011,
            "{edge}"
        );
    }
    assert_eq!(std::fs::read(b.path("job/job.toml")).unwrap(), file);
    let cut = ["cut-test", "--length", "240,240", "--width", "60,60"];
    let o = run(&[&cut[..], &["--cloth", "silk", "--keep", &job]].concat());
    assert_eq!(o.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&o.stderr).contains("shears in silk, one ply can't be kept"));
}

#[test]
fn a_pattern_is_proven_and_what_would_spoil_the_work_is_exit_code_1() {
    let o = run(&["prove", "demo-data"]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let said = String::from_utf8(o.stdout).unwrap();
    assert!(
        said.contains("sole, front") && said.contains("6.0 mm"),
        "{said}"
    );
    let b = Bench::new();
    let job = b.demo("name = \"1\"", "name = \"1\"");
    // The easing of the sole is forgotten.
    let seams = std::fs::read_to_string(b.path("job/slippers.seams.toml")).unwrap();
    assert!(seams.contains("ease = \"6 mm\""));
    let wrong = seams.replace("ease = \"6 mm\"", "ease = \"0 mm\"");
    b.write("job/slippers.seams.toml", &wrong);
    let picture = b.str("proof.svg");
    let o = run(&["prove", &job, "--json", "--picture", &picture]);
    assert_eq!(o.status.code(), Some(1), "{o:?}");
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(told["spoils"], true);
    let found = told["findings"].as_array().unwrap();
    assert_eq!(found[0]["severity"], "spoils");
    assert_eq!(found[0]["spot"]["seam"], "sole, front");
    assert!(
        found[0]["what"].as_str().unwrap().contains("6.0 mm"),
        "{}",
        found[0]
    );
    // Every finding that has a place is a numbered mark on its piece.
    let drawn = std::fs::read_to_string(&picture).unwrap();
    let drawn = roxmltree::Document::parse(&drawn).unwrap();
    let circles = drawn
        .descendants()
        .filter(|n| n.has_tag_name("circle") && n.attribute("r") == Some("7"))
        .count();
    let placed = found
        .iter()
        .filter(|f| f["spot"]["piece"].is_string())
        .count();
    assert!(placed > 3 && circles == placed, "{circles} of {placed}");
    // A pattern file alone, and words that don't go together.
    let svg = b.str("job/slippers.svg");
    let seams = b.write("own.seams.toml", seams);
    assert_eq!(
        run(&["prove", &svg, "--seams", &seams]).status.code(),
        Some(0)
    );
    let o = run(&["prove", &job, "--seams", &seams]);
    assert_eq!(o.status.code(), Some(2));
    let bad = b.write("bad.toml", wrong.replace("upper: lower", "upper: hem"));
    let o = run(&["prove", &svg, "--seams", &bad]);
    let said = String::from_utf8_lossy(&o.stdout).into_owned();
    assert_eq!(o.status.code(), Some(1), "{said}");
    assert!(
        said.contains("the edge \"upper: hem\", which isn't there"),
        "{said}"
    );
}

#[test]
fn patterns_from_elsewhere_are_read_and_written() {
    let b = Bench::new();
    let file = |name: &str| format!("tests/reference/pattern_files/{name}");
    // A PDF's layers, also those that are off; one is picked.
    let o = run(&["read", &file("pypdf_layers.pdf"), "--layers", "--json"]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let layers: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let layers = layers.as_array().unwrap();
    let off = layers.iter().find(|l| l["on"] == false).unwrap();
    let name = off["layer"].as_str().unwrap();
    let o = run(&["read", &file("pypdf_layers.pdf"), "--layer", name, "--json"]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    // A DXF becomes an SVG of ours with the same sizes, and a job.
    let dxf = file("ezdxf_r2018_mm.dxf");
    let (svg, seen) = (b.str("pieces.svg"), b.str("seen.svg"));
    let o = run(&["read", &dxf, "--json", "-o", &svg, "--picture", &seen]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let from: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let o = run(&["read", &svg, "--json"]);
    let to: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let sizes = |v: &serde_json::Value| -> Vec<(String, f64, f64)> {
        let one = |p: &serde_json::Value| {
            let mm = |key: &str| p[key].as_f64().unwrap();
            (p["piece"].to_string(), mm("width_mm"), mm("height_mm"))
        };
        v["pieces"].as_array().unwrap().iter().map(one).collect()
    };
    let (from, to) = (sizes(&from), sizes(&to));
    assert!(!from.is_empty() && from.len() == to.len());
    for (a, b) in from.iter().zip(&to) {
        assert!(
            a.0 == b.0 && (a.1 - b.1).abs() < 0.02 && (a.2 - b.2).abs() < 0.02,
            "{a:?} {b:?}"
        );
    }
    let o = run(&["begin", &dxf, "--job", &b.str("new")]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    assert_eq!(
        run(&["prove", &b.str("new")]).status.code().map(|c| c < 2),
        Some(true)
    );
    // No pattern is written over: neither the one that is read nor another.
    let own = b.write("own.svg", std::fs::read("demo-data/slippers.svg").unwrap());
    for (words, said) in [
        (vec!["read", &svg, "-o", &svg], "the file that is read"),
        (
            vec!["read", &dxf, "-o", &own],
            "not one that this program wrote",
        ),
        (
            vec!["read", &dxf, "--picture", &own],
            "not one that this program wrote",
        ),
        (
            vec!["prove", &own, "--picture", &own],
            "the file that is read",
        ),
    ] {
        let o = run(&words);
        let err = String::from_utf8_lossy(&o.stderr).into_owned();
        assert!(
            o.status.code() == Some(2) && err.contains(said),
            "{words:?}: {err}"
        );
    }
    assert_eq!(
        run(&["read", &dxf, "-o", &svg]).status.code(),
        Some(0),
        "over its own"
    );
    // A draft for another foot.
    let draft = "demo-data/slippers.draft.toml";
    let to = b.str("large.dxf");
    let o = run(&[
        "read",
        draft,
        "--measure",
        "foot length=280mm",
        "--measure",
        "instep girth=27cm",
        "-o",
        &to,
    ]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    assert!(std::fs::read_to_string(&to).unwrap().contains("heel band"));
    // Bad input: a sentence each.
    for (words, said) in [
        (vec!["read", &file("reportlab_raster.pdf")], "picture"),
        (vec!["read", &file("pypdf_password.pdf")], "password"),
        (
            vec!["read", &file("pypdf_layers.pdf"), "--layer", "size 99"],
            "size 99",
        ),
        (
            vec!["read", "demo-data/slippers.svg", "--layers"],
            "only a PDF",
        ),
        (
            vec!["read", draft, "--measure", "foot length=9m"],
            "foot length",
        ),
        (vec!["read", draft, "--measure", "shoe=9mm"], "shoe"),
        (vec!["read", draft, "-o", "pieces.txt"], ".svg or .dxf"),
        (
            vec![
                "read",
                "demo-data/slippers.svg",
                "--measure",
                "foot length=25cm",
            ],
            "measures",
        ),
        (
            vec!["prove", "demo-data", "--scale", "2"],
            "a job says itself",
        ),
    ] {
        let o = run(&words);
        let err = String::from_utf8_lossy(&o.stderr).into_owned();
        assert_eq!(o.status.code(), Some(2), "{words:?}: {err}");
        assert!(
            err.contains(said) && err.trim().lines().count() == 1,
            "{words:?}: {err}"
        );
    }
}

#[test]
fn a_job_draws_its_draft_and_derives_its_parts() {
    let b = Bench::new();
    let job = b.demo(
        "file = \"slippers.svg\"\nseams = \"slippers.seams.toml\"",
        "file = \"slippers.draft.toml\"\nmeasures = { \"foot length\" = \"10 1/4in\" }\n\
         [[derived]]\nname = \"stiffener\"\nof = \"heel band\"\nless = \"1mm\"\n\
         carve = { \"top inner\" = \"20mm\", \"top outer\" = \"20mm\" }\n\
         [[derived]]\nname = \"whole lining\"\nof = \"heel band lining\"\nopen = true",
    );
    std::fs::copy(
        "demo-data/slippers.draft.toml",
        b.path("job/slippers.draft.toml"),
    )
    .unwrap();
    let opened = ghostchalk::job::Job::open(Path::new(&job)).unwrap();
    let piece = |name: &str| opened.pieces.iter().find(|p| p.name == name).unwrap();
    let size = |name: &str| {
        let points = piece(name).cut.iter().flatten().copied();
        let b = ghostchalk::shape::bounds(points).unwrap();
        [b.width(), b.height()]
    };
    // The sole is a foot's length and 4.8 % longer, and 6 mm all round.
    let long = 260.35 * 1.048 + 12.0;
    assert!(
        (size("sole")[1] - long).abs() < 1.5,
        "{:?} {long}",
        size("sole")
    );
    assert_eq!(piece("whole lining").folds.len(), 0);
    let (half, whole) = (size("heel band lining"), size("whole lining"));
    assert!((whole[0] - 2.0 * half[0]).abs() < 0.1, "{half:?} {whole:?}");
    // 1 mm inside the net line below and at the ends, 20 mm from the cut edge above.
    let (band, part) = (size("heel band"), size("stiffener"));
    assert!((band[1] - part[1] - 27.0).abs() < 1.5, "{band:?} {part:?}");
    assert_eq!(opened.sewing.seams.len(), 8);
    let text = std::fs::read_to_string(b.path("job/job.toml")).unwrap();
    for (from, to, said) in [
        ("less = \"1mm\"", "less = \"4mm\"", "stiffener"),
        ("of = \"heel band\"", "of = \"heal band\"", "heal band"),
        ("\"top inner\" =", "\"top\" =", "top"),
        ("10 1/4in", "10 1/4 ells", "ells"),
        ("10 1/4in", "50mm", "range"),
    ] {
        assert!(text.contains(from));
        b.write("job/job.toml", text.replace(from, to));
        let o = run(&["prove", &job]);
        let err = String::from_utf8_lossy(&o.stderr).into_owned();
        assert_eq!(o.status.code(), Some(2), "{to}: {err}");
        assert!(
            err.contains(said) && err.trim().lines().count() == 1,
            "{to}: {err}"
        );
    }
}

#[test]
fn points_that_fix_nothing_are_named_and_nothing_is_written() {
    let b = Bench::new();
    let profile = b.profile();
    let before = std::fs::read(&profile).unwrap();
    let calibrate = |points: &str| {
        refused(
            &[
                "calibrate",
                "--points",
                points,
                "--projector",
                "1920x1080",
                "-o",
                &profile,
            ],
            points,
        )
    };
    for (from, to, say) in [
        ("1200,800,", "600,0,", "in a line on the table"),
        ("1660,60", "60.5,1040", "same place in the picture"),
        ("60.5", "NaN", "NaN"),
        (
            "1850,1033.25\n1200,800,1660,60",
            "1660,60\n1200,800,1850,1033.25",
            "crossed",
        ),
        ("table_y_mm", "table_z_mm", "table_y_mm is missing"),
        ("0,800,250,75\n", "", "3 points"),
        ("0,800,250,75\n", "0,800,250\n", "line 5"),
    ] {
        let said = calibrate(&b.write("bad.csv", POINTS.replacen(from, to, 1)));
        assert!(said.contains(say), "{say}: {said}");
    }
    calibrate(&b.write("binary.csv", [0u8, 159, 146, 150, 10, 255]));
    calibrate(&b.str("missing.csv"));
    calibrate(&b.str(""));
    let mirrored = POINTS
        .replacen("60.5,1040", "X", 1)
        .replacen("1850,1033.25", "60.5,1040", 1)
        .replacen('X', "1850,1033.25", 1)
        .replacen("1660,60", "X", 1)
        .replacen("250,75", "1660,60", 1)
        .replacen('X', "250,75", 1);
    let mirrored = b.write("mirrored.csv", mirrored);
    assert!(calibrate(&mirrored).contains("mirror?"));
    assert_eq!(
        std::fs::read(&profile).unwrap(),
        before,
        "the profile was overwritten"
    );
    let o = run(&[
        "calibrate",
        "--points",
        &mirrored,
        "--projector",
        "1920x1080",
        "--mirror-rig",
        "-o",
        &profile,
    ]);
    assert_eq!(o.status.code(), Some(0));
}

#[test]
fn jobs_that_cant_be_used_are_named() {
    let b = Bench::new();
    let profile = b.profile();
    let out = b.str("frame.png");
    let frame =
        |job: &str, place: &str| refused(&["frame", job, "--profile", &profile, "-o", &out], place);
    for (from, to, say) in [
        ("ghostchalk_job = 1", "ghostchalk_job = 7", "version 7"),
        ("ghostchalk_job = 1", "", "ghostchalk_job"),
        ("name = \"Deck-chair slippers\"", "nmae = \"x\"", "nmae"),
        ("slippers.svg", "missing.svg", "missing.svg"),
        ("file = \"slippers.svg\"", "file = \".\"", "folder"),
        (
            "[[placed]]\npiece = \"upper\"",
            "[[placed]]\npiece = \"uper\"",
            "\"uper\" isn't there",
        ),
        ("turn_deg = 2.5", "turn_deg = nan", "turn_deg is NaN"),
        ("thickness_mm = 0.8", "thickness_mm = -1", "thickness_mm"),
        ("panel = \"sling\"", "panel = \"awning\"", "awning"),
        ("count = 2", "count = 0", "count"),
        ("[898.5, 61]", "[nan, 61]", "panel \"sling\""),
    ] {
        let said = frame(
            &b.demo(from, to),
            if to.starts_with("file") || to.starts_with("missing") {
                "job"
            } else {
                "job.toml"
            },
        );
        assert!(said.contains(say), "{say}: {said}");
    }
    frame(&b.str("nowhere"), "nowhere");
    frame(&b.write("job.bin", [0u8, 1, 2, 255, 254]), "job.bin");
    assert!(
        !b.path("frame.png").exists(),
        "a frame was written from a bad job"
    );
}

#[test]
fn pattern_files_that_cant_be_used_are_named() {
    let b = Bench::new();
    let profile = b.profile();
    let out = b.str("frame.png");
    let job = b.demo("file = \"slippers.svg\"", "file = \"bad.svg\"");
    let svg = |inside: &str| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 100 100'>{inside}</svg>"
        )
    };
    let piece = |d: &str| {
        svg(&format!(
            "<g data-piece='upper'><path class='cut' d='{d}'/></g>"
        ))
    };
    let deep = format!("{}{}", "<g>".repeat(100_000), "</g>".repeat(100_000));
    let bomb = "<!DOCTYPE svg [<!ENTITY a 'aaaaaaaaaa'><!ENTITY b '&a;&a;&a;&a;&a;&a;&a;&a;'><!ENTITY c '&b;&b;&b;&b;&b;&b;&b;&b;'>]>";
    let cases: Vec<(&str, Vec<u8>)> = vec![
        (
            "cut off",
            svg("<g data-piece='upper'><path class='cut' d='M0 0h9v9z'/>")
                .replace("</svg>", "")
                .into(),
        ),
        ("no closed path", svg("<path d='M0 0L50 50'/>").into()),
        ("crossing itself", piece("M0 0L50 50L50 0L0 50Z").into()),
        ("of no size", piece("M5 5L5 5L5 5Z").into()),
        ("a million metres", piece("M0 0L1e9 0L1e9 1e9Z").into()),
        ("not a number", piece("M0 0LNaN 9L9 9Z").into()),
        (
            "a bomb of entities",
            format!("{bomb}{}", svg("<text>&c;</text>")).into(),
        ),
        ("nested too deep", svg(&deep).into()),
        ("binary", vec![0x89, 0x50, 0x4e, 0x47, 0, 1, 2, 3, 255]),
        ("empty", Vec::new()),
        ("the text of something else", b"hello".to_vec()),
    ];
    for (what, bytes) in cases {
        b.write("job/bad.svg", bytes);
        let said = refused(
            &["frame", &job, "--profile", &profile, "-o", &out],
            "bad.svg",
        );
        println!("{what}: {said}");
        assert!(said.len() < 600, "{what}: {said}");
    }
    assert!(!b.path("frame.png").exists());
}

#[test]
fn an_older_editors_doctype_and_a_large_path_are_fine() {
    let b = Bench::new();
    let profile = b.profile();
    let out = b.str("frame.png");
    let job = b.path("job");
    std::fs::create_dir_all(&job).unwrap();
    b.write(
        "job/job.toml",
        "ghostchalk_job = 1\nname = \"x\"\n[[pattern]]\nfile = \"p.svg\"\n",
    );
    let doctype = "<?xml version=\"1.0\"?>\n<!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\" \"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd\">\n";
    // A fine outline: 400 000 points on a circle, some 10 MB of text.
    let mut d = String::from("M");
    for k in 0..400_000 {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 400_000.0).sin_cos();
        d += &format!("{:.8} {:.8} ", 100.0 + 90.0 * cos, 100.0 + 90.0 * sin);
    }
    assert!(d.len() > 9_000_000);
    b.write(
        "job/p.svg",
        format!("{doctype}<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='200mm' viewBox='0 0 200 200'><path id='disc' d='{d}Z'/></svg>"),
    );
    let o = run(&[
        "frame",
        b.str("job").as_str(),
        "--profile",
        &profile,
        "-o",
        &out,
    ]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
}

#[test]
fn a_profile_for_another_projector_and_wrong_files_are_refused() {
    let b = Bench::new();
    let profile = b.profile();
    let out = b.str("frame.png");
    let said = refused(
        &[
            "frame",
            "demo-data",
            "--profile",
            &profile,
            "-o",
            &out,
            "--size",
            "1280x720",
        ],
        "table.toml",
    );
    assert!(
        said.contains("1920x1080") && said.contains("1280x720"),
        "{said}"
    );
    refused(&["frame", "demo-data", "-o", &out], "demo-data");
    refused(
        &[
            "frame",
            "demo-data",
            "--profile",
            "demo-data/job.toml",
            "-o",
            &out,
        ],
        "job.toml",
    );
    let text = std::fs::read_to_string(&profile).unwrap();
    let nan = b.write(
        "nan.toml",
        text.replacen(
            "table_to_projector = [",
            "table_to_projector = [[nan,0,0],[0,1,0],[0,0,1]] #",
            1,
        ),
    );
    let _ = refused(
        &["frame", "demo-data", "--profile", &nan, "-o", &out],
        "nan.toml",
    );
    // A slip of the hand costs nothing.
    let precious = b.write("precious.toml", "my own notes");
    refused(
        &["frame", "demo-data", "--profile", &profile, "-o", &precious],
        "precious.toml",
    );
    let points = b.str("points.csv");
    refused(
        &[
            "calibrate",
            "--points",
            &points,
            "--projector",
            "1920x1080",
            "-o",
            &precious,
        ],
        "precious.toml",
    );
    assert_eq!(std::fs::read_to_string(&precious).unwrap(), "my own notes");
    refused(
        &[
            "frame",
            "demo-data",
            "--profile",
            &profile,
            "-o",
            "no/such/folder/frame.png",
        ],
        "no/such/folder",
    );
}

#[test]
fn devices_and_closed_pipes_cost_nothing() {
    let b = Bench::new();
    let points = b.write("points.csv", POINTS);
    let calibrate = |points: &str, out: &str| {
        refused(
            &[
                "calibrate",
                "--points",
                points,
                "--projector",
                "1920x1080",
                "-o",
                out,
            ],
            "/dev/",
        )
    };
    if cfg!(unix) {
        calibrate(&points, "/dev/full");
        calibrate("/dev/zero", &b.str("t.toml"));
        // Nobody listens on standard error: the exit code still says it.
        let full = std::fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let code = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
            .args(["frame", "nowhere", "-o", "x.png"])
            .stderr(full)
            .status()
            .unwrap();
        assert_eq!(code.code(), Some(2));
    }
}

#[test]
fn a_rehearsal_replaces_nothing_but_a_rehearsal() {
    let b = Bench::new();
    std::fs::create_dir(b.path("mine")).unwrap();
    let mine = b.write("mine/table.toml", "my own table");
    refused(&["rehearse", "demo-data", "--out", &b.str("mine")], "mine");
    assert_eq!(std::fs::read_to_string(mine).unwrap(), "my own table");
}

#[test]
fn a_bad_lay_is_told() {
    let b = Bench::new();
    let profile = b.profile();
    let notes = |job: &str| -> String {
        let o = run(&[
            "frame",
            job,
            "--profile",
            &profile,
            "-o",
            &b.str("f.png"),
            "--json",
        ]);
        assert_eq!(
            o.status.code(),
            Some(0),
            "{}",
            String::from_utf8_lossy(&o.stderr)
        );
        let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
        json["notes"].to_string()
    };
    let good = notes("demo-data");
    assert!(
        !good.contains("lies") || good.contains("outside every piece"),
        "{good}"
    );
    assert!(
        !good.contains("each other") && !good.contains("off the panel"),
        "{good}"
    );
    let said = notes(&b.demo("x_mm = 158", "x_mm = 300"));
    assert!(said.contains("on each other"), "{said}");
    let said = notes(&b.demo(
        "on_table = { x_mm = 50, y_mm = 300",
        "on_table = { x_mm = 1350, y_mm = 300",
    ));
    assert!(said.contains("beyond the projector's light"), "{said}");
}

/// Asking for a driver that this system cannot have is a machine without one.
#[cfg(target_os = "linux")]
#[test]
fn without_a_driver_one_sentence_says_what_to_install() {
    let b = Bench::new();
    let (profile, out) = (b.profile(), b.str("frame.png"));
    let o = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["frame", "demo-data", "--profile", &profile, "-o", &out])
        .env("WGPU_BACKEND", "metal")
        .output()
        .unwrap();
    assert_eq!(o.status.code(), Some(3));
    let said = sentence(&o);
    for system in ["Debian/Ubuntu", "Fedora", "Windows", "macOS"] {
        assert!(said.contains(system), "{said}");
    }
    assert!(!b.path("frame.png").exists());
}

#[test]
fn a_pattern_alone_begins_a_job_that_can_be_lit() {
    let b = Bench::new();
    let (profile, out, job) = (b.profile(), b.str("frame.png"), b.str("new"));
    let o = run(&["begin", "demo-data/slippers.svg", "--job", &job]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let o = run(&["frame", &job, "--profile", &profile, "-o", &out, "--json"]);
    assert_eq!(
        o.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&o.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    assert_eq!(json["pieces"].as_array().unwrap().len(), 12);
    // A job that is there stays.
    refused(
        &["begin", "demo-data/slippers.svg", "--job", &job],
        "job.toml",
    );
    // A plain drawing, with nothing said in it, works too.
    let plain = b.write("plain.svg", "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='100mm' viewBox='0 0 200 100'>\
        <circle id='pad' cx='50' cy='50' r='40'/><path d='M110 10H190V90H110Z'/><path d='M10 10L20 20'/></svg>");
    let o = run(&["begin", &plain, "--job", &b.str("plain"), "--json"]);
    let json: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    assert_eq!(json["placed"].as_array().unwrap().len(), 2);
    assert_eq!(json["left_out"].as_array().unwrap().len(), 1, "{json}");
}
