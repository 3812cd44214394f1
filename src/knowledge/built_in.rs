//! The files of `priors/`, compiled in.
//!
//! Must not hold anything else.

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../priors/", $name)))),*]
    };
}

/// Name and text of each file, in reading order: systems first, then what hangs on them.
pub(super) const FILES: &[(&str, &str)] = files![
    "preheat.toml",
    "cranking.toml",
    "fuel_supply.toml",
    "injectors.toml",
    "pump.toml",
    "engine.toml",
    "air.toml",
    "operator.toml",
    "functions.toml",
    "starts.toml",
    "engines.toml",
    "checks.toml",
    "repairs.toml",
    "vocabulary.toml",
    "roots.toml",
];
