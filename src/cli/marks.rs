//! The marks that a photo of the table is placed by, as they are written on the command line.

use super::output;
use crate::fault::{Fault, Outcome};
use crate::job::Job;
use crate::look::{Asked, Click};
use crate::measure::numbers;
use crate::photo::tags::{Board, SIZE};
use crate::space::{Point, Rigid, Table, Vector};
use clap::Args;

/// Standard error of a tag's corner by tape, mm (common practice).
const BY_TAPE: f64 = 0.5;

/// Marks that were clicked on, tags that lie on the table, and the camera's height.
#[derive(Debug, Args)]
pub struct Marks {
    /// A mark: X,Y=PX,PY or N=PX,PY
    #[arg(long = "mark", value_name = "PLACE=PX,PY")]
    marks: Vec<String>,
    /// Where the sheet of tags lies: its lower left tag's corner, mm, and its turn in degrees
    #[arg(long, value_name = "X,Y[,TURN]")]
    tag_sheet: Option<String>,
    /// A tag's lower corners, left then right, or the left one alone: ID=X,Y[,X2,Y2]
    #[arg(long = "tag", value_name = "ID=X,Y")]
    tags: Vec<String>,
    /// The camera's height above the table by tape, mm
    #[arg(long, value_name = "MM", value_parser = above)]
    camera_height: Option<f64>,
}

impl Marks {
    /// What these words say of where the photo was taken from; no sheet and no bare table.
    pub fn asked(&self, job: &Job) -> Outcome<Asked> {
        let profile = job.profile()?;
        let mut clicks = Vec::new();
        for (k, text) in self.marks.iter().enumerate() {
            let (at, px) = two("a mark", text)?;
            let px = numbers("a mark's place in the photo", px, &[2])?;
            let table = match at.trim().parse::<usize>() {
                Ok(n) => {
                    let mark = profile
                        .as_ref()
                        .and_then(|p| p.marks.get(n.checked_sub(1)?));
                    let mark = mark.ok_or_else(|| {
                        Fault::input(
                            format!("the job's profile has no mark {n}"),
                            "set the table first, or write the mark's place in mm: X,Y=PX,PY",
                        )
                    })?;
                    Point::from(mark.table_mm)
                }
                Err(_) => {
                    let v = numbers("a mark's place on the table", at, &[2])?;
                    Point::new(v[0], v[1])
                }
            };
            clicks.push(Click {
                name: (k + 1).to_string(),
                table,
                px: Point::new(px[0], px[1]),
            });
        }
        let mut board = Board::default();
        if let Some(text) = &self.tag_sheet {
            let v = numbers("the place of the sheet of tags", text, &[2, 3])?;
            let turn = v.get(2).copied().unwrap_or(0.0).to_radians();
            let by: Rigid<Table, Table> = Rigid::new(false, turn, Vector::new(v[0], v[1]));
            board = Board::sheet().moved(&by);
        }
        for text in &self.tags {
            let (id, at) = two("a tag", text)?;
            let id = id.trim().parse().map_err(|_| {
                Fault::input(
                    format!("\"{id}\" is no tag's number"),
                    "write the number that is printed beside it",
                )
            })?;
            let v = numbers("a tag's place", at, &[2, 4])?;
            let left = Point::new(v[0], v[1]);
            board = match v.as_slice() {
                [_, _, x, y] => board.with_side(id, SIZE, [left, Point::new(*x, *y)], BY_TAPE)?,
                _ => board.with_corner(id, left, BY_TAPE)?,
            };
        }
        Ok(Asked {
            clicks,
            board,
            camera_height: self.camera_height,
            ..Asked::default()
        })
    }
}

/// A height above the table, mm.
fn above(text: &str) -> Result<f64, String> {
    let mm = output::number(text)?;
    (mm > 0.0 && mm < 1e5)
        .then_some(mm)
        .ok_or_else(|| "write a height in mm, above 0 and below 100 m".to_owned())
}

/// What stands on both sides of a =.
pub fn two<'t>(what: &str, text: &'t str) -> Outcome<(&'t str, &'t str)> {
    text.split_once('=').ok_or_else(|| {
        Fault::input(
            format!("{what} is \"{text}\", without a ="),
            "see `ghostchalk photo --help` for how it is written",
        )
    })
}
