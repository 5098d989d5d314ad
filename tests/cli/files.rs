//! What a command writes is never written over what a job is made of, over what it reads, or over
//! what else it writes.

use super::*;

const SVG: &str = "demo-data/slippers.svg";

#[test]
fn a_job_s_own_files_are_not_written_over() {
    let b = Bench::new();
    let job = b.demo("name = \"1\"", "name = \"1\"");
    for file in [
        "canvas.png",
        "felt.shade.png",
        "felt.shade.toml",
        "remnant.shade.png",
        "remnant.shade.toml",
        "sling.shade.png",
        "sling.shade.toml",
    ] {
        let from = Path::new("demo-data").join(file);
        std::fs::copy(from, b.path("job").join(file)).unwrap();
    }
    let profile = b.profile();
    let (job, profile) = (job.as_str(), profile.as_str());
    let own = |name: &str| b.str(&format!("job/{name}"));
    let frame = ["frame", job, "--profile", profile, "-o"];
    let photo = ["photo", job, "none.jpg", "--picture"];
    let seen = ["seen", job, "none.jpg", "none.jpg", "--picture"];
    let cases: [(&[&str], &str, &str); 13] = [
        (&frame, "canvas.png", "a photo of the job's cloth"),
        (&frame, "../job/canvas.png", "a photo of the job's cloth"),
        (&frame, "journal", "the job's journal"),
        (&photo, "canvas.png", "a photo of the job's cloth"),
        (&photo, "sling.shade.png", "the shade of the job's cloth"),
        (&seen, "canvas.png", "a photo of the job's cloth"),
        (&["shade", job, "--report"], "slippers.svg", "a pattern"),
        (&["prove", job, "--picture"], "slippers.svg", "a pattern"),
        (&["order", job, "--list"], "journal", "the job's journal"),
        (&["tickets", job, "-o"], "journal", "the job's journal"),
        (&["tickets", job, "-o"], ".in-use", "the job is in use"),
        (
            &["paper", job, "upper", "-o"],
            "journal",
            "the job's journal",
        ),
        (&["ledger", job, "--csv"], "journal", "the job's journal"),
    ];
    let all = || {
        let entries = std::fs::read_dir(job).unwrap().map(|e| e.unwrap().path());
        let mut all: Vec<_> = entries.map(|p| (std::fs::read(&p).unwrap(), p)).collect();
        all.sort();
        all
    };
    let before = all();
    for (args, name, what) in cases {
        let path = own(name);
        let said = refused(&[args, &[path.as_str()]].concat(), &path);
        assert!(
            said.contains(what) && said.ends_with("it would be lost; give another name."),
            "{said}"
        );
    }
    assert_eq!(all(), before);
    // Of its kind it is the job's all the same, and beside its files there is room.
    let text = std::fs::read_to_string(own("job.toml")).unwrap();
    let named = text.replacen("name = ", "profile = \"x.pdf\"\nname = ", 1);
    std::fs::write(own("job.toml"), named).unwrap();
    let list = own("x.pdf");
    std::fs::write(&list, "%PDF-1.7").unwrap();
    let said = refused(&["order", job, "--list", &list], &list);
    assert!(said.contains("the profile of the job's table"), "{said}");
    let beside = own("cut-list.pdf");
    let o = run(&["order", job, "--list", &beside]);
    assert_eq!(o.status.code(), Some(0), "{o:?}");
    // Another's drawing is not ours to write over either.
    let drawing = b.write("drawing.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>");
    let said = refused(&["shade", job, "--report", &drawing], &drawing);
    assert!(said.contains("not one that this program wrote"), "{said}");
}

#[test]
fn two_things_are_not_written_into_one_file_nor_over_what_is_read() {
    let b = Bench::new();
    let path = b.str("x.svg");
    let other = b.str("./x.svg");
    let said = refused(&["read", SVG, "-o", &path, "--picture", &other], &path);
    assert!(said.contains("two things would be written here"), "{said}");
    let points = b.write("points.csv", POINTS);
    let points = points.as_str();
    let table = b.str("table");
    let calibrate = ["calibrate", "--points", points, "--projector", "1920x1080"];
    let both = ["-o", table.as_str(), "--report", table.as_str()];
    let said = refused(&[&calibrate[..], &both].concat(), &table);
    assert!(said.contains("two things would be written here"), "{said}");
    let png = b.write("photo.png", b"\x89PNG\r\n\x1a\n");
    let (picture, new) = (png.as_str(), b.str("new.png"));
    let new = new.as_str();
    let one = ["photo", "demo-data", picture, "--picture", picture];
    assert!(refused(&one, picture).contains("the file that is read"));
    let find = ["--find", "--panel", "sling", "--found-picture", new];
    let args = [
        &["photo", "demo-data", picture, "--picture", new][..],
        &find,
    ]
    .concat();
    assert!(refused(&args, new).contains("two things would be written here"));
    let seen = [
        "seen",
        "demo-data",
        "dark.png",
        picture,
        "--picture",
        picture,
    ];
    assert!(refused(&seen, picture).contains("the file that is read"));
    assert!(!b.path("x.svg").exists() && !b.path("table").exists() && !b.path("new.png").exists());
}
