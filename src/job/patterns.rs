//! The pattern files that a job names, read, with what is sewn to what in them.

use super::{DOING, PatternFile, read_text};
use crate::fault::{Fault, Outcome};
use crate::pattern::{Pattern, PatternPiece, SeamsFile, Sewing, read};
use std::path::Path;

/// All pieces of some pattern files.
#[derive(Debug, Clone, Default)]
pub struct Patterns {
    pub pieces: Vec<PatternPiece>,
    pub sewing: Sewing,
    /// What a pattern file held that could not be told, one sentence each.
    pub left_out: Vec<String>,
    /// What the person should check in a pattern file, one sentence each.
    pub notes: Vec<String>,
}

impl Patterns {
    /// Reads the files, by their paths from `folder`.
    ///
    /// # Errors
    /// Names the file that can't be used, or two pieces, seams or rings of one name.
    pub fn read(folder: &Path, files: &[PatternFile]) -> Outcome<Self> {
        let mut all = Self::default();
        for f in files {
            let (pattern, sewing) = one(folder, f, &mut all.notes)?;
            let named = |what: &String| format!("{}: {what}", f.file);
            all.left_out.extend(pattern.left_out.iter().map(named));
            all.notes.extend(pattern.notes.iter().map(named));
            for piece in pattern.pieces {
                let twice = all.pieces.iter().any(|q| q.name == piece.name);
                unique("piece", &piece.name, twice).map_err(|e| e.at(&f.file))?;
                all.pieces.push(piece);
            }
            for seam in sewing.seams {
                let twice = all.sewing.seams.iter().any(|s| s.name == seam.name);
                unique("seam", &seam.name, twice).map_err(|e| e.at(&f.file))?;
                all.sewing.seams.push(seam);
            }
            for ring in sewing.rings {
                let twice = all.sewing.rings.iter().any(|r| r.name == ring.name);
                unique("ring", &ring.name, twice).map_err(|e| e.at(&f.file))?;
                all.sewing.rings.push(ring);
            }
        }
        Ok(all)
    }
}

fn unique(what: &str, name: &str, twice: bool) -> Outcome<()> {
    if twice {
        return Err(Fault::input(
            format!("the {what} \"{name}\" is in two pattern files"),
            format!("give each {what} a name of its own"),
        ));
    }
    Ok(())
}

/// One file's pieces, their edges named, and their sewing.
fn one(folder: &Path, f: &PatternFile, notes: &mut Vec<String>) -> Outcome<(Pattern, Sewing)> {
    let mut pattern = read::svg::read(&folder.join(&f.file))?;
    let Some(seams) = &f.seams else {
        return Ok((pattern, Sewing::default()));
    };
    let path = folder.join(seams);
    let file = SeamsFile::parse(&read_text(&path, DOING)?).map_err(|e| e.in_file(&path))?;
    let applied = file
        .apply(&mut pattern.pieces)
        .map_err(|e| e.in_file(&path))?;
    notes.extend(applied.notes.iter().map(|n| format!("{seams}: {n}")));
    Ok((pattern, applied.sewing))
}
