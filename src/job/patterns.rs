//! The pattern files that a job names, read, with what is sewn to what in them.

use super::{DOING, DerivedPart, PatternFile, read_text};
use crate::fault::{Fault, Outcome};
use crate::measure::{Unit, parse_length};
use crate::pattern::draft::{self, Draft, Drawn, Measures};
use crate::pattern::read::pdf::{Order, Tiles};
use crate::pattern::read::{self, ReadOptions};
use crate::pattern::{Pattern, PatternPiece, SeamsFile, Sewing};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
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
        Self::read_with(folder, files, |_| None)
    }

    /// The same, with drafts that are drawn already.
    ///
    /// # Errors
    /// As [`Patterns::read`].
    pub fn read_with(
        folder: &Path,
        files: &[PatternFile],
        at_hand: impl Fn(&PatternFile) -> Option<Drawn>,
    ) -> Outcome<Self> {
        let mut all = Self::default();
        for f in files {
            let (pattern, sewing) = one(folder, f, at_hand(f), &mut all.notes)?;
            all.add(&f.file, pattern, sewing)?;
        }
        Ok(all)
    }

    /// Adds one file's pieces, and what is sewn to what in it.
    ///
    /// # Errors
    /// Two pieces, seams or rings of one name.
    pub fn add(&mut self, file: &str, pattern: Pattern, sewing: Sewing) -> Outcome<()> {
        let named = |what: &String| format!("{file}: {what}");
        self.left_out.extend(pattern.left_out.iter().map(named));
        self.notes.extend(pattern.notes.iter().map(named));
        for piece in pattern.pieces {
            let twice = self.pieces.iter().any(|q| q.name == piece.name);
            unique("piece", &piece.name, twice).map_err(|e| e.at(file))?;
            self.pieces.push(piece);
        }
        let all = &mut self.sewing;
        for seam in sewing.seams {
            let twice = all.seams.iter().any(|s| s.name == seam.name);
            unique("seam", &seam.name, twice).map_err(|e| e.at(file))?;
            all.seams.push(seam);
        }
        for ring in sewing.rings {
            let twice = all.rings.iter().any(|r| r.name == ring.name);
            unique("ring", &ring.name, twice).map_err(|e| e.at(file))?;
            all.rings.push(ring);
        }
        Ok(())
    }

    /// Adds the parts that are derived from the pieces, in their order.
    ///
    /// # Errors
    /// Names the part that can't be.
    pub fn derive(&mut self, parts: &[DerivedPart]) -> Outcome<()> {
        for part in parts {
            let twice = self.pieces.iter().any(|q| q.name == part.name);
            if twice {
                return Err(Fault::input(
                    format!("there is a piece \"{}\" already", part.name),
                    "give the derived part a name of its own",
                ));
            }
            let (piece, notes) = part.made(&self.pieces)?;
            self.notes
                .extend(notes.iter().map(|n| format!("{}: {n}", part.name)));
            self.pieces.push(piece);
        }
        Ok(())
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
fn one(
    folder: &Path,
    f: &PatternFile,
    at_hand: Option<Drawn>,
    notes: &mut Vec<String>,
) -> Outcome<(Pattern, Sewing)> {
    let path = folder.join(&f.file);
    let (mut pattern, sewing) = if let Some(drawn) = at_hand {
        drawn.finished().map_err(|e| e.at(&f.file))?
    } else if is_draft(&f.file) {
        if f.unit.is_some() || !f.layers.is_empty() || f.scale.is_some() || f.tiles.is_some() {
            return Err(Fault::input(
                "unit, layers, scale and tiles are for a drawing, and this is a draft",
                "take them out",
            )
            .at(&f.file));
        }
        drafted(f, &path)?
    } else {
        let only = |what: &str| {
            Fault::input(
                format!("{what} are for a draft, and this is a drawing"),
                "take them out",
            )
            .at(&f.file)
        };
        if !f.measures.is_empty() {
            return Err(only("measures"));
        }
        if f.length_percent.or(f.width_percent).is_some() {
            return Err(only("percents"));
        }
        (read::any(&path, &f.options()?)?, Sewing::default())
    };
    let Some(seams) = &f.seams else {
        return Ok((pattern, sewing));
    };
    let path = folder.join(seams);
    let file = SeamsFile::parse(&read_text(&path, DOING)?).map_err(|e| e.in_file(&path))?;
    let applied = file
        .apply(&mut pattern.pieces)
        .map_err(|e| e.in_file(&path))?;
    notes.extend(applied.notes.iter().map(|n| format!("{seams}: {n}")));
    let mut all = sewing;
    all.seams.extend(applied.sewing.seams);
    all.rings.extend(applied.sewing.rings);
    Ok((pattern, all))
}

/// Whether a pattern file is a draft, by its name.
pub fn is_draft(file: &str) -> bool {
    Path::new(file)
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("toml"))
}

