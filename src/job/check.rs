//! Whether a job's file fits itself and its pattern.

use super::{Job, JobFile};
use crate::cloth::{MOST_LAYERS, Panel};
use crate::fault::{Fault, Outcome, short};
use crate::lay::wish::MOST_WEIGHT;
use crate::lay::{MOST_TRIM, Placement};
use crate::measure::{Unit, parse_length};
use crate::order::Part;

impl JobFile {
    /// Whether there is no more of anything than a table ever sees: all that is in a job is
    /// compared with one another, here and wherever it lies.
    pub(super) fn check_counts(&self) -> Outcome<()> {
        let most = |what: &str, count: usize, most: usize| match count <= most {
            true => Ok(()),
            false => Err(Fault::input(
                format!("there are {count} of {what}, and at most {most} are read"),
                "make a second job for what is still to do",
            )),
        };
        most("[[pattern]]", self.patterns.len(), 300)?;
        most("[[derived]]", self.derived.len(), 300)?;
        most("[[cloth]]", self.cloths.len(), 300)?;
        most("[[make]]", self.makes.len(), 300)?;
        most("[[order]]", self.orders.len(), 2000)?;
        most("[[article]]", self.articles.len(), 2000)?;
        most("[[panel]]", self.panels.len(), 500)?;
        most("[[placed]]", self.placed.len(), 10_000)?;
        most("[[wish]]", self.wishes.len(), 2000)?;
        most("[[trim]]", self.trims.len(), 300)?;
        for p in &self.panels {
            let corners = p.keep_out.iter().map(|k| k.outline_mm.len());
            let corners = p.outline_mm.len() + corners.sum::<usize>();
            let place = |f: Fault| f.at(format!("panel \"{}\"", p.name));
            most("corners (keep_out with them)", corners, 20_000).map_err(place)?;
            most("keep_out", p.keep_out.len(), 1000).map_err(place)?;
            most("mark", p.marks.len(), 300).map_err(place)?;
        }
        for a in &self.articles {
            let place = |f: Fault| f.at(format!("article \"{}\"", a.name));
            most("part", a.parts.len(), 2000).map_err(place)?;
            most("bought", a.bought.len(), 500).map_err(place)?;
        }
        if let Some(cutting) = &self.cutting {
            let place = |f: Fault| f.at("cutting");
            most("part", cutting.parts.len(), 100_000).map_err(place)?;
            most("notch", cutting.notches.len(), 20_000).map_err(place)?;
        }
        Ok(())
    }
}

