//! The shade under one piece, as it moves.

use super::laid::inside;
use crate::cloth::Panel;
use crate::cloth::shade::{Ends, Fading, Half, Partners, Shading, Under, partners};
use crate::lay::{Placement, Stock};
use crate::space::Cloth;
use std::collections::BTreeMap;

/// What is told of the piece in hand.
#[derive(Debug, Clone)]
pub struct HeldShade {
    pub under: Under<Cloth>,
    /// Beside its partner: the other hand of the same part, where that lies and both are known.
    pub partner: Option<Partners>,
    /// The partner is cut with it, from the ply beneath; what its shade is there.
    pub beneath: Option<Under<Cloth>>,
}

/// The shade under a placement; `None` where that is not known.
pub fn held_shade(
    stock: &Stock,
    held: &Placement,
    partner: Option<&Placement>,
    panels: &[Panel],
    known: &BTreeMap<String, Shading<Cloth>>,
) -> Option<HeldShade> {
    let net = inside(stock.piece(&held.piece)?);
    let half = |p: &Placement| {
        let shading = known.get(&p.panel)?;
        let pose = p.pose();
        Some(Half { shading, pose })
    };
    let own = half(held)?;
    let under = own.shading.under(&net.moved(&own.pose), &own.pose).ok()?;
    let lower = stock.beneath(&held.panel, panels).and_then(|ply| {
        let shading = known.get(&ply.panel.name)?;
        let pose = held.pose().then(&ply.onto);
        Some(Half { shading, pose })
    });
    let beneath = lower.as_ref().and_then(|l| {
        let there = net.moved(&l.pose);
        l.shading.under(&there, &l.pose).ok()
    });
    let other = lower.or_else(|| partner.and_then(half));
    let partner = other.and_then(|other| partners(&own, &other, &net).ok());
    Some(HeldShade {
        under,
        partner,
        beneath,
    })
}

impl HeldShade {
    /// In few words, for the light: `lightness 62, lighter towards the top by 6 in 100 mm;
    /// partner match: 0.8`.
    pub fn short(&self) -> String {
        let mut words = format!("lightness {:.0}", self.under.mean.l);
        match (self.under.fading, &self.under.slope) {
            (Fading::Fades, Some(slope)) => {
                words += &format!(", {}", slope.says(&Ends::default()));
            }
            (Fading::Even, _) => words += ", no fade",
            _ => {}
        }
        if let Some(p) = &self.partner {
            let who = match &self.beneath {
                Some(lower) => format!("the ply beneath {:.0}", lower.mean.l),
                None => "its partner".to_owned(),
            };
            words += &format!("; {who}: {} {:.1}", p.verdict, p.mean);
        }
        words
    }

    /// All that is told, for the panel: a sentence of it, and one of its partner.
    pub fn sentences(&self) -> Vec<String> {
        let own = self.under.to_string();
        let partner = self.partner.as_ref();
        let beneath = self.beneath.as_ref();
        let beneath = beneath.map(|under| format!("in the ply beneath: {under}"));
        let beside = match self.beneath.is_some() {
            true => "both plies",
            false => "beside its partner",
        };
        let partner = partner.map(|p| format!("{beside}: {p}"));
        std::iter::once(own).chain(beneath).chain(partner).collect()
    }
}
