//! What is known of the cloth's shade, while pieces move over it.

use crate::cloth::Panel;
use crate::cloth::shade::{ShadeMap, Shading};
use crate::job::read_shade;
use crate::look::{HeldShade, Shades, held_shade, lab_of};
use crate::space::Cloth;
use crate::work::Bench;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// A panel, its map's file, and the repeat of its stripes, mm.
type Read = (String, String, Option<f64>);

/// The maps of the panels' shade.
#[derive(Debug, Default)]
pub struct Eyes {
    /// What the maps were read for.
    of: Vec<Read>,
    known: BTreeMap<String, Shading<Cloth>>,
    shades: Arc<Shades>,
}

impl Eyes {
    /// Reads the maps that the panels name, if they name others than before. What can't be
    /// read is told, and not known.
    pub fn keep_up(&mut self, folder: &Path, panels: &[Panel]) -> Vec<String> {
        let named = panels.iter().filter_map(|p| {
            let looks = p.looks.as_ref()?;
            let repeat = looks.stripes.map(|s| s.period_mm);
            Some((p.name.clone(), looks.shade.clone()?, repeat))
        });
        let named: Vec<Read> = named.collect();
        if named == self.of {
            return Vec::new();
        }
        let (mut notes, mut shades) = (Vec::new(), Shades::new());
        self.known.clear();
        for (panel, file, repeat) in &named {
            match read_shade(&folder.join(file)) {
                Ok(map) => {
                    shades.insert(panel.clone(), lab_of(&map));
                    self.known.insert(panel.clone(), Shading::new(map, *repeat));
                }
                Err(fault) => notes.push(format!("the shade of {panel} is not known: {fault}")),
            }
        }
        self.shades = Arc::new(shades);
        self.of = named;
        notes
    }

    /// The shade of all panels, for a search.
    pub fn shades(&self) -> Arc<Shades> {
        Arc::clone(&self.shades)
    }

    /// The maps, made ready, by the panels' names.
    pub fn known(&self) -> &BTreeMap<String, Shading<Cloth>> {
        &self.known
    }

    /// The maps as they are known now, by the panels' names.
    pub fn maps(&self) -> BTreeMap<String, ShadeMap<Cloth>> {
        let all = self.known.iter();
        all.map(|(name, s)| (name.clone(), s.map().clone()))
            .collect()
    }

    /// The shade under the piece in hand, where it lies or is offered a place.
    pub fn under_hand(&self, bench: &Bench) -> Option<HeldShade> {
        if self.known.is_empty() {
            return None;
        }
        let held = bench.shown(bench.held()?)?;
        let partner = bench.partner_shown(held);
        let panels = &bench.state().panels;
        held_shade(&bench.goods.stock(), held, partner, panels, &self.known)
    }
}
