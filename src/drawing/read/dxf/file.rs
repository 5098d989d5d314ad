//! What is where in the file: header, layers, line types, blocks, entities.

use std::collections::{HashMap, HashSet};

use super::pairs::Pair;
use crate::fault::Outcome;

/// One entity: its kind and its groups.
#[derive(Debug, Clone, Copy)]
pub struct Entity<'f, 't> {
    pub kind: &'t str,
    /// Line of its kind, from 1.
    pub line: usize,
    pub groups: &'f [Pair<'t>],
    /// Of a polyline, its vertices: whole entities up to the end of the sequence.
    pub parts: &'f [Pair<'t>],
}

impl<'f, 't> Entity<'f, 't> {
    /// The first group of this code.
    pub fn pair(&self, code: i32) -> Option<&'f Pair<'t>> {
        self.groups.iter().find(|p| p.code == code)
    }

    /// The first number of this code; `or` if there is none.
    ///
    /// # Errors
    ///
    /// When it is no number.
    pub fn number(&self, code: i32, or: f64) -> Outcome<f64> {
        self.pair(code).map_or(Ok(or), Pair::number)
    }

    pub fn flags(&self) -> Outcome<i64> {
        self.pair(70).map_or(Ok(0), Pair::whole)
    }

    pub fn words(&self, code: i32) -> Option<&'t str> {
        self.pair(code).map(|p| p.value.trim())
    }

    pub fn layer(&self) -> &'t str {
        self.words(8).unwrap_or("0")
    }

    /// The vertices of a polyline.
    pub fn vertices(&self) -> impl Iterator<Item = Entity<'f, 't>> + use<'f, 't> {
        entities(self.parts)
            .into_iter()
            .filter(|e| e.kind == "VERTEX")
    }
}

/// A block: entities that are inserted as one.
#[derive(Debug, Default)]
pub struct Block<'f, 't> {
    pub name: &'t str,
    pub line: usize,
    pub base: [f64; 2],
    pub entities: Vec<Entity<'f, 't>>,
}

/// A file, sorted.
#[derive(Debug, Default)]
pub struct File<'f, 't> {
    /// The header's variables: name, then its first value.
    pub header: HashMap<&'t str, Pair<'t>>,
    pub blocks: Vec<Block<'f, 't>>,
    /// Index of a block by its name in capitals.
    pub by_name: HashMap<String, usize>,
    pub entities: Vec<Entity<'f, 't>>,
    /// Layers that are off or frozen.
    pub off: HashSet<String>,
    /// Layers whose own line type is broken.
    pub dashed_layers: HashSet<String>,
    /// Line types with gaps.
    pub dashed: HashSet<String>,
}

