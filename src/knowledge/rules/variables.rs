//! The variables that figures may speak of, with their states: parts, functions, signs, and
//! those the network makes by itself. Must not judge anything.

use std::collections::BTreeMap;

use crate::knowledge::load::Knowledge;

/// Variables the network makes by itself, and their states.
const MADE: [(&str, &[&str]); 4] = [
    ("lights", &["at_once", "late", "not"]),
    (
        "catch",
        &["at_once", "quick", "long", "very_long", "no_start"],
    ),
    ("laggards", &["none", "one", "several", "most"]),
    ("seals_low", &["none", "one", "several"]),
];
/// Counted variable whose states are numbers, or `all`.
const COUNTED: &str = "plugs_open";

/// Variables and their states.
pub(super) struct Variables {
    states: BTreeMap<String, Vec<String>>,
}

impl Variables {
    /// All variables of the knowledge.
    pub fn of(knowledge: &Knowledge) -> Self {
        let mut states: BTreeMap<String, Vec<String>> = MADE
            .iter()
            .map(|(v, s)| ((*v).to_owned(), s.iter().map(|s| (*s).to_owned()).collect()))
            .collect();
        states.insert(COUNTED.to_owned(), Vec::new());
        for part in &knowledge.parts {
            states.insert(part.id.get_ref().clone(), part.states());
        }
        for function in &knowledge.functions {
            states.insert(function.id.get_ref().clone(), function.states.clone());
        }
        for sign in &knowledge.signs {
            states.insert(sign.id.get_ref().clone(), sign.states.clone());
        }
        Self { states }
    }

    /// Whether there is such a variable.
    pub fn knows(&self, variable: &str) -> bool {
        self.states.contains_key(variable)
    }

    /// Whether the variable has that state.
    pub fn has(&self, variable: &str, state: &str) -> bool {
        if variable == COUNTED {
            return state == "all" || state.parse::<u8>().is_ok();
        }
        let states = self.states.get(variable);
        states.is_some_and(|s| s.iter().any(|s| s == state))
    }

    /// Names made by the network itself, which no file may take.
    pub fn made() -> impl Iterator<Item = &'static str> {
        MADE.iter().map(|(v, _)| *v).chain([COUNTED])
    }

    /// The states of a variable, for advice; empty for a counted one.
    pub fn listed(&self, variable: &str) -> String {
        match self.states.get(variable) {
            Some(states) if !states.is_empty() => format!("its states are {}", states.join(", ")),
            _ => "its states are numbers, or `all`".to_owned(),
        }
    }
}
