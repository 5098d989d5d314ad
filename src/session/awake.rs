//! Keeps the laptop from blanking while there is light on the table.

/// Held while the light is on; let go, the desktop may sleep again.
#[derive(Default)]
pub struct Awake {
    _held: Option<keepawake::KeepAwake>,
}

impl Awake {
    /// Asks the desktop to stay awake, if it can be asked.
    pub fn begin() -> Self {
        let held = keepawake::Builder::default()
            .display(true)
            .idle(true)
            .reason("light is on the table")
            .app_name("ghostchalk")
            .app_reverse_domain("io.github.ghostchalk")
            .create();
        // A desktop that can't be asked is left as it is.
        Self { _held: held.ok() }
    }
}
