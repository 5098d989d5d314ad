//! What `DEPENDENCIES.md` says of the crates that this is built with is so.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

const PAGE: &str = "DEPENDENCIES.md";

fn read(file: &str) -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn table(file: &str) -> toml::Table {
    read(file).parse().unwrap_or_else(|e| panic!("{file}: {e}"))
}

/// The crates that a `Cargo.toml` names, of any system, but for our own.
fn named(file: &str) -> BTreeSet<String> {
    let whole = table(file);
    let mut tables = vec![&whole];
    let systems = whole.get("target").and_then(toml::Value::as_table);
    tables.extend(
        systems
            .into_iter()
            .flat_map(|t| t.values())
            .filter_map(toml::Value::as_table),
    );
    let mut names = BTreeSet::new();
    for table in tables {
        for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
            let crates = table.get(kind).and_then(toml::Value::as_table);
            names.extend(crates.into_iter().flat_map(|c| c.keys().cloned()));
        }
    }
    names.remove("ghostchalk");
    names
}

/// The versions of each crate in a lock file, without what is built into them (`+spec-1.1.0`).
fn locked(file: &str) -> BTreeMap<String, BTreeSet<String>> {
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for package in table(file)["package"].as_array().unwrap() {
        let (name, version) = (&package["name"], package["version"].as_str().unwrap());
        let version = version.split('+').next().unwrap().to_owned();
        let name = name.as_str().unwrap().to_owned();
        versions.entry(name).or_default().insert(version);
    }
    versions
}

struct Row {
    name: String,
    version: String,
    licence: String,
    why: String,
}

/// A crate's rows have four cells; other tables of the page have fewer.
fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    for line in read(PAGE).lines().filter(|l| l.starts_with("| `")) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        if let [name, version, licence, why] = cells[..] {
            rows.push(Row {
                name: name.trim_matches('`').to_owned(),
                version: version.to_owned(),
                licence: licence.to_owned(),
                why: why.to_owned(),
            });
        }
    }
    rows
}

/// What is permitted: the words of the list under *Licences* that stand in backquotes before the colon or
/// the bracket.
fn permitted() -> BTreeSet<String> {
    let page = read(PAGE);
    let (_, after) = page.split_once("\n## Licences\n").unwrap();
    let (_, list) = after.split_once("\n* ").unwrap();
    let (list, _) = list.split_once("\n\n").unwrap();
    let mut found = BTreeSet::new();
    for item in list.split("\n* ") {
        let told = item.split([':', '(']).next().unwrap();
        found.extend(told.split('`').skip(1).step_by(2).map(str::to_owned));
    }
    found
}

/// Whether what is permitted is enough for a licence as crates write it: `A OR B`, `A AND (B OR C)`,
/// and `A/B`, as it was once written.
fn enough(licence: &str, permitted: &BTreeSet<String>) -> bool {
    let spaced = licence
        .replace('/', " OR ")
        .replace('(', " ( ")
        .replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut rest = words.as_slice();
    any_of(&mut rest, permitted) == Some(true) && rest.is_empty()
}

/// Takes the next word.
fn next<'a>(rest: &mut &[&'a str]) -> Option<&'a str> {
    let (&first, others) = rest.split_first()?;
    *rest = others;
    Some(first)
}

/// Takes the next word if it is this one.
fn is_next(rest: &mut &[&str], word: &str) -> bool {
    let is = rest.first() == Some(&word);
    if is {
        *rest = &rest[1..];
    }
    is
}

/// Choices; `None` of what is not written as a licence is.
fn any_of(rest: &mut &[&str], permitted: &BTreeSet<String>) -> Option<bool> {
    let mut good = all_of(rest, permitted)?;
    while is_next(rest, "OR") {
        good |= all_of(rest, permitted)?;
    }
    Some(good)
}

fn all_of(rest: &mut &[&str], permitted: &BTreeSet<String>) -> Option<bool> {
    let mut good = one(rest, permitted)?;
    while is_next(rest, "AND") {
        good &= one(rest, permitted)?;
    }
    Some(good)
}

fn one(rest: &mut &[&str], permitted: &BTreeSet<String>) -> Option<bool> {
    let word = next(rest)?;
    if word == "(" {
        let good = any_of(rest, permitted)?;
        return is_next(rest, ")").then_some(good);
    }
    if is_next(rest, "WITH") {
        let exception = next(rest)?;
        return Some(permitted.contains(&format!("{word} WITH {exception}")));
    }
    Some(permitted.contains(word))
}

