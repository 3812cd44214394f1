//! What a form or an address brought: names and texts, in order.
//!
//! Must not know what they mean.

/// Most fields of one form; own judgement, the longest has fewer than sixty.
const MOST: usize = 400;

/// Names and texts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    /// Reads `a=1&b=x+y`; nothing if it is no such text.
    #[must_use]
    pub fn parse(bytes: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(bytes).ok()?;
        let mut fields = Vec::new();
        for pair in text.split('&').filter(|p| !p.is_empty()) {
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            fields.push((plain(name)?, plain(value)?));
        }
        (fields.len() <= MOST).then_some(Self(fields))
    }

    /// The text of a field without blanks at its ends; empty if it is not there.
    #[must_use]
    pub fn get(&self, name: &str) -> &str {
        let found = self.0.iter().find(|(n, _)| n == name);
        found.map_or("", |(_, value)| value.trim())
    }

    /// The text of a field that says something.
    #[must_use]
    pub fn some(&self, name: &str) -> Option<&str> {
        Some(self.get(name)).filter(|v| !v.is_empty())
    }

    /// Every field whose name begins so, with the rest of the name.
    pub fn beginning<'f>(&'f self, begin: &'f str) -> impl Iterator<Item = (&'f str, &'f str)> {
        let named = self.0.iter();
        named.filter_map(move |(n, v)| Some((n.strip_prefix(begin)?, v.trim())))
    }

    /// The same with one field set.
    #[must_use]
    pub fn with(mut self, name: &str, value: &str) -> Self {
        self.0.retain(|(n, _)| n != name);
        self.0.push((name.to_owned(), value.to_owned()));
        self
    }
}

/// A text as it was typed; nothing if it is not text.
fn plain(coded: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(coded.len());
    let mut rest = coded.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'+' => b' ',
            b'%' => {
                let digit = |b: Option<u8>| char::from(b?).to_digit(16);
                let code = 16 * digit(rest.next())? + digit(rest.next())?;
                u8::try_from(code).ok()?
            }
            other => other,
        });
    }
    let text = String::from_utf8(bytes).ok()?;
    (!text.contains('\0')).then_some(text)
}

/// A text as one piece of an address.
#[must_use]
pub fn coded(text: &str) -> String {
    let mut coded = String::new();
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'~' => {
                coded.push(char::from(byte));
            }
            // A dot too: a piece of dots alone would be taken for a step up.
            other => coded.push_str(&format!("%{other:02X}")),
        }
    }
    coded
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_read_and_what_is_none_is_refused() {
        let form = Fields::parse(b"value=8%2C4+s&unit=&a=1&a=2").unwrap();
        assert_eq!(form.get("value"), "8,4 s");
        assert_eq!(form.some("unit"), None);
        assert_eq!(form.beginning("val").collect::<Vec<_>>(), [("ue", "8,4 s")]);
        for bad in [&b"a=%f"[..], b"a=%zz", b"a=%ff", b"a=%00", b"\xff"] {
            assert_eq!(Fields::parse(bad), None, "{bad:?}");
        }
        let many = "a=1&".repeat(MOST + 1);
        assert_eq!(Fields::parse(many.as_bytes()), None);
    }

    #[test]
    fn any_text_is_one_piece_of_an_address_and_comes_back() {
        for text in ["7", "QM-031", "../etc", "a/b?c#d", "Öl 50%", ".."] {
            let piece = coded(text);
            assert!(!piece.contains(['/', '?', '#', '.']), "{piece}");
            assert_eq!(plain(&piece).as_deref(), Some(text));
        }
    }
}
