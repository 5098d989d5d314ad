//! What a rehearsal found, for a person and for a script.

use super::loops::{Figures, Loop};
use crate::twin::stats::Spread;
use serde_json::{Value, json};
use std::fmt::Write;

/// The whole of it.
#[derive(Debug)]
pub struct Report {
    pub job: String,
    pub device: String,
    pub size_px: [u32; 2],
    pub pieces: usize,
    pub band_mm: f64,
    /// A projector pixel on the table, mm: smallest and largest side.
    pub pixel_mm: [f64; 2],
    pub loops: Vec<Loop>,
    pub notes: Vec<String>,
}

impl Report {
    /// The report as text.
    pub fn text(&self) -> String {
        let mut t = String::new();
        let [w, h] = self.size_px;
        // Writing to a String cannot fail.
        let _ = writeln!(
            t,
            "{}: {} in light of {w}x{h} px, a pixel {:.2} to {:.2} mm on the table, \
             band {:.2} mm; drawn on {}.\n",
            self.job,
            crate::fault::counted(self.pieces, "piece", "pieces"),
            self.pixel_mm[0],
            self.pixel_mm[1],
            self.band_mm,
            self.device
        );
        let _ = writeln!(
            t,
            "Where the light's inner edge lies against the cut line (positive: into the piece;\n\
             usual: about two in three are nearer; 95 %: all but one in twenty are)\n\
             {:<60} {:>8} {:>8} {:>8} {:>8} {:>9}",
            "", "mean mm", "usual mm", "95 % mm", "worst mm", "usual px"
        );
        for l in &self.loops {
            let (mm, px) = (&l.figures.edge_mm, &l.figures.edge_px);
            let _ = writeln!(
                t,
                "{:<60} {:>8.4} {:>8.4} {:>8.4} {:>8.4} {:>9.4}",
                l.name, mm.mean, mm.rms, mm.p95, mm.worst, px.rms
            );
        }
        for l in &self.loops {
            let f = &l.figures;
            let _ = writeln!(
                t,
                "\n{}:\n  {} places judged, {} passed over near corners and marks, {} without light within 12 px",
                l.name, f.edge_px.count, f.skipped, f.missing
            );
            let _ = writeln!(t, "  edge, px: {}", spread(&f.edge_px, 4));
            let _ = writeln!(t, "  edge, mm: {}", spread(&f.edge_mm, 4));
            if let (Some(a), Some(d)) = (&f.notch_along_mm, &f.notch_depth_mm) {
                let _ = writeln!(t, "  notch along the edge, mm: {}", spread(a, 3));
                let _ = writeln!(t, "  notch depth, mm: {}", spread(d, 3));
            }
            if let Some(c) = &f.coverage {
                let _ = writeln!(
                    t,
                    "  light in {} edge pixels against exact area: mean error {:.5}, worst {:.5} \
                     (rounding to 8 bits alone: .00135, .0045); {} other pixels wrong",
                    c.edge_pixels, c.mean, c.worst, c.wrong_solid
                );
            }
        }
        if !self.notes.is_empty() {
            let _ = writeln!(t, "\nNotes");
            for n in &self.notes {
                let _ = writeln!(t, "  {n}");
            }
        }
        let _ = writeln!(
            t,
            "\nFour marks fit exactly, whatever they are wrong by: they can't show their own error, a lens or the cloth's \
             thickness: the last lines say what that costs here. Lay a measuring tape on the light before \
             cutting what can't be replaced."
        );
        t
    }

    /// The report for a script.
    pub fn json(&self) -> Value {
        json!({
            "job": self.job,
            "device": self.device,
            "size_px": self.size_px,
            "pieces": self.pieces,
            "band_mm": self.band_mm,
            "pixel_mm": self.pixel_mm,
            "loops": self.loops.iter().map(|l| figures(l.name, &l.figures)).collect::<Vec<_>>(),
            "notes": self.notes,
        })
    }
}

fn spread(s: &Spread, digits: usize) -> String {
    format!(
        "mean {:.digits$}, usual {:.digits$}, 95 % {:.digits$}, worst {:.digits$} ({} places)",
        s.mean, s.rms, s.p95, s.worst, s.count
    )
}

fn numbers(s: &Spread) -> Value {
    json!({ "count": s.count, "mean": s.mean, "rms": s.rms, "p95": s.p95, "worst": s.worst })
}

fn figures(name: &str, f: &Figures) -> Value {
    json!({
        "name": name,
        "edge_px": numbers(&f.edge_px),
        "edge_mm": numbers(&f.edge_mm),
        "missing": f.missing,
        "skipped": f.skipped,
        "notch_along_mm": f.notch_along_mm.as_ref().map(numbers),
        "notch_depth_mm": f.notch_depth_mm.as_ref().map(numbers),
        "coverage": f.coverage.map(|c| json!({
            "edge_pixels": c.edge_pixels,
            "mean": c.mean,
            "worst": c.worst,
            "wrong_solid": c.wrong_solid,
        })),
    })
}