/// A draft, drawn for the measures that the job has.
fn drafted(f: &PatternFile, path: &Path) -> Outcome<(Pattern, Sewing)> {
    let drawn = || {
        let draft = draft::parse(&read_text(path, DOING)?)?;
        draft.draw(&f.asked(&draft)?)?.finished()
    };
    // A file that can't be read is named already.
    drawn().map_err(|e: Fault| {
        let named = path.display().to_string();
        if e.place.contains(&named) {
            e
        } else {
            e.at(named)
        }
    })
}

impl PatternFile {
    /// A file of that name, and nothing else said of it.
    pub fn named(file: impl Into<String>) -> Self {
        Self {
            file: file.into(),
            seams: None,
            unit: None,
            layers: Vec::new(),
            scale: None,
            tiles: None,
            measures: BTreeMap::new(),
            length_percent: None,
            width_percent: None,
        }
    }

    /// How a drawing is read.
    ///
    /// # Errors
    /// If the unit is none, or a length can't be read.
    pub fn options(&self) -> Outcome<ReadOptions> {
        let unit = |name: &String| match name.as_str() {
            "mm" => Ok(Unit::Mm),
            "cm" => Ok(Unit::Cm),
            "inch" => Ok(Unit::Inch),
            _ => Err(
                Fault::input(format!("unit is \"{name}\""), "write mm, cm or inch").at(&self.file),
            ),
        };
        Ok(ReadOptions {
            unit: self.unit.as_ref().map(unit).transpose()?,
            layers: (!self.layers.is_empty()).then(|| self.layers.clone()),
            tiles: self.tiles.as_ref().map(TilesOf::read).transpose()?,
            scale: self.scale.unwrap_or(1.0),
            ..ReadOptions::default()
        })
    }

    /// The measures and scales that a draft is drawn for.
    ///
    /// # Errors
    /// If a measure is no length.
    pub fn asked(&self, draft: &Draft) -> Outcome<Measures> {
        let mut asked = Measures::default();
        for (name, text) in &self.measures {
            asked.set(name, draft.typed(name, text)?);
        }
        asked.length = self.length_percent.unwrap_or(100.0) / 100.0;
        asked.width = self.width_percent.unwrap_or(100.0) / 100.0;
        Ok(asked)
    }
}

/// How the pages of a PDF are laid to one sheet, as it is written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TilesOf {
    /// Pages in a row.
    pub columns: usize,
    /// The pages follow one another down columns; else along rows.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub down: bool,
    /// How far neighbours overlap once trimmed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overlap: Option<String>,
    /// What is cut off each side of each page first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trim: Option<String>,
}

impl TilesOf {
    fn read(&self) -> Outcome<Tiles> {
        let mm = |text: &Option<String>| match text {
            Some(text) => parse_length(text, Unit::Mm).map_err(|e| e.at("tiles")),
            None => Ok(0.0),
        };
        Ok(Tiles {
            columns: self.columns,
            order: if self.down {
                Order::Columns
            } else {
                Order::Rows
            },
            overlap: mm(&self.overlap)?,
            trim: mm(&self.trim)?,
        })
    }
}
