//! Keys, by what is printed on them: the windows' own names for keys end where
//! these begin.

use std::fmt;

/// A key, by what is printed on it (the digits' row by its place: on some
/// keyboards digits need Shift).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    Left,
    Right,
    Up,
    Down,
    Enter,
    Escape,
    Tab,
    Backspace,
    Delete,
    Space,
    Plus,
    Minus,
    /// A capital letter.
    Letter(char),
    /// 0 to 9.
    Digit(u8),
    /// F1 to F12.
    F(u8),
}

/// A key going down, with what is held beside it (Ctrl is Command on a Mac).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pressed {
    pub key: Key,
    pub shift: bool,
    pub ctrl: bool,
}

impl Pressed {
    /// A key alone.
    pub const fn plain(key: Key) -> Self {
        Self {
            key,
            shift: false,
            ctrl: false,
        }
    }

    pub const fn shift(key: Key) -> Self {
        Self {
            key,
            shift: true,
            ctrl: false,
        }
    }

    pub const fn ctrl(key: Key) -> Self {
        Self {
            key,
            shift: false,
            ctrl: true,
        }
    }

    /// Shift and Ctrl together.
    pub const fn both(key: Key) -> Self {
        Self {
            key,
            shift: true,
            ctrl: true,
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Key::Left => f.write_str("←"),
            Key::Right => f.write_str("→"),
            Key::Up => f.write_str("↑"),
            Key::Down => f.write_str("↓"),
            Key::Enter => f.write_str("Enter"),
            Key::Escape => f.write_str("Esc"),
            Key::Tab => f.write_str("Tab"),
            Key::Backspace => f.write_str("Backspace"),
            Key::Delete => f.write_str("Del"),
            Key::Space => f.write_str("Space"),
            Key::Plus => f.write_str("+"),
            Key::Minus => f.write_str("−"),
            Key::Letter(c) => write!(f, "{c}"),
            Key::Digit(d) => write!(f, "{d}"),
            Key::F(n) => write!(f, "F{n}"),
        }
    }
}

impl fmt::Display for Pressed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.held())?;
        write!(f, "{}", self.key)
    }
}

impl Pressed {
    /// What is held, in words.
    pub(super) fn held(&self) -> &'static str {
        match (self.ctrl, self.shift) {
            (false, false) => "",
            (false, true) => "Shift+",
            (true, false) => "Ctrl+",
            (true, true) => "Ctrl+Shift+",
        }
    }
}
