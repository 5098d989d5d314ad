//! What a file's dictionaries say of how streams are packed, looked at before the parser
//! does as they say: it unpacks again what it has unpacked, and believes every number.

use std::collections::BTreeMap;

use super::lex::{past_dictionary, plain, regular, skip};
use super::rows;
use super::way::{Way, way};
use crate::fault::{Fault, Outcome};

/// How far is looked after a name, bytes.
const AHEAD: usize = 4096;
/// How often each byte of a file may be looked at for the ends of its dictionaries.
const LOOKS: usize = 16;
/// Longest name that can be one of these, each letter by its number: `#46`.
pub const LONGEST: usize = 3 * 16;
/// Most bytes of a file that is encrypted: what its streams hold can't be counted.
const MAX_ENCRYPTED: usize = 16 << 20;

/// What a stream begins with.
const STREAM: &[u8] = b"stream";
/// What a veiled key begins with.
const VEIL: u8 = b'~';
/// The keys of parameters that the parser does not see, see [`Told::veil`].
pub const VEILED: [&str; 2] = ["~ecodeParms", "~P"];

/// What the names in a file say.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Told {
    /// Ways other than the usual one, by where the word `stream` is.
    streams: BTreeMap<usize, Vec<Way>>,
    /// Those of which it was not found where their streams are.
    anywhere: Vec<Way>,
    veiled: Vec<usize>,
}

impl Told {
    /// How the stream whose word `stream` is at `at` may be packed, but for deflate alone.
    pub fn ways(&self, at: usize) -> impl Iterator<Item = Way> {
        let own = self.streams.get(&at).into_iter().flatten();
        self.anywhere.iter().chain(own).copied()
    }

    /// Hides from the parser the parameters that are told at another place, where that may
    /// be packed itself: nobody looked at the numbers in it. What is never unpacked, as
    /// pictures are, does without.
    pub fn veil(&self, file: &mut [u8]) {
        for &at in &self.veiled {
            file[at] = VEIL;
        }
    }

    fn add(&mut self, way: Way, follows: Follows) {
        let ways = match follows {
            Follows::Stream(at) => self.streams.entry(at).or_default(),
            Follows::Unknown => &mut self.anywhere,
            Follows::Other => return,
        };
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
}

/// What the names in `file` say, be they in dictionaries or not.
///
/// # Errors
///
/// When something is packed twice, how it is packed is said at another place or by
/// numbers that can't be, parameters at another place can't be veiled and may have to be,
/// or the file is encrypted and larger than 16 MiB.
pub fn told(file: &[u8]) -> Outcome<Told> {
    let mut told = Told::default();
    let mut ends = Ends {
        left: LOOKS * file.len(),
    };
    // Some objects may be packed, and what they say is not seen here.
    let mut hides = false;
    // Parameters at another place: their keys; one of them can't be veiled.
    let (mut far, mut strange_far) = (Vec::new(), false);
    let mut at = 0;
    while let Some(next) = file[at..].iter().position(|&b| b == b'/') {
        at += next + 1;
        let ahead = &file[at..file.len().min(at + AHEAD)];
        let (raw, after) = ahead.split_at(regular(ahead));
        if raw.len() > LONGEST {
            continue;
        }
        let mut follows = || ends.after(after, at + raw.len());
        match &*plain(raw) {
            b"FlateDecode" | b"Fl" | b"LZWDecode" | b"LZW" | b"RunLengthDecode" | b"RL" => {
                once(after)?;
            }
            b"Filter" if elsewhere(after) => return Err(strange()),
            // It is a usual name of a font, too.
            b"F" if elsewhere(after) && follows() != Follows::Other => return Err(strange()),
            b"Filter" | b"F" => {
                if let Some(way) = way(after)? {
                    told.add(way, follows());
                }
            }
            b"DecodeParms" | b"DP" if elsewhere(after) => {
                // As it is usually written, so that it is known again.
                if !raw.contains(&b'#') && matches!(follows(), Follows::Stream(_)) {
                    far.push(at);
                } else {
                    strange_far = true;
                }
            }
            // Of a table of objects that is a stream; of the widths of a font's letters, too.
            b"W" if !hides && skip(after).first().is_none_or(|&b| b == b'[') => {
                hides = follows() != Follows::Other;
            }
            b"ObjStm" => hides = true,
            b"Encrypt" if file.len() > MAX_ENCRYPTED => {
                return Err(Fault::input(
                    "the PDF is encrypted and larger than 16 MB: what is in it can't be told \
                     before it is opened",
                    "open it in a viewer and save it unencrypted",
                ));
            }
            name => {
                if let Some(most) = rows::most(name) {
                    number(after, most)?;
                }
            }
        }
    }
    // Else they stand in the file as they are, and their numbers were looked at.
    if hides {
        if strange_far {
            return Err(strange());
        }
        told.veiled = far;
    }
    Ok(told)
}

/// For what is packed in a way that can't be counted.
pub fn strange() -> Fault {
    Fault::input(
        "the PDF is not opened: it says in an unusual way how it is packed",
        "print it to PDF again",
    )
}

/// Whether a reference (`12 0 R`) is at the beginning, or may be where the rest is cut off.
fn refers(data: &[u8], cut: bool) -> bool {
    let signs = data.iter().take_while(|b| b"+-".contains(b)).count();
    let digits = data[signs..].iter().take_while(|b| b.is_ascii_digit());
    let digits = digits.count();
    let next = skip(&data[signs + digits..]);
    digits > 0
        && next
            .first()
            .map_or(cut, |b| b.is_ascii_digit() || b"+-".contains(b))
}

/// Whether of what follows a name only a part is looked at.
pub fn is_cut(after: &[u8]) -> bool {
    after.len() + LONGEST >= AHEAD
}

/// Whether what a name stands for, or a part of its list, is at another place of the
/// file, or begins beyond what is looked at.
fn elsewhere(after: &[u8]) -> bool {
    let cut = is_cut(after);
    let far = |rest: &[u8]| cut && rest.len() < 8 || refers(rest, cut);
    let mut rest = skip(after);
    let Some(list) = rest.strip_prefix(b"[") else {
        return far(rest);
    };
    rest = skip(list);
    loop {
        if far(rest) {
            return true;
        }
        rest = match rest {
            [b'/', name @ ..] => &name[regular(name)..],
            [b'<', b'<', inner @ ..] => match past_dictionary(inner) {
                Some(past) => past,
                None => return true,
            },
            _ => match rest.strip_prefix(b"null") {
                Some(past) => past,
                // Its end, or something at which the parser ends it.
                None => return false,
            },
        };
        rest = skip(rest);
    }
}

/// What is behind a dictionary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Follows {
    /// The word `stream`, and where it is.
    Stream(usize),
    Other,
    /// Where it ends was not found.
    Unknown,
}