impl<'f, 't> File<'f, 't> {
    /// # Errors
    ///
    /// When a number in a table or a block's head can't be read.
    pub fn of(pairs: &'f [Pair<'t>]) -> Outcome<Self> {
        let mut file = File::default();
        for section in split(pairs, "SECTION") {
            let name = section.iter().find(|p| p.code == 2).map(|p| p.value.trim());
            let end = section
                .iter()
                .position(|p| p.code == 0 && p.value.trim() == "ENDSEC");
            let body = &section[..end.unwrap_or(section.len())];
            match name {
                Some("HEADER") => file.header(body),
                Some("TABLES") => file.tables(body)?,
                Some("BLOCKS") => file.blocks(body)?,
                Some("ENTITIES") => file.entities = entities(body),
                _ => {}
            }
        }
        Ok(file)
    }

    pub fn block(&self, name: &str) -> Option<usize> {
        self.by_name.get(&name.to_uppercase()).copied()
    }

    /// Whether the entity is drawn with gaps.
    pub fn is_dashed(&self, entity: &Entity) -> bool {
        match entity.words(6).map(str::to_uppercase) {
            None => self.dashed_layers.contains(&entity.layer().to_uppercase()),
            Some(name) if name == "BYLAYER" => {
                self.dashed_layers.contains(&entity.layer().to_uppercase())
            }
            Some(name) => self.dashed.contains(&name),
        }
    }

    pub fn is_off(&self, layer: &str) -> bool {
        self.off.contains(&layer.to_uppercase())
    }

    fn header(&mut self, body: &'f [Pair<'t>]) {
        for pair in body.windows(2) {
            if pair[0].code == 9 {
                self.header.insert(pair[0].value.trim(), pair[1]);
            }
        }
    }

    fn tables(&mut self, body: &'f [Pair<'t>]) -> Outcome<()> {
        let all = entities(body);
        for row in all.iter().filter(|e| e.kind == "LTYPE") {
            let name = row.words(2).unwrap_or_default().to_uppercase();
            let gaps = row
                .groups
                .iter()
                .any(|p| p.code == 49 && p.value.trim().starts_with('-'));
            let dots = row.groups.iter().filter(|p| p.code == 49).count() > 1;
            if gaps || dots {
                self.dashed.insert(name);
            }
        }
        for row in all.iter().filter(|e| e.kind == "LAYER") {
            let name = row.words(2).unwrap_or_default().to_uppercase();
            let negative = row.words(62).is_some_and(|colour| colour.starts_with('-'));
            if negative || row.flags()? & 1 == 1 {
                self.off.insert(name.clone());
            }
            let line = row.words(6).unwrap_or_default().to_uppercase();
            if self.dashed.contains(&line) {
                self.dashed_layers.insert(name);
            }
        }
        Ok(())
    }

    fn blocks(&mut self, body: &'f [Pair<'t>]) -> Outcome<()> {
        for part in split(body, "BLOCK") {
            let all = entities(part);
            let Some(head) = all.first() else {
                continue;
            };
            let name = head.words(2).unwrap_or_default();
            let base = [head.number(10, 0.0)?, head.number(20, 0.0)?];
            let inner = all[1..].iter().take_while(|e| e.kind != "ENDBLK").copied();
            self.by_name.insert(name.to_uppercase(), self.blocks.len());
            self.blocks.push(Block {
                name,
                line: head.line,
                base,
                entities: inner.collect(),
            });
        }
        Ok(())
    }
}

/// The parts of `pairs` that begin with a `kind`, each up to the next.
fn split<'f, 't>(pairs: &'f [Pair<'t>], kind: &str) -> Vec<&'f [Pair<'t>]> {
    let is_start = |p: &Pair| p.code == 0 && p.value.trim() == kind;
    let starts: Vec<usize> = (0..pairs.len()).filter(|&k| is_start(&pairs[k])).collect();
    let ends = starts.iter().skip(1).copied().chain([pairs.len()]);
    starts
        .iter()
        .zip(ends)
        .map(|(&from, to)| &pairs[from..to])
        .collect()
}

/// The entities of a section; vertices and attributes are parts of what they follow.
fn entities<'f, 't>(pairs: &'f [Pair<'t>]) -> Vec<Entity<'f, 't>> {
    let starts: Vec<usize> = (0..pairs.len()).filter(|&k| pairs[k].code == 0).collect();
    let mut all: Vec<Entity> = Vec::new();
    let mut polyline: Option<(usize, usize)> = None;
    for (n, &from) in starts.iter().enumerate() {
        let to = starts.get(n + 1).copied().unwrap_or(pairs.len());
        let kind = pairs[from].value.trim();
        let groups = &pairs[from + 1..to];
        if let Some((index, begun)) = polyline {
            if kind == "VERTEX" {
                all[index].parts = &pairs[begun..to];
                continue;
            }
            polyline = None;
            if kind == "SEQEND" {
                continue;
            }
        }
        if kind == "POLYLINE" {
            polyline = Some((all.len(), to));
        }
        if matches!(kind, "SECTION" | "SEQEND" | "ATTRIB") {
            continue;
        }
        all.push(Entity {
            kind,
            line: pairs[from].line,
            groups,
            parts: &pairs[to..to],
        });
    }
    all
}
