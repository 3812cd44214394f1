//! `completions` and `man`: made from the definition of the command line.
//!
//! Must not hold texts of their own.

use clap::CommandFactory;

use super::args::{CommandLine, Completions};
use super::failure::Failure;
use super::out;

/// Prints the completions of a shell.
///
/// # Errors
/// When they cannot be written.
pub fn completions(args: &Completions) -> Result<(), Failure> {
    let mut command = CommandLine::command();
    let name = command.get_name().to_owned();
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut command, name, &mut text);
    out::text(&String::from_utf8_lossy(&text))
}

/// Prints the manual: one page after the other, the whole first.
///
/// # Errors
/// When it cannot be written.
pub fn man() -> Result<(), Failure> {
    let mut all = CommandLine::command();
    all.build();
    let mut text = Vec::new();
    clap_mangen::Man::new(all.clone()).render(&mut text)?;
    for command in all.get_subcommands().filter(|c| c.get_name() != "help") {
        let full = format!("hardstart-{}", command.get_name());
        let page = command.clone().display_name(full);
        clap_mangen::Man::new(page).render(&mut text)?;
    }
    out::text(&String::from_utf8_lossy(&text))
}