impl Job {
    pub(super) fn check(&self) -> Outcome<()> {
        let f = &self.file;
        unique("cloth", f.cloths.iter().map(|c| c.name.as_str()))?;
        unique("article", self.articles.iter().map(|a| a.name.as_str()))?;
        unique("panel", f.panels.iter().map(|p| p.name.as_str()))?;
        for c in &f.cloths {
            in_range("thickness_mm", c.thickness_mm, 0.0, 100.0)
                .map_err(|e| e.at(format!("cloth \"{}\"", c.name)))?;
        }
        // All that counts plies counts on it.
        for p in &f.panels {
            let layers = f64::from(p.stack.layers);
            in_range("layers", layers, 1.0, f64::from(MOST_LAYERS))
                .map_err(|e| e.at(format!("panel \"{}\"", p.name)))?;
        }
        for a in &self.articles {
            let parts: Vec<String> = a
                .parts
                .iter()
                .map(|p| format!("{} in {}", p.piece, p.cloth))
                .collect();
            unique("part", parts.iter().map(String::as_str))
                .map_err(|e| e.at(format!("article \"{}\"", a.name)))?;
            for b in &a.bought {
                let place = |e: Fault| e.at(format!("article \"{}\": {}, bought", a.name, b.name));
                in_range("count", f64::from(b.count), 1.0, 10_000.0).map_err(place)?;
                if let Some(length) = &b.length {
                    let mm = parse_length(length, Unit::Mm).map_err(place)?;
                    in_range("length", mm, 0.1, 1e6).map_err(place)?;
                }
            }
            for p in &a.parts {
                let place = |e: Fault| e.at(format!("article \"{}\"", a.name));
                self.known_piece(&p.piece).map_err(place)?;
                known("cloth", &p.cloth, f.cloths.iter().map(|c| c.name.as_str()))
                    .map_err(place)?;
                if let Some(around) = &p.inside {
                    self.known_piece(around).map_err(place)?;
                }
                in_range("count", f64::from(p.count), 1.0, 10_000.0).map_err(place)?;
                self.check_pairs(p).map_err(place)?;
            }
        }
        for w in &f.wishes {
            let place = |e: Fault| e.at(format!("the wish for {}", w.piece));
            self.known_piece(&w.piece).map_err(place)?;
            if !(w.weight > 0.0 && w.weight <= MOST_WEIGHT) {
                return Err(place(Fault::input(
                    format!("its weight is {}", w.weight),
                    format!("give one above 0, to {MOST_WEIGHT}; 1 is usual"),
                )));
            }
            if !w.is_sound() {
                return Err(place(Fault::input(
                    "it names a place or a direction that is no usable number",
                    "give places in mm within 100 m, and directions in degrees",
                )));
            }
        }
        for p in &f.panels {
            let place = |e: Fault| e.at(format!("panel \"{}\"", p.name));
            known("cloth", &p.cloth, f.cloths.iter().map(|c| c.name.as_str())).map_err(place)?;
            p.outline()?;
            for k in &p.keep_out {
                k.outline().map_err(place)?;
            }
            position(p.on_table.x_mm, p.on_table.y_mm, p.on_table.turn_deg).map_err(place)?;
            in_range("grain_deg", p.grain_deg, -360.0, 360.0).map_err(place)?;
            unique("mark", p.marks.iter().map(|m| m.name.as_str())).map_err(place)?;
            for m in &p.marks {
                let place = |e: Fault| place(e.at(format!("mark \"{}\"", m.name)));
                in_range("x_mm", m.x_mm, -1e5, 1e5).map_err(place)?;
                in_range("y_mm", m.y_mm, -1e5, 1e5).map_err(place)?;
            }
            self.check_plies(p).map_err(place)?;
        }
        let ids: Vec<String> = f
            .placed
            .iter()
            .filter_map(|p| p.id)
            .map(|id| id.to_string())
            .collect();
        unique("placed id", ids.iter().map(String::as_str))?;
        for (k, p) in f.placed.iter().enumerate() {
            self.check_placement(p)
                .map_err(|e| e.at(format!("placed {} (\"{}\")", k + 1, p.piece)))?;
        }
        for (k, t) in f.trims.iter().enumerate() {
            let place = |e: Fault| e.at(format!("trim {} ({})", k + 1, t.of()));
            known("cloth", &t.cloth, f.cloths.iter().map(|c| c.name.as_str())).map_err(place)?;
            in_range("plies", f64::from(t.plies), 1.0, f64::from(MOST_LAYERS)).map_err(place)?;
            in_range("edge_mm", t.edge_mm, -MOST_TRIM, MOST_TRIM).map_err(place)?;
            in_range("error_mm", t.error_mm, 0.0, MOST_TRIM).map_err(place)?;
            let rival = f.trims[..k].iter().find(|u| u.on && t.on && u.rivals(t));
            if let Some(u) = rival {
                return Err(place(Fault::input(
                    format!("it is on, and so is {}", u.of()),
                    "set \"on = false\" for one of them",
                )));
            }
        }
        self.check_cutting()
    }

    /// Whether what was cut belongs to this job.
    fn check_cutting(&self) -> Outcome<()> {
        let f = &self.file;
        let Some(cutting) = &f.cutting else {
            return Ok(());
        };
        for (k, p) in cutting.parts.iter().enumerate() {
            let place = |e: Fault| e.at(format!("cutting part {}", k + 1));
            if p.id as usize != k + 1 {
                return Err(place(Fault::input(
                    format!("its number is {} and it is part {}", p.id, k + 1),
                    "parts are numbered in the order they are cut: do not change them by hand",
                )));
            }
            self.known_piece(&p.piece).map_err(place)?;
            known("panel", &p.panel, f.panels.iter().map(|q| q.name.as_str())).map_err(place)?;
            if self.stock().part(&p.article, &p.piece, &p.cloth).is_none() {
                return Err(place(Fault::input(
                    format!(
                        "article \"{}\" has no {} in {}",
                        p.article, p.piece, p.cloth
                    ),
                    "put the part back into the article's list",
                )));
            }
        }
        Ok(())
    }