/// Finds the ends of dictionaries, until too many bytes were looked at.
struct Ends {
    left: usize,
}

impl Ends {
    /// What is behind the dictionary that `after`, at `place` of the file, is in.
    fn after(&mut self, after: &[u8], place: usize) -> Follows {
        if self.left == 0 {
            return Follows::Unknown;
        }
        let rest = past_dictionary(after).map(skip);
        let looked = after.len() - rest.map_or(0, <[u8]>::len);
        self.left = self.left.saturating_sub(looked);
        match rest {
            Some(rest) if rest.starts_with(STREAM) => Follows::Stream(place + looked),
            Some(rest) if rest.len() >= STREAM.len() || !is_cut(after) => Follows::Other,
            _ => Follows::Unknown,
        }
    }
}

/// Whether no other way of packing follows the one that was named.
fn once(after: &[u8]) -> Outcome<()> {
    const PACKS: [&[u8]; 6] = [
        b"FlateDecode",
        b"Fl",
        b"LZWDecode",
        b"LZW",
        b"RunLengthDecode",
        b"RL",
    ];
    let mut rest = skip(after);
    while let Some(name) = rest.strip_prefix(b"/") {
        let (raw, past) = name.split_at(regular(name));
        if raw.len() <= LONGEST && PACKS.contains(&&*plain(raw)) {
            return Err(Fault::input(
                "the PDF is not opened: something in it is packed twice, and may be of any size",
                "print it to PDF again",
            ));
        }
        rest = skip(past);
    }
    if rest.is_empty() && is_cut(after) {
        return Err(strange());
    }
    Ok(())
}

