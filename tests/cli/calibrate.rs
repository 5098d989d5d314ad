//! Marks to a profile, and what a profile is worth.

use super::*;

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
    assert!(text.contains("ghostchalk_profile = 2\nchecksum = ") && text.contains("projector_px"));
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
fn advice_is_given_only_where_it_leaves_less_error_than_there_is() {
    let b = Bench::new();
    let profile = b.str("t.toml");
    let cases: [(&[&str], &str); 4] = [
        // Places, of which 0.5 mm is believed, are worse than hands of 0.5 px.
        (&[], "measure the marks' places twice as well"),
        (
            &["--hand", "2", "--marks", "0"],
            "set the marks of light twice as finely",
        ),
        (&["--without", "C3", "--marks", "0.3"], ""),
        (
            &["--hand", "0.01", "--marks", "0.6"],
            "measure the marks' places",
        ),
    ];
    for (more, say) in cases {
        let words = calibrated(TWENTY, &profile, &[more, &["--json"]].concat());
        let o = run(&words.iter().map(String::as_str).collect::<Vec<_>>());
        let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        let improve = told["account"]["improve"].as_str().unwrap();
        assert!(improve.contains(say), "{more:?}: {improve}");
        let now = told["account"]["error_mm"][0].as_f64().unwrap();
        let Some((_, after)) = improve.split_once(&format!("(from {now:.2} down to ")) else {
            panic!("{more:?}: {improve}, and it is {now}");
        };
        let after: f64 = after.trim_end_matches(" mm)").parse().unwrap();
        assert!(after < now - 0.004, "{more:?}: {improve}");
    }
}

#[test]
fn a_tape_in_another_unit_is_asked_after_with_its_switch() {
    let b = Bench::new();
    let profile = b.str("t.toml");
    let tape = std::fs::read_to_string("calibration/worked/tape.csv").unwrap();
    let in_cm = tape.lines().map(|line| {
        let (names, length) = line.rsplit_once(',').unwrap_or((line, ""));
        match length.parse::<f64>() {
            Ok(mm) => format!("{names},{:.2}\n", mm / 10.0),
            Err(_) => format!("{line}\n"),
        }
    });
    let tape = b.write("in cm.csv", in_cm.collect::<String>());
    let said = |more: &[&str]| {
        let own = ["--tape", tape.as_str()];
        let set = "calibration/worked/set-marks.csv";
        let words = calibrated(set, &profile, &[&own[..], more].concat());
        let o = run(&words.iter().map(String::as_str).collect::<Vec<_>>());
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        String::from_utf8_lossy(&o.stderr).into_owned()
    };
    let mm = said(&[]);
    assert!(
        mm.contains("are the tape's readings (") && mm.contains("in cm.csv) in mm?"),
        "{mm}"
    );
    assert!(mm.contains("--unit"), "{mm}");
    let cm = said(&["--unit", "cm"]);
    assert!(!cm.contains("a pixel would be"), "{cm}");
}

#[test]
fn a_budget_and_a_cut_test_are_told_and_nonsense_is_refused() {
    let worked = "calibration/worked/twenty-marks.toml";
    let o = run(&["budget", "demo-data", "--profile", worked, "--json"]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    let pieces = told["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 14);
    // Two bindings are laid: it is told which is which, and what an error means.
    let names: std::collections::HashSet<&str> = pieces
        .iter()
        .map(|p| p["piece"].as_str().unwrap())
        .collect();
    assert_eq!(names.len(), 14, "{names:?}");
    let said = stdout(&run(&["budget", "demo-data", "--profile", worked]));
    assert!(
        said.starts_with("A typical miss: about two in three are nearer than this"),
        "{said}"
    );
    assert!(
        said.contains("upper 1 canvas, mirrored") && !said.contains(", over"),
        "{said}"
    );
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
        let _alone = alone();
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
    assert!(String::from_utf8_lossy(&o.stderr).contains("the job has no cloth \"silk\""));
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
    assert!(calibrate(&mirrored).contains("as in a mirror"));
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
