//! Conditions for `--fail-if`: a measure against a number or another measure.
//!
//! `brier > 0.7`, `log_score < base.log_score - 0.02`, `top1 < 0.5`. Must not decide what
//! happens when one is met.

/// How the sides stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Less,
    More,
}

/// A condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    left: String,
    sign: Sign,
    right: Option<String>,
    plus: f64,
}

/// Why a condition is not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no condition: write MEASURE < NUMBER, or MEASURE > base.MEASURE + NUMBER")]
pub struct ConditionError(pub String);

impl std::str::FromStr for Condition {
    type Err = ConditionError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let error = || ConditionError(text.to_owned());
        let at = text.find(['<', '>']).ok_or_else(error)?;
        let sign = if text.as_bytes()[at] == b'<' {
            Sign::Less
        } else {
            Sign::More
        };
        let left = text[..at].trim().to_owned();
        let right = text[at + 1..].trim();
        if left.is_empty() || right.is_empty() {
            return Err(error());
        }
        if let Ok(plus) = right.parse() {
            return Ok(Self {
                left,
                sign,
                right: None,
                plus,
            });
        }
        // A measure, perhaps with a number added or taken away; a name never begins with a sign.
        let split = right
            .char_indices()
            .skip(1)
            .find(|(_, c)| matches!(c, '+' | '-'));
        let (name, plus) = match split {
            None => (right, 0.0),
            Some((at, sign)) => {
                let number: f64 = right[at + 1..].trim().parse().map_err(|_| error())?;
                (
                    right[..at].trim(),
                    if sign == '-' { -number } else { number },
                )
            }
        };
        let wordy = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '.');
        if name.is_empty() || !name.chars().all(wordy) {
            return Err(error());
        }
        Ok(Self {
            left,
            sign,
            right: Some(name.to_owned()),
            plus,
        })
    }
}

impl Condition {
    /// Whether it is met; `Err` with the name of a measure that is not there.
    ///
    /// # Errors
    /// When a measure has no value.
    pub fn met(&self, measure: impl Fn(&str) -> Option<f64>) -> Result<bool, String> {
        let value = |name: &str| measure(name).ok_or_else(|| name.to_owned());
        let left = value(&self.left)?;
        let right = match &self.right {
            None => self.plus,
            Some(name) => value(name)? + self.plus,
        };
        Ok(match self.sign {
            Sign::Less => left < right,
            Sign::More => left > right,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn met(text: &str) -> Result<bool, String> {
        let measure = |name: &str| match name {
            "log_score" => Some(-0.5),
            "base.log_score" => Some(-0.52),
            _ => None,
        };
        text.parse::<Condition>()
            .map_err(|e| e.to_string())?
            .met(measure)
    }

    /// Expected: arithmetic by hand.
    #[test]
    fn numbers_and_measures_are_compared() {
        assert_eq!(met("log_score < -0.4"), Ok(true));
        assert_eq!(met("log_score<-0.6"), Ok(false));
        assert_eq!(met("log_score > base.log_score + 0.01"), Ok(true));
        assert_eq!(met("log_score > base.log_score+0.03"), Ok(false));
        assert_eq!(met("log_score < base.log_score - 0.01"), Ok(false));
        assert_eq!(met("brier > 1"), Err("brier".to_owned()));
        assert!(met("log_score").is_err() && met("> 3").is_err() && met("a < b c").is_err());
    }
}
