//! The command line: words in, sentences and exit codes out.

mod begin;
mod budget;
mod calibrate;
mod card;
mod cut_test;
mod demo;
mod drawn;
mod found;
mod frame;
mod hang;
#[cfg(feature = "live")]
mod light;
mod marks;
mod offcut;
mod order;
mod output;
mod papers;
mod photo;
mod places;
mod prove;
mod read;
mod rehearse;
mod seen;
mod shade;
mod sheets;
mod shell;
mod unit;
mod version;

use crate::fault::{Kind, Outcome};
use clap::error::ErrorKind;
use clap::{Arg, Command, CommandFactory, FromArgMatches, Parser, Subcommand};
use std::process::ExitCode;

/// Chalk made of light: projects sewing patterns, full size, onto the cloth
/// to be cut.
#[derive(Debug, Parser)]
#[command(version = version::SHORT, long_version = version::LONG, about, after_help = EXIT_CODES)]
struct Words {
    #[command(subcommand)]
    doing: Doing,
}

const EXIT_CODES: &str = "Exit codes: 0 done, 1 the work would be spoilt or has no room, \
                          2 bad input, 3 the program's or the machine's own fault.";

#[derive(Debug, Subcommand)]
enum Doing {
    /// Do the whole job with a simulated projector and table, and prove that
    /// the light lands where the scissors should go
    Rehearse(rehearse::Words),
    /// Work out where to hang the lens above your own table, before anything is bought or drilled
    Hang(hang::Words),
    /// Stand at the table: set it, lay on it, in light
    #[cfg(feature = "live")]
    Light(light::Words),
    /// Begin a job from a pattern alone
    Begin(begin::Words),
    /// Work out where light lands, and how surely, from marks set on the table
    Calibrate(calibrate::Words),
    /// Say what each laid piece may be cut wrong by, and from what
    Budget(budget::Words),
    /// Work out what hand and tool leave at every edge, from a strip that was cut
    CutTest(cut_test::Words),
    /// Read a pattern from elsewhere (SVG, PDF, DXF, a draft), and write it as SVG or DXF
    Read(read::Words),
    /// Read a card template from a photo beside a sheet of paper
    Card(card::Words),
    /// Prove a pattern before it is cut: seams, notches, rings, grain, counts
    Prove(prove::Words),
    /// Draw exactly what the projector would show
    Frame(frame::Words),
    /// Read the cloth's shade from a photo of the table
    Photo(photo::Words),
    /// Say whether the guides are seen on this cloth, in this room, and what helps most
    Seen(seen::Words),
    /// Say what the shade is under each piece, and whether partners match
    Shade(shade::Words),
    /// Find places on the cloth for a piece, by what is wished for it
    Places(places::Words),
    /// Suggest places for all that is not laid yet
    Lay(places::LayWords),
    /// Keep what is left of a cloth that was cut from
    Offcut(offcut::Words),
    /// Take an offcut into a job
    Spread(offcut::SpreadWords),
    /// Say what the orders come to: parts, lengths, what is bought, sheets
    Order(order::Words),
    /// Tickets for the bundles, to be printed
    Tickets(papers::TicketWords),
    /// A piece at full size on paper
    Paper(papers::PaperWords),
    /// Say what was cut, when and from what
    Ledger(papers::LedgerWords),
    /// Work out bias strips from a rectangle of cloth
    Strips(papers::StripWords),
    /// Print-ready sheets at true size: the corner target, the vernier marks, the
    /// tags that a photo is placed by
    Sheets(sheets::Words),
    /// Completions for the shell, and the manual's pages
    Shell(shell::Words),
}

/// What stands for a value that is numbers: it may begin with a minus. Left of the table's origin
/// that is honest, and where it is not, our own sentence says so better than "unexpected argument".
const NUMBERS: [&str; 19] = [
    "A,B",
    "COUNT",
    "ID=X,Y",
    "L,B,R,T",
    "LENGTH",
    "LENGTHxLENGTH",
    "MM",
    "N",
    "NUMBER",
    "PERCENT",
    "PLACE=PX,PY",
    "PLIES",
    "PX",
    "READ/TRUE",
    "SHEET",
    "WxH",
    "X,Y",
    "X,Y,H",
    "X,Y[,TURN]",
];

