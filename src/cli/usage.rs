//! Help pages as text, for when something was left out.
//!
//! Must not parse.

use clap::CommandFactory;

use super::args::CommandLine;

/// The help page of one command; of all of them if there is no such command.
#[must_use]
pub fn page(command: &str) -> String {
    let mut all = CommandLine::command();
    // Fills in the full names of the commands.
    all.build();
    match all.find_subcommand_mut(command) {
        Some(one) => one.render_help().to_string(),
        None => all.render_help().to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definition_of_the_command_line_holds_together() {
        CommandLine::command().debug_assert();
        let page = page("causes");
        assert!(page.contains("Usage: hardstart causes"), "{page}");
    }
}
