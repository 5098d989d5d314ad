//! The job file, and an offcut's: read, written, read again, and held against themselves.

use std::path::Path;

use ghostchalk::job::{Job, JobFile, OFFCUT_VERSION, Offcut, parse_versioned, toml_text};
use ghostchalk::pattern::PatternPiece;

use super::{Target, is_itself};

pub const JOB: Target = Target {
    name: "job",
    run: a_job,
    seeds: &["demo-data/job.toml", "fuzz/seeds/job/*"],
};

pub const OFFCUT: Target = Target {
    name: "offcut",
    run: an_offcut,
    seeds: &["fuzz/seeds/offcut/*"],
};

fn a_job(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    let Ok(file) = JobFile::parse(text) else {
        return;
    };
    if is_itself(&file) {
        let told = toml_text(&file);
        let told = told.unwrap_or_else(|fault| panic!("{fault}"));
        assert_eq!(JobFile::parse(&told), Ok(file.clone()), "{told}");
    }
    for pattern in &file.patterns {
        let _ = pattern.options();
    }
    let Ok(patterns) = file.all_patterns() else {
        return;
    };
    assert!(patterns.len() >= file.patterns.len());
    // All its makes ask for, as if some pattern had it.
    let asked = file.makes.iter().flat_map(|make| &make.parts);
    let pieces: Vec<PatternPiece> = asked.map(|p| PatternPiece::named(&p.piece)).collect();
    if let Ok(articles) = file.all_articles(&pieces) {
        assert!(articles.len() >= file.articles.len());
    }
    // With a pattern it would go to the disk.
    if patterns.is_empty() {
        opened(text);
    }
}

/// A job without a pattern is checked as any other.
fn opened(text: &str) {
    let Ok(job) = Job::from_text(Path::new("job.toml"), text) else {
        return;
    };
    assert!(job.pieces.is_empty() && job.laid().is_empty());
    for panel in &job.file.panels {
        let outline = panel.outline();
        let outline = outline.unwrap_or_else(|fault| panic!("{fault}"));
        assert!(outline.area() > 0.0 && job.stock().plies(&panel.name, &job.file.panels) > 0);
    }
    let state = job.state();
    assert_eq!(state.panels.len(), job.file.panels.len());
}

fn an_offcut(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    let read = parse_versioned::<Offcut>(text, "ghostchalk_offcut", OFFCUT_VERSION);
    let Ok(offcut) = read else { return };
    let _ = offcut.panel.outline();
    for place in &offcut.panel.keep_out {
        let _ = place.outline();
    }
    if is_itself(&offcut) {
        let told = toml_text(&offcut);
        let told = told.unwrap_or_else(|fault| panic!("{fault}"));
        let back = parse_versioned(&told, "ghostchalk_offcut", OFFCUT_VERSION);
        assert_eq!(back, Ok(offcut), "{told}");
    }
}
