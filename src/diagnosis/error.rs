//! Why there is no answer. Must not word advice.

use crate::network::{CompileError, KernelError};

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DiagnosisError {
    /// The network is too wide for exact work.
    #[error(transparent)]
    Compile(#[from] CompileError),
    /// The kernel refused.
    #[error(transparent)]
    Kernel(#[from] KernelError),
    /// More entries than can be held against each other.
    #[error("{n} entries say something, {most} can be held against each other")]
    TooManyEntries {
        /// Entries.
        n: usize,
        /// The most.
        most: usize,
    },
}
