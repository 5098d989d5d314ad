//! Jobs: begun, refused, rehearsed.

use super::*;

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
fn a_rehearsal_replaces_nothing_but_a_rehearsal() {
    let b = Bench::new();
    std::fs::create_dir(b.path("mine")).unwrap();
    let mine = b.write("mine/table.toml", "my own table");
    refused(&["rehearse", "demo-data", "--out", &b.str("mine")], "mine");
    assert_eq!(std::fs::read_to_string(mine).unwrap(), "my own table");
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
