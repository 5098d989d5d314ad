//! The cloth: what kinds there are, and the panels of it that lie on the table.

pub mod find;
mod rest;
pub mod seen;
pub mod shade;
mod stack;
mod stripes;

pub use rest::{LEAST as LEAST_OFFCUT, rest};
pub use stack::{MOST_LAYERS, Stack};
pub use stripes::{Stripes, part_of_repeat};

use crate::fault::{Fault, Outcome, short};
use crate::shape::{Region, signed_area};
use crate::space::{Cloth as ClothSpace, Point, Rigid, Table, Vector};
use serde::{Deserialize, Serialize};

/// A kind of cloth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cloth {
    pub name: String,
    /// Thickness of one ply, mm, ≥ 0: its top is where the light must land.
    #[serde(default)]
    pub thickness_mm: f64,
    /// Its two sides are alike, as felt's are: a part of it is left or right as it is turned.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub no_face: bool,
}

/// One opened-out part of an old article, as it is written in a job. All
/// coordinates are cloth space, mm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    pub name: String,
    pub cloth: String,
    pub outline_mm: Vec<[f64; 2]>,
    /// Warp direction, degrees counter-clockwise from +x.
    #[serde(default = "up")]
    pub grain_deg: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo: Option<PhotoOf>,
    /// What a photo told of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub looks: Option<Looks>,
    pub on_table: OnTable,
    /// Whether it is spread on the table now.
    #[serde(default = "yes", skip_serializing_if = "is_true")]
    pub spread: bool,
    /// The panel that lies on top of it, if it is slipped under one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under: Option<String>,
    /// In how many layers it lies, and which side is up.
    #[serde(default, skip_serializing_if = "Stack::is_plain")]
    pub stack: Stack,
    /// The names of the marks by which it was last carried; none if it lies
    /// where its marks were given.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub carried_by: Vec<String>,
    #[serde(default, rename = "mark", skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<ClothMark>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub keep_out: Vec<KeepOut>,
}

/// A place on the cloth that is found again by eye: a chalk cross, a stitch
/// hole, a patch corner. Cloth space, mm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClothMark {
    pub name: String,
    pub x_mm: f64,
    pub y_mm: f64,
}

/// How the cloth looks, as far as it was measured.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Looks {
    /// The map of its shade: the file that tells of it, by its path from the job's folder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shade: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stripes: Option<Stripes>,
}

fn yes() -> bool {
    true
}

fn is_true(b: &bool) -> bool {
    *b
}

fn up() -> f64 {
    90.0
}

/// A picture of the panel and the rectangle of cloth it covers:
/// left, bottom, right, top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PhotoOf {
    pub file: String,
    pub box_mm: [f64; 4],
}

/// Where a panel lies: its cloth space is turned about its origin, then the
/// origin is put at (x, y) on the table.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnTable {
    pub x_mm: f64,
    pub y_mm: f64,
    #[serde(default)]
    pub turn_deg: f64,
}

impl OnTable {
    /// Cloth to table.
    pub fn pose(&self) -> Rigid<ClothSpace, Table> {
        Rigid::new(
            false,
            self.turn_deg.to_radians(),
            Vector::new(self.x_mm, self.y_mm),
        )
    }
}

/// A place not to cut from: a hole, a stain, a ridge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeepOut {
    pub name: String,
    pub outline_mm: Vec<[f64; 2]>,
}

impl Panel {
    /// A panel of single cloth, its face and its warp up, of which no more is known: spread on the
    /// table with its origin in the table's. The outline is in cloth space, mm.
    pub fn new(name: &str, cloth: &str, outline_mm: Vec<[f64; 2]>) -> Self {
        Self {
            name: name.to_owned(),
            cloth: cloth.to_owned(),
            outline_mm,
            grain_deg: up(),
            photo: None,
            looks: None,
            on_table: OnTable::default(),
            spread: true,
            under: None,
            stack: Stack::default(),
            carried_by: Vec::new(),
            marks: Vec::new(),
            keep_out: Vec::new(),
        }
    }

    /// The panel's outline as a region.
    ///
    /// # Errors
    /// If it has fewer than three corners, no area, or a corner that is no number.
    pub fn outline(&self) -> Outcome<Region<ClothSpace>> {
        outline(&self.outline_mm).map_err(|f| f.at(format!("panel \"{}\"", self.name)))
    }
}

impl KeepOut {
    /// The place as a region; errors as [`Panel::outline`].
    pub fn outline(&self) -> Outcome<Region<ClothSpace>> {
        outline(&self.outline_mm)
            .map_err(|f| f.at(format!("bad place (keep_out) \"{}\"", self.name)))
    }
}

fn outline(corners: &[[f64; 2]]) -> Outcome<Region<ClothSpace>> {
    let mut ring: Vec<Point<ClothSpace>> = corners.iter().map(|&[x, y]| Point::new(x, y)).collect();
    let remedy = "give at least three corners, in order round the outline";
    if let Some(p) = ring.iter().find(|p| !(p.x.abs() < 1e5 && p.y.abs() < 1e5)) {
        let at = format!("({}, {})", short(p.x), short(p.y));
        return Err(Fault::input(
            format!("the outline's corner {at} is not within 100 m"),
            "give its corners in mm",
        ));
    }
    let area = signed_area(&ring);
    if ring.len() < 3 || area == 0.0 {
        return Err(Fault::input("the outline encloses nothing", remedy));
    }
    if area < 0.0 {
        ring.reverse();
    }
    Ok(Region::ring(ring))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_new_panel_is_what_a_file_that_says_no_more_gives() {
        let said = "name = \"sling\"\ncloth = \"canvas\"\noutline_mm = [[0, 0], [9, 0], [0, 9]]\n\
                    on_table = { x_mm = 0, y_mm = 0 }\n";
        let corners = vec![[0.0, 0.0], [9.0, 0.0], [0.0, 9.0]];
        assert_eq!(
            toml::from_str::<Panel>(said).unwrap(),
            Panel::new("sling", "canvas", corners)
        );
    }

    #[test]
    fn an_outline_may_run_either_way_round() {
        let there = outline(&[[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]).unwrap();
        let back = outline(&[[0.0, 10.0], [10.0, 0.0], [0.0, 0.0]]).unwrap();
        assert_eq!(there.area(), back.area());
        assert!(outline(&[[0.0, 0.0], [1.0, 0.0]]).is_err());
        assert!(outline(&[[0.0, f64::NAN], [1.0, 0.0], [1.0, 1.0]]).is_err());
    }
}