    fn known_piece(&self, name: &str) -> Outcome<()> {
        known("piece", name, self.pieces.iter().map(|p| p.name.as_str()))
    }

    /// Whether a part in pairs can be cut of cloth that all lies in plies.
    fn check_pairs(&self, part: &Part) -> Outcome<()> {
        let stock = self.stock();
        let panels = &self.file.panels;
        let alike = stock.cloth(&part.cloth).is_some_and(|c| c.no_face);
        let mut tops = panels
            .iter()
            .filter(|p| p.cloth == part.cloth && p.under.is_none())
            .peekable();
        let plied = tops.peek().is_some() && tops.all(|p| stock.plies(&p.name, panels) > 1);
        if part.pair && !alike && plied && part.count % 2 == 1 {
            return Err(Fault::input(
                format!(
                    "{} of {} in {} are ordered in pairs, and all of that cloth lies in several plies",
                    part.count, part.piece, part.cloth
                ),
                "order an even number, or lay a panel single",
            ));
        }
        Ok(())
    }

    /// Whether the plies on top of a panel come to an end.
    fn check_plies(&self, panel: &Panel) -> Outcome<()> {
        let f = &self.file;
        let mut above = panel.under.as_deref();
        for _ in 0..=f.panels.len() {
            let Some(name) = above else { return Ok(()) };
            known("panel", name, f.panels.iter().map(|p| p.name.as_str()))?;
            let on_top = f.panels.iter().find(|p| p.name == name);
            above = on_top.and_then(|p| p.under.as_deref());
        }
        Err(Fault::input(
            "it lies under itself",
            "take one \"under\" out, so that one ply is on top",
        ))
    }

    fn check_placement(&self, p: &Placement) -> Outcome<()> {
        let f = &self.file;
        self.known_piece(&p.piece)?;
        known("panel", &p.panel, f.panels.iter().map(|p| p.name.as_str()))?;
        known(
            "article",
            &p.article,
            self.articles.iter().map(|a| a.name.as_str()),
        )?;
        position(p.x_mm, p.y_mm, p.turn_deg)?;
        let panel = f.panels.iter().find(|q| q.name == p.panel);
        let cloth = panel.map_or("", |q| q.cloth.as_str());
        let ordered = self.stock().part(&p.article, &p.piece, cloth);
        if ordered.is_none() {
            return Err(Fault::input(
                format!("article \"{}\" has no {} in {cloth}", p.article, p.piece),
                "add the part to the article, or lay the piece on the right cloth",
            ));
        }
        Ok(())
    }
}

fn unique<'a>(what: &str, names: impl Iterator<Item = &'a str>) -> Outcome<()> {
    let mut seen = std::collections::HashSet::new();
    for name in names {
        if !seen.insert(name) {
            return Err(Fault::input(
                format!("there are two of {what} \"{name}\""),
                "give each a name of its own",
            ));
        }
    }
    Ok(())
}

fn known<'a>(what: &str, name: &str, names: impl Iterator<Item = &'a str> + Clone) -> Outcome<()> {
    if names.clone().any(|known| known == name) {
        return Ok(());
    }
    let all: Vec<&str> = names.collect();
    let there = if all.is_empty() {
        format!("the job has no {what}s")
    } else {
        let more = if all.len() > 12 { ", …" } else { "" };
        format!("it has {}{more}", all[..all.len().min(12)].join(", "))
    };
    Err(Fault::input(
        format!("the {what} \"{name}\" isn't there"),
        format!("check the spelling: {there}"),
    ))
}

fn in_range(key: &str, value: f64, least: f64, most: f64) -> Outcome<()> {
    if value >= least && value <= most {
        return Ok(());
    }
    Err(Fault::input(
        format!("{key} is {}", short(value)),
        format!("give a number from {} to {}", short(least), short(most)),
    ))
}

