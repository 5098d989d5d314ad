//! How a pattern file is to be read: the words that several commands share.

use super::{output, unit};
use crate::fault::{Fault, Outcome};
use crate::job::{PatternFile, TilesOf};
use crate::measure::Unit;
use clap::Args;
use std::collections::BTreeMap;

/// What a person says of a pattern file.
#[derive(Debug, Clone, Default, Args)]
pub struct Drawn {
    /// For a DXF without units: what one of its units is: mm, cm or in
    #[arg(long = "drawn-in", value_name = "UNIT", value_parser = unit::unit)]
    drawn_in: Option<Unit>,
    /// For a PDF: a layer to read, on or off; again for another [default: those that are on]
    #[arg(long = "layer", value_name = "NAME")]
    layers: Vec<String>,
    /// For an SVG, PDF or DXF at the wrong scale: what it is multiplied by
    #[arg(long, value_name = "NUMBER", value_parser = output::number)]
    scale: Option<f64>,
    /// For a PDF of many pages: pages in a row [default: found from what is on them]
    #[arg(long, value_name = "COUNT", value_parser = output::whole::<usize>)]
    columns: Option<usize>,
    /// The pages follow one another down columns, not along rows
    #[arg(long, requires = "columns")]
    down: bool,
    /// How far pages overlap once trimmed; 15mmx12mm: 15 in a row, 12 in a column
    #[arg(long, value_name = "LENGTH", requires = "columns")]
    overlap: Option<String>,
    /// What is cut off each page first, all round; 5mmx5mmx8mmx9mm: left, top, right, bottom
    #[arg(long, value_name = "LENGTH", requires = "columns")]
    trim: Option<String>,
    /// For a draft: a measure, such as "foot length=255mm"; again for another
    #[arg(long = "measure", value_name = "NAME=LENGTH", value_parser = measure)]
    measures: Vec<(String, String)>,
}

fn measure(text: &str) -> Result<(String, String), String> {
    let (name, length) = text
        .split_once('=')
        .ok_or("write it as NAME=LENGTH, such as \"foot length=255mm\"")?;
    Ok((name.trim().to_owned(), length.trim().to_owned()))
}

impl Drawn {
    /// Whether nothing is said.
    pub fn is_silent(&self) -> bool {
        self.drawn_in.is_none()
            && self.layers.is_empty()
            && self.scale.is_none()
            && self.columns.is_none()
            && self.measures.is_empty()
    }

    /// The file with what is said of it, as a job has it.
    ///
    /// # Errors
    /// If one measure is given twice.
    pub fn of(&self, file: String) -> Outcome<PatternFile> {
        let mut measures = BTreeMap::new();
        for (name, length) in &self.measures {
            if let Some(before) = measures.insert(name.clone(), length.clone()) {
                return Err(Fault::input(
                    format!("the measure \"{name}\" is given twice, {before} and {length}"),
                    "give it once",
                ));
            }
        }
        let unit = self.drawn_in.map(|u| unit::word(u).to_owned());
        let tiles = self.columns.map(|columns| TilesOf {
            columns,
            down: self.down,
            overlap: self.overlap.clone(),
            trim: self.trim.clone(),
        });
        Ok(PatternFile {
            unit,
            layers: self.layers.clone(),
            scale: self.scale,
            tiles,
            measures,
            ..PatternFile::named(file)
        })
    }
}
