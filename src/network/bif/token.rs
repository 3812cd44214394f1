//! Words and marks of a BIF text with their places; comments vanish.
//!
//! A word is any run of characters that are not space, a mark or a quote, so that state names
//! such as `<10` or `1-2` come through. Must not know the grammar.

use super::problem::Problems;

/// Where something stands, from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Place {
    pub line: usize,
    pub column: usize,
}

/// A word, a quoted word, or one mark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Kind {
    Word(String),
    Mark(char),
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Token {
    pub kind: Kind,
    pub place: Place,
}

const MARKS: &str = "{}[](),;|";

struct Cursor<'a> {
    rest: std::iter::Peekable<std::str::Chars<'a>>,
    place: Place,
}

impl Cursor<'_> {
    fn next(&mut self) -> Option<char> {
        let c = self.rest.next()?;
        if c == '\n' {
            self.place.line += 1;
            self.place.column = 1;
        } else {
            self.place.column += 1;
        }
        Some(c)
    }

    fn peek(&mut self) -> Option<char> {
        self.rest.peek().copied()
    }

    fn second(&self) -> Option<char> {
        self.rest.clone().nth(1)
    }
}

/// All tokens, and the place behind the last one.
pub(super) fn tokens(text: &str, problems: &mut Problems) -> (Vec<Token>, Place) {
    let mut cursor = Cursor {
        rest: text
            .strip_prefix('\u{feff}')
            .unwrap_or(text)
            .chars()
            .peekable(),
        place: Place { line: 1, column: 1 },
    };
    let mut out = Vec::new();
    while let Some(c) = cursor.peek() {
        let place = cursor.place;
        if c.is_whitespace() {
            cursor.next();
        } else if c == '/' && cursor.second() == Some('/') {
            while cursor.peek().is_some_and(|c| c != '\n') {
                cursor.next();
            }
        } else if c == '/' && cursor.second() == Some('*') {
            comment(&mut cursor, problems);
        } else if MARKS.contains(c) {
            cursor.next();
            out.push(Token {
                kind: Kind::Mark(c),
                place,
            });
        } else {
            let text = if c == '"' {
                quoted(&mut cursor, problems)
            } else {
                word(&mut cursor)
            };
            out.push(Token {
                kind: Kind::Word(text),
                place,
            });
        }
    }
    (out, cursor.place)
}

fn comment(cursor: &mut Cursor<'_>, problems: &mut Problems) {
    let place = cursor.place;
    cursor.next();
    cursor.next();
    while let Some(c) = cursor.next() {
        if c == '*' && cursor.peek() == Some('/') {
            cursor.next();
            return;
        }
    }
    problems.add(place, "a comment does not end", "close it with */");
}

fn quoted(cursor: &mut Cursor<'_>, problems: &mut Problems) -> String {
    let place = cursor.place;
    cursor.next();
    let mut text = String::new();
    while let Some(c) = cursor.next() {
        if c == '"' {
            return text;
        }
        text.push(c);
    }
    problems.add(place, "a quoted name does not end", "close it with \"");
    text
}

fn word(cursor: &mut Cursor<'_>) -> String {
    let mut text = String::new();
    while let Some(c) = cursor.peek() {
        let comment = c == '/' && matches!(cursor.second(), Some('/' | '*'));
        if c.is_whitespace() || MARKS.contains(c) || c == '"' || comment {
            break;
        }
        text.push(c);
        cursor.next();
    }
    text
}
