//! Every message that a person can meet, in one place to be read: `tests/messages/all.txt`, all
//! texts of the source that have a space and a letter, by file, in their order. After a message
//! was changed `UPDATE_MESSAGES=1 cargo test --test messages` writes it anew; what the change
//! comes to is then read there. No word in it may be one that only the code knows.

#[path = "messages/texts.rs"]
mod texts;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use texts::{Found, bare, tokens};

const LIST: &str = "tests/messages/all.txt";

const HEAD: &str = "Every message that a person can meet, by file. Written by \
                    `UPDATE_MESSAGES=1 cargo test --test messages`; not to be changed by hand.\n";

/// What no person at a table needs to know, in small letters.
static JARGON: [&str; 38] = [
    "boolean",
    "cm2",
    "deserialize",
    "enum",
    "euclid",
    "f64",
    "face down",
    "face up",
    "floating point",
    "homography",
    "i64",
    "index out",
    "invalid type",
    "keep-out",
    "mm2",
    "mutex",
    "null",
    "panic",
    "panicked",
    "polyline",
    "polylines",
    "quad",
    "quads",
    "report this",
    "residual",
    "residuals",
    "rms",
    "serde",
    "standard deviation",
    "standard error",
    "struct",
    "tuple",
    "u32",
    "unwrap",
    "usize",
    "vertex",
    "vertices",
    "whitespace",
];

/// The same, as they are written.
static EXACTLY: [&str; 2] = ["None", "NaN"];

/// Where such a word may stand: file, word, why.
const ALLOWED: [(&str, &str, &str); 3] = [
    (
        "src/fault.rs",
        "boolean",
        "what a library says, to be told plainly",
    ),
    (
        "src/fault.rs",
        "floating point",
        "what a library says, to be told plainly",
    ),
    (
        "src/fault.rs",
        "invalid type",
        "what a library says, to be told plainly",
    ),
];

/// Whether `word` stands in `text` as a word of its own.
fn has(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        ![before, after]
            .iter()
            .flatten()
            .any(|c| c.is_alphanumeric())
    })
}

fn files(folder: &Path, all: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, all);
        } else if path.extension().is_some_and(|e| e == "rs") {
            all.push(path.to_str().unwrap().replace('\\', "/"));
        }
    }
}

/// What each file says, without those of tests.
fn everything() -> BTreeMap<String, Vec<String>> {
    let mut paths = Vec::new();
    files(Path::new("src"), &mut paths);
    let mut all = BTreeMap::new();
    let mut tests = Vec::new();
    for path in paths {
        let found = Found::of(&tokens(&fs::read_to_string(&path).unwrap()));
        let stem = path.trim_end_matches(".rs");
        let base = stem.trim_end_matches("/mod").trim_end_matches("/lib");
        tests.extend(found.tests.iter().map(|t| format!("{base}/{t}")));
        all.insert(path, found.said);
    }
    all.retain(|path, said| {
        let stem = path.trim_end_matches(".rs");
        let of_tests = |t: &String| stem == t || stem.starts_with(&format!("{t}/"));
        !said.is_empty()
            && !stem.ends_with("tests")
            && !stem.contains("/tests/")
            && !tests.iter().any(of_tests)
    });
    all
}

#[test]
fn the_list_of_messages_is_what_the_source_says() {
    let mut list = HEAD.to_owned();
    for (path, said) in everything() {
        list += &format!("\n## {path}\n");
        let mut once = BTreeSet::new();
        for text in said.into_iter().filter(|t| once.insert(t.clone())) {
            list += &format!("{text}\n");
        }
    }
    if std::env::var_os("UPDATE_MESSAGES").is_some() {
        fs::create_dir_all(Path::new(LIST).parent().unwrap()).unwrap();
        fs::write(LIST, list).unwrap();
        return;
    }
    let kept = fs::read_to_string(LIST).unwrap_or_default();
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<BTreeSet<_>>();
    let (old, new) = (lines(&kept), lines(&list));
    let new_ones: Vec<&String> = new.difference(&old).collect();
    let gone: Vec<&String> = old.difference(&new).collect();
    assert!(
        kept == list,
        "{LIST} is not what the source says; read what is new, then write it anew by \
         UPDATE_MESSAGES=1 cargo test --test messages\nnew: {new_ones:#?}\ngone: {gone:#?}"
    );
}

#[test]
fn no_message_has_a_word_that_only_the_code_knows() {
    let mut wrong = Vec::new();
    for (path, said) in everything() {
        for text in said {
            let exact = bare(&text);
            let small = exact.to_lowercase();
            let all = JARGON.iter().filter(|w| has(&small, w));
            let all = all.chain(EXACTLY.iter().filter(|w| has(&exact, w)));
            let barred = |w: &&&str| !ALLOWED.iter().any(|(at, of, _)| *at == path && of == *w);
            wrong.extend(all.filter(barred).map(|w| format!("{path}: {w}: {text}")));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn what_is_allowed_is_there() {
    let all = everything();
    for (path, word, why) in ALLOWED {
        let there = all[path].iter().any(|t| has(&bare(t).to_lowercase(), word));
        assert!(there && !why.is_empty(), "{path}: {word}");
    }
}

#[test]
fn texts_are_told_from_all_else() {
    let source = r##"
        //! "not this one"
        /* "nor this" /* "or this" */ */
        #[derive(Debug, Args)]
        #[command(after_help = "Try it so")]
        /// Of the command line.
        struct Words<'a> {
            /// A word
            /// to say
            #[arg(long, value_name = "NAME")]
            name: &'a str,
        }
        /// Of the code.
        fn f(c: char) {
            let quotes = ['"', '\'', 'x', '\u{22}'];
            say("the {what} \"{name}\" isn't \
                 there\n");
            say(r#"a "raw" one"#);
            say(b"one_word");
            say("{} {name} {k}");
            say("<svg of its own>");
            thing.expect("it is there");
            assert!(c == 'c', "never said");
            let d = D { label: Some("no word of it") };
            say("dash – ok");
        }
        #[cfg(test)]
        #[path = "other.rs"]
        mod kept_apart;
        #[cfg(test)]
        mod tests {
            fn g() { say("in a test"); }
        }
        const LAST: &str = "the last one";
    "##;
    let found = Found::of(&tokens(source));
    assert_eq!(
        found.said,
        [
            "Try it so",
            "/// Of the command line.",
            "/// A word to say",
            "the {what} \"{name}\" isn't there\\n",
            "a \"raw\" one",
            "dash – ok",
            "the last one",
        ]
    );
    assert_eq!(found.tests, ["kept_apart"]);
    assert!(has("an rms of it", "rms") && !has("forms of it", "rms"));
}