/// Whether a number that follows is from 1 to `most`, and follows here.
fn number(after: &[u8], most: f64) -> Outcome<()> {
    let value = skip(after);
    let word = &value[..regular(value)];
    let begins = word
        .first()
        .is_some_and(|b| b.is_ascii_digit() || b"+-.".contains(b));
    let read = std::str::from_utf8(word)
        .ok()
        .and_then(|w| w.parse::<f64>().ok());
    let fits = read.is_some_and(|n| (1.0..=most).contains(&n));
    if begins && (!fits || refers(value, is_cut(after))) {
        return Err(strange());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::way::{Letters, Pack};
    use super::*;

    fn refused(file: &str) -> String {
        told(file.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn what_is_packed_twice_is_refused_however_it_is_written() {
        for twice in [
            "<</Filter[/FlateDecode/FlateDecode]>>stream",
            "<</Filter [ /Fl % again\n /AHx /L#5aW ]>>stream",
            "5 0 obj [/A85 /RL /Fl#61teDecode] endobj",
            "<</F [/Fl /Unknown /Fl] /X (>>)>>stream",
        ] {
            assert!(refused(twice).contains("packed twice"), "{twice}");
        }
        for once in [
            "<</Filter/FlateDecode/DecodeParms<</Columns 5/Predictor 12>>/Length 3 0 R>>stream",
            "<</Filter [/ASCII85Decode /FlateDecode] /DecodeParms [null <</Colors 3>>]>>stream",
            "<</Type/XObject/BitsPerComponent 16/Filter/DCTDecode>>stream",
            "/Flate/Fl",
        ] {
            assert!(told(once.as_bytes()).is_ok(), "{once}");
        }
    }

    #[test]
    fn a_way_of_packing_is_told_of_the_stream_that_says_so() {
        let way = |letters, pack| Way { letters, pack };
        let runs = way(None, Pack::Runs);
        let file = "<</Filter/RL/X(>>stream)>>\nstream\n <</F[/A85 %\n /LZW]>>stream\n\
                    <</RL 5 0 R/LZW[/AHx/RL]>>stream\n <</Filter/Fl>>stream\n";
        let starts: Vec<usize> = file.match_indices("stream\n").map(|(at, _)| at).collect();
        let said = told(file.as_bytes()).unwrap();
        let ways = starts.iter().map(|&at| said.ways(at).collect::<Vec<_>>());
        let lzw = way(Some(Letters::Base85), Pack::Lzw);
        let expected = [vec![runs], vec![lzw], vec![], vec![]];
        assert_eq!(ways.collect::<Vec<_>>(), expected);
        // Whose it is can't be seen: it may be any stream's.
        let long = format!("<</Filter/RL/X({})>>stream\n", " ".repeat(AHEAD));
        let said = told(long.as_bytes()).unwrap();
        assert_eq!(said.ways(3).collect::<Vec<_>>(), [runs]);
        assert!(refused("<</Filter[/AHx/A85/Fl]>>stream").contains("unusual way"));
        assert!(told(b"<</Filter[/AHx/A85]>>stream").is_ok());
    }

    /// Dictionaries that nest are looked through again for every name in them, but for so long.
    #[test]
    fn ends_are_looked_for_so_often() {
        let ahead = b"/A<<>>>>stream";
        let mut ends = Ends { left: 10 };
        assert_eq!(ends.after(ahead, 5), Follows::Stream(13));
        assert_eq!(ends.after(ahead, 5), Follows::Stream(13));
        assert_eq!(ends.after(ahead, 5), Follows::Unknown);
    }

    #[test]
    fn how_a_stream_is_packed_is_said_in_its_dictionary() {
        for far in [
            "<</Filter 5 0 R>>stream",
            "<</#46ilter[5 % five\n 0 R]>>stream",
            "<</F 5 0 R /X (\\)>>) /Y <3e3e> /Z <</A 1>> >> stream",
        ] {
            assert!(refused(far).contains("unusual way"), "{far}");
        }
        let font = "<</Resources<</Font<</F 5 0 R/G 6 0 R>>>>/Filter/Fl>>stream";
        assert!(told(font.as_bytes()).is_ok());
        assert!(told(b"/F (name) /Filter").is_ok());
        // Beyond what is looked at.
        let comment = format!("<</Filter %{}\n 5 0 R>>stream", " ".repeat(AHEAD));
        assert!(refused(&comment).contains("unusual way"));
    }

    #[test]
    fn parameters_at_another_place_are_veiled_where_that_may_be_packed() {
        for far in [
            "<</Filter/Fl/DecodeParms 7 0 R>>stream",
            "<</DP [<</Columns (])>> 7 0 R]/Filter[/DCT/Fl]>>stream",
        ] {
            let veiled = |file: &str| {
                let mut bytes = file.as_bytes().to_vec();
                told(&bytes).unwrap().veil(&mut bytes);
                String::from_utf8(bytes).unwrap()
            };
            assert_eq!(veiled(far), far);
            // The widths of a font's letters.
            let font = format!("{far} 5 0 obj<</W[0[500]]>>endobj");
            assert_eq!(veiled(&font), font);
            for hides in ["<</Type/ObjStm>>stream", "<</#57[1 2 1]>>stream"] {
                let file = format!("{far} {hides}");
                let without = file.replace("/D", "/~").replace("/~CT", "/DCT");
                assert_eq!(veiled(&file), without);
                assert!(VEILED.iter().any(|key| without.contains(key)), "{without}");
                let odd = file.replace("/DP", "/#44P").replace("/Dec", "/#44ec");
                assert!(refused(&odd).contains("unusual way"), "{odd}");
            }
        }
    }

    /// The parser divides by some of these, and makes room for others.
    #[test]
    fn rows_are_of_a_length_that_can_be() {
        for bad in [
            "/Columns 0",
            "/Columns 99999999999",
            "/Columns -1",
            "/Col#75mns 8 0 R",
            "/Colors 0",
            "/Colors 255",
            "/BitsPerComponent 32",
        ] {
            assert!(refused(bad).contains("unusual way"), "{bad}");
        }
        for fine in ["/Columns 4", "/Colors[1 2]", "/Columns/X", "/Colors 4/Y"] {
            assert!(told(fine.as_bytes()).is_ok(), "{fine}");
        }
    }

    #[test]
    fn what_is_encrypted_is_no_larger_than_can_be_unpacked() {
        let mut file = b"<</Encrypt 9 0 R>>".to_vec();
        assert!(told(&file).is_ok());
        file.resize(MAX_ENCRYPTED + 1, b' ');
        let fault = told(&file).unwrap_err().to_string();
        assert!(fault.contains("encrypted and larger than 16 MB"), "{fault}");
    }
}
