//! A value and where in its file it stands.
//!
//! Out of TOML it comes with its place; in the bytes that are kept of files that were read it is a
//! place and a value one after another. Must not read files.

use std::ops::Range;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A value with the bytes of its file that it was read from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spanned<T> {
    from: usize,
    to: usize,
    value: T,
}

impl<T> Spanned<T> {
    /// A value at a place.
    pub fn new(span: Range<usize>, value: T) -> Self {
        Self {
            from: span.start,
            to: span.end,
            value,
        }
    }

    /// The bytes of the file.
    pub fn span(&self) -> Range<usize> {
        self.from..self.to
    }

    /// The value.
    pub fn get_ref(&self) -> &T {
        &self.value
    }

    /// The value, to change it.
    pub fn get_mut(&mut self) -> &mut T {
        &mut self.value
    }
}

impl<T: Serialize> Serialize for Spanned<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        (self.from, self.to, &self.value).serialize(to)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Spanned<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        if from.is_human_readable() {
            let read = toml::Spanned::<T>::deserialize(from)?;
            return Ok(Self::new(read.span(), read.into_inner()));
        }
        let (from, to, value) = <(usize, usize, T)>::deserialize(from)?;
        Ok(Self { from, to, value })
    }
}
