//! What was seen and read on a network, for its printed forms.
//!
//! Must not gather it or judge it.

use serde_json::{Map, Value, json};

use super::round;
use crate::evidence::Case;
use crate::network::bif::Virtual;
use crate::network::{Network, Seen, Slot};

/// Slots of a network with their likelihoods.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Observed {
    /// Where something was seen or read.
    pub slots: Vec<Slot>,
    /// The likelihoods of each slot; empty where a state was seen or nothing was yet.
    pub values: Vec<Vec<f64>>,
    /// Natural logarithm of what was taken out of the likelihoods.
    pub log_scale: f64,
}

impl Observed {
    /// Everything of one kind of engine, the complaint first.
    #[must_use]
    pub fn of(case: &Case) -> Self {
        let mut slots = case.complaint();
        let mut values = vec![Vec::new(); slots.len()];
        let mut log_scale = 0.0;
        for item in &case.items {
            for (slot, likelihoods) in &item.slots {
                slots.push(slot.clone());
                values.push(likelihoods.clone());
            }
            log_scale += item.log_scale;
        }
        Self {
            slots,
            values,
            log_scale,
        }
    }

    /// Everything that is not one certain state, as likelihoods over joint states.
    #[must_use]
    pub fn readings(&self, network: &Network) -> Vec<Virtual> {
        let mut readings = Vec::new();
        for (slot, values) in self.slots.iter().zip(&self.values) {
            let values = match slot.seen {
                Seen::Mostly(state) => {
                    let mut all = vec![values[0]; network.size(slot.scope[0])];
                    all[state] += values[1];
                    all
                }
                Seen::Soft | Seen::Known if !values.is_empty() => values.clone(),
                _ => continue,
            };
            readings.push(Virtual {
                name: format!("reading_{}", readings.len() + 1),
                scope: slot.scope.clone(),
                values,
            });
        }
        readings
    }

    /// States that were seen for certain, by variable.
    #[must_use]
    pub fn seen(&self, network: &Network) -> Value {
        let mut seen = Map::new();
        for slot in &self.slots {
            if let Seen::Hard(state) = slot.seen {
                let variable = network.variable(slot.scope[0]);
                seen.insert(variable.name.clone(), json!(variable.states[state]));
            }
        }
        Value::Object(seen)
    }

    /// The likelihoods, each with the variables it is over, the last one fastest.
    #[must_use]
    pub fn likelihoods(&self, network: &Network) -> Value {
        let reading = |r: Virtual| {
            let over = r.scope.iter().map(|v| network.variable(*v).name.as_str());
            json!({
                "over": over.collect::<Vec<_>>(),
                "values": r.values.iter().map(|v| round::number(*v)).collect::<Value>(),
            })
        };
        self.readings(network).into_iter().map(reading).collect()
    }
}
