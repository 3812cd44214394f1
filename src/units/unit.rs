//! One unit of measure: its code, how people write it, and its exact affine map to the
//! canonical unit. Must not parse numbers.

use super::dimension::Dimension;
use super::table::TABLE;

/// A unit with its map to the canonical unit of its dimension:
/// `canonical = (value − zero) · numerator / denominator`.
///
/// The factor is a ratio of two whole numbers, both exact as `f64`, so that a conversion
/// there and back loses no more than rounding (relative 1e-15 or so).
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    pub(super) dimension: Dimension,
    pub(super) code: &'static str,
    pub(super) symbol: &'static str,
    pub(super) spellings: &'static [&'static str],
    pub(super) numerator: f64,
    pub(super) denominator: f64,
    pub(super) zero: f64,
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.dimension == other.dimension && self.code == other.code
    }
}

impl Eq for Unit {}

impl Unit {
    /// What it measures.
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// The UCUM code, or one built like it where UCUM has none (`{count}`). Unique within
    /// a dimension.
    pub fn code(&self) -> &'static str {
        self.code
    }

    /// How the unit is printed. Empty for a count.
    pub fn symbol(&self) -> &'static str {
        self.symbol
    }

    /// Other ways of writing it that are understood, besides code and symbol.
    pub fn spellings(&self) -> &'static [&'static str] {
        self.spellings
    }

    /// A value in this unit, in the canonical unit.
    pub fn to_canonical(&self, value: f64) -> f64 {
        (value - self.zero) * self.numerator / self.denominator
    }

    /// A canonical value, in this unit.
    pub fn from_canonical(&self, canonical: f64) -> f64 {
        canonical * self.denominator / self.numerator + self.zero
    }

    /// What this unit reads at the canonical zero (32 for °F, 0 for everything but
    /// temperatures).
    pub fn zero(&self) -> f64 {
        self.zero
    }

    /// The unit of this dimension with exactly this code.
    pub fn by_code(dimension: Dimension, code: &str) -> Option<Unit> {
        list()
            .iter()
            .find(|u| u.dimension == dimension && u.code == code)
            .copied()
    }

    /// All units of this dimension that a person may mean by `text` (spaces inside ignored).
    ///
    /// An exact match of code, symbol or spelling wins; else letters are compared without
    /// regard to case, and more than one unit can answer (`MOHM`: milliohm or megohm).
    pub fn meant_by(dimension: Dimension, text: &str) -> Vec<Unit> {
        let text = squeeze(text);
        let own = || TABLE.iter().filter(|u| u.dimension == dimension);
        let exact: Vec<Unit> = own().filter(|u| u.is_written(&text)).copied().collect();
        if !exact.is_empty() {
            return exact;
        }
        let folded = text.to_lowercase();
        own()
            .filter(|u| {
                u.all_spellings()
                    .any(|s| squeeze(s).to_lowercase() == folded)
            })
            .copied()
            .collect()
    }

    fn is_written(&self, squeezed: &str) -> bool {
        self.all_spellings().any(|s| squeeze(s) == squeezed)
    }

    fn all_spellings(&self) -> impl Iterator<Item = &'static str> {
        [self.code, self.symbol]
            .into_iter()
            .chain(self.spellings.iter().copied())
            .filter(|s| !s.is_empty())
    }
}

/// All units known, canonical unit of each dimension first.
pub fn list() -> &'static [Unit] {
    TABLE
}

/// `text` without spaces, and with look-alike letters made one.
fn squeeze(text: &str) -> String {
    text.chars()
        .filter(|c| !super::scan::is_blank(*c))
        .map(super::scan::plain)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_means_one_unit_of_its_dimension() {
        for unit in list() {
            for spelling in unit.all_spellings() {
                let meant = Unit::meant_by(unit.dimension, spelling);
                assert_eq!(meant, vec![*unit], "{spelling} in {:?}", unit.dimension);
            }
            assert_eq!(Unit::by_code(unit.dimension, unit.code), Some(*unit));
        }
    }

    #[test]
    fn case_is_ignored_only_where_one_unit_remains() {
        let one = |d, t| Unit::meant_by(d, t);
        assert_eq!(one(Dimension::Pressure, "PSI")[0].code(), "[psi]");
        assert_eq!(one(Dimension::Resistance, "mohm")[0].code(), "mOhm");
        assert_eq!(one(Dimension::Resistance, "MOHM").len(), 2);
        assert!(one(Dimension::Voltage, "psi").is_empty());
    }
}
