//! Patterns read, written and proven.

use super::*;

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
    let said = refused(&["prove", &svg, "--seams", &bad], "bad.toml");
    assert!(
        said.contains("seam \"sole, front\": \"upper\" has no edge \"hem\"; name one of \"lower\""),
        "{said}"
    );
    let said = refused(&["prove", &svg, "--picture", "proof.pdf"], "proof.pdf");
    assert!(said.contains("give a name that ends in .svg"), "{said}");
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
        (
            vec!["read", draft, "--measure", "foot lenght=9mm"],
            "no measure named \"foot lenght\"; name one of foot length, instep girth",
        ),
        (
            vec![
                "read",
                draft,
                "--measure",
                "foot length=255mm",
                "--measure",
                "foot length=260mm",
            ],
            "the measure \"foot length\" is given twice, 255mm and 260mm",
        ),
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
fn a_draft_is_written_with_what_is_sewn_and_its_usual_measures_are_told() {
    let b = Bench::new();
    let draft = "demo-data/slippers.draft.toml";
    let (svg, seams) = (b.str("x.svg"), b.str("x.seams.toml"));
    let o = run(&["read", draft, "--measure", "foot length=255mm", "-o", &svg]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let said = stdout(&o);
    // One was given, and one was not.
    assert!(
        said.contains("usual measures, as none were given: \"instep girth\" 250 mm."),
        "{said}"
    );
    let told = String::from_utf8_lossy(&o.stderr).into_owned();
    assert!(
        told.contains("x.seams.toml: give it with --seams"),
        "{told}"
    );
    let o = run(&["prove", &svg, "--seams", &seams, "--json"]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    let proof: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(proof["seams"].as_array().unwrap().len(), 8);
    // Over its own, but over no other file; then neither is written.
    assert_eq!(run(&["read", draft, "-o", &svg]).status.code(), Some(0));
    let other = b.write("y.seams.toml", "mine = 1\n");
    let drawing = b.str("y.svg");
    refused(&["read", draft, "-o", &drawing], "y.seams.toml");
    assert_eq!(std::fs::read_to_string(other).unwrap(), "mine = 1\n");
    assert!(!Path::new(&drawing).exists());
    let o = run(&["prove", draft]);
    let told = String::from_utf8_lossy(&o.stderr).into_owned();
    assert!(
        told.contains("\"foot length\" 250 mm, \"instep girth\" 250 mm"),
        "{told}"
    );
}

#[test]
fn lengths_are_told_in_inches_however_that_is_written() {
    let b = Bench::new();
    let picture = b.str("proof.svg");
    for unit in ["in", "inch"] {
        let o = run(&["prove", "demo-data", "--unit", unit, "--picture", &picture]);
        assert_eq!(o.status.code(), Some(0), "{o:?}");
        let said = stdout(&o);
        assert!(said.contains(" in") && !said.contains(" mm"), "{said}");
        let o = run(&[
            "read",
            "demo-data/slippers.draft.toml",
            "--unit",
            unit,
            "--picture",
            &picture,
        ]);
        let said = stdout(&o);
        // The largest is as long as binding and its joins.
        assert!(
            said.contains("\"instep girth\" 9 13/16 in") && !said.contains(" mm"),
            "{said}"
        );
        assert!(!std::fs::read_to_string(&picture).unwrap().contains(" mm"));
        let o = run(&[
            "read",
            "tests/reference/pattern_files/ezdxf_r12.dxf",
            "--drawn-in",
            unit,
        ]);
        assert!(
            !String::from_utf8_lossy(&o.stderr).contains("invalid value"),
            "{o:?}"
        );
    }
    assert_eq!(
        run(&["prove", "demo-data", "--unit", "ell"]).status.code(),
        Some(2)
    );
}

#[test]
fn a_drawing_without_net_lines_has_them_from_the_allowances_that_are_told() {
    let b = Bench::new();
    let drawing = "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='120mm' viewBox='0 0 200 120'>\
        <g data-piece='flap' data-cut='2'><path class='cut' d='M20 20H120V80H20Z'/></g></svg>";
    let svg = b.write("flap.svg", drawing);
    let edge = |n: u32, mm: u32| {
        format!(
            "[[edge]]\npiece = \"flap\"\nnumber = {n}\nname = \"e{n}\"\nallowance = \"{mm}mm\"\n"
        )
    };
    let all = |last: &str| {
        format!(
            "ghostchalk_seams = 1\n{}{}{}{last}",
            edge(1, 6),
            edge(2, 10),
            edge(3, 6)
        )
    };
    let lengths = |seams: &str| -> Vec<f64> {
        let o = run(&["prove", &svg, "--seams", seams, "--json"]);
        let told: serde_json::Value = serde_json::from_slice(&o.stdout).unwrap();
        let edges = told["pieces"][0]["edges"].as_array().unwrap();
        let mut all: Vec<f64> = edges
            .iter()
            .map(|e| e["length_mm"].as_f64().unwrap())
            .collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let seams = b.write("all.toml", all(&edge(4, 4)));
    let sewn = lengths(&seams);
    let cut = [60.0, 60.0, 100.0, 100.0];
    // 6 and 6, 10 and 4 off the neighbours, whichever edge is which.
    assert!(
        (sewn.iter().sum::<f64>() - (320.0 - 2.0 * 12.0 - 2.0 * 14.0)).abs() < 1e-6,
        "{sewn:?}"
    );
    // Where one is not told there is none.
    let seams = b.write("most.toml", all(""));
    assert!(
        lengths(&seams)
            .iter()
            .zip(cut)
            .all(|(a, b)| (a - b).abs() < 1e-6)
    );
}
