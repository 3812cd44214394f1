//! What a seen or told sign says: the state itself, or a likelihood over states.
//!
//! A sign seen by somebody sure is exact; anything told, or seen by somebody less sure, passes
//! through a reliability. Must not know variables.

use super::law::{seconds_above, seconds_likelihood};
use crate::job::{ReadingValue, Sure};
use crate::knowledge::{Knowledge, Sign};
use crate::units::Cmp;

/// Likelihood given to what cannot be, so that one slip of the pen does not make a job impossible.
const FLOOR: f64 = 1e-4;

/// What a sign says.
#[derive(Debug, Clone, PartialEq)]
pub enum Says {
    /// Exactly this state.
    Exactly(usize),
    /// This state through a reliability: likelihood of every other state, and how much greater
    /// that of this one is; the greatest is one.
    Mostly(usize, [f64; 2]),
    /// A likelihood over the states, greatest one.
    About(Vec<f64>),
    /// Nothing.
    Nothing,
}

/// Reliability of a seen sign, by how sure the person was.
#[must_use]
pub fn reliability(knowledge: &Knowledge, sure: Option<Sure>) -> f64 {
    let id = sure.map_or("sure", Sure::id);
    knowledge.starts.seen.get(id).copied().unwrap_or(1.0)
}

/// What the value of a sign says, through a reliability.
#[must_use]
pub fn says(sign: &Sign, value: &ReadingValue, reliability: f64) -> Says {
    let states = sign.states.len();
    if let Some(state) = value.state() {
        let Some(at) = sign.states.iter().position(|s| s == state) else {
            return Says::Nothing;
        };
        return through(at, states, reliability);
    }
    match value {
        ReadingValue::JudgedNormal => through(0, states, reliability),
        ReadingValue::Measured(_) => {
            let (Some(number), Some(bounds)) = (value.number(), sign.seconds.as_ref()) else {
                return Says::Nothing;
            };
            let y = number.quantity.value;
            if y <= 0.0 {
                return Says::Nothing;
            }
            let log_sd = sign.seconds_log_sd.unwrap_or(0.3);
            let values = match number.cmp {
                Cmp::Above => seconds_above(y, bounds, states, log_sd),
                Cmp::Below => seconds_above(y, bounds, states, log_sd)
                    .into_iter()
                    .map(|above| 1.0 - above)
                    .collect(),
                Cmp::Equal => seconds_likelihood(y, bounds, states, log_sd),
                // "About" doubles the spread: nobody looked at a watch.
                Cmp::About => seconds_likelihood(y, bounds, states, 2.0 * log_sd),
            };
            about(values)
        }
        _ => Says::Nothing,
    }
}

/// A state through a reliability.
pub(super) fn through(at: usize, states: usize, reliability: f64) -> Says {
    if reliability >= 1.0 {
        return Says::Exactly(at);
    }
    #[expect(clippy::cast_precision_loss, reason = "a handful of states")]
    let other = (1.0 - reliability) / (states - 1).max(1) as f64;
    let other = other / reliability;
    Says::Mostly(at, [other, 1.0 - other])
}

fn about(mut values: Vec<f64>) -> Says {
    let most = values.iter().copied().fold(0.0, f64::max);
    if most <= 0.0 {
        return Says::Nothing;
    }
    values.iter_mut().for_each(|v| *v = (*v / most).max(FLOOR));
    Says::About(values)
}
