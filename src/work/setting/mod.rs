//! Placeholder.
use super::act::Reply;
use crate::space::{Point, Projector};
pub struct Setting { pub picture: [u32; 2] }
pub enum SettingAct { GoOn, Drag(Point<Projector>) }
impl Setting {
    pub fn picture(&self) -> [u32; 2] { self.picture }
    pub fn answer(&mut self, _act: SettingAct) -> Reply { Reply::default() }
}
