//! How commands answer: names that say another kind of file, names that say nothing, numbers that
//! are none, and exit codes.

use super::*;

const SVG: &str = "demo-data/slippers.svg";

#[test]
fn a_name_that_says_another_kind_of_file_is_refused_and_one_that_says_none_is_not() {
    let b = Bench::new();
    let profile = b.profile();
    let points = b.str("points.csv");
    let cases: [(&[&str], &str, &str); 14] = [
        (
            &["frame", "demo-data", "--profile", &profile, "-o"],
            "x.jpg",
            ".png",
        ),
        (&["paper", "demo-data", "upper", "-o"], "u.svg", ".pdf"),
        (&["tickets", "demo-data", "-o"], "t.png", ".pdf"),
        (&["order", "demo-data", "--list"], "list.txt", ".pdf"),
        (&["ledger", "demo-data", "--csv"], "cut.pdf", ".csv"),
        (
            &[
                "calibrate",
                "--points",
                &points,
                "--projector",
                "1920x1080",
                "-o",
            ],
            "t.csv",
            ".toml",
        ),
        (
            &["card", "none.jpg", "--thickness", "0mm", "-o"],
            "c.dxf",
            ".svg",
        ),
        (
            &["photo", "demo-data", "none.jpg", "--picture"],
            "above.jpg",
            ".png",
        ),
        (
            &["seen", "demo-data", "none.jpg", "none.jpg", "--picture"],
            "seen.jpeg",
            ".png",
        ),
        (
            &[
                "hang",
                "--table",
                "1200x800",
                "--picture",
                "1920x1080",
                "--throw",
                "1.2",
                "-o",
            ],
            "h.png",
            ".pdf or .svg",
        ),
        (&["read", SVG, "-o"], "r.pdf", ".svg or .dxf"),
        (&["read", SVG, "--picture"], "r.png", ".svg"),
        (&["prove", SVG, "--picture"], "p.png", ".svg"),
        (&["shade", "demo-data", "--report"], "s.pdf", ".svg"),
    ];
    for (args, name, own) in cases {
        let path = b.str(name);
        let said = refused(&[args, &[path.as_str()]].concat(), name);
        assert!(
            said.ends_with(&format!("give a name that ends in {own}."))
                || said.ends_with(&format!("let it end in {own}.")),
            "{said}"
        );
        assert!(!b.path(name).exists(), "{name} was written");
    }
    for name in ["upper", "upper 1.5", "upper.PDF"] {
        let path = b.str(name);
        let o = run(&["paper", "demo-data", "upper", "-o", &path]);
        assert_eq!(o.status.code(), Some(0), "{name}: {o:?}");
        assert!(std::fs::read(&path).unwrap().starts_with(b"%PDF-"));
    }
}

/// What the command line itself refuses: exit code 2, and `say` in what it says.
fn not_taken(args: &[&str], say: &str) {
    let o = run(args);
    let said = String::from_utf8_lossy(&o.stderr);
    assert_eq!(o.status.code(), Some(2), "{args:?}: {said}");
    assert!(said.contains(say), "{args:?}: {said}");
}

#[test]
fn a_blank_name_is_refused_where_it_is_read() {
    let b = Bench::new();
    let job = b.str("new");
    for blank in ["", "  "] {
        for args in [
            &["begin", SVG, "--job", &job, "--cloth", blank][..],
            &[
                "card",
                "a.jpg",
                "--thickness",
                "0mm",
                "-o",
                "a.svg",
                "--name",
                blank,
            ],
            &["spread", "a.toml", "--job", &job, "--as", blank],
            &[
                "cut-test", "--length", "240,240", "--width", "60,60", "--tool", blank,
            ],
            &[
                "cut-test", "--length", "240,240", "--width", "60,60", "--cloth", blank,
            ],
        ] {
            not_taken(args, "it is blank; write a name");
        }
    }
    assert!(!b.path("new").exists());
}

#[test]
fn numbers_that_are_none_are_told_plainly() {
    let b = Bench::new();
    let job = b.str("new");
    for seconds in ["1e99", "0", "3601", "NaN", "2.5"] {
        let args = ["lay", "demo-data", "--seconds", seconds];
        not_taken(&args, "write whole seconds, from 1 to 3600");
    }
    let cut = ["cut-test", "--length", "240,240", "--width", "60,60"];
    for plies in ["0", "21", "two"] {
        let args = [&cut[..], &["--plies", plies]].concat();
        not_taken(&args, "from 1 to 20");
    }
    for (table, say) in [
        ("NaNx800mm", "\"NaN\" is not a length; write it like"),
        ("1200xinf", "\"inf\" is not a length; write it like"),
        ("1e9x800", "\"1e9\" is not a length; write it like"),
        ("1x800", "10 mm to 100 m"),
    ] {
        not_taken(&["begin", SVG, "--job", &job, "--table", table], say);
    }
    // A table that is one, and has no room for the pattern.
    let small = ["begin", SVG, "--job", &job, "--table", "50x40mm"];
    let said = refused(&small, "is 180 mm wide, grain up");
    assert!(said.contains("give a --table at least 20"), "{said}");
    not_taken(&["read", SVG, "--scale", "two"], "write a number");
    not_taken(&["read", SVG, "--columns", "two"], "write a whole number");
    assert!(!b.path("new").exists());
}

