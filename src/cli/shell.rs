//! `shell`: what shells complete words from, and the manual's pages, both made of the words that
//! the program itself is told by.

use super::output;
use crate::disk;
use crate::fault::{Fault, Outcome};
use clap::{Args, Command};
use clap_complete::{Generator, Shell, generate};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk shell --out papers\n  man papers/man1/ghostchalk-frame.1\n\nInto \
    DIR/completions for bash, zsh, fish, elvish and PowerShell, and into DIR/man1, one for the \
    program and one for each command. `install/linux` puts them where shells and `man` look."
)]
pub struct Words {
    /// The folder to write to
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Name the files that were written, as JSON
    #[arg(long)]
    json: bool,
}

/// The program as it is called.
const NAME: &str = "ghostchalk";
const SHELLS: [Shell; 5] = [
    Shell::Bash,
    Shell::Zsh,
    Shell::Fish,
    Shell::Elvish,
    Shell::PowerShell,
];

/// Writes completions and pages of `program`, which is the whole command line.
///
/// # Errors
/// If a file is in the way, or the disk refuses.
pub fn run(words: &Words, program: &Command) -> Outcome<()> {
    let mut written = Vec::new();
    for (folder, files) in [
        ("completions", completions(program)),
        ("man1", pages(program)?),
    ] {
        let folder = words.out.join(folder);
        disk::make_folder(&folder)?;
        for (name, bytes) in files {
            let path = folder.join(name);
            output::guard(&path, "one that this program wrote", |b| {
                String::from_utf8_lossy(b).contains(NAME)
            })?;
            disk::write_atomic(&path, &bytes)?;
            written.push(path);
        }
    }
    if words.json {
        return output::json(&serde_json::json!({ "written": written }));
    }
    for path in &written {
        output::say(&path.display().to_string())?;
    }
    Ok(())
}

/// A file's name, and what is in it.
type Made = (String, Vec<u8>);

fn completions(program: &Command) -> Vec<Made> {
    let made = |shell: Shell| {
        let mut bytes = Vec::new();
        generate(shell, &mut program.clone(), NAME, &mut bytes);
        (shell.file_name(NAME), bytes)
    };
    SHELLS.map(made).into()
}

fn pages(program: &Command) -> Outcome<Vec<Made>> {
    // `help` says nothing that a page does not.
    let mut program = program.clone().disable_help_subcommand(true);
    program.build();
    let commands = std::iter::once(&program).chain(program.get_subcommands());
    let made = |command: &Command| -> Outcome<Made> {
        let name = command.get_display_name().unwrap_or(NAME);
        let bytes = page(command).map_err(|e| {
            Fault::mistake(format!("the manual's page {name} can't be written: {e}"))
        })?;
        Ok((format!("{name}.1"), bytes))
    };
    commands.map(made).collect()
}

/// A page in roff: as the library would lay it out, but for headings that are told in our words.
fn page(command: &Command) -> std::io::Result<Vec<u8>> {
    let source = format!("{NAME} {}", env!("CARGO_PKG_VERSION"));
    let man = Man::new(command.clone())
        .source(source)
        .manual("Ghostchalk");
    let mut bytes = Vec::new();
    man.render_title(&mut bytes)?;
    man.render_name_section(&mut bytes)?;
    man.render_synopsis_section(&mut bytes)?;
    man.render_description_section(&mut bytes)?;
    man.render_options_section(&mut bytes)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut bytes)?;
    }
    if let Some(notes) = command.get_after_help() {
        let mut roff = Roff::default();
        roff.control("SH", ["NOTES"]);
        for line in notes.to_string().lines() {
            if line.is_empty() {
                roff.control("PP", []);
            } else {
                roff.text([roman(line)]);
            }
        }
        roff.to_writer(&mut bytes)?;
    }
    Ok(bytes)
}
