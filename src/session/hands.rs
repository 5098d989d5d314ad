//! From the windowing library's keys to ours.

use crate::work::{Key, Pressed};
use winit::event::{KeyEvent, WindowEvent};
use winit::keyboard::{Key as Typed, KeyCode, ModifiersState, NamedKey, PhysicalKey};

/// A key going down, if it is one that we know.
pub fn pressed(event: &KeyEvent, held: ModifiersState) -> Option<Pressed> {
    if !event.state.is_pressed() {
        return None;
    }
    let key = digit(&event.physical_key).or_else(|| named(&event.logical_key))?;
    Some(Pressed {
        key,
        shift: held.shift_key(),
        ctrl: held.control_key() || held.super_key(),
    })
}

/// Whether it is a key that leaves a field of text, going down.
pub fn leaves_field(event: &WindowEvent) -> bool {
    let WindowEvent::KeyboardInput { event, .. } = event else {
        return false;
    };
    let leaves = [NamedKey::Tab, NamedKey::Enter, NamedKey::Escape];
    let this = leaves.map(Typed::Named).contains(&event.logical_key);
    event.state.is_pressed() && this
}

/// The digits by their place, for on some keyboards they need Shift.
fn digit(key: &PhysicalKey) -> Option<Key> {
    let PhysicalKey::Code(code) = key else {
        return None;
    };
    let digit = match code {
        KeyCode::Digit0 | KeyCode::Numpad0 => 0,
        KeyCode::Digit1 | KeyCode::Numpad1 => 1,
        KeyCode::Digit2 | KeyCode::Numpad2 => 2,
        KeyCode::Digit3 | KeyCode::Numpad3 => 3,
        KeyCode::Digit4 | KeyCode::Numpad4 => 4,
        KeyCode::Digit5 | KeyCode::Numpad5 => 5,
        KeyCode::Digit6 | KeyCode::Numpad6 => 6,
        KeyCode::Digit7 | KeyCode::Numpad7 => 7,
        KeyCode::Digit8 | KeyCode::Numpad8 => 8,
        KeyCode::Digit9 | KeyCode::Numpad9 => 9,
        _ => return None,
    };
    Some(Key::Digit(digit))
}

fn named(key: &Typed) -> Option<Key> {
    let key = match key {
        Typed::Named(named) => match named {
            NamedKey::ArrowLeft => Key::Left,
            NamedKey::ArrowRight => Key::Right,
            NamedKey::ArrowUp => Key::Up,
            NamedKey::ArrowDown => Key::Down,
            NamedKey::Enter => Key::Enter,
            NamedKey::Escape => Key::Escape,
            NamedKey::Tab => Key::Tab,
            NamedKey::Backspace => Key::Backspace,
            NamedKey::Delete => Key::Delete,
            NamedKey::Space => Key::Space,
            NamedKey::F1 => Key::F(1),
            NamedKey::F2 => Key::F(2),
            NamedKey::F3 => Key::F(3),
            NamedKey::F4 => Key::F(4),
            NamedKey::F5 => Key::F(5),
            NamedKey::F6 => Key::F(6),
            NamedKey::F7 => Key::F(7),
            NamedKey::F8 => Key::F(8),
            NamedKey::F9 => Key::F(9),
            NamedKey::F10 => Key::F(10),
            NamedKey::F11 => Key::F(11),
            NamedKey::F12 => Key::F(12),
            _ => return None,
        },
        Typed::Character(text) => {
            let mut letters = text.chars();
            let (one, None) = (letters.next()?, letters.next()) else {
                return None;
            };
            match one {
                ' ' => Key::Space,
                '+' | '=' => Key::Plus,
                '-' | '−' | '_' => Key::Minus,
                c if c.is_ascii_alphabetic() => Key::Letter(c.to_ascii_uppercase()),
                _ => return None,
            }
        }
        _ => return None,
    };
    Some(key)
}
