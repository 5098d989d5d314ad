//! One line of the journal: its number, a checksum over number and content,
//! and the content as JSON.

use crate::disk::crc32c_of;
use crate::fault::{Fault, Outcome};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// The longest line, bytes: an outline of 20 000 corners takes a quarter of it.
pub const LONGEST: usize = 4 << 20;

/// What a line holds. The journal knows no more of a step than that it is one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum Line<T> {
    /// What follows was done to the job file with this CRC-32C.
    Base { job_crc: u32 },
    /// The job file is about to be replaced by one with this CRC-32C, which
    /// holds all that was done up to here.
    Saving { job_crc: u32 },
    /// Something that the person did.
    Op(T),
}

impl<T> Line<T> {
    /// The job file that the line names, by its CRC-32C.
    pub fn stamp(&self) -> Option<u32> {
        match self {
            Line::Base { job_crc } | Line::Saving { job_crc } => Some(*job_crc),
            Line::Op(_) => None,
        }
    }
}

/// Why a line can't be used.
#[derive(Debug, PartialEq)]
pub enum Bad {
    /// It is not what was written: its checksum says so.
    Damaged,
    /// It is what was written, and is not understood.
    Unknown(String),
}

/// A line, its line feed included. The checksum covers the number, the space
/// after it and the JSON.
///
/// # Errors
/// If it would not be read back (a number in it is none), or is too long.
pub fn encode<T: Serialize + DeserializeOwned>(number: u64, line: &Line<&T>) -> Outcome<Vec<u8>> {
    let unfit = |why: String| Fault::mistake(format!("a step can't be kept: {why}"));
    let json = serde_json::to_string(line).map_err(|e| unfit(e.to_string()))?;
    serde_json::from_str::<Line<T>>(&json).map_err(|e| unfit(e.to_string()))?;
    let sum = checksum(number, json.as_bytes());
    let text = format!("{number} {sum:08x} {json}\n");
    if text.len() > LONGEST {
        return Err(Fault::input(
            format!("this step is too large to keep ({} bytes)", text.len()),
            "make the outline of fewer corners",
        ));
    }
    Ok(text.into_bytes())
}

/// Number and content of a line, given without its line feed.
pub fn decode<T: DeserializeOwned>(line: &[u8]) -> Result<(u64, Line<T>), Bad> {
    let mut parts = line.splitn(3, |&b| b == b' ');
    let (Some(number), Some(sum), Some(json)) = (parts.next(), parts.next(), parts.next()) else {
        return Err(Bad::Damaged);
    };
    let text = |part| std::str::from_utf8(part).map_err(|_| Bad::Damaged);
    let digits = text(number)?;
    let number: u64 = digits.parse().map_err(|_| Bad::Damaged)?;
    // Written anew and compared, so that each line has one spelling.
    let same = digits == number.to_string()
        && text(sum)? == format!("{:08x}", checksum(number, json))
        && line.len() < LONGEST;
    if !same {
        return Err(Bad::Damaged);
    }
    let content = serde_json::from_slice(json).map_err(|e| Bad::Unknown(e.to_string()))?;
    Ok((number, content))
}

fn checksum(number: u64, json: &[u8]) -> u32 {
    crc32c_of(&[format!("{number} ").as_bytes(), json])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_line_is_read_back_and_says_what_it_is() {
        let line = encode(7, &Line::Op(&"put a\nline feed in".to_owned())).unwrap();
        assert_eq!(line.iter().filter(|&&b| b == b'\n').count(), 1);
        let (number, content) = decode::<String>(&line[..line.len() - 1]).unwrap();
        assert_eq!(number, 7);
        assert_eq!(content, Line::Op("put a\nline feed in".to_owned()));
        let saving: Line<&String> = Line::Saving { job_crc: 5 };
        let line = encode(8, &saving).unwrap();
        assert!(
            String::from_utf8_lossy(&line).ends_with(" {\"saving\":{\"job_crc\":5}}\n"),
            "{line:?}"
        );
    }

    #[test]
    fn what_would_not_be_read_back_is_not_written() {
        assert!(encode(1, &Line::Op(&f64::NAN)).is_err());
        assert!(encode(1, &Line::Op(&"x".repeat(LONGEST))).is_err());
    }

    #[test]
    fn a_whole_line_of_a_newer_kind_is_not_taken_for_damage() {
        let line = encode(1, &Line::Op(&"a word".to_owned())).unwrap();
        let bad = decode::<f64>(&line[..line.len() - 1]).unwrap_err();
        assert!(matches!(bad, Bad::Unknown(_)));
        assert_eq!(decode::<f64>(b"1 00000000"), Err(Bad::Damaged));
        assert_eq!(decode::<f64>(b"+1 00000000 {}"), Err(Bad::Damaged));
    }

    proptest! {
        /// A pose comes back bit for bit, or the lay would creep.
        #[test]
        fn numbers_come_back_exactly(x in prop::num::f64::NORMAL | prop::num::f64::SUBNORMAL) {
            let line = encode(1, &Line::Op(&x)).unwrap();
            match decode::<f64>(&line[..line.len() - 1]).unwrap().1 {
                Line::Op(back) => prop_assert_eq!(back.to_bits(), x.to_bits()),
                other => prop_assert!(false, "{:?}", other),
            }
        }
    }
}
