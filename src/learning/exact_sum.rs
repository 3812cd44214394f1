//! Sums that do not depend on order: parts of a run merge to the whole, bit for bit.
//!
//! Each addend is rounded once to a multiple of 2^-60 and added as a whole number. Must not
//! hold anything that is not finite: such addends are counted and left out.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// `2^60`: addends are kept to `1e-18`.
const UNIT: f64 = 1_152_921_504_606_846_976.0;

/// A sum of finite numbers below `1e18`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ExactSum(i128);

impl ExactSum {
    /// The sum of one number; of none if it is not finite.
    #[must_use]
    pub fn of(x: f64) -> Self {
        if !x.is_finite() {
            return Self(0);
        }
        #[expect(clippy::cast_possible_truncation, reason = "multiples of the unit")]
        let units = (x * UNIT).round() as i128;
        Self(units)
    }

    /// Adds a number; one that is not finite is left out.
    pub fn add(&mut self, x: f64) {
        self.0 += Self::of(x).0;
    }

    /// Adds another sum so many times.
    pub fn add_times(&mut self, other: Self, times: u32) {
        self.0 += other.0 * i128::from(times);
    }

    /// Adds another sum.
    pub fn merge(&mut self, other: Self) {
        self.0 += other.0;
    }

    /// The sum.
    #[must_use]
    pub fn value(self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "back to a number")]
        let units = self.0 as f64;
        units / UNIT
    }
}

impl Serialize for ExactSum {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0.to_string())
    }
}

impl<'de> Deserialize<'de> for ExactSum {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map(Self).map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expected: addition of whole numbers is associative; the value by hand.
    #[test]
    fn order_and_parts_do_not_matter() {
        let list = [1e9, -0.1, 3.3e-7, -1e9, 0.2, 1e-17, f64::NAN];
        let mut whole = ExactSum::default();
        list.iter().for_each(|x| whole.add(*x));
        let mut back = ExactSum::default();
        list[3..].iter().rev().for_each(|x| back.add(*x));
        let mut front = ExactSum::default();
        list[..3].iter().for_each(|x| front.add(*x));
        back.merge(front);
        assert_eq!(whole, back);
        assert!((whole.value() - (0.1 + 3.3e-7)).abs() < 1e-7);
        let (mut thrice, mut one_by_one) = (ExactSum::default(), ExactSum::default());
        thrice.add_times(ExactSum::of(-0.1), 3);
        (0..3).for_each(|_| one_by_one.add(-0.1));
        assert_eq!(thrice, one_by_one);
        let text = serde_json::to_string(&whole).unwrap();
        assert_eq!(serde_json::from_str::<ExactSum>(&text).unwrap(), whole);
    }
}
