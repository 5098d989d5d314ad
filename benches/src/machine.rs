//! What the figures were made on.

use crate::drivers::{DRIVERS, told};
use ghostchalk::render::Device;
use serde_json::{Value, json};
use std::process::Command;
use std::time::{SystemTime, UNIX_EPOCH};

/// The first value of a key in the text of a file such as `/proc/cpuinfo`.
fn value_of(file: &str, key: &str, between: char) -> Option<String> {
    let text = std::fs::read_to_string(file).ok()?;
    text.lines().find_map(|line| {
        let (name, value) = line.split_once(between)?;
        (name.trim() == key).then(|| value.trim().trim_matches('"').to_owned())
    })
}

/// Processor, cores, memory, system, and what draws.
pub fn facts() -> Value {
    let unknown = || "unknown".to_owned();
    let processor = value_of("/proc/cpuinfo", "model name", ':').unwrap_or_else(unknown);
    let system = value_of("/etc/os-release", "PRETTY_NAME", '=').unwrap_or_else(unknown);
    let memory = value_of("/proc/meminfo", "MemTotal", ':').and_then(|v| {
        let kb: f64 = v.split_whitespace().next()?.parse().ok()?;
        Some(format!("{:.0} GB", kb * 1024.0 / 1e9))
    });
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let adapters = DRIVERS
        .iter()
        .map(|(wanted, by)| match Device::open(*wanted) {
            Ok(device) => told(&device),
            Err(fault) => format!("{by}: {}", fault.what),
        });
    json!({
        "processor": processor,
        "cores": cores,
        "memory": memory.unwrap_or_else(unknown),
        "system": system,
        "adapters": adapters.collect::<Vec<_>>(),
    })
}

/// What the machine is called where nobody says: its first adapter that is a card, else its
/// processor and cores.
pub fn name(facts: &Value) -> String {
    let adapters = facts["adapters"].as_array().into_iter().flatten();
    let mut cards = adapters.filter_map(|a| a.as_str()?.strip_suffix(", a graphics card"));
    match cards.next() {
        Some(card) => card.to_owned(),
        None => format!(
            "{}, {} cores",
            facts["processor"].as_str().unwrap_or_default(),
            facts["cores"]
        ),
    }
}

/// How many programs wanted the processor in the last minute.
pub fn load() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/loadavg").ok()?;
    text.split_whitespace().next()?.parse().ok()
}

/// The commit, with a `+` if what is measured differs from it; `None` where git can't tell.
pub fn commit() -> Option<String> {
    let git = |words: &[&str]| {
        let out = Command::new("git")
            .arg("--no-optional-locks")
            .args(words)
            .output()
            .ok()?;
        let text = String::from_utf8(out.stdout).ok()?;
        out.status.success().then(|| text.trim().to_owned())
    };
    let short = git(&["rev-parse", "--short", "HEAD"])?;
    let made_of = [
        "src",
        "shaders",
        "Cargo.toml",
        "Cargo.lock",
        "benches/src",
        "benches/Cargo.toml",
    ];
    let differs = git(&[&["status", "--porcelain", "--"][..], &made_of[..]].concat())?;
    let plus = if differs.is_empty() { "" } else { "+" };
    Some(format!("{short}{plus}"))
}

/// Today, UTC, as `2031-05-17`.
pub fn today() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    date((since.map_or(0, |s| s.as_secs()) / 86_400) as i64)
}

/// The day of that many days since 1970, by the Gregorian calendar (Richards, *Mapping Time*,
/// 1998).
fn date(days: i64) -> String {
    let j = days + 2_440_588;
    let f = j + 1401 + (4 * j + 274_277) / 146_097 * 3 / 4 - 38;
    let e = 4 * f + 3;
    let g = e % 1461 / 4;
    let h = 5 * g + 2;
    let day = h % 153 / 5 + 1;
    let month = (h / 153 + 2) % 12 + 1;
    let year = e / 1461 - 4716 + (14 - month) / 12;
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_those_of_the_calendar() {
        let days = [
            (0, "1970-01-01"),
            (59, "1970-03-01"),
            (11_016, "2000-02-29"),
            (11_017, "2000-03-01"),
            (19_722, "2023-12-31"),
            (19_723, "2024-01-01"),
            (47_482, "2100-01-01"),
        ];
        for (day, said) in days {
            assert_eq!(date(day), said);
        }
    }
}
