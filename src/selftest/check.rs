//! One line of the self-test. Must not reckon.

/// A published value beside the one found here.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What is asked for.
    pub name: String,
    /// Where the value is published.
    pub source: &'static str,
    /// The published value.
    pub expected: f64,
    /// How far off the value found may be: half a unit of the last place printed.
    pub within: f64,
    /// The value found; not a number where it could not be reckoned.
    pub found: f64,
}

impl Check {
    /// Whether the value found is the published one.
    #[must_use]
    pub fn passed(&self) -> bool {
        (self.found - self.expected).abs() <= self.within
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_that_is_off_or_missing_fails() {
        let check = |found| Check {
            name: "x".to_owned(),
            source: "y",
            expected: 0.5,
            within: 0.01,
            found,
        };
        assert!(check(0.509).passed());
        assert!(!check(0.52).passed());
        assert!(!check(f64::NAN).passed());
    }
}
