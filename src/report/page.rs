//! A page of plain text: one column, wrapped at word breaks, no colour.
//!
//! Control characters that come with typed text are not passed on. Must not know what it says.

/// Widest line that is ever written.
pub const WIDEST: usize = 100;
/// Ordinary width.
pub const ORDINARY: usize = 80;
/// Narrower than this nothing can be laid out.
const NARROWEST: usize = 40;

/// Which characters the reader can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symbols {
    /// Dots and signs of their own.
    Unicode,
    /// Letters only.
    Ascii,
}

/// How wide, and in which characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Columns, 40 to [`WIDEST`].
    pub width: usize,
    /// Characters.
    pub symbols: Symbols,
}

impl Layout {
    /// A layout of about that width.
    #[must_use]
    pub fn new(width: usize, symbols: Symbols) -> Self {
        let width = width.clamp(NARROWEST, WIDEST);
        Self { width, symbols }
    }
}

/// A page as it grows.
#[derive(Debug, Clone)]
pub struct Page {
    layout: Layout,
    text: String,
}

impl Page {
    /// An empty page.
    #[must_use]
    pub fn new(layout: Layout) -> Self {
        let text = String::new();
        Self { layout, text }
    }

    /// Its layout.
    #[must_use]
    pub fn layout(&self) -> Layout {
        self.layout
    }

    /// An empty line, unless there is one already.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A paragraph from the left edge.
    pub fn say(&mut self, text: &str) {
        self.hang("", text);
    }

    /// A paragraph whose first line opens with `lead`; further lines stand under its text.
    pub fn hang(&mut self, lead: &str, text: &str) {
        let lead = clean(lead);
        let indent = lead.chars().count();
        let mut line = lead;
        let mut used = indent;
        let mut first = true;
        for word in clean(text).split(' ').filter(|w| !w.is_empty()) {
            let length = word.chars().count();
            if !first && used + 1 + length > self.layout.width {
                self.line(&line);
                line = " ".repeat(indent);
                used = indent;
                first = true;
            }
            if !first {
                line.push(' ');
                used += 1;
            }
            line.push_str(word);
            used += length;
            first = false;
        }
        self.line(&line);
    }

    /// One line as it is, cut of blanks at its end.
    pub fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// The finished text.
    #[must_use]
    pub fn finish(self) -> String {
        self.text
    }
}

/// Text without control characters: a job file may come from anywhere.
#[must_use]
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_whitespace() { ' ' } else { c })
        .filter(|c| !c.is_control() && !is_direction(*c))
        .collect()
}

/// Marks that turn the direction of what follows, and so could hide it.
fn is_direction(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The text as a page or a printed sheet has it: the sign of degrees for what plain text spells out,
/// and a minus that is one. Hyphens in words, numbers of jobs and dates stay.
#[must_use]
pub fn typeset(text: &str) -> String {
    let text = text.replace("degC", "°C").replace("degF", "°F");
    let mut out = String::with_capacity(text.len());
    let mut letters = text.chars().peekable();
    let mut before = None;
    while let Some(c) = letters.next() {
        let opens = before.is_none_or(|b: char| b.is_whitespace() || b == '(');
        let is_minus = c == '-' && opens && letters.peek().is_some_and(char::is_ascii_digit);
        out.push(if is_minus { '−' } else { c });
        before = Some(c);
    }
    out
}

/// A list as people say it: `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn and(list: &[String]) -> String {
    match list {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minus_is_one_and_hyphens_stay() {
        for (typed, shown) in [
            ("-6 degC", "−6 °C"),
            ("at -3 degC or colder", "at −3 °C or colder"),
            ("engine at -6 °C; stood 12 h", "engine at −6 °C; stood 12 h"),
            (
                "2025-01-14, TW-214, first-start",
                "2025-01-14, TW-214, first-start",
            ),
            ("(-0,2 bar)", "(−0,2 bar)"),
        ] {
            assert_eq!(typeset(typed), shown);
        }
    }

    #[test]
    fn lines_break_at_words_and_hang_under_their_text() {
        let mut page = Page::new(Layout::new(40, Symbols::Ascii));
        page.hang("ab  ", "one two three four five six seven eight nine");
        let text = page.finish();
        assert_eq!(
            text,
            "ab  one two three four five six seven\n    eight nine\n"
        );
    }

    #[test]
    fn a_word_longer_than_the_line_is_not_cut() {
        let mut page = Page::new(Layout::new(1, Symbols::Ascii));
        page.say(&"x".repeat(60));
        assert_eq!(page.finish(), format!("{}\n", "x".repeat(60)));
    }

    #[test]
    fn control_characters_of_a_job_file_do_not_reach_the_terminal() {
        assert_eq!(clean("a\u{1b}[31mb\nc\u{202e}d"), "a[31mb cd");
    }

    #[test]
    fn lists_are_said_with_and() {
        let list = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(and(&list), "a, b and c");
        assert_eq!(and(&list[..2]), "a and b");
        assert_eq!(and(&[]), "");
    }
}