#[test]
fn an_empty_profile_is_told_with_what_helps() {
    let b = Bench::new();
    let out = b.str("frame.png");
    for bytes in ["", "\n", "\0\0\0\0"] {
        let empty = b.write("empty.toml", bytes);
        let said = refused(
            &["frame", "demo-data", "--profile", &empty, "-o", &out],
            "empty.toml: the file is empty; put a copy of it back, or delete it and set the table anew",
        );
        assert!(said.contains("calibrate"), "{said}");
    }
}

#[test]
fn a_slip_of_the_tape_is_told_with_its_lines() {
    let b = Bench::new();
    let tape = std::fs::read_to_string("calibration/worked/tape.csv").unwrap();
    let lines: Vec<&str> = tape.lines().collect();
    let at = lines.iter().position(|l| l.starts_with("FL,FR,")).unwrap();
    // As a spreadsheet elsewhere writes it: the lines are counted as ever.
    let tape = tape.replace(lines[at], "FL,FR,1").replace('\n', "\r\n");
    let tape = b.write("tape.csv", tape);
    let said = refused(
        &[
            "calibrate",
            "--points",
            "calibration/worked/set-marks.csv",
            "--tape",
            &tape,
            "--projector",
            "1920x1080",
            "-o",
            &b.str("t.toml"),
        ],
        &format!("tape.csv: line {}: FL to FR is given as 1.0 mm", at + 1),
    );
    assert!(said.contains("20 mm to 20 m apart"), "{said}");
}

#[test]
fn an_svg_is_read_at_a_scale_as_its_help_says() {
    let help = stdout(&run(&["read", "--help"]));
    assert!(help.contains("For an SVG, PDF or DXF at the wrong scale"));
    let width = |more: &[&str]| {
        let o = run(&[&["read", SVG, "--json"][..], more].concat());
        let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        told["pieces"][0]["width_mm"].as_f64().unwrap()
    };
    let ratio = width(&["--scale", "2"]) / width(&[]);
    assert!((ratio - 2.0).abs() < 1e-3, "{ratio}");
}

#[test]
fn a_strip_of_the_wrong_size_is_a_no_and_is_not_kept() {
    let b = Bench::new();
    let job = b.demo("name = \"1\"", "name = \"1\"");
    let cut = |length: &str, more: &[&str]| {
        let own = ["cut-test", "--length", length, "--width", "60,60"];
        run(&[&own[..], more].concat())
    };
    assert_eq!(cut("240.1,240", &[]).status.code(), Some(0));
    let o = cut("245,245", &["--json"]);
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(o.status.code(), Some(1));
    assert_eq!(told["out_of_scale"], true);
    let o = cut("245,245", &["--cloth", "canvas", "--keep", &job]);
    assert_eq!(o.status.code(), Some(1), "{o:?}");
    assert!(stdout(&o).contains("The light is the wrong size"));
    assert!(String::from_utf8_lossy(&o.stderr).contains("not kept: "));
    assert!(!b.path("job/journal").exists());
}

#[test]
fn a_profile_that_is_made_anew_keeps_its_checks_and_is_of_the_newest_version() {
    let b = Bench::new();
    let profile = b.profile();
    let text = std::fs::read_to_string(&profile).unwrap();
    let lines = text.lines().filter(|l| !l.starts_with("checksum = "));
    let older = lines.collect::<Vec<_>>().join("\n");
    let older = older.replacen("ghostchalk_profile = 2", "ghostchalk_profile = 1", 1);
    let check = "\n\n[[check]]\nday = \"2031-06-01\"\nmarks = 3\nfinding = \"still\"\n";
    std::fs::write(&profile, older + check).unwrap();
    assert_eq!(b.profile(), profile);
    let text = std::fs::read_to_string(&profile).unwrap();
    assert!(
        text.starts_with("ghostchalk_profile = 2\nchecksum = \"") && text.contains("2031-06-01"),
        "{text}"
    );
}

