//! The girths that are declared: what each may come out wrong by, cut where its edges lie.

use crate::calibration::budget::{Budget, RingEdge, Setup};
use crate::cli::output;
use crate::fault::Outcome;
use crate::frame::Lit;
use crate::job::Job;
use crate::lay::Laid;
use crate::pattern::{Ring, edges};
use crate::prove::walk::grows;

/// One ring of one article.
pub struct OneRing {
    name: String,
    article: String,
    cloth: String,
    /// As drawn, mm.
    length: f64,
    /// mm for each mm that every edge is cut further out.
    grows: Option<f64>,
    tolerance: f64,
    /// `None`: not all of it is laid in the light.
    budget: Option<Budget>,
}

/// The rings of every article in every cloth in which any of it is laid.
pub fn of(lit: &Lit, job: &Job, setup: &Setup) -> Vec<OneRing> {
    let mut all = Vec::new();
    for ring in &job.sewing.rings {
        for article in &job.articles {
            for cloth in &job.file.cloths {
                let laid: Vec<&Laid> = lit
                    .laid
                    .iter()
                    .filter(|l| l.article == article.name && l.cloth == cloth.name)
                    .collect();
                let stock = job.stock();
                let ordered = |piece: &str| stock.part(&article.name, piece, &cloth.name).is_some();
                if ring.edges.iter().all(|e| ordered(&e.piece)) {
                    let grows = grows(&job.pieces, ring);
                    let one = one(ring, &article.name, &cloth.name, &laid, setup);
                    all.push(OneRing { grows, ..one });
                }
            }
        }
    }
    all
}

/// Each edge on the piece of its name that was laid first; an edge that comes twice in a
/// ring, on the second of them.
fn one(ring: &Ring, article: &str, cloth: &str, laid: &[&Laid], setup: &Setup) -> OneRing {
    let mut lines = Vec::new();
    let mut length = 0.0;
    for (k, name) in ring.edges.iter().enumerate() {
        let before = ring.edges[..k].iter().filter(|e| *e == name).count();
        let mut of_piece = laid.iter().filter(|l| l.piece.name == name.piece);
        let Some(l) = of_piece.clone().nth(before).or_else(|| of_piece.next()) else {
            continue;
        };
        if let Some(edge) = edges(l.piece).into_iter().find(|e| e.name == name.edge) {
            length += edge.length;
            lines.push(RingEdge {
                line: edge.line.iter().map(|&p| l.pose.point(p)).collect(),
                thick: l.height,
            });
        }
    }
    let whole = lines.len() == ring.edges.len();
    OneRing {
        name: ring.name.clone(),
        article: article.to_owned(),
        cloth: cloth.to_owned(),
        length,
        grows: None,
        tolerance: ring.tolerance,
        budget: whole.then(|| setup.ring(&lines)).flatten(),
    }
}

impl OneRing {
    pub fn json(&self) -> serde_json::Value {
        serde_json::json!({
            "ring": self.name,
            "article": self.article,
            "cloth": self.cloth,
            "drawn_mm": self.length,
            "grows_mm_per_mm": self.grows,
            "error_mm": self.budget.as_ref().map(Budget::shape),
            "terms": self.budget.as_ref().map(|b| &b.terms),
            "tolerance_mm": self.tolerance,
        })
    }
}

/// The rings, a sentence each.
pub fn say(rings: &[OneRing]) -> Outcome<()> {
    for r in rings {
        let name = format!(
            "ring \"{}\" of article {} in {}",
            r.name, r.article, r.cloth
        );
        if let Some(grows) = r.grows {
            output::say(&format!(
                "{name}: its girth grows {grows:.1} mm for every 1 mm that all its edges are cut further out."
            ))?;
        }
        let Some(b) = &r.budget else {
            output::say(&format!("{name}: not all of it is laid in the light"))?;
            continue;
        };
        let may = if 2.0 * b.shape() > r.tolerance {
            format!(", so it may miss its tolerance of {:.1} mm", r.tolerance)
        } else {
            String::new()
        };
        // What there is of table, cloth and hand, the largest first.
        let mut terms: Vec<_> = b.terms.iter().filter(|t| t.shape >= 0.005).collect();
        terms.sort_by(|a, b| b.shape.total_cmp(&a.shape));
        let terms: Vec<String> = terms
            .iter()
            .map(|t| format!("{} {:.2}", t.what, t.shape))
            .collect();
        output::say(&format!(
            "{name}, {:.1} mm as drawn: typical miss {:.2} mm (about two in three are nearer){may}: {}.",
            r.length,
            b.shape(),
            terms.join(", "),
        ))?;
    }
    Ok(())
}
