//! Tape readings from a CSV file: from which mark to which, and the length.

use super::{Network, Reading};
use crate::calibration::points::LARGEST;
use crate::calibration::table_file::rows;
use crate::calibration::table_marks::TAPE;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::measure::{Unit, parse_length};
use std::path::Path;

/// The header of a file of tape readings.
const HEADER: [&str; 3] = ["from", "to", "length"];

/// The most readings that are taken: each of forty marks from every other.
const MOST: usize = 800;

/// Reads distances between marks; lengths as a person types them, in `unit` where they
/// say none. The marks come in the order in which they are first named.
///
/// # Errors
/// Names the line of what can't be used.
pub fn read_tape(path: &Path, unit: Unit) -> Outcome<Network> {
    let bytes = disk::read(path, "reading the tape's readings", LARGEST)?;
    parse(&bytes, unit).map_err(|f| f.in_file(path))
}

/// A network from a CSV of readings; plain numbers are in `unit`.
///
/// # Errors
/// As [`read_tape`].
pub fn parse(bytes: &[u8], unit: Unit) -> Outcome<Network> {
    let mut net = Network::default();
    let all = rows(bytes, &HEADER, &[])?;
    if let Some(beyond) = all.get(MOST) {
        return Err(Fault::input(
            format!("there are {} readings", all.len()),
            format!("at most {MOST} are taken; twenty marks have 190"),
        )
        .at(format!("line {}", beyond.line)));
    }
    for row in all {
        let place = |f: Fault| f.at(format!("line {}", row.line));
        let mut end = |column: usize| {
            let name = row.text(column).ok_or_else(|| {
                let what = format!("the column {} is empty", HEADER[column]);
                place(Fault::input(
                    what,
                    "name the mark that the tape was laid at",
                ))
            })?;
            let known = net.names.iter().position(|n| n == name);
            Ok::<usize, Fault>(known.unwrap_or_else(|| {
                net.names.push(name.to_owned());
                net.names.len() - 1
            }))
        };
        let (from, to) = (end(0)?, end(1)?);
        if from == to {
            return Err(place(Fault::input(
                format!("a length from {} to itself", net.names[from]),
                "name the mark at the other end",
            )));
        }
        let mm = parse_length(row.text(2).unwrap_or(""), unit).map_err(place)?;
        net.readings.push(Reading {
            from,
            to,
            mm,
            sigma: TAPE,
        });
        net.lines.push(row.line);
    }
    Ok(net)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_taken_as_people_type_them() {
        let text = "from,to,length\nA,B,1200\nB,C,31 1/2 in\nC,A,144.2cm\n";
        let net = parse(text.as_bytes(), Unit::Mm).unwrap();
        assert_eq!(net.names, ["A", "B", "C"]);
        let mm: Vec<f64> = net.readings.iter().map(|r| r.mm).collect();
        for (mm, want) in mm.iter().zip([1200.0, 800.1, 1442.0]) {
            assert!((mm - want).abs() < 1e-9);
        }
        assert_eq!((net.readings[2].from, net.readings[2].to), (2, 0));
        let inches = parse(b"from,to,length\nA,B,47 1/4\n", Unit::Inch).unwrap();
        assert!((inches.readings[0].mm - 1200.15).abs() < 1e-9);
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        for (text, words) in [
            ("from,to\nA,B\n", "length is missing"),
            (
                "from,to,length\nA,A,5\n",
                "line 2: a length from A to itself",
            ),
            ("from,to,length\nA,B,1200\nB,C,far\n", "line 3"),
            ("from,to,length\nA,,5\n", "to is empty"),
        ] {
            let said = parse(text.as_bytes(), Unit::Mm).unwrap_err().to_string();
            assert!(said.contains(words), "{said}");
        }
        let many = "A,B,1200\n".repeat(MOST + 1);
        let said = parse(format!("from,to,length\n{many}").as_bytes(), Unit::Mm);
        let said = said.unwrap_err().to_string();
        assert!(said.starts_with("line 802: there are 801"), "{said}");
    }

    #[test]
    fn readings_that_do_not_go_together_are_named_with_their_lines() {
        // A rectangle of 1200 by 900 mm, whose diagonals are 1500 mm.
        let sides = "from,to,length\n# by tape\nA,B,1200\nB,C,900\nC,D,1200\n\nD,A,900\n";
        for (diagonals, words) in [
            ("A,C,1500\nB,D,15\n", "line 9: B to D is given as 15.0 mm"),
            (
                "B,D,1500\nA,C,9500\n",
                "lines 3, 4 and 9: no triangle has such sides",
            ),
            (
                "A,C,1500\n",
                "lines 5 and 7: D may lie on either side of a line",
            ),
        ] {
            let net = parse(format!("{sides}{diagonals}").as_bytes(), Unit::Mm).unwrap();
            let said = net.adjust().unwrap_err().to_string();
            assert!(said.starts_with(words), "{said}");
        }
        let chain: String = (0..45).map(|k| format!("{k},{},100\n", k + 1)).collect();
        let net = parse(format!("from,to,length\n{chain}").as_bytes(), Unit::Mm).unwrap();
        let said = net.adjust().unwrap_err().to_string();
        assert!(
            said.starts_with("line 41: the tape's readings name 46"),
            "{said}"
        );
    }
}
