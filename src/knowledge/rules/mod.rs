//! Rules over the knowledge: one rule, one file, one test. Each finds all its problems.
//!
//! Reading order: `book` (what rules look things up in), `variables`, the rules, `run`.
//! A rule never mends what it finds.

mod book;
mod run;
mod variables;

mod access_cycle;
mod chances;
mod drivers;
mod duplicate_ids;
mod fits_all;
mod lengths;
mod numbers;
mod origin;
mod repaired;
mod safety;
mod starting_chances;
mod steps;
mod systems;
mod things;
mod unknown_fault;
mod unknown_states;
mod words;

#[cfg(test)]
mod sample;

pub(super) use run::check_all;
