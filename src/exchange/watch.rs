//! Looks over free text for what a person should see before it is shared or trusted.
//!
//! Only remarks; the text is kept as it is.

use super::cell::Remark;
use super::issue::{Code, Level};

/// Least digits of something that looks like a telephone number (own judgement).
const PHONE_DIGITS: usize = 8;

/// Looks over one text.
pub fn over(text: &str, remarks: &mut Vec<Remark>) {
    let note = |code, what: &str, hint: &str| Remark::new(code, Level::Note, what, hint);
    if text.starts_with(['=', '@'])
        || (text.starts_with(['+', '-']) && text[1..].starts_with(|c: char| c.is_alphabetic()))
    {
        remarks.push(note(
            Code::FormulaLike,
            "the cell begins like a formula; kept as text",
            "use --for-spreadsheet when handing it on",
        ));
    }
    if private(text) {
        remarks.push(note(
            Code::PrivateText,
            "the text looks like an address or a telephone number",
            "take it out before sharing",
        ));
    }
    if lost(text) {
        remarks.push(note(
            Code::LettersLost,
            "letters seem to be lost in an earlier conversion",
            "export the table again as UTF-8",
        ));
    }
}

fn private(text: &str) -> bool {
    let mail = || {
        text.split_whitespace().any(|w| {
            w.split_once('@').is_some_and(|(name, host)| {
                !name.is_empty() && host.trim_end_matches(['.', ',']).contains('.')
            })
        })
    };
    if memchr::memchr(b'@', text.as_bytes()).is_some() && mail() {
        return true;
    }
    // A run of digits with the signs people put between them.
    let mut digits = 0;
    for b in text.bytes() {
        match b {
            b'0'..=b'9' => digits += 1,
            b' ' | b'-' | b'/' | b'+' | b'(' | b')' => {}
            _ => digits = 0,
        }
        if digits >= PHONE_DIGITS {
            return true;
        }
    }
    false
}

/// `_`, `?` or the replacement sign between two letters.
fn lost(text: &str) -> bool {
    // The replacement sign begins with the byte EF.
    if memchr::memchr3(b'_', b'?', 0xef, text.as_bytes()).is_none() {
        return false;
    }
    let chars: Vec<char> = text.chars().collect();
    chars.windows(3).any(|w| {
        w[0].is_alphabetic() && w[2].is_lowercase() && matches!(w[1], '_' | '?' | '\u{fffd}')
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(text: &str) -> Vec<Code> {
        let mut remarks = Vec::new();
        over(text, &mut remarks);
        remarks.iter().map(|r| r.code).collect()
    }

    #[test]
    fn remarks_are_made_where_they_help() {
        assert_eq!(codes("=1+2"), [Code::FormulaLike]);
        assert_eq!(codes("ring a@b.org"), [Code::PrivateText]);
        assert_eq!(codes("call 0171 555 1234"), [Code::PrivateText]);
        assert_eq!(codes("Gl_hkerze"), [Code::LettersLost]);
        assert!(codes("?").is_empty());
        assert!(codes("-5 or so, plug 3 dead").is_empty());
    }
}
