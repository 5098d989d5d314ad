//! A taught switch in a person's words. A job keeps the name that the windows give a
//! key by its place (`key ArrowLeft`), which stays the same whatever is printed on it.

/// A switch as a person would call it, by the name that the job keeps: `A`, `Space`,
/// `left arrow`, `1 on the number pad`, `right mouse button`.
pub fn switch_words(name: &str) -> String {
    if let Some(button) = name.strip_prefix("mouse ") {
        return match button.parse::<u16>() {
            Ok(number) => format!("mouse button {number}"),
            Err(_) => format!("{button} mouse button"),
        };
    }
    let Some(code) = name.strip_prefix("key ") else {
        return name.to_owned();
    };
    // A key that the windows have no name for has its number in brackets.
    if let Some((_, number)) = code.trim_end_matches(')').split_once('(') {
        return format!("key number {number}");
    }
    if let Some(printed) = code
        .strip_prefix("Key")
        .or_else(|| code.strip_prefix("Digit"))
    {
        return printed.to_owned();
    }
    if let Some(on_pad) = code.strip_prefix("Numpad").filter(|n| !n.is_empty()) {
        return format!("{} on the number pad", cap(on_pad));
    }
    if let Some(side) = code.strip_prefix("Arrow") {
        return format!("{} arrow", side.to_lowercase());
    }
    for (ending, side) in [("Left", "left"), ("Right", "right")] {
        match code.strip_suffix(ending) {
            Some("Control") => return format!("{side} Ctrl"),
            Some(held @ ("Shift" | "Alt" | "Super")) => return format!("{side} {held}"),
            _ => {}
        }
    }
    cap(code)
}

/// What stands on a key, by its code: in the words of the key sheet where it has the key.
fn cap(code: &str) -> String {
    let known = match code {
        "Enter" | "Tab" | "Backspace" | "Space" => code,
        "Escape" => "Esc",
        "Delete" => "Del",
        "Add" => "+",
        "Minus" | "Subtract" => "−",
        "Multiply" => "*",
        "Equal" => "=",
        "Comma" => ",",
        "Period" | "Decimal" => ".",
        "Slash" | "Divide" => "/",
        "Backslash" | "IntlBackslash" => "\\",
        "Semicolon" => ";",
        "Quote" => "'",
        "Backquote" => "`",
        "BracketLeft" => "[",
        "BracketRight" => "]",
        "Unidentified" => "a key without a name",
        _ => return parted(code),
    };
    known.to_owned()
}

/// `PageDown` as `page down`; `F5` and `1` as they are.
fn parted(code: &str) -> String {
    let numbered = code.len() < 4 && code.bytes().any(|b| b.is_ascii_digit());
    if numbered {
        return code.to_owned();
    }
    let mut words = String::new();
    for c in code.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_switch_is_called_what_a_person_calls_it() {
        let cases = [
            ("key KeyA", "A"),
            ("key Digit1", "1"),
            ("key ArrowLeft", "left arrow"),
            ("key ArrowDown", "down arrow"),
            ("key Space", "Space"),
            ("key Escape", "Esc"),
            ("key PageDown", "page down"),
            ("key MediaPlayPause", "media play pause"),
            ("key F5", "F5"),
            ("key F13", "F13"),
            ("key Minus", "−"),
            ("key BracketLeft", "["),
            ("key ControlLeft", "left Ctrl"),
            ("key ShiftRight", "right Shift"),
            ("key Numpad0", "0 on the number pad"),
            ("key NumpadEnter", "Enter on the number pad"),
            ("key NumpadAdd", "+ on the number pad"),
            ("key Xkb(0x1C8)", "key number 0x1C8"),
            ("key Unidentified", "a key without a name"),
            ("mouse right", "right mouse button"),
            ("mouse 9", "mouse button 9"),
            ("pedal", "pedal"),
        ];
        for (name, words) in cases {
            assert_eq!(switch_words(name), words, "{name}");
        }
    }
}
