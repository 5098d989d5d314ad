//! What the program is: `-V` in a line, `--version` also what it was built for and draws on.

use super::output;
use crate::fault::Outcome;
use crate::render::{Device, Wanted};

/// Version and commit; the build script stamps the commit.
macro_rules! line {
    () => {
        concat!(
            env!("CARGO_PKG_VERSION"),
            " (",
            env!("GHOSTCHALK_STAMP"),
            ")"
        )
    };
}

/// What `-V` says after the name.
pub const SHORT: &str = line!();

/// What `--version` says before the device.
#[cfg(feature = "live")]
pub const LONG: &str = concat!(line!(), "\nBuilt for ", env!("GHOSTCHALK_TARGET"), ".");
#[cfg(not(feature = "live"))]
pub const LONG: &str = concat!(
    line!(),
    "\nBuilt for ",
    env!("GHOSTCHALK_TARGET"),
    ", without the windows."
);

/// Prints the version that was asked for. Only the long one looks for a graphics driver, which
/// takes a while; that there is none is part of the answer, and no fault.
///
/// # Errors
/// If it can't be printed.
pub fn tell(asked: &clap::Error) -> Outcome<()> {
    let text = asked.to_string();
    let text = text.trim_end();
    output::say(text)?;
    if text.lines().count() > 1 {
        output::say(&drawing())?;
    }
    Ok(())
}

fn drawing() -> String {
    match Device::open(Wanted::Best) {
        Ok(device) => {
            let driver = match device.driver().as_str() {
                "" => String::new(),
                driver => format!(", driver {driver}"),
            };
            let kind = if device.is_software() {
                ": a software driver, not a graphics card"
            } else {
                ""
            };
            format!("Draws on {}{driver}{kind}.", device.name())
        }
        Err(fault) => format!("Draws on nothing: {fault}"),
    }
}
