//! What a sign looks like with one fault alone: the network held against a table of the trade.
//!
//! Everything but the named faults is sound, nobody has complained yet. Must not judge the
//! differences.

use super::roots::RootFitError;
use crate::knowledge::Knowledge;
use crate::network::Shelf;
use crate::network::build::{Builder, Condition, RootChances, Shape};
use crate::network::clamp::Clamped;

/// Faults that are there, as `part.fault` or `part.fault:cylinder`; with a weight where the
/// same trade row stands for several.
#[derive(Debug, Clone, PartialEq)]
pub struct Alone {
    /// Combinations of faults and their weights.
    pub mixture: Vec<(Vec<String>, f64)>,
}

/// A sign of an engine at a temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct SignQuestion {
    /// The engine.
    pub shape: Shape,
    /// Temperature of the engine, degC.
    pub temperature: f64,
    /// Sign, by name.
    pub sign: String,
}

/// Chance of each state of the sign, for each entry of `alone`.
///
/// # Errors
/// When the network cannot be built or solved, or a fault does not exist on the engine.
pub fn sign_alone(
    knowledge: &Knowledge,
    roots: &RootChances,
    question: &SignQuestion,
    alone: &[Alone],
) -> Result<Vec<Vec<f64>>, RootFitError> {
    let mut builder = Builder::new(knowledge, question.shape.clone(), roots.clone())?;
    let condition = builder.condition(Condition {
        temperature: question.temperature,
        primed: false,
    })?;
    let sign = builder.sign(&question.sign, condition, 1)?;
    let model = builder.finish();
    let clamped = Clamped::compile(&Shelf::none(), &model, &[], vec![vec![sign]], 10)?;
    let bound = clamped.bind(&model.network)?;
    let mut answers = Vec::new();
    for entry in alone {
        let mut sum = vec![0.0; model.network.size(sign)];
        let total: f64 = entry.mixture.iter().map(|(_, w)| w).sum();
        for (faults, weight) in &entry.mixture {
            let lane = clamped.lane(&[], |var, state| {
                let fault = model
                    .faults
                    .iter()
                    .find(|f| f.variable == var && faults.contains(&f.id()));
                state == fault.map_or(0, |f| f.state)
            });
            let answer = clamped.program().run(&bound, &[lane]).remove(0)?;
            for (s, chance) in sum.iter_mut().zip(&answer.chances[0]) {
                *s += weight / total * chance;
            }
        }
        answers.push(sum);
    }
    Ok(answers)
}
