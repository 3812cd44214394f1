//! Words: what people call things, and words of results.
//!
//! Must not hold figures.

use super::spanned::Spanned;
use serde::{Deserialize, Serialize};

/// Another word for an identifier.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Word {
    /// What people write.
    pub word: Spanned<String>,
    /// The identifier meant: of a part, function, sign, check, repair, access group or tool,
    /// or `part.fault`, or `sign.state`.
    pub means: Spanned<String>,
}

/// A stable code for something wrong or assumed in an input file.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct IssueCode {
    /// The code.
    pub code: String,
    /// What it means.
    pub text: String,
}