#[test]
fn what_lies_left_of_the_origin_is_taken_and_what_can_t_be_less_than_nothing_is_told() {
    let b = Bench::new();
    let job = b.str("new");
    not_taken(
        &["card", "none.jpg", "-o", "a.svg", "--thickness", "-1mm"],
        "write a length from 0 to 10 m",
    );
    not_taken(&["read", SVG, "--columns", "-2"], "write a whole number");
    not_taken(&["lay", "demo-data", "--seconds", "-2"], "whole seconds");
    not_taken(
        &["begin", SVG, "--job", &job, "--table", "-1200x800"],
        "10 mm to 100 m",
    );
    let cut = ["cut-test", "--length", "-240,240", "--width", "60,60"];
    assert!(refused(&cut, "").contains("the strip's length is given as -240.0 mm"));
    let camera = ["photo", "demo-data", "none.jpg", "--camera-height", "-5"];
    not_taken(&camera, "write a height in mm, above 0");
    // These come as far as the file that isn't there.
    let spread = ["spread", "none.toml", "--job", "demo-data", "--at"];
    for at in ["-20,50", "-20.5,-50"] {
        refused(&[&spread[..], &[at]].concat(), "none.toml");
    }
    for at in ["100000,300", "-1,-1e9"] {
        not_taken(&[&spread[..], &[at]].concat(), "too far off the table");
    }
    not_taken(
        &[&spread[..], &["-20"]].concat(),
        "write a place on the table as X,Y",
    );
    let photo = ["photo", "demo-data", "none.jpg", "--mark", "-20,50=10,20"];
    let more = ["--tag-sheet", "-50,40", "--white", "-90,-9,-20,40"];
    refused(&[&photo[..], &more].concat(), "none.jpg");
    let calibrate = [
        "calibrate",
        "--points",
        "none.csv",
        "--projector",
        "1920x1080",
    ];
    let lens = ["-o", "none.toml", "--lens", "-100,400,1500"];
    refused(&[&calibrate[..], &lens].concat(), "none.csv");
    // What is forgotten is still told so.
    not_taken(&[&spread[..2], &["--as", "--job", "x"]].concat(), "--as");
}

#[test]
fn a_decimal_comma_is_taken_where_no_list_is_meant() {
    let b = Bench::new();
    let width = |scale: &str| {
        let o = run(&["read", SVG, "--json", "--scale", scale]);
        let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        told["pieces"][0]["width_mm"].as_f64().unwrap()
    };
    assert_eq!(width("0,5"), width("0.5"));
    not_taken(&["read", SVG, "--scale", "1,250"], "two ways");
    let height = |throw: &str| {
        let hang = [
            "hang",
            "--table",
            "1200x800",
            "--picture",
            "1920x1080",
            "--json",
        ];
        let o = run(&[&hang[..], &["--throw", throw]].concat());
        let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        told["height_mm"].as_f64().unwrap()
    };
    assert_eq!(height("1,2"), height("1.2"));
    let strip = |length: &str, width: &str| {
        let o = run(&["cut-test", "--length", length, "--width", width, "--json"]);
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        stdout(&o)
    };
    assert_eq!(
        strip("240,9;240,7", "60,8;60,6"),
        strip("240.9,240.7", "60.8,60.6")
    );
    let table = |shows: &str, name: &str| {
        let out = b.str(name);
        let o = run(&[
            "calibrate",
            "--points",
            "calibration/worked/set-marks.csv",
            "--tape",
            "calibration/worked/tape.csv",
            "--tape-shows",
            shows,
            "--projector",
            "1920x1080",
            "-o",
            &out,
        ]);
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        std::fs::read(&out).unwrap()
    };
    assert_eq!(table("998,5/1000", "a.toml"), table("998.5/1000", "b.toml"));
}

#[test]
fn a_strip_that_can_t_be_kept_is_told_with_what_is_wrong_of_it() {
    let b = Bench::new();
    let job = b.demo("name = \"1\"", "name = \"1\"");
    let keep = |job: &str, more: &[&str]| {
        let own = [
            "cut-test",
            "--length",
            "240.9,240.7",
            "--width",
            "60.8,60.6",
        ];
        refused(&[&own[..], more, &["--keep", job]].concat(), job)
    };
    let cases: [(&[&str], &str); 2] = [
        (
            &[],
            "it is not said which of the job's cloths was cut; name one with --cloth: ",
        ),
        (
            &["--cloth", "silk"],
            "the job has no cloth \"silk\"; name one with --cloth: ",
        ),
    ];
    for (more, say) in cases {
        let said = keep(&job, more);
        assert!(said.contains(say), "{said}");
        assert!(said.contains("canvas"), "{said}");
    }
    // Three millimetres are no habit of a hand.
    let wide = [
        "cut-test", "--length", "248,248", "--width", "68,68", "--cloth", "canvas",
    ];
    let said = refused(&[&wide[..], &["--keep", job.as_str()]].concat(), &job);
    assert!(
        said.contains("4.0 mm at each edge is more than the 3.0 mm"),
        "{said}"
    );
    // A file that is no job is not held.
    let fresh = b.write("fresh.svg", "<svg/>");
    keep(&fresh, &["--cloth", "canvas"]);
    assert!(!b.path(".in-use").exists());
}

/// Where writing always finds the disk full.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_the_machine_s_fault() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full");
    let o = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["strips", "1000x500", "--width", "30mm"])
        .stdout(full.unwrap())
        .output()
        .unwrap();
    assert_eq!(o.status.code(), Some(3));
    let said = sentence(&o);
    assert!(
        said.ends_with("the result can't be printed: the disk is full; make room, then try again.")
    );
}
