//! The picture, and what stands in its way.

use super::*;

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

/// Of a colour, each channel of the picture is the white one, or dark.
#[test]
fn a_job_s_colour_is_its_frame_s() {
    let b = Bench::new();
    let profile = b.profile();
    let frame = |light: &str| {
        let job = b.demo("[[pattern]]", &format!("{light}\n\n[[pattern]]"));
        let out = b.str("frame.png");
        let o = run(&["frame", &job, "--profile", &profile, "-o", &out]);
        let said = String::from_utf8_lossy(&o.stderr);
        assert_eq!(o.status.code(), Some(0), "{said}");
        image::open(&out).unwrap()
    };
    let white = frame("");
    assert_eq!(white.color(), image::ColorType::L8);
    let white = white.to_luma8();
    for (word, on) in [
        ("red", [1, 0, 0]),
        ("green", [0, 1, 0]),
        ("blue", [0, 0, 1]),
        ("cyan", [0, 1, 1]),
        ("magenta", [1, 0, 1]),
        ("yellow", [1, 1, 0]),
    ] {
        let seen = frame(&format!("[light]\ncolour = \"{word}\"")).to_rgb8();
        for (p, w) in seen.pixels().zip(white.pixels()) {
            assert_eq!(p.0, on.map(|on| on * w.0[0]), "{word}");
        }
    }
    let job = b.demo("[[pattern]]", "[light]\ncolour = \"puce\"\n\n[[pattern]]");
    let out = b.str("frame.png");
    let said = refused(
        &["frame", &job, "--profile", &profile, "-o", &out],
        "job.toml",
    );
    assert!(said.contains("puce") && said.contains("green"), "{said}");
}
