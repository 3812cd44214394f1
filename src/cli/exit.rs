//! Exit codes: the whole list, with what each means.
//!
//! Must not be widened without the help text, which prints this list.

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// The answer stands on the standard output.
    Done,
    /// It could not be worked out or written.
    Failed,
    /// The command line was not understood.
    Usage,
    /// Done, but some records were put aside.
    SomeQuarantined,
    /// Nothing in the input could be used.
    NoUsableInput,
    /// The input was written for another version.
    VersionMismatch,
    /// A condition given with `--fail-if` was met.
    ConditionMet,
    /// Stopped by the person.
    Interrupted,
}

impl Exit {
    /// Every way to end, in the order of the codes.
    pub const ALL: [Exit; 8] = [
        Exit::Done,
        Exit::Failed,
        Exit::Usage,
        Exit::SomeQuarantined,
        Exit::NoUsableInput,
        Exit::VersionMismatch,
        Exit::ConditionMet,
        Exit::Interrupted,
    ];

    /// The code the shell gets.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Exit::Done => 0,
            Exit::Failed => 1,
            Exit::Usage => 2,
            Exit::SomeQuarantined => 3,
            Exit::NoUsableInput => 4,
            Exit::VersionMismatch => 5,
            Exit::ConditionMet => 6,
            Exit::Interrupted => 130,
        }
    }

    /// What it means, for the help.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Exit::Done => "done",
            Exit::Failed => "failed",
            Exit::Usage => "command line not understood",
            Exit::SomeQuarantined => "done, some records put aside",
            Exit::NoUsableInput => "no usable input",
            Exit::VersionMismatch => "input written for another version",
            Exit::ConditionMet => "a --fail-if condition was met",
            Exit::Interrupted => "interrupted",
        }
    }

    /// The list for the help, one code a line.
    #[must_use]
    pub fn list() -> String {
        let lines = Exit::ALL.map(|e| format!("  {:>3}  {}", e.code(), e.meaning()));
        format!("Exit codes:\n{}", lines.join("\n"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected codes: 0, 1 and 2 by convention, 130 as shells report an interrupt, the rest ours.
    #[test]
    fn the_codes_are_the_documented_ones() {
        let codes = Exit::ALL.map(Exit::code);
        assert_eq!(codes, [0, 1, 2, 3, 4, 5, 6, 130]);
        let list = Exit::list();
        assert!(list.contains("  4  no usable input"), "{list}");
        assert!(list.contains("130  interrupted"), "{list}");
    }
}
