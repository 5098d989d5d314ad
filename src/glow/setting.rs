//! Placeholder.
use crate::fault::Outcome;
use crate::light::setting::Raster;
use crate::render::Drawn;
use crate::work::setting::Setting;
pub struct PageLit { pub raster: Option<Raster>, pub drawn: Vec<Drawn> }
pub fn setting_page(_: &Setting) -> Outcome<PageLit> { Ok(PageLit { raster: None, drawn: Vec::new() }) }