fn position(x: f64, y: f64, turn: f64) -> Outcome<()> {
    in_range("x_mm", x, -1e5, 1e5)?;
    in_range("y_mm", y, -1e5, 1e5)?;
    in_range("turn_deg", turn, -36_000.0, 36_000.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    /// The demo job with its text changed.
    fn with(old: &str, new: &str) -> Outcome<Job> {
        let path = Path::new("demo-data/job.toml");
        let text = std::fs::read_to_string(path).unwrap();
        assert!(text.contains(old));
        Job::from_text(path, &text.replacen(old, new, 1))
    }

    fn said(old: &str, new: &str) -> String {
        with(old, new).unwrap_err().to_string()
    }

    const FLANNEL: &str = "cloth = \"flannel\"\n#";

    fn flannel(more: &str) -> String {
        format!("cloth = \"flannel\"\n{more}\n#")
    }

    #[test]
    fn cloth_marks_plies_and_numbers_are_checked() {
        let mark = |x: &str| {
            flannel(&format!(
                "mark = [{{ name = \"a\", x_mm = {x}, y_mm = 0 }}]"
            ))
        };
        assert!(with(FLANNEL, &mark("-100000")).is_ok());
        for x in ["nan", "inf", "100001"] {
            let text = said(FLANNEL, &mark(x));
            assert!(
                text.contains("\"remnant\"") && text.contains("mark \"a\""),
                "{text}"
            );
        }
        let twice =
            "mark = [{ name = \"a\", x_mm = 1, y_mm = 0 }, { name = \"a\", x_mm = 2, y_mm = 0 }]";
        assert!(said(FLANNEL, &flannel(twice)).contains("two of mark \"a\""));
        assert!(said(FLANNEL, &flannel("under = \"table\"")).contains("isn't there"));
        assert!(said(FLANNEL, &flannel("under = \"remnant\"")).contains("under itself"));
        let under = with(FLANNEL, &flannel("under = \"felt\"")).unwrap();
        assert_eq!(under.file.panels[1].under.as_deref(), Some("felt"));
        let id = "face = \"up\"\nid = 3";
        let text = std::fs::read_to_string("demo-data/job.toml").unwrap();
        let path = Path::new("demo-data/job.toml");
        let twice = text.replace("face = \"up\"", id);
        let text = Job::from_text(path, &twice).unwrap_err().to_string();
        assert!(text.contains("two of placed id \"3\""), "{text}");
        assert!(with("face = \"up\"", id).is_ok());
        assert!(said("face = \"up\"", "id = -3").contains("line "));
    }

    #[test]
    fn a_job_holds_no_more_than_a_table_sees() {
        let text = std::fs::read_to_string("demo-data/job.toml").unwrap();
        let demo = JobFile::parse(&text).unwrap();
        assert_eq!(demo.check_counts(), Ok(()));
        let said = |change: &dyn Fn(&mut JobFile)| {
            let mut file = demo.clone();
            change(&mut file);
            file.check_counts().unwrap_err().to_string()
        };
        let many = said(&|f| f.placed = vec![f.placed[0].clone(); 10_001]);
        assert!(many.contains("10001 of [[placed]]"), "{many}");
        let many = said(&|f| f.panels = vec![f.panels[0].clone(); 501]);
        assert!(many.contains("501 of [[panel]]"), "{many}");
        let many = said(&|f| f.panels[0].outline_mm = vec![[0.0; 2]; 20_000]);
        assert!(many.contains("of corners"), "{many}");
        let many = said(&|f| f.articles[0].parts = vec![f.articles[0].parts[0].clone(); 2001]);
        assert!(many.contains("2001 of part"), "{many}");
    }

    #[test]
    fn a_panel_put_away_takes_its_pieces_off_the_table() {
        let all = with(FLANNEL, FLANNEL).unwrap();
        let away = with(FLANNEL, &flannel("spread = false")).unwrap();
        let on = |job: &Job| job.laid().iter().filter(|l| l.panel == "remnant").count();
        assert_eq!((on(&all), on(&away)), (4, 0));
        assert_eq!(away.laid().len(), all.laid().len() - 4);
        let spread: Vec<&str> = away.panels_spread().map(|p| p.name.as_str()).collect();
        assert_eq!(spread, ["sling", "felt"]);
        // They are laid all the same.
        assert_eq!(away.counts(), all.counts());
    }
}