#[test]
fn every_crate_that_is_named_has_a_row_and_no_other() {
    let mut versions = locked("Cargo.lock");
    for (name, more) in locked("fuzz/Cargo.lock") {
        // Of what both have, the program's counts.
        versions.entry(name).or_insert(more);
    }
    let files = ["Cargo.toml", "benches/Cargo.toml", "fuzz/Cargo.toml"];
    let named: BTreeSet<String> = files.iter().flat_map(|f| named(f)).collect();
    assert!(named.contains("clap") && named.contains("x11rb"));
    let rows = rows();
    let told: BTreeSet<String> = rows.iter().map(|r| r.name.clone()).collect();
    assert_eq!(told.len(), rows.len(), "a crate has two rows in {PAGE}");
    let missing: Vec<_> = named.difference(&told).collect();
    assert!(missing.is_empty(), "no row in {PAGE}: {missing:?}");
    let gone: Vec<_> = told.difference(&named).collect();
    assert!(gone.is_empty(), "rows in {PAGE} of none: {gone:?}");
    let permitted = permitted();
    for row in rows {
        let (name, version) = (&row.name, &row.version);
        assert!(
            versions.get(name).is_some_and(|v| v.contains(version)),
            "{PAGE} has {name} {version}, the lock file {:?}",
            versions.get(name)
        );
        assert!(!row.why.is_empty(), "why is {name} there?");
        assert!(
            enough(&row.licence, &permitted),
            "{name}: {} is not permitted by {PAGE}",
            row.licence
        );
    }
}

/// The crates of the lock file as cargo tells them: name and version, licence. All of them, or those
/// of one system. `None` where cargo is not there, or has not fetched them all.
fn told_by_cargo(system: Option<&str>) -> Option<Vec<(String, String)>> {
    let o = Command::new(std::env::var_os("CARGO")?)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["metadata", "--format-version", "1", "--offline", "--locked"])
        .args(system.into_iter().flat_map(|s| ["--filter-platform", s]))
        .output()
        .ok()?;
    if !o.status.success() {
        return None;
    }
    let told: serde_json::Value = serde_json::from_slice(&o.stdout).ok()?;
    let packages = told["packages"].as_array()?.iter();
    let others = packages.filter(|p| !p["source"].is_null());
    let pair = |p: &serde_json::Value| {
        let text = |key: &str| p[key].as_str().unwrap_or_default().to_owned();
        (
            format!("{} {}", text("name"), text("version")),
            text("license"),
        )
    };
    Some(others.map(pair).collect())
}

#[test]
fn every_licence_in_the_lock_file_is_permitted_and_counted() {
    let all = told_by_cargo(None);
    let permitted = permitted();
    // What this was built with is there in any case.
    let here = || told_by_cargo(Some(env!("GHOSTCHALK_TARGET")));
    let told = all.clone().or_else(here).unwrap_or_default();
    let refused: Vec<_> = told
        .iter()
        .filter(|(_, licence)| !enough(licence, &permitted))
        .collect();
    assert!(refused.is_empty(), "not permitted by {PAGE}: {refused:?}");

    let Some(crates) = all else {
        return;
    };
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for (_, licence) in &crates {
        *counts.entry(in_order(licence)).or_default() += 1;
    }
    let mut counts: Vec<(String, usize)> = counts.into_iter().collect();
    counts.sort_by_key(|(licence, count)| (usize::MAX - count, licence.clone()));
    let mut said = format!(
        "({} crates; a choice is put in one order):\n\n| crates | licence |\n| ---: | --- |\n",
        crates.len()
    );
    for (licence, count) in counts {
        said += &format!("| {count} | {licence} |\n");
    }
    assert!(read(PAGE).contains(&said), "{PAGE} should say:\n{said}");
}

/// A choice in one order, so that the same choices are counted together.
fn in_order(licence: &str) -> String {
    if licence.contains(" AND ") {
        return licence.to_owned();
    }
    let written = licence.replace('/', " OR ");
    let mut choices: Vec<&str> = written.split(" OR ").map(str::trim).collect();
    choices.sort_by_key(|c| (*c != "MIT", *c != "Apache-2.0", *c));
    choices.join(" OR ")
}

#[test]
fn what_is_permitted_is_weighed_as_it_is_written() {
    let permitted = permitted();
    for good in [
        "MIT",
        "MIT/Apache-2.0",
        "Apache-2.0 / MIT",
        "GPL-2.0-only OR Apache-2.0",
        "(MIT OR GPL-3.0) AND Unicode-3.0",
        "Apache-2.0 WITH LLVM-exception",
    ] {
        assert!(enough(good, &permitted), "{good}");
    }
    for bad in [
        "",
        "GPL-2.0-only",
        "MIT AND GPL-3.0",
        "(MIT AND GPL-3.0) OR GPL-2.0",
        "MIT OR",
        "(MIT",
        "MIT) OR MIT",
        "MIT WITH strings-attached",
    ] {
        assert!(!enough(bad, &permitted), "{bad}");
    }
    assert!(!permitted.contains("jagua-rs") && permitted.contains("MPL-2.0"));
}

/// The fuzzer is built with what the program is built with.
#[test]
fn the_fuzzer_s_lock_file_has_the_program_s_crates() {
    let (ours, theirs) = (locked("Cargo.lock"), locked("fuzz/Cargo.lock"));
    let whole = table("Cargo.toml");
    let needed = whole["dependencies"].as_table().unwrap();
    for (name, said) in needed {
        let is = |key: &str| said.get(key).and_then(toml::Value::as_bool) == Some(true);
        if is("optional") {
            continue;
        }
        let versions = theirs.get(name);
        assert!(
            versions.is_some_and(|v| v.is_subset(&ours[name])),
            "{name}: {versions:?} in fuzz/Cargo.lock; build fuzz/ once without --locked, and commit it"
        );
    }
}
