//! Why a command gives no answer, and the code it ends with.
//!
//! Must not print.

use super::exit::Exit;
use crate::diagnosis::DiagnosisError;
use crate::evidence::EvidenceError;
use crate::network::KernelError;
use crate::planning::bench::NextError;
use crate::report::trouble::Trouble;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure {
    /// Something to tell the person.
    Said {
        /// Code to end with.
        exit: Exit,
        /// What went wrong.
        troubles: Vec<Trouble>,
    },
    /// Text that was asked for by leaving something out: a help page.
    Help(String),
    /// The answer stands already; only the code says more.
    Quiet(Exit),
    /// The reader of our output went away; nobody is left to tell.
    ReaderGone,
}

impl Failure {
    /// One trouble.
    #[must_use]
    pub fn new(exit: Exit, trouble: Trouble) -> Self {
        Failure::Said {
            exit,
            troubles: vec![trouble],
        }
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            return Failure::ReaderGone;
        }
        let what = format!("the answer could not be written: {error}");
        let advice = "see whether the disk is full or the place may be written to";
        Failure::new(Exit::Failed, Trouble::new(what, advice))
    }
}

impl From<EvidenceError> for Failure {
    fn from(error: EvidenceError) -> Self {
        let advice = "see whether the engine is described as it is; with --priors, compare the \
                      files with the built-in ones";
        Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
    }
}

impl From<DiagnosisError> for Failure {
    fn from(error: DiagnosisError) -> Self {
        let impossible = matches!(error, DiagnosisError::Kernel(KernelError::Impossible));
        unanswered(&error, impossible)
    }
}

impl From<NextError> for Failure {
    fn from(error: NextError) -> Self {
        let impossible = matches!(error, NextError::Kernel(KernelError::Impossible));
        unanswered(&error, impossible)
    }
}

/// What to say where nothing explains what was seen, or the work is too wide.
fn unanswered(error: &dyn std::error::Error, impossible: bool) -> Failure {
    if impossible {
        let what = "what is written down cannot all be true of one engine";
        let advice = "set one entry aside at a time (set_aside = \"reason\"), the one you trust \
                      least first";
        return Failure::new(Exit::Failed, Trouble::new(what, advice));
    }
    let advice = "leave out part of the entries, or describe the engine more closely";
    Failure::new(Exit::Failed, Trouble::new(error.to_string(), advice))
}
