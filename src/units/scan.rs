//! Characters of a typed text with look-alikes made plain, each with its byte offset in
//! what was typed. Must not know numbers or units.

/// Is this a space of any kind (also the no-break and thin ones a spreadsheet leaves)?
pub(super) fn is_blank(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\u{200b}' | '\u{feff}' | '\u{2060}')
}

/// The plain form of a look-alike: one character for one character.
pub(super) fn plain(c: char) -> char {
    match c {
        '\u{2212}' | '\u{2013}' | '\u{2012}' | '\u{2010}' | '\u{2011}' | '\u{fe63}' | '⁻' => '-',
        '\u{2032}' | '\u{2019}' | '\u{2018}' | '\u{00b4}' | '`' => '\'',
        '\u{2033}' | '\u{201c}' | '\u{201d}' | '\u{201e}' => '"',
        '\u{2126}' => 'Ω',
        '\u{00b5}' => 'μ',
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        '⋅' | '∙' => '·',
        '٫' => ',',
        c if is_blank(c) => ' ',
        c => c,
    }
}

/// A typed text under the reader's finger.
#[derive(Debug, Clone)]
pub(super) struct Scan {
    chars: Vec<(usize, char)>,
    end: usize,
    next: usize,
}

impl Scan {
    /// The text without blanks at either end.
    pub(super) fn new(text: &str) -> Scan {
        let mut chars: Vec<(usize, char)> =
            text.char_indices().map(|(at, c)| (at, plain(c))).collect();
        let mut end = text.len();
        while let Some(&(at, ' ')) = chars.last() {
            end = at;
            chars.pop();
        }
        let mut scan = Scan {
            chars,
            end,
            next: 0,
        };
        scan.skip_blanks();
        scan
    }

    /// Byte offset of the next character, or of the end.
    pub(super) fn at(&self) -> usize {
        self.chars.get(self.next).map_or(self.end, |&(at, _)| at)
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.peek_ahead(0)
    }

    /// The character `steps` after the next one.
    pub(super) fn peek_ahead(&self, steps: usize) -> Option<char> {
        self.chars.get(self.next + steps).map(|&(_, c)| c)
    }

    pub(super) fn is_done(&self) -> bool {
        self.next >= self.chars.len()
    }

    /// Steps over the next character.
    pub(super) fn step(&mut self) {
        self.next += 1;
    }

    /// Steps over `wanted` if it is next.
    pub(super) fn take(&mut self, wanted: char) -> bool {
        let found = self.peek() == Some(wanted);
        if found {
            self.next += 1;
        }
        found
    }

    /// Steps over `word`, in any case, if it is next and no further letter follows.
    pub(super) fn take_word(&mut self, word: &str) -> bool {
        let mut steps = 0;
        for w in word.chars() {
            match self.peek_ahead(steps) {
                Some(c) if c.to_lowercase().eq(w.to_lowercase()) => steps += 1,
                _ => return false,
            }
        }
        if self.peek_ahead(steps).is_some_and(char::is_alphabetic) {
            return false;
        }
        self.next += steps;
        true
    }

    pub(super) fn skip_blanks(&mut self) {
        while self.peek() == Some(' ') {
            self.next += 1;
        }
    }

    /// Takes the run of ASCII digits that is next (may be empty).
    pub(super) fn digits(&mut self) -> String {
        self.run(|c| c.is_ascii_digit())
    }

    /// Takes the run of characters that satisfy `wanted`.
    pub(super) fn run(&mut self, wanted: impl Fn(char) -> bool) -> String {
        let mut taken = String::new();
        while let Some(c) = self.peek().filter(|&c| wanted(c)) {
            taken.push(c);
            self.next += 1;
        }
        taken
    }

    /// All that is left, without moving.
    pub(super) fn rest(&self) -> String {
        self.chars[self.next.min(self.chars.len())..]
            .iter()
            .map(|&(_, c)| c)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_are_those_of_the_typed_text() {
        // no-break space (2 bytes) and unicode minus (3 bytes)
        let mut scan = Scan::new("\u{a0}\u{2212}8 s ");
        assert_eq!(scan.at(), 2);
        assert!(scan.take('-'));
        assert_eq!(scan.at(), 5);
        assert_eq!(scan.digits(), "8");
        scan.skip_blanks();
        assert_eq!(scan.rest(), "s");
        scan.step();
        assert!(scan.is_done());
        assert_eq!(scan.at(), 8);
    }
}
