//! Words that stand in a cell where a value would: why there is none, or a result off the end
//! of the scale.
//!
//! Seven states stay apart. Must not know which column the cell is in.

use crate::job::Absent;

/// What a word says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Token {
    /// There is no value, and this is why.
    Absent(Absent),
    /// A result that lies off the end of the scale.
    OffScale,
    /// A spreadsheet's error text.
    SheetError,
}

/// The words, folded (common practice of shop sheets, no source).
const WORDS: &[(&str, Token)] = {
    use Token::{Absent as Is, OffScale, SheetError};
    &[
        ("-", Is(Absent::NotRecorded)),
        ("--", Is(Absent::NotRecorded)),
        ("\u{2013}", Is(Absent::NotRecorded)),
        ("\u{2014}", Is(Absent::NotRecorded)),
        (".", Is(Absent::NotRecorded)),
        ("?", Is(Absent::NotRecorded)),
        ("n/a", Is(Absent::NotRecorded)),
        ("na", Is(Absent::NotRecorded)),
        ("#n/a", Is(Absent::NotRecorded)),
        ("not recorded", Is(Absent::NotRecorded)),
        ("not_recorded", Is(Absent::NotRecorded)),
        ("nt", Is(Absent::NotTested)),
        ("n.t.", Is(Absent::NotTested)),
        ("not tested", Is(Absent::NotTested)),
        ("not_tested", Is(Absent::NotTested)),
        ("untested", Is(Absent::NotTested)),
        ("not done", Is(Absent::NotTested)),
        ("ct", Is(Absent::CouldNotTest)),
        ("seized", Is(Absent::CouldNotTest)),
        ("no tool", Is(Absent::CouldNotTest)),
        ("could not test", Is(Absent::CouldNotTest)),
        ("couldn't test", Is(Absent::CouldNotTest)),
        ("could_not_test", Is(Absent::CouldNotTest)),
        ("nr", Is(Absent::NoReading)),
        ("no reading", Is(Absent::NoReading)),
        ("no_reading", Is(Absent::NoReading)),
        ("ok", Is(Absent::JudgedNormal)),
        ("good", Is(Absent::JudgedNormal)),
        ("normal", Is(Absent::JudgedNormal)),
        ("looked normal", Is(Absent::JudgedNormal)),
        ("judged_normal", Is(Absent::JudgedNormal)),
        ("ur", Is(Absent::Unreadable)),
        ("unreadable", Is(Absent::Unreadable)),
        ("illegible", Is(Absent::Unreadable)),
        ("ol", OffScale),
        ("o.l", OffScale),
        ("o.l.", OffScale),
        ("open", OffScale),
        ("\u{221e}", OffScale),
        ("inf", OffScale),
        ("infinite", OffScale),
        ("no glow", OffScale),
        ("no_glow", OffScale),
        ("over range", OffScale),
        ("off scale", OffScale),
        ("#ref!", SheetError),
        ("#value!", SheetError),
        ("#div/0!", SheetError),
        ("#name?", SheetError),
        ("#num!", SheetError),
        ("#null!", SheetError),
    ]
};

/// Longest of the words, in bytes.
const LONGEST: usize = 16;

/// What a folded text says, if it is one of the words.
#[must_use]
pub fn token(folded: &str) -> Option<Token> {
    if folded.len() > LONGEST {
        return None;
    }
    if folded.len() > 1 && folded.bytes().all(|b| b == b'#') {
        // A column too narrow for its value.
        return Some(Token::SheetError);
    }
    WORDS
        .iter()
        .find(|(word, _)| *word == folded)
        .map(|(_, token)| *token)
}

/// The token of wide tables for a state without a value.
#[must_use]
pub fn short(absent: Absent) -> &'static str {
    match absent {
        Absent::NotRecorded => "NA",
        Absent::NotTested => "NT",
        Absent::CouldNotTest => "CT",
        Absent::NoReading => "NR",
        Absent::JudgedNormal => "OK",
        Absent::Unreadable => "UR",
    }
}

/// The state a token of wide tables stands for.
#[must_use]
pub fn of_short(text: &str) -> Option<Absent> {
    Absent::ALL.iter().copied().find(|a| short(*a) == text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_reasons_and_a_result_stay_apart() {
        let is = |word| token(word);
        assert_eq!(is("n/a"), Some(Token::Absent(Absent::NotRecorded)));
        assert_eq!(is("not tested"), Some(Token::Absent(Absent::NotTested)));
        assert_eq!(is("seized"), Some(Token::Absent(Absent::CouldNotTest)));
        assert_eq!(is("ok"), Some(Token::Absent(Absent::JudgedNormal)));
        assert_eq!(is("no glow"), Some(Token::OffScale));
        assert_eq!(is("####"), Some(Token::SheetError));
        assert_eq!(is("8.4"), None);
    }

    #[test]
    fn short_tokens_read_back() {
        for absent in Absent::ALL {
            assert_eq!(of_short(short(*absent)), Some(*absent));
        }
    }
}
