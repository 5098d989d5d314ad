//! Placeholder.
#[derive(Debug, Default)]
pub struct PanelMemory {}
impl PanelMemory {
    pub fn show_cautions(&mut self) {}
}