fn with_minus(arg: Arg) -> Arg {
    let names = arg.get_value_names().unwrap_or_default();
    let numbers = names.iter().any(|n| NUMBERS.contains(&n.as_str()));
    match numbers && !arg.is_positional() {
        true => arg.allow_hyphen_values(true),
        false => arg,
    }
}

fn command() -> Command {
    Words::command().mut_subcommands(|c| c.mut_args(with_minus))
}

/// The command line that the program was started with.
fn typed() -> Result<Words, clap::Error> {
    Words::from_arg_matches(&command().try_get_matches()?)
}

/// Runs the program on the command line it was started with.
#[must_use]
pub fn run() -> ExitCode {
    let words = match typed() {
        Ok(words) => words,
        Err(e) if e.kind() == ErrorKind::DisplayVersion => return ended(version::tell(&e)),
        Err(e) => {
            // Help is no fault; clap says which it is.
            let code = if e.use_stderr() { 2 } else { 0 };
            // Nothing more can be said if even this can't be printed.
            let _ = e.print();
            return ExitCode::from(code);
        }
    };
    let done: Outcome<()> = match words.doing {
        Doing::Rehearse(w) => rehearse::run(&w),
        Doing::Hang(w) => return answered(hang::run(&w)),
        #[cfg(feature = "live")]
        Doing::Light(w) => light::run(w),
        Doing::Begin(w) => begin::run(&w),
        Doing::Calibrate(w) => calibrate::run(&w),
        Doing::Budget(w) => budget::run(&w),
        Doing::CutTest(w) => return answered(cut_test::run(&w)),
        Doing::Frame(w) => frame::run(&w),
        Doing::Card(w) => card::run(&w),
        Doing::Read(w) => read::run(&w),
        Doing::Prove(w) => return answered(prove::run(&w)),
        Doing::Photo(w) => photo::run(&w),
        Doing::Seen(w) => seen::run(&w),
        Doing::Shade(w) => return answered(shade::run(&w)),
        Doing::Places(w) => return answered(places::run(&w)),
        Doing::Lay(w) => return answered(places::lay(&w)),
        Doing::Offcut(w) => offcut::run(&w),
        Doing::Spread(w) => offcut::spread(&w),
        Doing::Order(w) => return answered(order::run(&w)),
        Doing::Tickets(w) => papers::tickets(&w),
        Doing::Paper(w) => papers::paper(&w),
        Doing::Ledger(w) => papers::ledger_of(&w),
        Doing::Strips(w) => return answered(papers::strips_of(&w)),
        Doing::Sheets(w) => sheets::run(&w),
        Doing::Shell(w) => shell::run(&w, &command()),
    };
    ended(done)
}

/// The end of a command that answers a question: `no` if the work would be spoilt, or has no
/// room. What is wrong it has said itself.
fn answered(no: Outcome<bool>) -> ExitCode {
    match no {
        Ok(true) => ExitCode::FAILURE,
        other => ended(other.map(|_| ())),
    }
}

/// Says what went wrong, and with which code the program ends.
fn ended(done: Outcome<()>) -> ExitCode {
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            output::tell(&format!("ghostchalk: {fault}"));
            ExitCode::from(match fault.kind {
                Kind::Input => 2,
                Kind::Ours => 3,
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_number_is_one_that_a_command_takes() {
        let command = command();
        command.clone().debug_assert();
        let mut names = Vec::new();
        for arg in command.get_subcommands().flat_map(Command::get_arguments) {
            let own = arg.get_value_names().unwrap_or_default();
            names.extend(own.iter().map(ToString::to_string));
            // A file or a name that is forgotten must not take the next option for itself.
            let text = own
                .iter()
                .any(|o| ["DIR", "FILE", "NAME", "PROFILE"].contains(&o.as_str()));
            assert!(!text || !arg.is_allow_hyphen_values_set(), "{own:?}");
        }
        for numbers in NUMBERS {
            assert!(
                names.iter().any(|n| n == numbers),
                "nothing takes {numbers}"
            );
        }
    }
}
