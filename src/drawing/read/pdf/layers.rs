//! Optional content: what the layers are called, and which of them show (ISO 32000-1,
//! 8.11).

use std::collections::{BTreeMap, HashMap, HashSet};

use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, MaybeRef, Name, ObjRef, Object};

use super::font::text_string;
use crate::fault::{Fault, Outcome};

/// Most layers.
const MAX_LAYERS: usize = 10_000;
/// Most groups that one mark is in: they are looked up for every such mark.
const MAX_MEMBERS: usize = 100;
/// Longest name of a layer, bytes: it is told with every line that is on it.
const MAX_NAME: usize = 200;

/// A layer of a PDF.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerInfo {
    pub name: String,
    /// As the file is saved.
    pub on: bool,
}

type Id = (u32, i32);

fn id(of: ObjRef) -> Id {
    (of.obj_number, of.gen_number)
}

fn refs(array: Option<Array>, most: usize) -> Vec<Id> {
    let all = array
        .into_iter()
        .flat_map(|a| a.raw_iter().take(most).collect::<Vec<_>>());
    all.filter_map(|entry| entry.as_obj_ref()).map(id).collect()
}

fn properties(pdf: &Pdf) -> Option<Dict<'_>> {
    let root: Dict = pdf.xref().get(pdf.xref().root_id())?;
    root.get("OCProperties")
}

fn listed(pdf: &Pdf) -> Vec<(Id, LayerInfo)> {
    let Some(properties) = properties(pdf) else {
        return Vec::new();
    };
    let config: Dict = properties.get("D").unwrap_or_default();
    let base_off = config
        .get::<Name>("BaseState")
        .is_some_and(|n| n.as_str() == "OFF");
    let told =
        |key: &str| -> HashSet<Id> { refs(config.get(key), MAX_LAYERS).into_iter().collect() };
    let (on, off) = (told("ON"), told("OFF"));
    let groups = refs(properties.get("OCGs"), MAX_LAYERS).into_iter();
    let mut seen = HashSet::new();
    groups
        .filter(|id| seen.insert(*id))
        .filter_map(|id| {
            let dict: Dict = pdf.xref().get(ObjRef::new(id.0, id.1).into())?;
            let name = dict.get::<hayro_syntax::object::String>("Name");
            let name = name.map(|n| shortened(n.as_bytes())).unwrap_or_default();
            let on = if base_off {
                on.contains(&id)
            } else {
                !off.contains(&id)
            };
            Some((id, LayerInfo { name, on }))
        })
        .collect()
}

/// The text of a name, as far as it is told.
fn shortened(name: &[u8]) -> String {
    let text = text_string(&name[..name.len().min(MAX_NAME)]);
    if name.len() > MAX_NAME {
        return text + "…";
    }
    text
}

/// All layers, in the file's order.
pub fn all(pdf: &Pdf) -> Vec<LayerInfo> {
    listed(pdf).into_iter().map(|(_, info)| info).collect()
}

/// Which layers show.
pub struct Shown {
    /// Name, and whether it shows.
    layers: HashMap<Id, (String, bool)>,
    asked: bool,
}

/// What a mark or a form says of the layer it is on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct On {
    pub layer: String,
    pub shows: bool,
}

impl Shown {
    /// # Errors
    ///
    /// When a layer that is asked for is not in the file.
    pub fn of(pdf: &Pdf, asked: Option<&[String]>) -> Outcome<Self> {
        let mut layers = HashMap::new();
        let listed = listed(pdf);
        for (id, info) in &listed {
            let shows = asked.map_or(info.on, |names| names.contains(&info.name));
            layers.insert(*id, (info.name.clone(), shows));
        }
        for name in asked.unwrap_or_default() {
            if !listed.iter().any(|(_, info)| info.name == *name) {
                let known: Vec<_> = listed
                    .iter()
                    .map(|(_, i)| format!("\"{}\"", i.name))
                    .collect();
                return Err(Fault::input(
                    format!("there is no layer \"{name}\" in the file"),
                    match known.is_empty() {
                        true => "the file has no layers: ask for none".to_owned(),
                        false => format!("choose among {}", known.join(", ")),
                    },
                ));
            }
        }
        Ok(Self {
            layers,
            asked: asked.is_some(),
        })
    }

    /// Says which layers there are, if there are any.
    pub fn notes(&self) -> Vec<String> {
        let mut by_name: BTreeMap<&str, bool> = BTreeMap::new();
        for (name, shows) in self.layers.values() {
            *by_name.entry(name).or_default() |= shows;
        }
        if by_name.is_empty() {
            return Vec::new();
        }
        let list = |want: bool| {
            let names = by_name.iter().filter(|(_, shows)| **shows == want);
            names
                .map(|(name, _)| format!("\"{name}\""))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let (on, off) = (list(true), list(false));
        let why = if self.asked {
            "as asked for"
        } else {
            "as the file is saved"
        };
        let or_none = |names: String| {
            if names.is_empty() {
                "none".to_owned()
            } else {
                names
            }
        };
        vec![format!(
            "layers read: {}; not read: {} ({why}).",
            or_none(on),
            or_none(off)
        )]
    }

    /// What the property `name` of these resources says, if it is about layers.
    pub fn property(&self, properties: &Dict, name: &Name) -> Option<On> {
        let entry = properties.get_ref(name);
        let dict = properties.get::<Dict>(name);
        self.group(entry.map(id), dict.as_ref())
    }

    /// What the entry `/OC` of `dict` says.
    pub fn entry(&self, dict: &Dict) -> Option<On> {
        let inner = dict.get::<Dict>("OC");
        self.group(dict.get_ref("OC").map(id), inner.as_ref())
    }

    fn group(&self, id: Option<Id>, dict: Option<&Dict>) -> Option<On> {
        if let Some((layer, shows)) = id.and_then(|id| self.layers.get(&id)) {
            return Some(On {
                layer: layer.clone(),
                shows: *shows,
            });
        }
        // A membership: groups, and a policy on how they count.
        let dict = dict?;
        if dict.get::<Name>("Type")?.as_str() != "OCMD" {
            return None;
        }
        let members = match dict.get_raw::<Object>("OCGs")? {
            MaybeRef::Ref(of) if self.layers.contains_key(&self::id(of)) => vec![self::id(of)],
            _ => refs(dict.get("OCGs"), MAX_MEMBERS),
        };
        let known: Vec<_> = members
            .iter()
            .filter_map(|id| self.layers.get(id))
            .collect();
        let first = known.first()?;
        let policy = dict.get::<Name>("P");
        let shows = match policy.as_ref().map(|p| p.as_str()) {
            Some("AllOn") => known.iter().all(|(_, on)| *on),
            Some("AnyOff") => known.iter().any(|(_, on)| !*on),
            Some("AllOff") => known.iter().all(|(_, on)| !*on),
            _ => known.iter().any(|(_, on)| *on),
        };
        Some(On {
            layer: first.0.clone(),
            shows,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layers_name_is_no_longer_than_is_told() {
        assert_eq!(shortened(b"cut lines"), "cut lines");
        let long = shortened(&[b'a'; MAX_NAME + 1]);
        assert_eq!(long, "a".repeat(MAX_NAME) + "…");
        let wide = [&[0xfe, 0xff][..], &[0, b'a'].repeat(5000)[..]].concat();
        assert_eq!(shortened(&wide).chars().count(), MAX_NAME / 2);
    }
}
