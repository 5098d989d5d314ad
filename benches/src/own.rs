//! What Linux tells of this process; NaN elsewhere.

/// Seconds of the processor that all its threads have worked, to a hundredth.
pub fn worked() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // Behind the name, which may hold anything: user and system time are the 12th and 13th.
    let fields = text.rsplit(')').next().unwrap_or("").split_whitespace();
    let ticks: Vec<f64> = fields
        .skip(11)
        .take(2)
        .filter_map(|f| f.parse().ok())
        .collect();
    match ticks[..] {
        [user, system] => (user + system) / 100.0,
        _ => f64::NAN,
    }
}

/// The most memory that it has held, MB.
pub fn most_memory() -> f64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kb = line.and_then(|l| l.split_whitespace().next()?.parse::<f64>().ok());
    kb.map_or(f64::NAN, |kb| kb * 1024.0 / 1e6)
}
