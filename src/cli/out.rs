//! The standard output and error: the answer goes to the one, everything else to the other.
//!
//! A reader that goes away ends the program quietly. No colour is ever written, so `NO_COLOR`
//! and `TERM=dumb` have nothing to turn off. Must not word anything.

use std::io::Write;

use serde_json::Value;

use super::failure::Failure;
use crate::report::page::{Layout, ORDINARY, Symbols};

/// Writes an answer for people.
///
/// # Errors
/// When it cannot be written.
pub fn text(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}

/// Writes an answer for programs: one document and a line end.
///
/// # Errors
/// When it cannot be written.
pub fn document(document: &Value) -> Result<(), Failure> {
    text(&format!("{document:#}\n"))
}

/// Writes a message; if even that fails there is nothing left to do.
pub fn message(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = out.write_all(text.as_bytes());
    let _ = out.flush();
}

/// The layout for this terminal, from `COLUMNS` and the locale.
#[must_use]
pub fn layout() -> Layout {
    let set = |name: &str| std::env::var(name).ok().filter(|v| !v.is_empty());
    let width = set("COLUMNS").and_then(|c| c.parse().ok());
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set);
    Layout::new(width.unwrap_or(ORDINARY), symbols(locale.as_deref()))
}

/// Dots of their own only where the locale says UTF-8.
fn symbols(locale: Option<&str>) -> Symbols {
    let locale = locale.unwrap_or_default().to_ascii_lowercase();
    if locale.contains("utf-8") || locale.contains("utf8") {
        Symbols::Unicode
    } else {
        Symbols::Ascii
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_utf_8_only_letters_are_written() {
        assert_eq!(symbols(Some("en_GB.UTF-8")), Symbols::Unicode);
        assert_eq!(symbols(Some("C.utf8")), Symbols::Unicode);
        assert_eq!(symbols(Some("C")), Symbols::Ascii);
        assert_eq!(symbols(Some("de_DE@euro")), Symbols::Ascii);
        assert_eq!(symbols(None), Symbols::Ascii);
    }
}
