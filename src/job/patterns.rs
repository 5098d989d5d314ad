//! The pattern files that a job names, read, with what is sewn to what in them.

use super::{DerivedPart, JobFile, PatternFile, net_lines, read_text};
use crate::draft::{self, Draft, Drawn, Measures};
use crate::drawing::read::pdf::{Order, Tiles};
use crate::drawing::read::{self, ReadOptions};
use crate::fault::{Fault, Outcome, short};
use crate::measure::{Unit, parse_length, typed};
use crate::order::sized;
use crate::pattern::{EdgeName, Pattern, PatternPiece, Sewing, edges};
use crate::prove::SeamsFile;
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
    /// The drawings as they were read, each by its place among the pattern files.
    pub drawings: Vec<(usize, Pattern)>,
}

/// What a pattern file holds, where nobody need look into it.
#[derive(Debug, Clone)]
pub enum AtHand {
    /// A draft, drawn.
    Drafted(Drawn),
    /// A drawing, read.
    Read(Pattern),
}

impl Patterns {
    /// Reads the files, by their paths from `folder`.
    ///
    /// # Errors
    /// Names the file that can't be used, or two pieces, seams or rings of one name.
    pub fn read(folder: &Path, files: &[PatternFile]) -> Outcome<Self> {
        Self::read_with(folder, files, |_, _| None)
    }

