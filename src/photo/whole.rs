//! Whether a JPEG is there to its end.

/// Whether the picture's end follows, ITU-T T.81, annex B: segments of stated length, and
/// after a start of scan, coded data up to the next marker. What a camera writes behind the
/// end (a film, a second picture) does not matter.
pub(super) fn jpeg(bytes: &[u8]) -> bool {
    // Behind the start of image, FFD8.
    let mut at = 2;
    while let Some(marker) = bytes.get(at..at + 2) {
        match marker {
            [0xff, 0xd9] => return true,
            // Fill bytes, and markers that stand alone.
            [0xff, 0xff] => at += 1,
            [0xff, 0x01 | 0xd0..=0xd8] => at += 2,
            [0xff, kind] => {
                let Some([high, low]) = bytes.get(at + 2..at + 4) else {
                    return false;
                };
                at += 2 + usize::from(u16::from_be_bytes([*high, *low])).max(2);
                if *kind == 0xda {
                    at = coded(bytes, at);
                }
            }
            // Not a marker: let the decoder say what it makes of it.
            _ => return true,
        }
    }
    false
}

/// Where coded data that begins at `at` ends: before a marker that is neither a stuffed
/// zero nor a restart.
fn coded(bytes: &[u8], mut at: usize) -> usize {
    while let Some(pair) = bytes.get(at..at + 2) {
        match pair {
            [0xff, 0x00 | 0xd0..=0xd7] => at += 2,
            [0xff, 0xff] | [0..=0xfe, _] => at += 1,
            [0xff, _] => return at,
            _ => return at,
        }
    }
    bytes.len()
}