    /// The same, with what is drawn or read already.
    ///
    /// # Errors
    /// As [`Patterns::read`].
    pub fn read_with(
        folder: &Path,
        files: &[PatternFile],
        at_hand: impl Fn(usize, &PatternFile) -> Option<AtHand>,
    ) -> Outcome<Self> {
        let mut all = Self::default();
        for (k, f) in files.iter().enumerate() {
            let (pattern, sewing) = one(folder, f, at_hand(k, f))?;
            if !is_draft(&f.file) {
                all.drawings.push((k, pattern.clone()));
            }
            let (pattern, sewing) = sewn(folder, f, pattern, sewing, &mut all.notes)?;
            let (pattern, sewing) = in_size(f.size.as_deref(), pattern, sewing);
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

    /// Whether all that is sewn is there.
    ///
    /// # Errors
    /// Names the first seam or ring with a piece, or an edge of one, that is not.
    pub fn check_sewing(&self) -> Outcome<()> {
        let listed = |names: Vec<&str>| {
            let more = if names.len() > 12 { ", …" } else { "" };
            format!("\"{}\"{more}", names[..names.len().min(12)].join("\", \""))
        };
        let check = |name: &EdgeName| {
            let Some(piece) = self.pieces.iter().find(|p| p.name == name.piece) else {
                let all = self.pieces.iter().map(|p| p.name.as_str()).collect();
                return Err(Fault::input(
                    format!("there is no piece \"{}\"", name.piece),
                    format!("name one of {}", listed(all)),
                ));
            };
            let all = edges(piece);
            if all.iter().any(|e| e.name == name.edge) {
                return Ok(());
            }
            let all = all.iter().map(|e| e.name.as_str()).collect();
            Err(Fault::input(
                format!("\"{}\" has no edge \"{}\"", name.piece, name.edge),
                format!("name one of {}", listed(all)),
            ))
        };
        for seam in &self.sewing.seams {
            let mut both = seam.one.iter().chain(&seam.other);
            both.try_for_each(check)
                .map_err(|e| e.at(format!("seam \"{}\"", seam.name)))?;
        }
        for ring in &self.sewing.rings {
            ring.edges
                .iter()
                .try_for_each(check)
                .map_err(|e| e.at(format!("ring \"{}\"", ring.name)))?;
        }
        Ok(())
    }

    /// All pieces of a job: of its pattern files, of the drafts that its orders have drawn, and
    /// what is derived from them, in every size.
    ///
    /// # Errors
    /// As [`Patterns::read`], or if a part can't be derived.
    pub fn of_job(
        folder: &Path,
        job: &JobFile,
        at_hand: impl Fn(usize, &PatternFile) -> Option<AtHand>,
    ) -> Outcome<Self> {
        let files = job.all_patterns()?;
        let mut all = Self::read_with(folder, &files, at_hand)?;
        all.derive_sizes(&job.derived, &files)?;
        Ok(all)
    }

    /// Adds what is derived from the pieces of `files`, in every size.
    ///
    /// # Errors
    /// Names the part that can't be.
    pub fn derive_sizes(&mut self, parts: &[DerivedPart], files: &[PatternFile]) -> Outcome<()> {
        let mut sizes: Vec<&str> = files.iter().filter_map(|f| f.size.as_deref()).collect();
        sizes.sort_unstable();
        sizes.dedup();
        for part in parts {
            let has = |name: &str| self.pieces.iter().any(|p| p.name == name);
            let of = sizes.iter().filter(|s| has(&sized(&part.of, Some(s))));
            let mut each: Vec<DerivedPart> = of
                .map(|size| DerivedPart {
                    name: sized(&part.name, Some(size)),
                    of: sized(&part.of, Some(size)),
                    ..part.clone()
                })
                .collect();
            if each.is_empty() || has(&part.of) {
                each.push(part.clone());
            }
            self.derive(&each)?;
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

/// One file's pieces as they are drawn, and what a draft says of their sewing.
fn one(folder: &Path, f: &PatternFile, at_hand: Option<AtHand>) -> Outcome<(Pattern, Sewing)> {
    let path = folder.join(&f.file);
    match at_hand {
        Some(AtHand::Drafted(drawn)) => return drawn.finished().map_err(|e| e.at(&f.file)),
        Some(AtHand::Read(pattern)) => return Ok((pattern, Sewing::default())),
        None => {}
    }
    if is_draft(&f.file) {
        if f.unit.is_some() || !f.layers.is_empty() || f.scale.is_some() || f.tiles.is_some() {
            return Err(Fault::input(
                "unit, layers, scale and tiles are for a drawing, and this is a draft",
                "take them out",
            )
            .at(&f.file));
        }
        drafted(f, &path)
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
        Ok((read::any(&path, &f.options()?)?, Sewing::default()))
    }
}

/// The same with its edges named, and with what its own file of seams says.
fn sewn(
    folder: &Path,
    f: &PatternFile,
    mut pattern: Pattern,
    sewing: Sewing,
    notes: &mut Vec<String>,
) -> Outcome<(Pattern, Sewing)> {
    let Some(seams) = &f.seams else {
        return Ok((pattern, sewing));
    };
    let path = folder.join(seams);
    let file = SeamsFile::parse(&read_text(&path, "reading the seams file")?)
        .map_err(|e| e.in_file(&path))?;
    let applied = file
        .apply(&mut pattern.pieces)
        .map_err(|e| e.in_file(&path))?;
    notes.extend(applied.notes.iter().map(|n| format!("{seams}: {n}")));
    net_lines::draw(&mut pattern.pieces, &mut pattern.notes);
    let mut all = sewing;
    all.seams.extend(applied.sewing.seams);
    all.rings.extend(applied.sewing.rings);
    Ok((pattern, all))
}

/// Pieces, seams and rings named by their size.
fn in_size(size: Option<&str>, mut pattern: Pattern, mut sewing: Sewing) -> (Pattern, Sewing) {
    let Some(size) = size.map(str::trim) else {
        return (pattern, sewing);
    };
    let named = |name: &mut String| *name = sized(name, Some(size));
    pattern.pieces.iter_mut().for_each(|p| named(&mut p.name));
    for seam in &mut sewing.seams {
        named(&mut seam.name);
        let both = seam.one.iter_mut().chain(&mut seam.other);
        both.for_each(|e| named(&mut e.piece));
    }
    for ring in &mut sewing.rings {
        named(&mut ring.name);
        ring.edges.iter_mut().for_each(|e| named(&mut e.piece));
    }
    (pattern, sewing)
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
        let draft = draft::parse(&read_text(path, "reading the draft")?)?;
        let asked = f.asked(&draft)?;
        let (mut pattern, sewing) = draft.draw(&asked)?.finished()?;
        pattern.notes.splice(0..0, taken_as_usual(&draft, &asked));
        Ok((pattern, sewing))
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

/// Which measures nobody gave, and what was taken for them.
fn taken_as_usual(draft: &Draft, asked: &Measures) -> Option<String> {
    let silent = draft
        .measures()
        .iter()
        .filter(|m| asked.get(&m.name).is_none());
    let each: Vec<String> = silent
        .map(|m| format!("\"{}\" {} mm", m.name, short(m.usual)))
        .collect();
    (!each.is_empty()).then(|| {
        format!(
            "it is drawn for the draft's usual measures, as none were given: {}.",
            each.join(", ")
        )
    })
}

impl PatternFile {
    /// A file of that name, and nothing else said of it.
    pub fn named(file: impl Into<String>) -> Self {
        Self {
            file: file.into(),
            seams: None,
            size: None,
            unit: None,
            layers: Vec::new(),
            scale: None,
            tiles: None,
            measures: BTreeMap::new(),
            length_percent: None,
            width_percent: None,
            true_size_mm: None,
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
            "in" | "inch" => Ok(Unit::Inch),
            _ => Err(
                Fault::input(format!("unit is \"{name}\""), "write mm, cm or in").at(&self.file),
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
    /// How far neighbours overlap once trimmed: one length, or one in a row and one in a
    /// column, `15mm x 12mm`.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub overlap: Option<String>,
    /// What is cut off each page first: one length all round, or left, top, right and bottom,
    /// `5mm x 5mm x 10mm x 10mm`.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub trim: Option<String>,
}

impl TilesOf {
    fn read(&self) -> Outcome<Tiles> {
        Ok(Tiles {
            columns: self.columns,
            order: if self.down {
                Order::Columns
            } else {
                Order::Rows
            },
            overlap: sides("overlap", self.overlap.as_deref())?,
            trim: sides("trim", self.trim.as_deref())?,
        })
    }
}

/// One length for all of `N` sides, or one for each, with an x between them; none: 0 mm.
fn sides<const N: usize>(what: &str, text: Option<&str>) -> Outcome<[f64; N]> {
    let Some(text) = text else {
        return Ok([0.0; N]);
    };
    let all: Outcome<Vec<f64>> = text
        .split(['x', '×'])
        .map(|one| parse_length(one, Unit::Mm))
        .collect();
    let all = all.map_err(|e| e.at(format!("tiles: {what}")))?;
    match all.as_slice() {
        [one] => Ok([*one; N]),
        several => several.try_into().map_err(|_| {
            Fault::input(
                format!("tiles: {what} is {} lengths", several.len()),
                format!("give one, or {N} with an x between them"),
            )
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn overlap_and_trim_are_one_length_or_one_for_each_side() {
        let tiles = |overlap: &str, trim: &str| {
            let of = TilesOf {
                columns: 2,
                down: true,
                overlap: Some(overlap.into()),
                trim: Some(trim.into()),
            };
            of.read()
        };
        let read = tiles("15mm", "5mm x 1/4in x 8,5 mm x 0").unwrap();
        assert_eq!(read.overlap, [15.0, 15.0]);
        assert_eq!(read.trim, [5.0, 6.35, 8.5, 0.0]);
        assert_eq!(tiles("15mmx12mm", "5").unwrap().overlap, [15.0, 12.0]);
        let fault = tiles("1x2x3", "5").unwrap_err().to_string();
        assert!(
            fault.contains("overlap is 3 lengths; give one, or 2"),
            "{fault}"
        );
        let fault = tiles("1", "5x").unwrap_err().to_string();
        assert!(fault.contains("tiles: trim"), "{fault}");
        let none = TilesOf {
            columns: 1,
            down: false,
            overlap: None,
            trim: None,
        };
        assert_eq!(none.read().unwrap().trim, [0.0; 4]);
    }
}
